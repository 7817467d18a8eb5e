"""Tidy, Datum, Sides and Lines in the window, by mouse and keys, on a small shell with a hole."""

import itertools
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.job import DatumChoice, JobState, made, with_datum
from tests.app.window.conftest import open_shell, spin, write_stl
from tests.app.window.test_window import click, on_shell, opened, press, rest

pytestmark = pytest.mark.window

_READY: list[JobState] = []


@pytest.fixture
def holed_file(tmp_path: Path) -> Path:
    """Return a scan of the shell with a hole of some 20 mm in its left side, in mm."""
    vertices, faces = open_shell()
    middle = vertices[faces].mean(axis=1)
    kept = np.linalg.norm(middle - np.array(on_shell(10.0, 30.0)), axis=1) > 10.0
    return write_stl(tmp_path / "holed.stl", vertices, faces[kept])


@pytest.fixture
def ready(window: Any, holed_file: Path) -> Any:
    """Return a window with the holed shell, its unit said; read once in a run."""
    if _READY:
        window.keeper.begin(_READY[0], None, unsaved=False)
    else:
        opened(window, holed_file)
        window.foreman.set_unit("mm")
        rest(window)
        step = window.foreman.step
        window.foreman.choose_step("Tidy")  # works out how far the surface lies off the scan
        rest(window)
        window.foreman.choose_step(step)
        _READY.append(window.document.state)
    rest(window)
    assert made(window.document.state, "Tidy") is not None
    return window


def drag(window: Any, places: list[tuple[float, float, float]]) -> None:
    """Drag with the left button over the picture of points of space."""
    from PySide6.QtCore import QPoint, Qt
    from PySide6.QtTest import QTest

    canvas = window.tank.plotter
    ends = [window.tank.picture_point(np.array(place)) for place in places]
    points = [QPoint(round(x), round(y)) for x, y in ends]
    QTest.mousePress(canvas, Qt.MouseButton.LeftButton, pos=points[0])
    for start, end in itertools.pairwise(points):
        for step in range(1, 7):
            at = start + (end - start) * (step / 6.0)
            QTest.mouseMove(canvas, at)
            spin(0.01)
    QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=points[-1])
    spin(0.05)


