import pytest

from app.job import JobState, with_name, with_trim

pytestmark = pytest.mark.window


@pytest.fixture
def document(app):  # type: ignore[no-untyped-def]
    from app.window.document import Document

    return Document(JobState())


def test_undo_puts_the_earlier_object_itself_back(document) -> None:  # type: ignore[no-untyped-def]
    before = document.state
    document.edit(with_trim(before, 20.0), "trim")
    after = document.state
    document.undo()
    assert document.state is before
    document.redo()
    assert document.state is after


def test_an_edit_after_undo_forgets_what_was_undone(document) -> None:  # type: ignore[no-untyped-def]
    document.edit(with_name(document.state, "one"), "name")
    document.undo()
    document.edit(with_name(document.state, "two"), "name")
    document.redo()
    assert document.state.name == "two"
    assert document.redo_name == ""


def test_a_result_is_nothing_to_undo(document) -> None:  # type: ignore[no-untyped-def]
    before = document.state
    document.edit(with_trim(before, 20.0), "trim")
    document.take_result(with_trim(document.state, 20.0))
    document.undo()
    assert document.state is before


def test_every_change_is_told_once(document) -> None:  # type: ignore[no-untyped-def]
    told: list[int] = []
    document.changed.connect(lambda: told.append(1))
    document.edit(document.state, "nothing")
    assert told == []
    document.edit(with_trim(document.state, 20.0), "trim")
    document.undo()
    document.undo()
    assert told == [1, 1]
