"""The whole window, driven with mouse and keys on a small shell."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.job import (
    JobState,
    SeamLine,
    SideFile,
    all_made,
    latest,
    made,
    open_job,
    panel_names,
    read_scan_file,
    with_scan,
    with_seam,
)
from tests.app.window.conftest import spin, spin_until

pytestmark = pytest.mark.window


def rest(window: Any) -> None:
    """Wait until nothing runs."""
    spin(0.1)
    spin_until(lambda: not window.bench.is_busy)
    spin(0.1)


_OPENED: dict[bytes, JobState] = {}
_SIZED: list[JobState] = []
"""The shell with its unit said and its surface laid, as far as nothing is drawn yet."""


def opened(window: Any, path: Path) -> Any:
    """Open a scan and wait for its report; the same file again begins with what it came to."""
    data = path.read_bytes()
    if data in _OPENED:
        window.keeper.begin(_OPENED[data], None, unsaved=True)
    else:
        window.keeper.open(path)
    rest(window)
    assert made(window.document.state, "Scan") is not None
    _OPENED[data] = window.document.state
    return window


def sized(window: Any) -> Any:
    """Say the unit of the shell that is open, and wait for what follows from it."""
    if _SIZED and _SIZED[0].scan is window.document.state.scan:
        window.keeper.begin(_SIZED[0], None, unsaved=True)
    else:
        window.foreman.set_unit("mm")
    rest(window)
    _SIZED[:] = [window.document.state]
    return window


def click(window: Any, point: tuple[float, float, float], *, fine: bool = True) -> None:
    """Click the tank where a point of it is drawn."""
    from PySide6.QtCore import QPoint, Qt
    from PySide6.QtTest import QTest

    x, y = window.tank.picture_point(np.array(point))
    place = QPoint(round(x), round(y))
    QTest.mouseMove(window.tank.plotter, place)
    spin(0.08)
    QTest.mouseClick(window.tank.plotter, Qt.MouseButton.LeftButton, pos=place)
    spin(0.08)


def press(window: Any, keys: str) -> None:
    """Press a key of the table, as the window's shortcut."""
    from PySide6.QtTest import QTest

    window.activateWindow()
    spin_until(window.isActiveWindow, 10.0)  # before that no shortcut of it is heard
    window.tank.setFocus()
    spin(0.05)
    QTest.keySequence(window.tank.plotter, keys)
    spin(0.05)


def on_shell(x: float, y: float) -> tuple[float, float, float]:
    """Return the point of the shell above x, y."""
    return x, y, 60.0 * float(np.sqrt(max(0.0, 1.0 - (x / 80.0) ** 2 - (y / 50.0) ** 2)))


def with_middle_seam(window: Any) -> Any:
    """Give the shell its unit and a seam lengthwise over the top, by mouse."""
    sized(window)
    press(window, "Ctrl+7")
    press(window, "5")
    rest(window)
    press(window, "D")
    for x in (-80.0, -30.0, 30.0, 80.0):
        click(window, on_shell(x, 0.0))
    rest(window)
    return window


