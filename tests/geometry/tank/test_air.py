"""Air that stays against boxes with a sill under the roof, whose pockets are prisms and wedges."""

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.tank import LEVEL, FuelSpace, Stance, TapOutsideError, air_left, taken_off
from tests.geometry.tank.bodies_to_fill import box

LENGTH, WIDE, HIGH, SILL = 400.0, 250.0, 200.0, 40.0
BEHIND = 150.0  # the sill, 20 mm thick, hangs from the roof so far from the rear, right across


@pytest.fixture(scope="module")
def parted() -> FuelSpace:
    """A box with a plate across under its roof: air behind it cannot reach a filler ahead."""
    whole = box(LENGTH, WIDE, HIGH)
    plate = box(20.0, WIDE + 20.0, SILL + 10.0)
    hung = TriMesh(plate.vertices + [BEHIND, 0.0, HIGH - SILL], plate.faces)
    left = taken_off(whole, hung)
    return FuelSpace(left, 1, LENGTH * WIDE * HIGH - 20.0 * WIDE * SILL, 0.0)


def edge(x: float, y: float = 0.0, radius: float = 20.0, z: float = HIGH - 1e-3) -> np.ndarray:
    angle = np.linspace(0.0, 2.0 * np.pi, 73)[:-1]
    ring = [x + radius * np.cos(angle), y + radius * np.sin(angle), np.full(72, z)]
    return np.stack(ring, axis=1)


def test_on_the_level_air_stays_behind_the_sill_and_a_vent_lets_it_out(parted: FuelSpace) -> None:
    """Length x width x how far the sill hangs down; 1 in 100 is asked."""
    (pocket,) = air_left(parted, LEVEL, edge(300.0))
    assert pocket.volume_mm3 == pytest.approx(BEHIND * WIDE * SILL, rel=1e-4)
    assert pocket.ventable_mm3 == pytest.approx(pocket.volume_mm3, rel=1e-3)
    assert pocket.place[2] == pytest.approx(HIGH)
    assert pocket.place[0] <= BEHIND
    vent = np.array([20.0, 30.0, HIGH - 1e-3])
    assert air_left(parted, LEVEL, edge(300.0), vents=[vent], least_mm3=1e3) == ()


@pytest.mark.parametrize("hand", [1.0, -1.0])
@pytest.mark.parametrize("degrees", [5.0, 12.0])
def test_on_the_side_stand_the_pockets_are_prisms_on_the_upper_side(
    parted: FuelSpace, hand: float, degrees: float
) -> None:
    """Behind the sill air leaves under its upper end: what lies over the level through there.

    Leant by a, the level falls from there across the roof: a triangle SILL^2 / (2 tan a), or,
    where it does not reach the roof within the width, the trapezium SILL x width - width^2 tan / 2.
    Ahead of it what lies over the filler's lowest edge: (width / 2 + radius)^2 tan / 2.
    """
    tan = np.tan(np.radians(degrees))
    stance = Stance("side stand", lean_left_rad=hand * np.radians(degrees))
    across = SILL**2 / (2 * tan) if WIDE * tan > SILL else SILL * WIDE - WIDE**2 * tan / 2.0
    ahead = (LENGTH - BEHIND - 20.0) * (WIDE / 2.0 + 20.0) ** 2 * tan / 2.0
    behind = BEHIND * across
    pockets = air_left(parted, stance, edge(300.0), least_mm3=1e3)
    by_place = {pocket.place[0] <= BEHIND: pocket for pocket in pockets}
    assert by_place[True].volume_mm3 == pytest.approx(behind, rel=1e-3)
    assert (WIDE / 2.0 + 20.0) * tan < SILL  # ahead the brim lies over the sill's lower edge
    assert by_place[False].volume_mm3 == pytest.approx(ahead, rel=1e-3)
    assert by_place[False].ventable_mm3 == pytest.approx(0.0, abs=500.0)
    assert all(np.sign(pocket.place[1]) == -hand for pocket in pockets)


@pytest.mark.parametrize("hand", [1.0, -1.0])
def test_a_vent_cannot_raise_fuel_over_the_filler(parted: FuelSpace, hand: float) -> None:
    """With a vent behind the sill fuel rises there to the filler's lowest edge, and no higher.

    What stays is what lies over that level: BEHIND x (width / 2 + radius)^2 tan / 2.
    """
    tan = np.tan(np.radians(5.0))
    stance = Stance("side stand", lean_left_rad=hand * np.radians(5.0))
    vent = np.array([20.0, -hand * (WIDE / 2.0 - 0.01), HIGH - 1e-3])
    pockets = air_left(parted, stance, edge(300.0), vents=[vent], least_mm3=1e3)
    (behind,) = [pocket for pocket in pockets if pocket.place[0] <= BEHIND]
    over_brim = BEHIND * (WIDE / 2.0 + 20.0) ** 2 * tan / 2.0
    assert behind.volume_mm3 == pytest.approx(over_brim, rel=1e-3)
    assert behind.ventable_mm3 == pytest.approx(0.0, abs=500.0)
    (bare,) = [p for p in air_left(parted, stance, edge(300.0)) if p.place[0] <= BEHIND]
    assert bare.volume_mm3 - bare.ventable_mm3 == pytest.approx(over_brim, rel=1e-3)


def test_a_filler_in_a_box_leaves_no_air_on_the_level() -> None:
    space = FuelSpace(box(LENGTH, WIDE, HIGH), 1, LENGTH * WIDE * HIGH, 0.0)
    assert air_left(space, LEVEL, edge(200.0), least_mm3=1e3) == ()


def test_a_filler_let_down_leaves_the_air_over_its_edge() -> None:
    """A recess 12 mm deep: fuel stands 12 mm under the roof, whatever vents there are."""
    space = FuelSpace(box(LENGTH, WIDE, HIGH), 1, LENGTH * WIDE * HIGH, 0.0)
    (pocket,) = air_left(space, LEVEL, edge(200.0, z=HIGH - 12.0))
    assert pocket.volume_mm3 == pytest.approx(LENGTH * WIDE * 12.0, rel=1e-6)
    assert pocket.ventable_mm3 == pytest.approx(0.0, abs=1.0)


def test_nose_up_the_pocket_is_a_wedge_at_the_front() -> None:
    """Over the level through the filler's lowest, rearmost edge: reach^2 tan / 2 x width."""
    space = FuelSpace(box(LENGTH, WIDE, HIGH), 1, LENGTH * WIDE * HIGH, 0.0)
    slope = np.radians(6.0)
    (pocket,) = air_left(space, Stance("nose up", nose_up_rad=slope), edge(200.0))
    assert pocket.volume_mm3 == pytest.approx(WIDE * 220.0**2 * np.tan(slope) / 2.0, rel=1e-3)
    assert pocket.place[0] == pytest.approx(LENGTH)


def test_a_vent_outside_is_refused(parted: FuelSpace) -> None:
    with pytest.raises(TapOutsideError) as vent:
        air_left(parted, LEVEL, edge(300.0), vents=[np.array([900.0, 0.0, 50.0])])
    assert vent.value.name == "vent"
    with pytest.raises(TapOutsideError) as filler:
        air_left(parted, LEVEL, edge(900.0))
    assert filler.value.name == "filler"
