"""What seams cost, told while they are drawn: rough at once, then as laid, greyed in between."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from app.job import (
    SeamLine,
    SeamNote,
    failure,
    latest,
    made,
    note_of,
    panel_names,
    task_for,
    with_seam,
)
from tests.app.window.conftest import spin, spin_until
from tests.app.window.test_seam_gestures import drag, let_go
from tests.app.window.test_window import (
    on_shell,
    opened,
    press,
    rest,
    sized,
    with_middle_seam,
)

pytestmark = pytest.mark.window


def strip(window: Any) -> Any:
    return window._middle.figures


def test_a_drawn_seam_is_judged_at_once_and_then_as_the_blanks_are_laid(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    seen: list[str] = []
    opened(window, shell_file)
    shown = strip(window)
    window.document.changed.connect(lambda: seen.append(shown.heading.text()))
    with_middle_seam(window)
    rest(window)
    state = window.document.state
    assert shown.isVisible()
    assert "As the blanks are laid" in shown.heading.text()
    assert any("Judged roughly, on large triangles" in words for words in seen)
    window.foreman.choose_seam(0)
    rows = shown.words()
    assert [row[0].removeprefix("\u25b8 ") for row in rows] == list(panel_names(state))
    assert all(row[0].startswith("\u25b8 ") for row in rows), "both lie beside the seam drawn"
    for row, panel in zip(rows, made(state, "Costs").panels, strict=True):
        assert row[4].endswith(" in")
        assert f"{panel.cut_mm[0]:.0f}" in row[4]
        assert row[5] == f"{panel.formed_area_mm2 / panel.blank_area_mm2:.3f}"
    length = made(state, "Costs").seams[0].length_mm
    half_ellipse = 2.0 * _quarter(80.0, 60.0)
    assert length == pytest.approx(half_ellipse, rel=0.01)
    assert f"{length:.1f}" in shown.seams.text()


def _quarter(a: float, b: float) -> float:
    """Return the length of a quarter of an ellipse, by its own sum of chords."""
    turn = np.linspace(0.0, np.pi / 2.0, 20_001)
    return float(np.hypot(np.diff(a * np.cos(turn)), np.diff(b * np.sin(turn))).sum())


def test_numbers_of_before_a_change_stay_and_are_told_as_out_of_date(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    shown, before = strip(window), strip(window).words()
    state = window.document.state
    moved = replace(state.seams[0], points=tuple((x, y + 4.0 * (abs(x) < 60), z) for x, y, z in
                                                 state.seams[0].points))  # fmt: skip
    window.document.edit(replace(state, seams=(moved,)), "moving a seam")
    assert "OUT OF DATE" in shown.heading.text()
    assert shown.words() == before, "never hidden"
    assert shown.table.item(0, 1).font().italic(), "not by colour alone"
    rest(window)
    assert "OUT OF DATE" not in shown.heading.text()
    assert shown.words() != before
    assert not shown.table.item(0, 1).font().italic()
    window.document.undo()
    spin(0.1)
    assert window.document.state is state
    assert shown.words() == before


def test_numbers_are_out_of_date_while_a_seam_is_in_the_hand(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    shown, before = strip(window), strip(window).words()
    seams = window.document.state.seams
    window.foreman.show_trial((replace(seams[0], points=seams[0].points[::-1]),))
    assert "OUT OF DATE while a seam is moved" in shown.heading.text()
    assert shown.words() == before
    window.foreman.show_trial(None)
    assert "As the blanks are laid" in shown.heading.text()


def _aside(seam: SeamLine, by_mm: float) -> SeamLine:
    """Return the shell's middle seam with its inner points moved aside, on the skin."""
    points = [on_shell(x, y + by_mm * (abs(x) < 60)) for x, y, _ in seam.points]
    return replace(seam, points=tuple(points))


