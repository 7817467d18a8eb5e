"""The step of the seat face: found, held as numbers, kept in the job, what moved off it told."""

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from app.job import SeatChoice, StoodTank, TankSpot, held_seat
from app.job.files.plain_json import Written, facts_of, value_of
from app.job.rest.seat_step import Seat, seat_step, seat_words
from geometry.gauges import GaugeSizeError, NoSeatFaceError, TankAxes
from geometry.mesh import TriMesh
from geometry.progress import silent
from geometry.surface import flat_faces
from tests.bodies import dome
from tests.geometry.gauges.test_seat import PLACE, leaning
from tests.geometry.surface.flats.trays import FLAT_RADIUS, tray

AXES = TankAxes(
    np.array([7.0, -3.0, 2.0]), np.array([[0.0, 1.0, 0], [-1.0, 0, 0], [0.0, 0, 1.0]]), True
)
"""The tank stands turned a quarter and moved in its file, which is in cm."""

MM_PER_UNIT = 10.0


@cache
def plate() -> TriMesh:
    return leaning(tray(1.2, noise_mm=0.05))


def stood(skin: TriMesh) -> StoodTank:
    none = np.zeros(len(skin.faces), bool)
    return StoodTank(AXES, skin, skin.vertices.copy(), none, none, (), True, ())


def seat(choice: SeatChoice, skin: TriMesh | None = None) -> Seat:
    skin = plate() if skin is None else skin
    in_scan = TriMesh(AXES.from_tank(skin.vertices), skin.faces)
    return seat_step(stood(skin), in_scan, flat_faces(in_scan), choice, MM_PER_UNIT, report=silent)


@cache
def found() -> Seat:
    return seat(SeatChoice())


def test_the_seat_is_found_in_tank_axes_wherever_the_scan_lies() -> None:
    assert np.degrees(found().plane.lean_rad) == pytest.approx(18.0, abs=0.05)
    assert abs(found().plane.out(PLACE[None])[0]) < 0.03
    assert found().moved is None
    assert seat_words(found(), "mm").startswith("leans 18")


def test_the_line_ahead_of_the_face_is_round_the_wall() -> None:
    """4 mm behind the plate its wall stands at 45 + 0.6 tan... : a circle about the middle."""
    radius = np.linalg.norm(found().line - found().plane.flat(PLACE[None]), axis=1)
    turn = 1.3
    down = 4.0 - 1.2 * (1.0 - np.cos(turn))
    wanted = FLAT_RADIUS + 1.2 * np.sin(turn) + down / np.tan(turn)
    assert np.median(radius) == pytest.approx(wanted, abs=0.1)


def test_what_is_held_is_kept_in_file_numbers_and_comes_back() -> None:
    held = held_seat(found())
    again = seat(SeatChoice(held=held))
    assert again.plane.edge == pytest.approx(found().plane.edge, abs=1e-9)
    assert again.plane.normal == pytest.approx(found().plane.normal, abs=1e-12)
    middle = AXES.from_tank(found().plane.point[None])[0] / MM_PER_UNIT
    assert held.point == pytest.approx(middle, abs=1e-12)
    assert not again.has_moved
    assert seat_words(again, "mm").startswith("held, leans 18")


def test_a_held_face_does_not_move_with_the_skin() -> None:
    held = held_seat(found())
    moved = TriMesh(plate().vertices + 0.6 * found().plane.normal, plate().faces)
    after = seat(SeatChoice(held=held), moved)
    assert after.plane.corner == pytest.approx(found().plane.corner, abs=1e-9)
    assert after.moved is not None
    assert after.moved.out_mm == pytest.approx(0.6, abs=0.01)
    assert after.has_moved
    assert seat_words(after, "mm") == "held; the skin has moved off it"


def test_a_held_face_outlives_the_flat_it_was_found_on() -> None:
    """The skin there becomes a dome: plane and edge stand, and nothing is flat beneath."""
    held = held_seat(found())
    ball = dome(60.0, 1.2, 40)
    instead = leaning(TriMesh(ball.vertices - [0.0, 0.0, 55.0], ball.faces))
    after = seat(SeatChoice(held=held), instead)
    assert after.face is None
    assert after.has_moved
    assert after.plane.edge == pytest.approx(found().plane.edge, abs=1e-9)


def test_a_ball_has_none_to_hold() -> None:
    with pytest.raises(NoSeatFaceError):
        seat(SeatChoice(), leaning(dome(120.0, 1.0, 40)))


@pytest.mark.parametrize("changed", [{"board_mm": -3.0}, {"line_ahead_mm": -1.0}])
def test_sizes_that_cannot_be_are_refused(changed: dict[str, float]) -> None:
    with pytest.raises(GaugeSizeError):
        seat(replace(SeatChoice(), **changed))  # type: ignore[arg-type]


def test_the_choice_goes_through_the_job_file_and_a_makers_file() -> None:
    choice = SeatChoice(TankSpot(20.0, 0.0, 90.0), 5.0, held=held_seat(found()))
    kept = json.loads(json.dumps(facts_of(choice)))
    assert value_of(SeatChoice, kept, "seat") == choice
    written = json.loads(json.dumps(facts_of(choice, Written(25.4))))
    assert written["line_ahead"] == pytest.approx(5.0 / 25.4)
    again = value_of(SeatChoice, written, "seat", Written(25.4))
    assert again.line_ahead_mm == pytest.approx(5.0)
    assert again.held == choice.held
    assert replace(again, line_ahead_mm=5.0).near is not None


def test_the_seat_is_one_of_the_flat_faces_found_before() -> None:
    """Looked for once, with the lines: where they had none, none is looked for again."""
    in_scan = TriMesh(AXES.from_tank(plate().vertices), plate().faces)
    (flat,) = flat_faces(in_scan)
    seat_face = seat(SeatChoice()).face
    assert seat_face is not None
    assert seat_face.flatness_mm == flat.flatness_mm
    assert seat_face.plane.normal == pytest.approx(AXES.axes @ flat.normal, abs=1e-12)
    with pytest.raises(NoSeatFaceError):
        seat_step(stood(plate()), in_scan, (), SeatChoice(), MM_PER_UNIT, report=silent)
