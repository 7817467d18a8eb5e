"""Seat face and frame fit in the window: begun, held, bodies typed in, shown, undone, left out."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialogButtonBox, QFileDialog

from app.job import (
    FRAME_FIT,
    SEAT_FACE,
    Directions,
    FrameFitChoice,
    JobState,
    PlacedSpot,
    SeatChoice,
    SecondScan,
    SizeChoice,
    SteeringChoice,
    TankSpot,
    carried_through,
    made,
    next_tasks,
    read_scan_file,
    with_directions,
    with_rest,
    with_result,
    with_scan,
    with_second_scan,
    with_size,
)
from app.window.rest import row_of
from app.window.steps import Desk, FrameView, SeatView
from geometry.datum import Tape
from tests.app.window.conftest import (
    at_step,
    open_shell,
    spin,
    spin_until,
    stood,
    typed,
    write_stl,
)
from tests.geometry.gauges.test_seat import leaning
from tests.geometry.surface.flats.trays import tray

pytestmark = pytest.mark.window


@pytest.fixture(scope="module")
def plated(tmp_path_factory: pytest.TempPathFactory) -> JobState:
    """A plate with its wall, leaning as a seat face does, up to its surface."""
    plate = leaning(tray(1.2, noise_mm=0.03))
    path = tmp_path_factory.mktemp("seat") / "plate.ply"
    trimesh.Trimesh(plate.vertices, plate.faces, process=False).export(path)
    state = with_scan(JobState(), read_scan_file(path), "plate")
    at = plate.vertices
    pairs = ((at[:, 1].argmin(), at[:, 1].argmax()), (at[:, 2].argmin(), at[:, 2].argmax()))
    tapes = tuple(
        Tape(tuple(at[a].tolist()), tuple(at[b].tolist()), float(np.linalg.norm(at[a] - at[b])))
        for a, b in pairs
    )
    state = with_size(state, SizeChoice("mm", tapes))
    return carried_through(
        with_directions(state, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))), "Surface"
    )


def made_with(state: JobState, **rest: Any) -> JobState:
    state = carried_through(with_rest(state, **rest), "Stood")
    for task in next_tasks(state):
        if task.step in (SEAT_FACE, FRAME_FIT):
            state = with_result(state, task, task.run())
    return state


def test_a_seat_face_is_found_held_let_go_and_undone(window: Any, plated: JobState) -> None:
    view = at_step(window, plated, SEAT_FACE)
    assert isinstance(view, SeatView)
    before = window.document.state
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.seat == SeatChoice()
    spin_until(lambda: made(window.document.state, SEAT_FACE) is not None)
    spin_until(lambda: "Leans 18" in view.told_words)
    assert "Flat within" in view.told_words
    QTest.mouseClick(view.hold, Qt.MouseButton.LeftButton)
    held = window.document.state.rest.seat.held
    assert held is not None
    spin_until(lambda: made(window.document.state, SEAT_FACE) is not None)
    typed(view.form.fields["line_ahead_mm"], "6 mm")
    assert window.document.state.rest.seat.line_ahead_mm == 6.0
    assert window.document.state.rest.seat.held is held
    spin_until(lambda: window.rest.side.pages, 60.0)
    QTest.mouseClick(view.hold, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.seat.held is None
    while window.document.state is not before:
        window.document.undo()
    assert made(window.document.state, SEAT_FACE) is None


def test_a_tank_without_a_flat_says_so(window: Any, made_shell: JobState) -> None:
    state = stood(made_shell)
    view = at_step(window, state, SEAT_FACE)
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    spin_until(lambda: "No flat face" in view._ask.text())


def test_the_seats_picture_has_a_band_for_each_tenth_and_both_outlines(plated: JobState) -> None:
    state = made_with(plated, seat=SeatChoice())
    row = row_of(SEAT_FACE)
    assert row is not None
    picture = row.picture(state, Desk())
    faces = sum(len(body.faces) for body in picture.bodies)
    assert faces == len(made(state, SEAT_FACE).face.off_mm)
    assert len(picture.curves) == 3
    assert len(picture.legend) == len(picture.bodies) + 3
    assert row.picture(plated, Desk()).bodies == ()


def test_bodies_are_typed_in_and_gaps_come_back(window: Any, made_shell: JobState) -> None:
    state = stood(made_shell)
    view = at_step(window, state, FRAME_FIT)
    assert isinstance(view, FrameView)
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    (body,) = window.document.state.rest.frame_fit.bodies
    assert body.name == "top tube"
    spin_until(lambda: made(window.document.state, FRAME_FIT) is not None)
    spin_until(lambda: "competent" in view.told_words)
    view.bodies.list.setCurrentRow(0)
    spin(0.05)
    typed(view.bodies.form.fields["across_mm"], "25.4")
    assert window.document.state.rest.frame_fit.bodies[0].across_mm == 25.4
    view.steering.box.click()
    assert isinstance(window.document.state.rest.frame_fit.steering, SteeringChoice)
    spin_until(lambda: made(window.document.state, FRAME_FIT) is not None)
    view.gaps.setCurrentRow(0)
    spin(0.2)
    assert window.foreman.desk.chosen == ("gap", 0)
    assert view.page_of("gap", 0) == "frame fit.pdf"
    spin_until(lambda: window.rest.side.pages, 60.0)
    QTest.mouseClick(view.leave_out, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.frame_fit is None


def test_a_body_without_size_is_told_by_name(window: Any, made_shell: JobState) -> None:
    state = stood(made_shell)
    view = at_step(window, state, FRAME_FIT)
    usual = view.usual(state)
    nothing = replace(usual, bodies=(replace(usual.bodies[0], across_mm=0.0),))
    window.document.edit(with_rest(window.document.state, frame_fit=nothing), "Bodies")
    spin_until(lambda: "top tube" in view._ask.text())


def test_what_goes_through_is_lit_and_its_body_striped(plated: JobState) -> None:
    view = FrameView
    usual = view.usual(None, plated)  # type: ignore[arg-type]
    tube = usual.bodies[0]
    through = replace(
        tube,
        start=replace(tube.start, ahead_mm=-40.0, up_mm=40.0),
        end=replace(tube.end, ahead_mm=60.0, up_mm=40.0),
    )
    state = made_with(plated, frame_fit=FrameFitChoice((through,)))
    row = row_of(FRAME_FIT)
    assert row is not None
    picture = row.picture(state, Desk())
    rest, lit = picture.bodies
    assert rest.pitch > 0.0
    assert lit.colour != rest.colour
    assert len(rest.faces) + len(lit.faces) == len(made(state, FRAME_FIT).gaps[0].mesh.faces)
    assert picture.see_through
    assert picture.curves[0].dots


def _bar_over(folder: Path) -> Path:
    """Write a bar across, 70 to 74 up: 10 over the shell's top."""
    bar = trimesh.creation.box((4.0, 60.0, 4.0))
    bar.apply_translation([0.0, 0.0, 72.0])
    path = folder / "frame.stl"
    bar.export(path)
    return path