def push(button: Any) -> None:
    """Click a button of a view."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    assert button.isVisible()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    spin(0.05)


def test_a_lasso_drawn_with_the_mouse_cuts_away_what_it_holds(ready) -> None:  # type: ignore[no-untyped-def]
    press(ready, "Ctrl+3")
    press(ready, "5")
    before, eye = ready.document.state, ready.tank.eye_direction()
    press(ready, "B")
    drag(ready, [on_shell(40, -20), on_shell(60, -20), on_shell(60, 20), on_shell(40, 20)])
    assert np.array_equal(eye, ready.tank.eye_direction())  # the tank did not turn
    view = ready.views["Tidy"]
    assert ready.document.state is before  # nothing is cut before the word
    push(view._cut)
    rest(ready)
    state = ready.document.state
    assert len(state.tidy.cuts) == 1
    faces = [len(made(s, "Tidy").tidy.mesh.faces) for s in (before, state)]
    assert faces[1] < faces[0]
    assert "inside an outline" in view._cuts.item(0).text()
    ready.document.undo()
    assert ready.document.state is before
    assert made(ready.document.state, "Tidy") is made(before, "Tidy")


def test_a_plane_clicked_with_two_points_crops_the_side_that_goes(ready) -> None:  # type: ignore[no-untyped-def]
    press(ready, "Ctrl+3")
    press(ready, "5")
    rest(ready)  # how far the surface lies off the scan is worked out while Tidy is shown
    before = ready.document.state
    press(ready, "X")
    click(ready, on_shell(60, -30))
    click(ready, on_shell(60, 30))
    push(ready.views["Tidy"]._crop)
    rest(ready)
    crop = ready.document.state.tidy.crops[0]
    eye = ready.tank.eye_direction()
    assert abs(float(np.array(crop.normal) @ eye)) < 1e-9  # it stands along the way looked
    assert abs(crop.normal[1]) < 0.05
    x = made(ready.document.state, "Tidy").tidy.mesh.vertices[:, 0]
    assert (x.max() < 65.0) == (crop.normal[0] < 0.0)
    ready.document.undo()
    assert ready.document.state is before


def test_by_keys_alone_a_lasso_is_drawn_round_the_middle(ready) -> None:  # type: ignore[no-untyped-def]
    press(ready, "Ctrl+3")
    press(ready, "5")
    press(ready, "B")
    for moves in (("Left", "Up"), ("Right", "Right"), ("Down", "Down"), ("Left", "Left")):
        for keys in moves:
            press(ready, keys)
        press(ready, "Space")
    tool = ready.foreman.hand.tool
    assert len(tool.corners) == 4
    press(ready, "Return")
    assert tool.is_laid
    press(ready, "Esc")
    assert ready.foreman.hand.tool is None
    assert ready.document.state.tidy.cuts == ()


def test_a_hole_chosen_is_lit_and_its_fate_switched_with_the_space_bar(ready) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    from app.window.look import LIT
    from app.window.tidy_rows import hole_rows

    press(ready, "Ctrl+3")
    before = ready.document.state
    rows = hole_rows(before)
    number = next(at for at, row in enumerate(rows) if not row.is_edge)
    assert 40.0 < rows[number].rim_mm < 110.0
    holes = ready.views["Tidy"]._holes
    holes.setFocus()
    holes.setCurrentRow(number)
    spin(0.05)
    assert ready.foreman.desk.chosen == ("hole", number)
    assert float(ready.tank.eye_direction() @ rows[number].normal) > 0.99
    lit = [curve for curve in _picture(ready).curves if curve.colour == LIT]
    assert len(lit) == 1
    was = rows[number].is_filled
    QTest.keyClick(holes, Qt.Key.Key_Space)
    rest(ready)
    row = hole_rows(ready.document.state)[number]
    assert (row.is_filled, row.by_hand) == (not was, True)
    ready.document.undo()
    assert ready.document.state is before


def stood(window: Any) -> None:
    """Stand the shell up by a plane and a level given, which is quick."""
    window.document.edit(
        with_datum(
            window.document.state,
            DatumChoice(
                "given",
                plane=((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
                level="given",
                up=(0.0, 0.0, 1.0),
                front=(1.0, 0.0, 0.0),
            ),
        ),
        "datum",
    )
    rest(window)


def _picture(window: Any) -> Any:
    return window.pictures.tank(window.document.state, window.foreman.step, window.foreman.desk)


def test_a_guess_is_told_in_the_legend_wherever_it_shows(ready) -> None:  # type: ignore[no-untyped-def]
    """The shell's hole is filled as usual: the smooth surface carries the hatch."""
    rest(ready)
    press(ready, "Ctrl+7")
    assert "NOT SCANNED - FILLED BY GUESS" in ready.tank_side.legend.words
    assert ready.tank_side.legend.isVisible()


def test_how_it_stands_is_said_by_picks_and_clicks(ready) -> None:  # type: ignore[no-untyped-def]
    press(ready, "Ctrl+4")
    press(ready, "5")
    before = ready.document.state
    press(ready, "J")
    for x in (-60, 0, 60):
        click(ready, on_shell(x, 0))
    assert "Enter takes 3" in ready.foreman.desk.tool_words
    press(ready, "Return")
    press(ready, "Shift+J")
    for y in (30, -30):
        click(ready, on_shell(20, y))
    press(ready, "Return")
    rest(ready)
    datum = made(ready.document.state, "Datum")
    assert datum is not None
    assert abs(float(datum.plane.normal @ np.array([0.0, 1.0, 0.0]))) > 0.999
    view = ready.views["Datum"]
    assert "The plane is sure to" in view._answer.text()
    press(ready, "Y")
    click(ready, on_shell(70, 0))
    rest(ready)
    assert made(ready.document.state, "Datum").front[0] > 0.99
    for _ in range(3):
        ready.document.undo()
    assert ready.document.state is before


def test_the_nose_is_tilted_by_typed_degrees_and_nonsense_is_refused(ready) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    press(ready, "Ctrl+4")
    view = ready.views["Datum"]
    stood(ready)
    before = made(ready.document.state, "Datum")
    assert before is not None
    for typed, wrong in (("a lot", True), ("2,5", False)):
        view._tilt.setText(typed)
        QTest.keyClick(view._tilt, Qt.Key.Key_Return)
        spin(0.05)
        assert bool(view._tilt.property("wrong")) == wrong
    rest(ready)
    after = made(ready.document.state, "Datum")
    assert np.degrees(np.arccos(float(after.up @ before.up))) == pytest.approx(2.5, abs=1e-6)