def test_a_point_held_still_is_judged_and_let_go_there_its_figures_count(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    """The same figures as of that break-up judged by itself, and no second judging."""
    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    window.foreman.choose_seam(0)
    press(window, "T")
    shown, before, state = strip(window), strip(window).words(), window.document.state
    inner = state.seams[0].points[1]
    drag(window, inner, on_shell(inner[0], 5.0), on_shell(inner[0], 9.0), hold=True)
    spin_until(lambda: "OUT OF DATE while a seam is moved" in shown.heading.text(), 10.0)
    spin_until(lambda: "as it is in the hand" in shown.heading.text(), 30.0)
    trial = window.foreman.trial_seams
    task = task_for(replace(state, seams=trial), "Judged")
    assert task is not None
    alone = task.run()
    rows = {row[0].removeprefix("\u25b8 "): row[4] for row in shown.words()}
    for panel in alone.panels:
        assert f"{panel.cut_mm[0]:.0f}" in rows[panel.name]
    assert shown.words() != before
    assert not shown.table.item(0, 1).font().italic()
    assert window.document.state is state, "nothing is decided while it is held"
    begun: list[Any] = []
    window.bench.tasks.started.connect(begun.append)
    let_go(window, on_shell(inner[0], 9.0))
    assert window.document.state.seams == trial
    rest(window)
    assert all(getattr(task, "step", "") != "Judged" for task in begun)
    found = made(window.document.state, "Judged")
    for one, other in zip(found.panels, alone.panels, strict=True):
        assert one.worst_shrink == pytest.approx(other.worst_shrink, rel=1e-9)
        assert one.cut_mm == pytest.approx(other.cut_mm, rel=1e-9)


def test_of_seams_tried_in_a_row_the_last_is_judged_and_none_queue_up(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    seam = window.document.state.seams[0]
    begun: list[Any] = []
    window.bench.tasks.started.connect(begun.append)
    for by_mm in (2.0, 4.0, 6.0, 8.0):
        window.foreman.show_trial((_aside(seam, by_mm),))
    rest(window)
    assert [task.inputs[2] for task in begun] == [(_aside(seam, by),) for by in (2.0, 8.0)]
    window.foreman.show_trial(None)
    assert "As the blanks are laid" in strip(window).heading.text()


def test_a_seam_held_where_it_cannot_be_cut_says_so_and_changes_nothing(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    state, shown = window.document.state, strip(window)
    short = replace(state.seams[0], points=state.seams[0].points[:2])
    size = (window.tank.width(), window.tank.height())
    window.foreman.show_trial((short,))
    spin_until(lambda: "Cannot be cut" in shown.seams.text(), 30.0)
    spin(0.1)
    assert "OUT OF DATE" in shown.heading.text()
    assert (window.tank.width(), window.tank.height()) == size, "nothing moves under the pointer"
    window.foreman.show_trial(None)
    assert not shown.trouble.isVisible()
    assert "Cannot be cut" not in shown.seams.text()
    assert window.document.state is state


def test_a_seam_that_cannot_be_cut_says_why(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    state, before = window.document.state, strip(window).words()
    short = replace(state.seams[0], points=state.seams[0].points[:2])
    window.document.edit(replace(state, seams=(short,)), "cutting it short")
    spin_until(lambda: failure(window.document.state, "Seams") is not None)
    rest(window)
    shown = strip(window)
    assert shown.trouble.isVisible()
    assert "Cannot be cut" in shown.trouble.text()
    assert "same panel on both its sides" in shown.trouble.text() or "short of" in (
        shown.trouble.text()
    )
    assert "OUT OF DATE" in shown.heading.text()
    assert shown.words() == before


def test_a_row_chosen_by_key_chooses_its_panel(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtTest import QTest

    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    table = strip(window).table
    table.setFocus()
    table.setCurrentCell(0, 0)
    QTest.keySequence(table, "Down")
    assert window.foreman.desk.panel == panel_names(window.document.state)[1]


def test_every_entry_of_a_note_is_one_undo(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    opened(window, shell_file)
    with_middle_seam(window)
    rest(window)
    window.foreman.choose_seam(0)
    view = window.views["Seams"]
    view._note_fold.unfold(True)
    spin(0.1)
    form, name = view.note, window.document.state.seams[0].name
    states = [window.document.state]
    for field, downs in ((form.sight, 1), (form.reach, 2)):
        field.setFocus()
        for _ in range(downs):
            QTest.keyClick(field, Qt.Key.Key_Down)
            states.append(window.document.state)
    QTest.mouseClick(form.closing, Qt.MouseButton.LeftButton)
    form.left.setFocus()
    form.left.selectAll()
    QTest.keyClicks(form.left, "8")
    QTest.keyClick(form.left, Qt.Key.Key_Return)
    form.free.setFocus()
    QTest.keyClicks(form.free, "tack from the middle")
    QTest.keyClick(form.free, Qt.Key.Key_Return)
    note = note_of(window.document.state, name)
    assert note == SeamNote(
        name, "seen", reach="one side", closing=True,
        allowance_mm=(8.0, window.document.state.trim_mm), note="tack from the middle",
    )  # fmt: skip
    for _ in range(3):
        window.document.undo()
    for earlier in reversed(states):
        assert window.document.state is earlier
        window.document.undo()


def test_advice_is_told_with_its_reason_shown_hushed_and_told_again(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    """A right angle on the top of the shell: an inside corner, whatever else is said."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    sized(opened(window, shell_file))
    press(window, "Ctrl+7")
    corner = [on_shell(x, 0.0) for x in (-80.0, -40.0, 0.0)] + [on_shell(0.0, 25.0),
                                                                on_shell(0.0, 50.0)]  # fmt: skip
    seam = SeamLine("seam 1", tuple(corner))
    window.document.edit(with_seam(window.document.state, seam), "seam")
    rest(window)
    said = window.views["Seams"].advice
    rows = [said.list.item(at).text() for at in range(said.list.count())]
    at = next(k for k, row in enumerate(rows) if "turns a sharp corner" in row)
    said.list.setCurrentRow(at)
    spin(0.1)
    assert "inside corner of the panel" in said.reason.text()
    picture = window.pictures.tank(window.document.state, "Seams", window.foreman.desk)
    assert np.allclose(picture.warned, [[0.0, 0.0, 60.0]], atol=6.0)
    before = window.document.state
    QTest.mouseClick(said.hush, Qt.MouseButton.LeftButton)
    left = [said.list.item(k).text() for k in range(said.list.count())]
    assert rows[at] not in left
    QTest.mouseClick(said.all, Qt.MouseButton.LeftButton)
    spin(0.1)
    left = [said.list.item(k).text() for k in range(said.list.count())]
    quiet = left.index(f"hushed - {rows[at]}")
    said.list.setCurrentRow(quiet)
    spin(0.1)
    QTest.mouseClick(said.tell, Qt.MouseButton.LeftButton)
    assert note_of(window.document.state, "seam 1").hushed == ()
    window.document.undo()
    window.document.undo()
    assert window.document.state is before
    assert latest(before, "Advice")
