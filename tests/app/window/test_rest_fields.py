"""Every field of every step besides the panels: changed by keys, undone to the very job, redone."""

from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QLabel, QLineEdit, QWidget

from app.job import JobState, SeamLine, with_rest, with_seam
from app.window.rest import REST_STEPS
from app.window.steps import (
    AngleEdit,
    CountEdit,
    LengthEdit,
    SpecForm,
    SpecList,
    TypedEdit,
    VolumeEdit,
    WordsEdit,
)
from app.window.steps.spec_form import ChoiceBox
from tests.app.window.conftest import spin

pytestmark = pytest.mark.window

TYPED = {LengthEdit: "37.5", AngleEdit: "7.5", CountEdit: "3", WordsEdit: "another"}
NUMBER = "2.75"
"""What is typed into fields of any other kind."""


def begun(window: Any, step: str) -> Any:
    """Return the view of a step that was begun, in a job whose steps all wait: results come none.

    Without a scan nothing is made in the background, so that no state is followed by the same
    decisions with a result more.
    """
    across = SeamLine("across", ((0.0, -10.0, 0.0), (0.0, 10.0, 0.0)))
    view = next(each for each in window.rest.views if each.step == step)
    job = with_seam(JobState(), across)
    window.document.open(with_rest(job, **{view.FIELD: view.usual(job)}), None)
    window.activateWindow()
    window.foreman.choose_step(step)
    spin()
    return view


def all_begun(window: Any) -> Iterator[Any]:
    """Yield the view of each step, with all that can be said of it."""
    for row in REST_STEPS:
        view = begun(window, row.name)
        with_everything_said(view)
        yield view


def with_everything_said(view: Any) -> None:
    """Tick every box that unfolds fields, give every list a row, and choose it."""
    for box in view.inside.findChildren(QCheckBox):
        if not isinstance(box.parentWidget(), SpecForm) and can_be_used(view, box):
            box.setChecked(True)
    for listed in view.inside.findChildren(SpecList):
        if can_be_used(view, listed.add):
            listed.add.click()
    spin(0.05)


def can_be_used(view: Any, field: QWidget) -> bool:
    return field.isVisibleTo(view) and field.isEnabled()


def fields_of(view: Any) -> list[QWidget]:
    kinds = (QLineEdit, QCheckBox, ChoiceBox)
    found: list[QWidget] = [each for kind in kinds for each in view.inside.findChildren(kind)]
    return [each for each in found if can_be_used(view, each)]


def change(field: QWidget) -> None:
    """Let a field hold something else, with the keys."""
    field.setFocus()
    if isinstance(field, QLineEdit):
        field.selectAll()
        QTest.keyClicks(field, TYPED.get(type(field), NUMBER))
        QTest.keyClick(field, Qt.Key.Key_Return)
    elif isinstance(field, QCheckBox):
        QTest.keyClick(field, Qt.Key.Key_Space)
    elif isinstance(field, ChoiceBox):
        last = field.currentIndex() == field.count() - 1
        QTest.keyClick(field, Qt.Key.Key_Up if last else Qt.Key.Key_Down)


def name_of(field: QWidget) -> str:
    return field.accessibleName() or getattr(field, "text", lambda: "")()


def check_undo_of_each(window: Any, view: Any) -> int:
    document, count = window.document, 0
    for field in fields_of(view):
        if isinstance(field, ChoiceBox) and field.count() < 2:
            continue
        before = document.state
        change(field)
        after = document.state
        assert after is not before, name_of(field)
        QTest.keySequence(field, "Ctrl+Z")
        assert document.state is before, name_of(field)
        QTest.keySequence(field, "Ctrl+Shift+Z")
        assert document.state is after, name_of(field)
        QTest.keySequence(field, "Ctrl+Z")
        assert document.state is before, name_of(field)
        count += 1
    return count


@pytest.mark.parametrize("step", [row.name for row in REST_STEPS])
def test_every_field_is_undone_to_the_very_job_before(window: Any, step: str) -> None:
    view = begun(window, step)
    first = check_undo_of_each(window, view)
    with_everything_said(view)
    assert check_undo_of_each(window, view) >= max(first, 3)


