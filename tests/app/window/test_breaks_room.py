"""Break-ups kept by name, compared side by side, taken, renamed, thrown away, proposed, printed."""

from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from app.job import HEADINGS, JobState, SeamLine, breakup_shown, made, with_seam
from app.window.breaks_view import NOW
from tests.app.window.conftest import spin, spin_until
from tests.app.window.test_window import on_shell, opened, press, rest, sized

pytestmark = pytest.mark.window


def lengthwise(y: float = 0.0) -> SeamLine:
    """Return a seam from rim to rim of the shell along it."""
    reach = 80.0 * (1.0 - (y / 50.0) ** 2) ** 0.5
    places = (-1.0, -0.5, 0.0, 0.5, 1.0)
    return SeamLine(f"along {y:g}", tuple(on_shell(reach * at, y) for at in places))


def across() -> SeamLine:
    return SeamLine("across", tuple(on_shell(0.0, y) for y in (-50.0, -25.0, 0.0, 25.0, 50.0)))


def split(window: Any, *seams: SeamLine) -> JobState:
    """Give the shell other seams, as one edit."""
    from dataclasses import replace

    state: JobState = replace(window.document.state, seams=(), panel_names=(), seam_notes=())
    for seam in seams:
        state = with_seam(state, seam)
    window.document.edit(state, "seams")
    return state


def kept(window: Any, name: str) -> None:
    """Keep the seams of now, by keys: the action, the name, Enter."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    window.react("keep_breakup")
    spin(0.1)
    view = window.breaks.view
    assert view.name.text().startswith("break-up ")
    view.name.selectAll()
    QTest.keyClicks(view.name, name)
    QTest.keyClick(view.name, Qt.Key.Key_Return)
    spin(0.1)


def with_two(window: Any, shell_file: Path) -> Any:
    """Return the view with two break-ups kept and judged, the shell split in four."""
    sized(opened(window, shell_file))
    press(window, "Ctrl+7")
    split(window, lengthwise())
    kept(window, "two halves")
    split(window, lengthwise(), across())
    kept(window, "four quarters")
    view = window.breaks.view
    spin_until(lambda: all(row[1].isdigit() for row in view.words()) and not is_grey(view, 0))
    rest(window)
    return view


def is_grey(view: Any, row: int) -> bool:
    return bool(view.table.item(row, 1).font().italic())


def test_break_ups_kept_by_name_stand_side_by_side_with_all_their_numbers(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    view = with_two(window, shell_file)
    rows = view.words()
    assert [row[0] for row in rows] == ["two halves", "\u25cf four quarters"]
    assert [row[1] for row in rows] == ["2", "4"]
    assert len(rows[0]) == len(HEADINGS)
    assert all("in)" in row[at] for row in rows for at in (6, 7, 9)), "mm and inch"
    figures = made(window.document.state, "Judged")
    assert rows[1][5] == f"{figures.work_mm2:.3g}" or figures.work_mm2 > 100.0
    assert view.table.columnWidth(0) * 1 > 100
    assert sum(view.table.columnWidth(at) for at in range(len(HEADINGS))) <= view.table.width()


def test_one_taken_renamed_and_thrown_away_is_one_undo_each(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    view = with_two(window, shell_file)
    states = [window.document.state]
    view.table.setFocus()
    view.table.setCurrentCell(0, 0)
    QTest.keyClick(view.table, Qt.Key.Key_Return)
    states.append(window.document.state)
    assert breakup_shown(states[-1]) == "two halves"
    assert [seam.name for seam in states[-1].seams] == ["along 0"]
    QTest.mouseClick(view.rename, Qt.MouseButton.LeftButton)
    assert view.name.text() == "two halves"
    QTest.keyClicks(view.name, "halves")
    QTest.mouseClick(view.rename, Qt.MouseButton.LeftButton)
    states.append(window.document.state)
    assert [each.name for each in states[-1].breakups] == ["halves", "four quarters"]
    view.table.setFocus()
    view.table.setCurrentCell(1, 0)
    QTest.keyClick(view.table, Qt.Key.Key_Delete)
    assert [each.name for each in window.document.state.breakups] == ["halves"]
    for earlier in reversed(states):
        window.document.undo()
        assert window.document.state is earlier


def test_seams_not_kept_stand_in_the_table_and_are_grey_until_judged(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    view = with_two(window, shell_file)
    split(window, lengthwise(12.0))
    spin(0.02)
    assert view.words()[0][0].endswith(NOW)
    assert is_grey(view, 0)
    assert view.words()[1][1] == "2"
    spin_until(lambda: not is_grey(view, 0))
    assert view.words()[0][1] == "2"


def test_one_that_cannot_be_cut_says_why(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    view = with_two(window, shell_file)
    whole = lengthwise()
    split(window, SeamLine("stub", whole.points[1:4]))
    spin_until(lambda: view.words()[0][1] == "cannot be cut")
    view.table.setCurrentCell(0, 0)
    assert '"stub"' in view.more.text()
    assert view.more.isVisible()


def test_the_page_of_all_is_written(window, shell_file, tmp_path) -> None:  # type: ignore[no-untyped-def]
    view = with_two(window, shell_file)
    path = tmp_path / "break-ups.pdf"
    window.breaks.export(path)
    spin_until(path.exists)
    assert "is written" in view.said.text()
    document = pypdfium2.PdfDocument(path)
    words = document[0].get_textpage().get_text_range()
    assert len(document) == 1
    assert "two halves" in words
    assert "four quarters" in words
    document.close()


@pytest.mark.slow
def test_proposals_come_into_the_table_and_can_be_stopped(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    sized(opened(window, shell_file))
    press(window, "Ctrl+K")
    rest(window)
    view, before = window.breaks.view, window.document.state
    view.most.setValue(2)
    QTest.mouseClick(view.propose, Qt.MouseButton.LeftButton)
    spin_until(lambda: view.progress.value() > 0)
    assert view.stop.isVisible()
    QTest.mouseClick(view.stop, Qt.MouseButton.LeftButton)
    rest(window)
    assert "Stopped" in view.said.text()
    assert window.document.state.breakups == before.breakups == ()
    QTest.mouseClick(view.propose, Qt.MouseButton.LeftButton)
    spin_until(lambda: window.document.state.breakups)
    assert all(row[1] == "2" and not is_grey(view, at) for at, row in enumerate(view.words()))
    assert window.document.state.seams == (), "free to be ignored"
    assert "none beaten by another" in view.said.text()
    window.document.undo()
    assert window.document.state.breakups == ()
