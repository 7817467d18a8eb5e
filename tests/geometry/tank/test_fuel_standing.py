"""Part fillings against boxes whose puddles are prisms and wedges, and a published cylinder."""

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.tank import (
    LEVEL,
    Depths,
    FuelSpace,
    FuelStanding,
    MoreThanItHoldsError,
    PlainTunnel,
    Stance,
    TapOutsideError,
    fuel_space,
    fuel_standing,
    low_points,
    off_floor,
)
from tests.geometry.tank.bodies_to_fill import box, ellipsoid, revolved

LENGTH, WIDE, LEG, ROOF = 400.0, 250.0, 95.0, 80.0  # the tunnel is 60 wide


@pytest.fixture(scope="module")
def plain() -> FuelSpace:
    return fuel_space(box(LENGTH, WIDE, 200.0), wall_mm=0.0)


@pytest.fixture(scope="module")
def saddle() -> FuelSpace:
    tunnel = PlainTunnel(60.0, 60.0, ROOF, ROOF, "flat")
    return fuel_space(box(LENGTH, WIDE, 200.0), wall_mm=0.0, tunnel=tunnel)


def held(found: FuelStanding) -> dict[str, float]:
    """Return what stands left and right of the tunnel, or "over" it."""
    sides: dict[str, float] = {}
    for pool in found.pools:
        right, left = pool.reach[1]
        side = "left" if right > -29.0 else "right" if left < 29.0 else "over"
        sides[side] = sides.get(side, 0.0) + pool.volume_mm3
    return sides


@pytest.mark.parametrize(("lean", "nose"), [(15.0, 0.0), (-15.0, 0.0), (15.0, 5.0), (0.0, -8.0)])
def test_over_the_middle_of_a_box_fuel_stands_as_deep_however_it_is_leant(
    plain: FuelSpace, lean: float, nose: float
) -> None:
    """The plane through the middle at the mean depth cuts off the same volume: d times up_z."""
    stance = Stance("leant", np.radians(lean), np.radians(nose))
    middle = off_floor(np.array([LENGTH / 2.0, 0.0, 0.0]))
    found = fuel_standing(plain, LENGTH * WIDE * 60.0, stance, outlets=[middle])
    assert found.over_outlets_mm[0] == pytest.approx(60.0 * stance.up[2], abs=2e-4)
    (pool,) = found.pools
    assert pool.volume_mm3 == pytest.approx(LENGTH * WIDE * 60.0, rel=1e-9)


@pytest.mark.parametrize("hand", [1.0, -1.0])
def test_a_little_fuel_lies_in_a_wedge_on_the_lower_side(plain: FuelSpace, hand: float) -> None:
    """Length x s^2 tan(a) / 2: 80 mm of floor wet from the lower wall."""
    tan = np.tan(np.radians(12.0))
    stance = Stance("leant", lean_left_rad=hand * np.radians(12.0))
    dry = off_floor(np.array([200.0, hand * 40.0, 0.0]))
    wet = off_floor(np.array([200.0, hand * 50.0, 0.0]))
    volume = LENGTH * 80.0**2 * tan / 2.0
    found = fuel_standing(plain, volume, stance, outlets=[dry, wet])
    (pool,) = found.pools
    sides = np.sort(hand * pool.reach[1])
    assert sides == pytest.approx([WIDE / 2.0 - 80.0, WIDE / 2.0], abs=1e-5)
    assert pool.reach[0] == pytest.approx([0.0, LENGTH], abs=1e-9)
    # up the wall it stands 80 tan(a), straight up in the stance 80 sin(a)
    assert pool.deep_mm == pytest.approx(80.0 * np.sin(np.radians(12.0)), abs=1e-5)
    at = np.sin(np.radians(12.0)) * np.array([-5.0, 5.0])
    assert found.over_outlets_mm == pytest.approx(at.tolist(), abs=2e-4)


def test_half_full_legs_each_keep_their_own(saddle: FuelSpace) -> None:
    """30 mm on the level in each; leant by 12 degrees neither reaches the roof."""
    volume = 2.0 * LENGTH * LEG * 30.0
    found = fuel_standing(saddle, volume, Stance("leant", lean_left_rad=np.radians(12.0)))
    assert held(found) == pytest.approx({"left": volume / 2.0, "right": volume / 2.0}, rel=1e-6)


@pytest.mark.parametrize("hand", [1.0, -1.0])
@pytest.mark.parametrize("depth", [75.0, 85.0])
def test_a_leg_that_is_too_full_runs_over_into_the_other(
    saddle: FuelSpace, hand: float, depth: float
) -> None:
    """The upper leg keeps length x (roof x leg - tan(a) leg^2 / 2), the lower one has the rest."""
    lean = np.radians(12.0)
    volume = LENGTH * (2.0 * LEG * min(depth, ROOF) + WIDE * max(0.0, depth - ROOF))
    found = fuel_standing(saddle, volume, Stance("leant", lean_left_rad=hand * lean))
    kept = LENGTH * (ROOF * LEG - np.tan(lean) * LEG**2 / 2.0)
    upper, lower = ("right", "left") if hand > 0 else ("left", "right")
    sides = {"right" if pool.lowest[1] < 0 else "left": pool.volume_mm3 for pool in found.pools}
    assert sides == pytest.approx({upper: kept, lower: volume - kept}, rel=1e-6)


def test_two_full_legs_stand_at_one_level(saddle: FuelSpace) -> None:
    volume = LENGTH * (2.0 * LEG * ROOF + WIDE * 60.0)
    stance = Stance("leant", lean_left_rad=np.radians(12.0))
    (pool,) = fuel_standing(saddle, volume, stance).pools
    assert pool.level_mm == pytest.approx(Depths(saddle.mesh, stance).level_of(volume), abs=1e-5)
    assert pool.volume_mm3 == pytest.approx(volume, rel=1e-9)