def test_a_side_is_copied_and_what_was_mirrored_is_told(ready) -> None:  # type: ignore[no-untyped-def]
    stood(ready)
    press(ready, "Ctrl+5")
    rest(ready)
    assert made(ready.document.state, "Sides") is not None
    assert ready.skin_keeper.chosen == "sides"  # the map comes by itself
    assert any("alike" in words for words in ready.tank_side.legend.words)
    view = ready.views["Sides"]
    assert view._table.rowCount() == len(made(ready.document.state, "Sides").left_right.stations)
    before = ready.document.state
    from tests.app.window.test_window import pick

    pick(view._copies.button(1))
    rest(ready)
    press(ready, "F2")
    assert "MIRRORED FROM THE LEFT SIDE" in ready.tank_side.legend.words
    press(ready, "5")
    press(ready, "Shift+O")
    click(ready, on_shell(-30, 20))
    click(ready, on_shell(-20, 20))
    rest(ready)
    assert 8.0 < ready.document.state.sides.odd[0].radius_mm < 13.0
    assert "as scanned" in view._zones.item(0).text()
    ready.document.undo()
    ready.document.undo()
    assert ready.document.state is before


def test_a_line_is_drawn_with_the_mouse_and_ended_by_enter(ready) -> None:  # type: ignore[no-untyped-def]
    press(ready, "Ctrl+6")
    press(ready, "5")
    before = ready.document.state
    press(ready, "W")
    for x in (-40, 0, 40):
        click(ready, on_shell(x, 15))
    press(ready, "Return")
    rest(ready)
    (line,) = ready.document.state.lines
    assert (line.state, line.drawn) == ("locked", True)
    ends = np.array([line.points[0], line.points[-1]]) - [on_shell(-40, 15), on_shell(40, 15)]
    assert np.linalg.norm(ends, axis=1).max() < 3.0
    assert ready.foreman.hand.tool is None
    assert ready.views["Lines"]._list.count() == 1
    ready.document.undo()
    assert ready.document.state is before


def test_every_tool_is_taken_by_its_key_and_put_down_by_escape(ready) -> None:  # type: ignore[no-untyped-def]
    before = ready.document.undo_name
    for keys in ("B", "X", "U", "J", "Shift+J", "H", "Y", "W"):
        press(ready, keys)
        assert ready.foreman.hand.tool is not None, keys
        assert ready.foreman.desk.tool_words
        press(ready, "Esc")
        assert ready.foreman.hand.tool is None
    assert ready.document.undo_name == before  # nothing was decided


def test_without_a_scan_every_step_says_what_to_do(window) -> None:  # type: ignore[no-untyped-def]
    for number in (3, 4, 5, 6):
        press(window, f"Ctrl+{number}")
        view = window.views[window.foreman.step]
        assert view._ask.text() == "Open a scan first."
        assert view._ask.isVisible()


@pytest.mark.parametrize("key", ["Ctrl+3", "Ctrl+4", "Ctrl+5", "Ctrl+6"])
def test_a_hole_that_will_be_filled_is_told_before_it_is(ready, key) -> None:  # type: ignore[no-untyped-def]
    """Its rim is dashed, and under the tank it says so, in every step before the surface."""
    words = "rim: WILL BE FILLED BY GUESS"
    press(ready, key)
    assert words in ready.tank_side.legend.words
    side = [curve for curve in shown_curves(ready) if curve.style == "short"]
    middle = np.concatenate([curve.points for curve in side]).mean(axis=0)
    assert np.linalg.norm(middle - on_shell(10.0, 30.0)) < 5.0
    before = ready.document.state
    ready.views["Tidy"].fill_requested.emit("none")
    spin()
    rest(ready)
    assert words not in ready.tank_side.legend.words
    assert not any(curve.style == "short" for curve in shown_curves(ready))
    ready.document.undo()
    assert ready.document.state is before


def shown_curves(window: Any) -> tuple[Any, ...]:
    """Return the curves the tank is shown with."""
    step, desk = window.foreman.step, window.foreman.desk
    curves: tuple[Any, ...] = window.pictures.tank(window.document.state, step, desk).curves
    return curves