def test_a_scan_opens_and_its_report_is_shown(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    opened(window, shell_file)
    assert window.document.state.scan.file_name == "shell.stl"
    assert window.windowTitle().startswith("shell")
    assert latest(window.document.state, "Scan").report.triangles == 26 * 72 * 2 - 72


def test_the_pointer_finds_the_place_that_is_drawn_there(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    """A ray through the picture of a point meets the shell there; facets lie within 0.2 mm."""
    opened(window, shell_file)
    press(window, "5")
    for x, y in ((0.0, 0.0), (40.0, 10.0), (-55.0, -20.0)):
        point = np.array(on_shell(x, y))
        hit = window.tank.hit_at(*window.tank.picture_point(point))
        assert np.linalg.norm(hit.point - point) < 0.2


def test_a_drag_turns_the_tank_and_puts_no_point_down(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import QPoint, Qt
    from PySide6.QtTest import QTest

    opened(window, shell_file)
    press(window, "M")
    canvas, before = window.tank.plotter, window.tank.eye_direction()
    QTest.mousePress(canvas, Qt.MouseButton.LeftButton, pos=QPoint(200, 300))
    for x in range(205, 320, 10):
        QTest.mouseMove(canvas, QPoint(x, 300))
        spin(0.01)
    QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=QPoint(320, 300))
    spin()
    assert float(before @ window.tank.eye_direction()) < 0.99
    assert window.foreman.tape_tool.start is None


def test_two_tapes_clicked_and_typed_prove_the_size(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    opened(window, shell_file)
    press(window, "Ctrl+2")
    press(window, "5")
    for (start, end), typed in (
        ((on_shell(-60, 0), on_shell(60, 0)), "120"),
        ((on_shell(0, -35), on_shell(0, 35)), "2 3/4 in"),
    ):
        press(window, "M")
        click(window, start)
        click(window, end)
        edit = window.views["Size"]._length
        assert edit.isVisible()
        QTest.keyClicks(edit, typed)
        QTest.keyClick(edit, Qt.Key.Key_Return)
        rest(window)
        assert window.views["Size"]._tape.hasFocus()  # so that M is no letter of a field
    size = made(window.document.state, "Size")
    assert size.proved
    assert size.unit == "mm"
    window.document.undo()
    rest(window)
    assert not made(window.document.state, "Size").proved


def test_a_seam_drawn_from_rim_to_rim_parts_the_shell(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    opened(window, shell_file)
    with_middle_seam(window)
    state = window.document.state
    assert len(state.seams) == 1
    assert not state.seams[0].closed
    assert len(panel_names(state)) == 2
    undone = state
    press(window, "Ctrl+Z")
    assert window.document.state.seams == ()
    press(window, "Ctrl+Y")
    assert window.document.state is undone


def test_backspace_takes_a_point_back_and_escape_puts_the_pencil_down(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    opened(window, shell_file)
    sized(window)
    press(window, "Ctrl+7")
    press(window, "5")
    rest(window)
    press(window, "D")
    click(window, on_shell(0.0, 10.0))
    click(window, on_shell(20.0, 10.0))
    assert len(window.foreman.seam_tool.placed) == 2
    press(window, "Backspace")
    assert len(window.foreman.seam_tool.placed) == 1
    press(window, "Esc")
    assert window.foreman.seam_tool is None
    assert window.document.state.seams == ()


def test_a_ring_is_closed_by_its_key(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    opened(window, shell_file)
    sized(window)
    press(window, "Ctrl+7")
    press(window, "5")
    rest(window)
    press(window, "D")
    for x, y in ((-30, -15), (30, -15), (30, 15), (-30, 15)):
        click(window, on_shell(x, y))
    press(window, "C")
    rest(window)
    assert window.document.state.seams[0].closed
    assert len(panel_names(window.document.state)) == 2


def test_all_panels_are_laid_flat_and_tank_and_sheet_are_linked(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import QPointF

    from app.window.link import on_tank

    opened(window, shell_file)
    with_middle_seam(window)
    press(window, "Shift+L")
    rest(window)
    state = window.document.state
    assert all_made(state, "Blanks")
    assert all_made(state, "Paper")
    spot = window.sheet.spot_at(QPointF(window.sheet.rect().center()) + QPointF(0.0, 20.0))
    assert spot.panel == window.foreman.desk.panel
    place = on_tank(state, spot)
    assert place is not None
    x, y, z = place
    assert abs((x / 80) ** 2 + (y / 50) ** 2 + (z / 60) ** 2 - 1.0) < 0.03
    window.sheet.pointed.emit(spot)
    assert "->" in window._middle.readout.text()
    assert "mm" in window._middle.readout.text()
    assert "in)" in window._middle.readout.text()
    assert " m2 of sheet" in window.steps.words("Blanks")
    press(window, "I")
    assert " sq ft of sheet" in window.steps.words("Blanks")
    press(window, "I")


def pick(button: Any) -> None:
    """Click a radio button on its words."""
    from PySide6.QtCore import QPoint, Qt
    from PySide6.QtTest import QTest

    QTest.mouseClick(button, Qt.MouseButton.LeftButton, pos=QPoint(12, button.height() // 2))
    spin(0.05)


_LAID_FLAT: list[tuple[JobState, str]] = []


def laid_flat(window: Any, shell_file: Path) -> str:
    """Lay one half of the shell flat and return its name; by mouse and keys once in a run.

    Later windows open the same job, which nothing can change.
    """
    if _LAID_FLAT:
        state, name = _LAID_FLAT[0]
        window.keeper.begin(state, None, unsaved=False)
        press(window, "Ctrl+8")
        window.foreman.show_panel(name)
        rest(window)
        return name
    opened(window, shell_file)
    with_middle_seam(window)
    press(window, "Ctrl+8")
    press(window, "L")
    rest(window)
    name = str(window.foreman.desk.panel)
    assert made(window.document.state, "Blanks", name) is not None
    _LAID_FLAT.append((window.document.state, name))
    return name


def test_how_it_is_made_is_answered_at_once_and_undone_exactly(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    name = laid_flat(window, shell_file)
    before = window.document.state
    view = window.views["Blanks"]
    assert "at the crown" in view._answer.text()
    assert "with its trim; not to be cut yet." in view._answer.text()
    pick(view._making.button(2))
    rest(window)
    blank = made(window.document.state, "Blanks", name)
    assert blank is not None  # without pressing L again
    assert blank.flat.work.bias > 0.0
    assert blank.flat.blank_area > made(before, "Blanks", name).flat.blank_area
    assert ("as far towards shrink as this panel lets" in view._beside.text()) == blank.is_eased
    press(window, "Ctrl+Z")
    assert window.document.state is before
    assert view._making.button(1).isChecked()


def test_numbers_set_by_hand_are_taken_exactly_and_wrong_ones_are_refused(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    name = laid_flat(window, shell_file)
    view = window.views["Blanks"]
    part = view._worked_out
    assert not part._inside.isVisible()
    QTest.mouseClick(part._fold, Qt.MouseButton.LeftButton)
    spin(0.05)
    assert part._inside.isVisible()
    assert "residual" in part._facts.text()
    part._bias.setText("0,9")
    QTest.keyClick(part._bias, Qt.Key.Key_Return)
    spin(0.05)
    assert "-0.7 to 0.7" in part._wrong.text()
    assert window.document.state.blank_choices == ()
    part._bias.setText("-0.6")
    QTest.keyClick(part._bias, Qt.Key.Key_Return)
    rest(window)
    choice = window.document.state.choice_for(name)
    assert (choice.work.bias, choice.exact) == (-0.6, True)
    assert made(window.document.state, "Blanks", name).flat.work.bias == -0.6
    assert view._making.button(3).isChecked()
    assert view._making.button(3).isVisible()


def test_inches_and_percent_are_switched_by_their_keys_and_kept(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from app.settings import load_settings

    laid_flat(window, shell_file)
    view = window.views["Blanks"]
    for key, inches, percent in (
        ("I", True, False),
        ("P", True, True),
        ("I", False, True),
        ("P", False, False),
    ):
        press(window, key)
        assert (window.foreman.desk.show == "in") == inches
        assert window.foreman.desk.percent == percent
        assert window.actions_["inches"].isChecked() == inches
        assert window.actions_["percent"].isChecked() == percent
        assert load_settings().show == ("in" if inches else "mm")
        told = view._answer.text()
        assert (told.index(" in") < told.index(" mm")) == inches


def test_two_ways_are_laid_on_each_other_and_one_is_taken(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    name = laid_flat(window, shell_file)
    before = window.document.state
    assert not window.comparison.isVisible()
    press(window, "K")
    rest(window)
    assert window.document.state is before  # nothing is decided by looking
    assert window.comparison.isVisible()
    told = window.comparison.words()
    assert {"Size to cut", "Area", "Thinnest", "Thickest", "Edge, taken up"} <= set(told)
    against = window.sheet._sheet.against
    assert against.ways == ("mostly stretch", "mostly shrink")
    assert len(against.net) == len(window.sheet._sheet.blank.flat.rim)
    QTest.mouseClick(window.comparison._take[1], Qt.MouseButton.LeftButton)
    rest(window)
    assert not window.comparison.isVisible()
    assert window.document.state.choice_for(name).work.bias == 0.5
    assert made(window.document.state, "Blanks", name) is not None
    press(window, "K")
    rest(window)
    window.foreman.show_panel(next(n for n in panel_names(before) if n != name))
    assert not window.comparison.isVisible()


def test_the_least_thickness_is_the_makers_and_is_kept(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    from app.settings import load_settings

    laid_flat(window, shell_file)
    view = window.views["Blanks"]
    assert "Thinner than your least" not in view._warning.text()
    view._least.setFocus()
    view._least.setText("1/16 in")
    QTest.keyClick(view._least, Qt.Key.Key_Return)
    spin(0.1)
    assert "Thinner than your least of 1.59 mm (.062 in), at the crown." in view._warning.text()
    assert load_settings().least_thickness_mm == pytest.approx(25.4 / 16)
    window.foreman.set_least_thickness(1.2)


def test_stop_leaves_the_job_as_it_was_and_go_on_finishes_it(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    opened(window, shell_file)
    window.foreman.set_unit("mm")
    spin_until(lambda: window.bench.tasks.running("heavy") is not None)
    window.bench.stop()
    rest(window)
    assert made(window.document.state, "Surface") is None
    assert window.bench.was_stopped
    window.bench.go_on()
    rest(window)
    assert made(window.document.state, "Surface") is not None


def test_patterns_are_written_but_nothing_to_cut_from_untaped(window, shell_file, tmp_path) -> None:  # type: ignore[no-untyped-def]
    opened(window, shell_file)
    with_middle_seam(window)
    window.press.write(tmp_path / "patterns")
    rest(window)
    spin_until(lambda: window.press.written)
    names = {path.name for path in (tmp_path / "patterns").iterdir()}
    assert names == set(window.press.written)
    assert "overview.pdf" in names
    assert not [name for name in names if name.endswith((".dxf", ".svg"))]


def test_a_job_is_saved_and_opened_again_the_same(window, shell_file, tmp_path) -> None:  # type: ignore[no-untyped-def]
    from app.window.document import same_decisions

    opened(window, shell_file)
    window.document.edit(
        with_seam(window.document.state, SeamLine("one", ((0, 0, 60), (1, 0, 60)))), "seam"
    )
    assert window.document.is_unsaved
    assert window.keeper.save_to(tmp_path / "shell.lowcrown")
    assert not window.document.is_unsaved
    kept = window.document.state
    window.keeper.open(tmp_path / "shell.lowcrown")
    rest(window)
    again = window.document.state
    assert again.seams == kept.seams
    assert np.array_equal(again.scan.raw.vertices, kept.scan.raw.vertices)
    assert not window.document.is_unsaved
    assert same_decisions(open_job(tmp_path / "shell.lowcrown"), again) is False  # another scan
    assert Path(window.keeper.settings.recent_files[0]).name == "shell.lowcrown"


def test_work_of_a_crashed_program_is_offered_and_taken(window, shell_file, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtWidgets import QMessageBox

    from app.settings import recovery_folder

    program = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from app.job import *\n"
        "from app.settings import recovery_folder\n"
        "state = with_scan(JobState(), read_scan_file(Path(sys.argv[1])), 'crashed')\n"
        "side = SideFile(recovery_folder())\n"
        "side.keep(state)\n"
        "side.keep(with_trim(state, 17.0))\n"
        "os._exit(9)\n"
    )
    crashed = subprocess.run([sys.executable, "-c", program, os.fspath(shell_file)], check=False)
    assert crashed.returncode == 9
    monkeypatch.setattr(QMessageBox, "question", lambda *a: QMessageBox.StandardButton.Yes)
    assert window.keeper.offer_recovery()
    assert window.document.state.name == "crashed"
    assert window.document.state.trim_mm == 17.0
    assert window.document.is_unsaved
    rest(window)
    assert len(list(recovery_folder().glob("*.lowcrown"))) == 1  # its own, now


def test_a_bad_file_is_refused_in_words_and_the_job_stays(
    window: Any, shell_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from PySide6.QtWidgets import QMessageBox

    told: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *a: told.append(a[2]))
    opened(window, shell_file)
    window.document.mark_saved(tmp_path / "x")
    before = window.document.state
    bad = tmp_path / "cut short.stl"
    bad.write_bytes(shell_file.read_bytes()[:5000])
    window.keeper.open(bad)
    rest(window)
    assert window.document.state is before
    assert len(told) == 1
    assert "Traceback" not in told[0]


def test_every_action_has_an_answer_and_no_key_is_given_twice(window) -> None:  # type: ignore[no-untyped-def]
    from app.window.actions import ACTIONS

    general = ("step_", "view_", "turn_", "zoom_")
    for row in ACTIONS:
        known = row.key in window._reactions or row.key.startswith(general)
        assert known or row.key in ("keys", "about"), row.key
    keys = [key for row in ACTIONS for key in row.shortcuts]
    assert len(keys) == len(set(keys))
    assert "turn_over" in window._reactions


def test_without_a_screen_the_reason_is_told(monkeypatch, capsys) -> None:  # type: ignore[no-untyped-def]
    from app.window import open_window

    monkeypatch.setenv("QT_QPA_PLATFORM", "xcb")
    monkeypatch.setenv("DISPLAY", ":977")
    assert open_window(None) == 1
    said = capsys.readouterr().err
    assert "no window can be opened" in said
    assert "Traceback" not in said


def test_where_there_is_a_screen_nothing_speaks_against_a_window() -> None:
    from app.window.start import why_no_window

    assert why_no_window() == ""


def test_the_window_says_what_to_do_when_nothing_is_open(window) -> None:  # type: ignore[no-untyped-def]
    assert "Open a scan" in window.tank._words.text()
    assert not window.actions_["save"].isEnabled()
    assert window.actions_["open"].isEnabled()


def test_the_side_file_is_gone_after_a_clean_end(app, shell_file) -> None:  # type: ignore[no-untyped-def]
    from app.settings import recovery_folder
    from app.window.main_window import MainWindow

    window = MainWindow()
    window.keeper.begin(with_scan(JobState(), read_scan_file(shell_file)), None, unsaved=True)
    kept = set(recovery_folder().glob("*.lowcrown"))
    assert kept
    window.document.mark_saved(Path("nowhere"))
    window.close()
    spin()
    assert not kept & set(recovery_folder().glob("*.lowcrown"))
    assert isinstance(SideFile, type)