def test_a_crossover_between_the_low_places_makes_them_one(saddle: FuelSpace) -> None:
    """Leant, the upper leg drains down to its tube's end; nose up both stand alike."""
    volume = 2.0 * LENGTH * LEG * 30.0
    right = off_floor(np.array([1.0, -30.1, 0.0]))
    tube = (right, right * [1.0, -1.0, 1.0])
    stance = Stance("nose up", nose_up_rad=np.radians(5.0))
    assert len(fuel_standing(saddle, volume, stance).pools) == 2
    (pool,) = fuel_standing(saddle, volume, stance, crossovers=[tube]).pools
    assert pool.level_mm == pytest.approx(Depths(saddle.mesh, stance).level_of(volume), abs=1e-4)


def test_on_the_level_both_legs_stand_at_one_height_and_outlets_say_how_deep(
    saddle: FuelSpace,
) -> None:
    volume = 2.0 * LENGTH * LEG * 30.0
    floor = np.array([300.0, 72.0, 0.0])
    outlets = [off_floor(floor), off_floor(floor, 25.0), off_floor(floor, 40.0)]
    found = fuel_standing(saddle, volume, LEVEL, outlets=outlets)
    assert [pool.level_mm for pool in found.pools] == pytest.approx([30.0, 30.0], abs=1e-5)
    assert found.over_outlets_mm == pytest.approx([30.0, 5.0, -10.0], abs=2e-4)
    assert held(found) == pytest.approx({"left": volume / 2.0, "right": volume / 2.0}, rel=1e-6)


def test_a_published_lying_cylinder() -> None:
    """10 m long, its surface 1 m wide and 0.2 m below the top: r = 0.725 m, 15.138 m3.

    A published exercise on a lying cylinder. 2000 sides: the shore is 1 m wide.
    """
    r = 725.0
    lying = revolved(np.array([0.0, r, r, 0.0]), np.array([0.0, 0.0, 10_000.0, 10_000.0]), 2000)
    space = FuelSpace(lying, 1, np.pi * r**2 * 10_000.0, 0.0)
    (pool,) = fuel_standing(space, 15.137923e9, LEVEL).pools
    assert np.ptp(pool.reach[1]) == pytest.approx(1000.0, abs=0.2)
    assert pool.level_mm == pytest.approx(r - 200.0, abs=0.1)


def test_what_is_poured_in_is_all_there(saddle: FuelSpace) -> None:
    for degrees in np.linspace(-25.0, 25.0, 11):
        for depth in (10.0, 60.0, 85.0, 150.0):
            volume = LENGTH * (2.0 * LEG * min(depth, ROOF) + WIDE * max(0.0, depth - ROOF))
            stance = Stance("s", lean_left_rad=np.radians(degrees), nose_up_rad=np.radians(4.0))
            found = fuel_standing(saddle, volume, stance)
            assert sum(pool.volume_mm3 for pool in found.pools) == pytest.approx(volume, rel=1e-6)


def test_a_turned_tank_and_a_leant_one_are_the_same() -> None:
    egg = ellipsoid(200.0, 120.0, 90.0, 40)
    lean = 0.3
    turn = np.array([[1, 0, 0], [0, np.cos(lean), np.sin(lean)], [0, -np.sin(lean), np.cos(lean)]])
    turned = TriMesh(egg.vertices @ turn.T, egg.faces)
    here = fuel_standing(FuelSpace(egg, 1, 9e6, 0), 3e6, Stance("leant", lean_left_rad=lean))
    there = fuel_standing(FuelSpace(turned, 1, 9e6, 0), 3e6, LEVEL)
    assert here.pools[0].level_mm == pytest.approx(there.pools[0].level_mm, abs=1e-5)


def test_a_tank_in_two_parts_stands_alike_in_both_and_nothing_runs_over() -> None:
    """Two boxes that share nothing, one twice as wide: filled to one height, each keeps its own."""
    one, other = box(400.0, 100.0, 200.0), box(400.0, 50.0, 200.0)
    points = np.concatenate([one.vertices, other.vertices + [0.0, 200.0, 0.0]])
    both = TriMesh(points, np.concatenate([one.faces, other.faces + len(one.vertices)]))
    space = FuelSpace(both, 2, 400.0 * 150.0 * 200.0, 0.0)
    lows = low_points(space, LEVEL)
    assert [low.runs_over_mm for low in lows] == [np.inf, np.inf]
    assert [low.holds_mm3 for low in lows] == pytest.approx([8e6, 4e6])
    volume = 400.0 * 150.0 * 90.0
    for lean in (0.0, 0.3):
        found = fuel_standing(space, volume, Stance("leant", lean_left_rad=lean))
        shares = [pool.volume_mm3 for pool in found.pools]
        assert shares == pytest.approx([volume * 2.0 / 3.0, volume / 3.0], rel=1e-6)


def test_more_than_it_holds_or_nothing_is_refused(plain: FuelSpace) -> None:
    for volume in (0.0, -1.0, 2.1e7, float("nan")):
        with pytest.raises(MoreThanItHoldsError) as caught:
            fuel_standing(plain, volume, LEVEL)
        assert caught.value.holds_mm3 == pytest.approx(2e7)


def test_an_outlet_outside_is_refused(saddle: FuelSpace) -> None:
    with pytest.raises(TapOutsideError):
        fuel_standing(saddle, 1e6, LEVEL, outlets=[np.array([200.0, 0.0, 10.0])])
