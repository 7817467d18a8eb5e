"""Seams changed in the window with mouse and keys, on the shell: every gesture, each one undo."""

from typing import Any

import numpy as np
import pytest

from app.job import DatumChoice, SeamLine, with_datum, with_line_drawn, with_seam
from tests.app.window.conftest import spin, spin_until
from tests.app.window.test_window import click, on_shell, opened, press, rest, sized

pytestmark = pytest.mark.window


def at(window: Any, point: Any) -> Any:
    """Return where a point of space is drawn, as a place of the picture."""
    from PySide6.QtCore import QPoint

    x, y = window.tank.picture_point(np.array(point, float))
    return QPoint(round(x), round(y))


def drag(window: Any, start: Any, *stops: Any, hold: bool = False) -> None:
    """Press at a point of space, move over others and let go at the last, unless `hold`."""
    from PySide6.QtCore import QEvent, QPointF, Qt
    from PySide6.QtGui import QMouseEvent
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    plotter, left = window.tank.plotter, Qt.MouseButton.LeftButton
    QTest.mousePress(plotter, left, pos=at(window, start))
    for stop in stops:
        place = QPointF(at(window, stop))
        for nearer in (QPointF(place.x() - 6.0, place.y()), place):
            where = QPointF(plotter.mapToGlobal(nearer.toPoint()))
            move = QMouseEvent(
                QEvent.Type.MouseMove, nearer, where, Qt.MouseButton.NoButton, left,
                Qt.KeyboardModifier.NoModifier,
            )  # fmt: skip
            QApplication.sendEvent(plotter, move)
        spin(0.02)
    if not hold:
        let_go(window, stops[-1])


