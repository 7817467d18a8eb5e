"""The datum as the maker decides it, and guessed, and so told, where they have not."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.datum import DirectionAcrossError, NoSymmetryError, datum_of
from geometry.mesh import part_of_mesh
from geometry.progress import Cancelled
from tests.tanks import Dent, Tank, tank


@pytest.fixture(scope="module")
def scanned() -> Tank:
    return tank(4.0, noise_mm=0.1, seed=11, dents=[Dent(depth=6.0)], missing=0.2, turned=True)


def angle_deg(one: FloatArray, other: FloatArray) -> float:
    return float(np.degrees(np.arccos(np.clip(one @ other, -1.0, 1.0))))


def test_nothing_said_is_guessed_right_on_a_tank_and_told_as_a_guess(scanned: Tank) -> None:
    datum = datum_of(scanned.mesh)
    assert angle_deg(datum.left, scanned.left) < 0.05
    assert angle_deg(datum.up, scanned.up) < 2.0  # its bottom edge waves by 25 mm
    assert angle_deg(datum.front, scanned.front) < 2.0
    assert datum.guessed == ("up", "front")
    assert datum.level_spread_rad is not None


def test_what_the_maker_says_is_done(scanned: Tank) -> None:
    datum = datum_of(scanned.mesh, level="given", up=scanned.up, front=scanned.front)
    assert datum.guessed == ()
    assert datum.level_spread_rad is None
    places = np.array([[560.0, 0, 75], [300, 100, 100], [300, -100, 100]])
    there = datum.to_datum(scanned.to_file(places))
    assert np.ptp(there - places, axis=0).max() < 0.3
    assert there[1, 1] == pytest.approx(100.0, abs=0.1)
    assert there[2, 1] == pytest.approx(-100.0, abs=0.1)


def test_front_said_the_other_way_swaps_left_and_right(scanned: Tank) -> None:
    plane = datum_of(scanned.mesh).plane
    one = datum_of(scanned.mesh, how="given", plane=plane, up=scanned.up, front=scanned.front)
    other = datum_of(scanned.mesh, how="given", plane=plane, up=scanned.up, front=-scanned.front)
    assert np.allclose(one.left, -other.left)
    assert np.allclose(one.plane.normal, one.left)
    assert np.allclose(other.plane.normal, other.left)
    assert one.plane.spread_mm == plane.spread_mm


def test_picks_override_the_scan(scanned: Tank) -> None:
    centre = scanned.to_file(np.array([[560.0, 2, 75], [320, 2, 210], [30, 2, 100], [150, 2, 190]]))
    datum = datum_of(
        scanned.mesh, how="picks", on_centre=centre, up=scanned.up, front=scanned.front
    )
    assert datum.plane.off(scanned.to_file(np.array([[300.0, 2, 100]])))[0] == pytest.approx(
        0.0, abs=1e-9
    )
    assert datum.plane.matched_share is None


def test_level_picks_override_the_edge(scanned: Tank) -> None:
    picks = scanned.to_file(np.array([[50.0, 40, 60], [500, -30, 60 + 450 * np.tan(0.1)]]))
    datum = datum_of(scanned.mesh, level="picks", level_picks=picks, front=scanned.front)
    assert angle_deg(datum.up, scanned.up) == pytest.approx(np.degrees(0.1), abs=0.05)
    assert datum.guessed == ("up",)


def test_everything_of_the_tank_lies_before_and_above_the_origin(scanned: Tank) -> None:
    datum = datum_of(scanned.mesh)
    there = datum.to_datum(scanned.mesh.vertices)
    assert np.abs(there[:, [0, 2]].min(axis=0)).max() < 1e-9
    assert abs(there[:, 1].max() + there[:, 1].min()) < 5.0
    assert datum.plane.off(datum.origin[None])[0] == pytest.approx(0.0, abs=1e-9)


def test_half_a_tank_stands_by_picks_where_the_scan_says_no(scanned: Tank) -> None:
    left = scanned.from_file(scanned.mesh.vertices)[:, 1] > 0.0
    half, _ = part_of_mesh(scanned.mesh, np.flatnonzero(left[scanned.mesh.faces].all(axis=1)))
    with pytest.raises(NoSymmetryError):
        datum_of(half)
    centre = scanned.to_file(np.array([[560.0, 0, 75], [320, 0, 210], [30, 0, 100]]))
    datum = datum_of(half, how="picks", on_centre=centre, up=scanned.up, front=scanned.front)
    assert angle_deg(datum.left, scanned.left) < 1e-3


@pytest.mark.parametrize("which", ["up", "front"])
def test_a_direction_to_the_side_is_refused(scanned: Tank, which: str) -> None:
    plane = (scanned.to_file(np.zeros((1, 3)))[0], scanned.left)
    said = {"up": scanned.up, "front": scanned.front, which: scanned.left}
    with pytest.raises(DirectionAcrossError) as caught:
        datum_of(scanned.mesh, how="given", plane=plane, **said)  # type: ignore[arg-type]
    assert caught.value.which == which


def test_front_said_upward_is_refused(scanned: Tank) -> None:
    plane = (scanned.to_file(np.zeros((1, 3)))[0], scanned.left)
    with pytest.raises(DirectionAcrossError):
        datum_of(scanned.mesh, how="given", plane=plane, up=scanned.up, front=scanned.up)


def test_it_says_how_far_it_is_and_can_be_stopped(scanned: Tank) -> None:
    told: list[float] = []
    datum_of(scanned.mesh, report=lambda done, _: told.append(done))
    assert told == sorted(told)
    assert told[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.85:
            raise Cancelled

    with pytest.raises(Cancelled):
        datum_of(scanned.mesh, report=stop)