def test_a_second_scan_is_chosen_kept_placed_and_undone(
    window: Any, made_shell: JobState, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    view = at_step(window, with_rest(stood(made_shell), frame_fit=FrameFitChoice()), FRAME_FIT)
    before = window.document.state
    path = _bar_over(tmp_path)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *asked: (str(path), ""))
    QTest.mouseClick(view.second.choose, Qt.MouseButton.LeftButton)
    spin_until(lambda: window.document.state.frame_scan is not None)
    path.unlink()
    spin_until(lambda: made(window.document.state, FRAME_FIT) is not None)
    (gap,) = made(window.document.state, FRAME_FIT).gaps
    assert gap.gap_mm == pytest.approx(10.0, abs=0.3)
    assert "kept in this job" in view.second.source.text()
    assert "in the axes of the tank's scan" in view.second.agreed.text()
    for number in range(3):
        QTest.mouseClick(view.second.places.add, Qt.MouseButton.LeftButton)
        assert len(window.document.state.rest.frame_fit.second.places) == number + 1
    spin_until(lambda: "cannot place the second scan" in view._ask.text())
    monkeypatch.undo()
    while window.document.state.rest != before.rest:
        window.document.undo()
    assert window.document.state.frame_scan is None


def test_places_are_typed_and_how_well_they_agree_is_told(
    window: Any, made_shell: JobState, tmp_path: Path
) -> None:
    """Moved 100 mm ahead in its own axes; typed true, then the last of them 4 mm off."""
    bar = trimesh.creation.box((0.4, 6.0, 0.4))
    bar.apply_translation([10.0, 0.0, 7.2])
    bar.export(tmp_path / "frame.stl")
    places = tuple(
        PlacedSpot((x, y, 7.2), TankSpot(80.0 + 10.0 * x - 100.0, 10.0 * y, 72.0))
        for x, y in ((10.0, 3.0), (10.0, -3.0), (14.0, 0.0))
    )
    second = SecondScan("frame.stl", "cm", places)
    state = with_second_scan(
        with_rest(stood(made_shell), frame_fit=FrameFitChoice(second=second)),
        read_scan_file(tmp_path / "frame.stl"),
    )
    view = at_step(window, state, FRAME_FIT)
    spin_until(lambda: "agree to 0" in view.second.agreed.text())
    view.second.places.list.setCurrentRow(2)
    spin(0.05)
    assert view.second.places.form.fields["scan_x_mm"].text() == "140 mm"
    typed(view.second.places.form.fields["up_mm"], "76")
    changed = window.document.state.rest.frame_fit.second
    assert changed.places[2].tank.up_mm == 76.0
    assert changed.places[:2] == places[:2]
    spin_until(lambda: made(window.document.state, FRAME_FIT) is not None)
    off = made(window.document.state, FRAME_FIT).placed_off_mm
    assert off > 0.01
    spin_until(lambda: "no surer" in view.second.agreed.text())
    assert "off by" in view.second.places.list.item(2).text()
    typed(view.second.places.form.fields["scan_x_mm"], "150 mm")
    assert window.document.state.rest.frame_fit.second.places[2].scan[0] == pytest.approx(15.0)
    QTest.mouseClick(view.second.let_go, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.frame_fit.second is None
    assert window.document.state.frame_scan is None


def test_a_second_scan_of_an_earlier_job_that_is_gone_is_told_plainly(
    window: Any, made_shell: JobState, tmp_path: Path
) -> None:
    gone = FrameFitChoice(second=SecondScan(str(tmp_path / "gone.stl")))
    view = at_step(window, with_rest(stood(made_shell), frame_fit=gone), FRAME_FIT)
    spin_until(lambda: "There is no file" in view._ask.text())
    assert "gone.stl" in view._ask.text()
    assert "choose it again to keep it" in view.second.source.text()


def test_a_second_scan_far_off_has_a_gap_and_no_picture(plated: JobState, tmp_path: Path) -> None:
    bar = trimesh.creation.box((4.0, 60.0, 4.0))
    bar.apply_translation([0.0, 900.0, 0.0])
    bar.export(tmp_path / "frame.stl")
    state = with_second_scan(plated, read_scan_file(tmp_path / "frame.stl"))
    state = made_with(state, frame_fit=state.rest.frame_fit)
    (gap,) = made(state, FRAME_FIT).gaps
    assert gap.verdict == "far off"
    row = row_of(FRAME_FIT)
    assert row is not None
    assert row.picture(state, Desk()).bodies == ()


def _clicked(view: Any, point: Any) -> None:
    x, y = view.picture_point(np.asarray(point, float))
    QTest.mouseClick(view.plotter, Qt.MouseButton.LeftButton, pos=QPoint(round(x), round(y)))
    spin(0.05)


def test_places_are_clicked_on_both_scans_and_undone_at_once(
    window: Any, made_shell: JobState, tmp_path: Path
) -> None:
    """The frame's scan is the shell itself, moved: the same places put it back on it."""
    vertices, faces = open_shell()
    write_stl(tmp_path / "frame.stl", vertices + [300.0, -20.0, 45.0], faces)
    state = with_second_scan(
        with_rest(stood(made_shell), frame_fit=FrameFitChoice()),
        read_scan_file(tmp_path / "frame.stl"),
    )
    view = at_step(window, state, FRAME_FIT)
    spin_until(view.second.click.isEnabled)
    before = window.document.state.rest
    QTest.mouseClick(view.second.click, Qt.MouseButton.LeftButton)
    spin_until(lambda: window.rest.files.placing is not None)
    dialog = window.rest.files.placing
    spin(0.5)
    ok = dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)
    for number, at in enumerate(((40.0, 20.0), (-10.0, 30.0), (20.0, -5.0), (0.0, 0.0))):
        assert ok.isEnabled() == (number >= 3)
        up = 60.0 * float(np.sqrt(1.0 - (at[0] / 80.0) ** 2 - (at[1] / 50.0) ** 2))
        place = np.array([*at, up])
        _clicked(dialog.frame, place + [300.0, -20.0, 45.0])
        _clicked(dialog.tank, place + [80.0, 0.0, 0.0])  # from the tank's rearmost place
        assert len(dialog.pairs) == number + 1
    QTest.mouseClick(dialog.take_back, Qt.MouseButton.LeftButton)
    assert len(dialog.pairs) == 3
    assert "The places agree to" in dialog.agreed.text()
    QTest.mouseClick(ok, Qt.MouseButton.LeftButton)
    places = window.document.state.rest.frame_fit.second.places
    assert len(places) == 3
    spin_until(lambda: made(window.document.state, FRAME_FIT) is not None)
    assert made(window.document.state, FRAME_FIT).placed_off_mm < 2.0
    window.document.undo()
    assert window.document.state.rest == before