def let_go(window: Any, place: Any) -> None:
    """Let the button go at a point of space."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    QTest.mouseRelease(window.tank.plotter, Qt.MouseButton.LeftButton, pos=at(window, place))
    spin(0.05)


def undo_to(window: Any, before: Any) -> None:
    """Undo one gesture: the very state of before it is back."""
    assert window.document.state is not before
    press(window, "Ctrl+Z")
    assert window.document.state is before


def seam_over(name: str, *places: tuple[float, float], on: tuple[str, ...] = ()) -> SeamLine:
    return SeamLine(name, tuple(on_shell(x, y) for x, y in places), on=on)


def drawn_on(window: Any, shell_file: Any, *seams: SeamLine) -> Any:
    """Open the shell with seams, at the step of seams seen from above; the first one is chosen."""
    opened(window, shell_file)
    sized(window)
    state = window.document.state
    for seam in seams:
        state = with_seam(state, seam)
    window.document.edit(state, "seams")
    press(window, "Ctrl+7")
    press(window, "5")
    rest(window)
    press(window, "T")
    return window


MIDDLE = seam_over("middle", (-80, 0), (-30, 0), (30, 0), (80, 0), on=("rim", "", "", "rim"))


def test_a_point_is_dragged_put_in_and_taken_out_each_with_one_undo(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    drawn_on(window, shell_file, MIDDLE)
    before = window.document.state
    assert len(window.tank._seams._of[0].grips) == 4

    drag(window, MIDDLE.points[1], on_shell(-30, 8), on_shell(-26, 14), hold=True)
    assert window.foreman.hand.held == "seam point"
    assert window.document.state is before  # nothing is saved while it is dragged
    carried = window.foreman.hand.tool.line
    let_go(window, on_shell(-26, 14))
    moved = window.document.state
    assert moved.seams[0].points[1] == pytest.approx(on_shell(-26, 14), abs=0.6)
    assert moved.seams[0].points[::3] == MIDDLE.points[::3]
    assert moved.seams[0].on == MIDDLE.on
    rest(window)
    line = window.pictures.seam_lines(window.document.state)[0]
    assert window.setters.seams.courses.is_exact(moved.seams[0])
    gaps = np.linalg.norm(line[:, None] - carried[None], axis=2).min(axis=1)
    assert gaps.max() < 1.0 + 3.0  # the line for the eye lay beside it, its points 6 mm apart
    undo_to(window, before)

    click(window, on_shell(0.0, 0.0))  # on the line: a point goes in there
    assert len(window.document.state.seams[0].points) == 5
    assert window.document.state.seams[0].points[2] == pytest.approx(on_shell(0, 0), abs=0.6)
    assert window.foreman.desk.chosen == ("seam point", 2)
    rest(window)
    more = window.document.state
    press(window, "Del")
    assert window.document.state.seams[0] == MIDDLE
    undo_to(window, more)
    undo_to(window, before)


def test_keys_alone_choose_put_in_carry_and_take_out_a_point(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    drawn_on(window, shell_file, MIDDLE)
    before = window.document.state
    press(window, ".")
    press(window, ".")
    assert window.foreman.desk.chosen == ("seam point", 1)
    press(window, ",")
    assert window.foreman.desk.chosen == ("seam point", 0)
    press(window, ".")
    press(window, "Ins")
    assert len(window.document.state.seams[0].points) == 5
    undo_to(window, before)
    press(window, ",")
    press(window, "Shift+G")
    assert window.foreman.hand.held == "seam point"
    press(window, "Esc")
    assert window.document.state is before
    press(window, "Shift+G")
    place = at(window, on_shell(-12, 12))  # no station is near
    from PySide6.QtTest import QTest

    QTest.mouseMove(window.tank.plotter, place)
    spin(0.1)
    press(window, "Space")
    assert window.document.state.seams[0].points[1] == pytest.approx(on_shell(-12, 12), abs=0.6)
    assert window.document.undo_name == "moving a point"
    rest(window)
    carried = window.document.state
    press(window, "Shift+N")
    press(window, "Del")
    assert window.document.state.seams == ()
    undo_to(window, carried)
    undo_to(window, before)


def test_an_end_moves_to_another_seam_and_to_the_rim_and_says_so(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    cross = seam_over("cross", (0, -30), (0, -12))
    drawn_on(window, shell_file, cross, MIDDLE)
    before = window.document.state
    drag(window, cross.points[1], on_shell(0, -6), on_shell(0, -0.5), hold=True)
    said = window.tank_side.caption._title
    assert "on middle" in said
    assert window.foreman.hand.tool.drawn().words[0][1] == "on middle"
    let_go(window, on_shell(0, -0.5))
    assert window.document.state.seams[0].on == ("", "seam: middle")
    assert window.document.state.seams[0].points[1][1] == pytest.approx(0.0, abs=0.05)
    undo_to(window, before)
    press(window, "Ctrl+Y")
    rest(window)

    drag(window, MIDDLE.points[1], on_shell(-30, 4), on_shell(-30, 9))  # not the chosen seam
    assert window.document.state.seams[1] == MIDDLE  # that drag turned the tank
    press(window, "5")
    press(window, "T")
    rest(window)
    before = window.document.state
    drag(window, MIDDLE.points[1], on_shell(-30, 4), on_shell(-10, 9))
    cross_now = window.document.state.seams[0]
    line = window.pictures.seam_lines(window.document.state)[1]
    far = np.linalg.norm(line - np.array(cross_now.points[1]), axis=1).min()
    assert cross_now.points[1][1] > 2.0  # what ends on a seam follows it
    assert far < 4.0
    assert window.document.undo_name == "moving a point"
    undo_to(window, before)  # both seams are back


def test_shift_held_catches_on_nothing_and_keys_set_how_strongly(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    cross = seam_over("cross", (0, -30), (0, -12))
    drawn_on(window, shell_file, cross, MIDDLE)
    drag(window, cross.points[1], on_shell(0, -6), on_shell(0, -1.0), hold=True)
    tool = window.foreman.hand.tool
    assert tool.moved().on == ("", "seam: middle")
    QTest.keyPress(window.tank.plotter, Qt.Key.Key_Shift)
    spin(0.05)
    assert tool.moved().on == ()
    QTest.keyRelease(window.tank.plotter, Qt.Key.Key_Shift)
    spin(0.05)
    assert tool.moved().on == ("", "seam: middle")
    press(window, "Esc")
    press(window, "S")
    assert not window.foreman.desk.snap.is_on
    press(window, "S")
    press(window, "Shift+C")
    assert window.foreman.desk.snap.strength == "strong"
    assert window.views["Seams"].hand.strength.currentData() == "strong"
    assert window.document.state.seams[0] == cross


def test_a_seam_is_mirrored_moves_with_its_image_and_is_unlinked(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    side = seam_over("side", (-40, 20), (0, 25), (40, 20))
    drawn_on(window, shell_file, side)
    press(window, "Shift+M")
    form = window.views["Seams"].hand
    assert "no centre plane" in form.told.text()
    assert form.missing.isVisible()
    assert "stations every 50 mm" in form.missing.text()
    assert len(window.document.state.seams) == 1
    choice = DatumChoice(
        how="given", plane=((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)), level="given", up=(0.0, 0.0, 1.0)
    )
    window.document.edit(with_datum(window.document.state, choice), "datum")
    rest(window)
    assert not form.missing.isVisible()
    names = {line.name for line in window.setters.seams.keeper.lines("mm")}
    assert {"centre plane", "station 50", "station 100"} <= names
    before = window.document.state
    press(window, "Shift+M")
    made = window.document.state
    assert made.seams[1].mirror_of == "side"
    for one, other in zip(made.seams[0].points, made.seams[1].points, strict=True):
        assert np.array(other) == pytest.approx(np.array(one) * (1, -1, 1), abs=0.05)
    rest(window)
    made = window.document.state
    drag(window, side.points[1], on_shell(2, 22), on_shell(4, 17), hold=True)
    spin_until(lambda: window.foreman.trial_seams is not None, 5.0)
    image = window.foreman.hand.tool.drawn().ahead  # the other hand is shown moving along
    assert np.linalg.norm(image - np.array(on_shell(4, 17)) * (1, -1, 1), axis=1).min() < 1.0
    let_go(window, on_shell(4, 17))
    assert window.foreman.trial_seams is None
    moved = window.document.state
    assert moved.seams[0].points[1] == pytest.approx(on_shell(4, 17), abs=0.6)
    assert moved.seams[1].points[1] == pytest.approx(
        np.array(moved.seams[0].points[1]) * (1, -1, 1), abs=0.05
    )
    undo_to(window, made)
    press(window, "Shift+U")
    assert not any(seam.mirror_of for seam in window.document.state.seams)
    undo_to(window, made)
    undo_to(window, before)


def test_a_seam_is_made_fair_slid_and_stood_off_each_with_one_undo(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    wavy = seam_over("wavy", (-40, 3), (-20, -3), (0, 3), (20, -3), (40, 3))
    drawn_on(window, shell_file, wavy)
    before = window.document.state
    press(window, "Shift+F")
    rest(window)
    fair = window.document.state.seams[0]
    assert fair.points[0] == pytest.approx(wavy.points[0], abs=0.05)  # laid on the facets
    assert len(fair.points) < 1 + 80 / 8  # no more than it needs: it was worked out every 8 mm
    assert window.document.undo_name == "making a seam fair"
    told = window.views["Seams"].hand.told
    assert told.text().startswith("wavy is fair now: it moved ")
    undo_to(window, before)

    press(window, "Shift+Y")
    assert "No locked line runs along wavy" in told.text()
    line = tuple(on_shell(x, -2.0) for x in range(-60, 61, 4))
    window.document.edit(with_line_drawn(window.document.state, line), "line")
    rest(window)
    locked = window.document.state
    press(window, "Shift+Y")
    spin_until(lambda: window.document.state is not locked)
    rest(window)
    off = np.array(window.document.state.seams[0].points)
    far = np.array([np.linalg.norm(np.array(line) - p, axis=1).min() for p in off])
    assert far == pytest.approx(8.0, abs=0.5)
    undo_to(window, locked)
    told_before = told.text()
    press(window, "Shift+S")
    rest(window)
    assert told.text() != told_before
    assert told.text().startswith("wavy ")
    assert window.document.undo_name == "sliding a seam"
    undo_to(window, locked)
    press(window, "Ctrl+Shift+Y")
    spin_until(lambda: window.document.state is not locked)
    assert window.document.undo_name == "standing a seam off"
    undo_to(window, locked)


def test_drawn_points_catch_on_centre_plane_and_mirror_image_and_the_seam_keeps_it(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    side = seam_over("side", (-40, 24), (0, 30), (40, 24))
    drawn_on(window, shell_file, side)
    choice = DatumChoice(
        how="given", plane=((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)), level="given", up=(0.0, 0.0, 1.0)
    )
    window.document.edit(with_datum(window.document.state, choice), "datum")
    rest(window)
    before = window.document.state
    press(window, "D")
    assert window.foreman.hand.held == "seam"
    click(window, on_shell(-33, 0.5))
    click(window, on_shell(3, -29.6))
    tool = window.foreman.seam_tool
    assert [placed.said for placed in tool.placed] == [
        "on the centre plane", "on the mirror image of side"
    ]  # fmt: skip
    press(window, "E")
    seam = window.document.state.seams[1]
    assert seam.on == ("centre plane", "mirror: side")
    assert seam.points[0][1] == pytest.approx(0.0, abs=1e-6)
    assert window.foreman.desk.seam == 1  # it is chosen, its points show
    undo_to(window, before)


def test_a_seam_that_would_meet_itself_says_so_while_it_is_drawn_and_while_a_point_is_dragged(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    from PySide6.QtTest import QTest

    drawn_on(window, shell_file)
    press(window, "S")  # a station is none of this
    before = window.document.state
    press(window, "D")
    for place in ((-20, -20), (-20, 20), (20, 20)):
        click(window, on_shell(*place))
    QTest.mouseMove(window.tank.plotter, at(window, on_shell(-45, -5)))
    tool, caption = window.foreman.seam_tool, window.tank_side.caption
    spin_until(lambda: tool.met, 5.0)
    assert [met.kind for met in tool.met] == ["crosses"]
    assert tool.met[0].point[0] == pytest.approx(-20.0, abs=3.0)  # the first leg, bowed
    assert "crosses itself (square mark)" in caption._title
    assert window.views["Seams"]._prompt.text() == caption._title
    QTest.mouseMove(window.tank.plotter, at(window, on_shell(45, -5)))
    spin_until(lambda: not tool.met, 5.0)
    assert "Click the next point" in caption._title
    click(window, on_shell(45, -5))
    press(window, "E")
    rest(window)
    drawn = window.document.state

    end = drawn.seams[0].points[3]
    drag(window, end, on_shell(20, 0), on_shell(-45, -5), hold=True)
    assert [met.kind for met in window.foreman.hand.tool.met] == ["crosses"]
    assert "crosses itself (square mark)" in caption._title
    press(window, "Esc")
    let_go(window, on_shell(-45, -5))
    assert window.document.state is drawn
    undo_to(window, before)