def test_what_is_typed_is_taken_when_tab_leaves_the_field(window: Any) -> None:
    for view in all_begun(window):
        for field in fields_of(view):
            if not isinstance(field, QLineEdit):
                continue
            before = window.document.state
            field.setFocus()
            field.selectAll()
            QTest.keyClicks(field, TYPED.get(type(field), NUMBER))
            QTest.keyClick(field, Qt.Key.Key_Tab)
            assert window.document.state is not before, name_of(field)
            window.document.undo()
            assert window.document.state is before, name_of(field)
            assert TYPED.get(type(field), NUMBER) not in field.text(), name_of(field)


def test_tab_goes_through_the_fields_as_they_stand_from_the_top(window: Any) -> None:
    for view in all_begun(window):
        window.react("go_to_fields")
        heights, here = list[int](), view.focusWidget()
        while here is not None and here.hasFocus() and len(heights) < 200:
            heights.append(height_in(view, here))
            QTest.keyClick(here, Qt.Key.Key_Tab)
            here = view.focusWidget()
        assert len(heights) > 5
        assert heights == sorted(heights)
        assert heights[-1] == height_in(view, view.leave_out)


def height_in(view: Any, field: QWidget) -> int:
    return field.mapTo(view, field.rect().topLeft()).y()


def test_every_field_has_a_name_and_is_wide_enough_for_its_words(window: Any) -> None:
    for view in all_begun(window):
        for field in fields_of(view):
            assert name_of(field)
            if isinstance(field, ChoiceBox):
                wide = field.fontMetrics().horizontalAdvance
                longest = max(wide(field.itemText(at)) for at in range(field.count()))
                assert field.width() >= longest + 30, name_of(field)


NO_NUMBERS = ("abc", "", "nan", "inf", "1e400", "9" * 40)
"""Nothing that a length, an angle, a count or a volume could be."""


@pytest.mark.parametrize("step", [row.name for row in REST_STEPS])
def test_what_is_no_number_is_refused_in_words_under_its_field(window: Any, step: str) -> None:
    view = begun(window, step)
    with_everything_said(view)
    count = 0
    for field in fields_of(view):
        if not isinstance(field, TypedEdit) or isinstance(field, WordsEdit):
            continue
        before, shown = window.document.state, field.text()
        for words in NO_NUMBERS:
            if not words and getattr(field, "may_be_empty", False):
                continue
            type_over(field, words)
            assert window.document.state is before, (name_of(field), words)
            assert words_under(field).startswith(("Type ", "N", "T")), (name_of(field), words)
            QTest.keyClick(field, Qt.Key.Key_Escape)
            assert words_under(field) == ""
            assert field.text() == shown
        count += 1
    assert count > 0


@pytest.mark.parametrize("step", [row.name for row in REST_STEPS])
def test_less_than_nothing_is_taken_only_where_it_means_something(window: Any, step: str) -> None:
    """Places and angles lie on both sides of their nought; a length, a count or litres do not."""
    view = begun(window, step)
    with_everything_said(view)
    for field in fields_of(view):
        if not isinstance(field, LengthEdit | AngleEdit | CountEdit | VolumeEdit):
            continue
        may = isinstance(field, AngleEdit) or getattr(field, "_signed", False)
        before = window.document.state
        type_over(field, "-7")
        assert (window.document.state is not before) == may, name_of(field)
        assert bool(words_under(field)) != may, name_of(field)
        QTest.keyClick(field, Qt.Key.Key_Escape)
        if may:
            window.document.undo()


def type_over(field: QLineEdit, words: str) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClick(field, Qt.Key.Key_Delete)
    QTest.keyClicks(field, words)
    QTest.keyClick(field, Qt.Key.Key_Return)


def words_under(field: QLineEdit) -> str:
    """Return what is seen to be wrong with a field; "" while nothing is."""
    form = field.parentWidget()
    assert form is not None
    labels = [each for each in form.findChildren(QLabel) if each.property("role") == "wrong"]
    seen = [each for each in labels if each.isVisible()]
    assert all(0 <= height_in(form, each) - height_in(form, field) < 90 for each in seen)
    return "".join(each.text() for each in seen)
