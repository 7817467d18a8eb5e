"""Low points and trapped fuel against boxes whose puddles are prisms and wedges."""

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.tank import (
    LEVEL,
    FuelSpace,
    PlainTunnel,
    Stance,
    TapOutsideError,
    TooSteepError,
    fuel_space,
    low_points,
    off_floor,
    taken_off,
    trapped,
)
from tests.geometry.tank.bodies_to_fill import box, ellipsoid

LENGTH, LEG, ROOF = 400.0, 95.0, 80.0  # the box is 250 wide, its tunnel 60


@pytest.fixture(scope="module")
def saddle() -> FuelSpace:
    tunnel = PlainTunnel(60.0, 60.0, ROOF, ROOF, "flat")
    return fuel_space(box(LENGTH, 250.0, 200.0), wall_mm=0.0, tunnel=tunnel)


def wedge(angle: float, across: float, along: float) -> float:
    return float(along * across**2 * np.tan(angle) / 2.0)


def test_a_tunnel_makes_two_low_points_on_the_level(saddle: FuelSpace) -> None:
    """Each leg holds length x width x roof before it runs over."""
    found = low_points(saddle, LEVEL)
    assert len(found) == 2
    for point in found:
        assert point.holds_mm3 == pytest.approx(LENGTH * LEG * ROOF, rel=1e-9)
        assert point.runs_over_mm == pytest.approx(ROOF)
        assert abs(point.place[1]) == pytest.approx(30.0 + LEG / 2.0)
        assert point.place[0] == pytest.approx(LENGTH / 2.0)


@pytest.mark.parametrize("hand", [1.0, -1.0])
@pytest.mark.parametrize("degrees", [5.0, 12.0, 20.0])
def test_on_the_side_stand_each_leg_holds_its_own_wedge(
    saddle: FuelSpace, degrees: float, hand: float
) -> None:
    """Leant to the left the surface starts at the roof's edge next to the leg that runs over.

    To the right it is the same, mirrored.

    The right leg spills left over the roof's left corner or right corner, whichever stands higher:
    the right one. Both surfaces stand at its height: in the right leg the leg's section below it,
    in the left leg that over the slope to the outer wall.
    """
    lean = np.radians(degrees)
    found = low_points(saddle, Stance("side stand", lean_left_rad=hand * lean))
    assert len(found) == 2
    # height over the floor, square to it, at distance s left of the roof's right corner:
    # ROOF + s tan(lean); the right leg lies at s from -LEG to 0, the left one at 60 to 60 + LEG.
    tan = np.tan(lean)
    right = LENGTH * (ROOF * LEG - tan * LEG**2 / 2.0)
    left_over_floor = ROOF * LEG + tan * ((60.0 + LEG) ** 2 - 60.0**2) / 2.0
    over_tunnel = tan * 60.0**2 / 2.0
    found = tuple(sorted(found, key=lambda point: hand * point.place[1]))
    assert hand * found[0].place[1] < -29.0
    assert hand * found[1].place[1] > 29.0
    assert found[0].holds_mm3 == pytest.approx(right, rel=1e-6)
    assert found[1].holds_mm3 == pytest.approx(LENGTH * (left_over_floor + over_tunnel), rel=1e-6)


@pytest.mark.parametrize("degrees", [-12.0, 12.0])
def test_nose_up_and_down_the_low_points_go_to_the_ends(saddle: FuelSpace, degrees: float) -> None:
    """Each leg is a wedge to the roof at the low end: the roof is as steep as the floor."""
    slope = np.radians(degrees)
    found = low_points(saddle, Stance("nose", nose_up_rad=slope))
    assert len(found) == 2
    end = 0.0 if degrees > 0 else LENGTH
    over = ROOF  # the surface meets the low end's wall at the roof there
    reach = over / np.tan(abs(slope))
    held = LEG * (over**2 / np.tan(abs(slope)) / 2.0)
    assert reach < LENGTH
    for point in found:
        assert point.place[0] == pytest.approx(end, abs=1e-6)
        assert point.holds_mm3 == pytest.approx(held, rel=1e-6)


def test_hollows_too_small_to_tell_are_one_with_what_they_run_over_to(saddle: FuelSpace) -> None:
    """Both legs small: all runs to one low point, which holds all there is."""
    (only,) = low_points(saddle, LEVEL, least_mm3=1e9)
    assert only.holds_mm3 == pytest.approx(saddle.volume_mm3, rel=1e-9)
    assert only.runs_over_mm == np.inf


def test_the_low_point_of_a_level_floor_with_a_dented_corner_is_its_middle() -> None:
    """A corner 1 mm lower is waviness; on a slope the low end itself is told."""
    x, y = np.meshgrid(np.linspace(0.0, 400.0, 41), np.linspace(-100.0, 100.0, 21), indexing="ij")
    for slope, place in ((0.0, [200.0, 0.0]), (0.05, [0.0, 0.0])):
        z = slope * x
        z[0, 0] -= 1.0
        space = FuelSpace(tray(x, y, z, 100.0), 1, 8e6, 0.0)
        (only,) = low_points(space, LEVEL)
        assert only.place[:2] == pytest.approx(place, abs=2.0 if slope == 0.0 else 101.0)
        if slope:
            assert only.place[0] < 5.0


def tray(x: np.ndarray, y: np.ndarray, z: np.ndarray, high: float) -> TriMesh:
    """Return a box with a floor of its own over a grid."""
    count = x.size
    floor = np.stack([x, y, z], axis=-1).reshape(-1, 3)
    roof = np.stack([x, y, np.full(x.shape, high)], axis=-1).reshape(-1, 3)
    grid = np.arange(count).reshape(x.shape)
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    up = np.concatenate([np.stack([a, b, c], -1), np.stack([a, c, d], -1)]).reshape(-1, 3)
    rim = np.concatenate([grid[:, 0], grid[-1, 1:], grid[-2::-1, -1], grid[0, -2:0:-1]])
    after = np.roll(rim, -1)
    walls = [
        np.stack([rim, after, after + count], 1),
        np.stack([rim, after + count, rim + count], 1),
    ]
    return TriMesh(np.concatenate([floor, roof]), np.concatenate([up[:, ::-1], up + count, *walls]))


def test_one_tap_leaves_the_other_leg_full(saddle: FuelSpace) -> None:
    tap = off_floor(np.array([200.0, 70.0, 0.0]))
    (left,) = trapped(saddle, LEVEL, [tap])
    assert left.sides_mm == pytest.approx((-125.0, -30.0))
    assert left.volume_mm3 == pytest.approx(LENGTH * LEG * ROOF, rel=1e-6)
    assert left.place[1] < 0.0


def test_two_taps_or_a_crossover_leave_nothing_on_the_level(saddle: FuelSpace) -> None:
    left = off_floor(np.array([200.0, 70.0, 0.0]))
    right = left * [1.0, -1.0, 1.0]
    assert sum(pool.volume_mm3 for pool in trapped(saddle, LEVEL, [left, right])) < 20.0
    joined = trapped(saddle, LEVEL, [left], crossovers=[(left, right)])
    assert sum(pool.volume_mm3 for pool in joined) < 20.0  # 0.0001 mm over the floor


@pytest.mark.parametrize("place", [0.0, 130.0, 400.0])
def test_a_tap_up_the_slope_leaves_the_wedge_below_it(place: float) -> None:
    """Nose up: below the tap's height lies a wedge of reach x, x tan(a) high. 1 % is asked."""
    whole = fuel_space(box(400.0, 250.0, 200.0), wall_mm=0.0)
    slope = np.radians(10.0)
    inside = min(max(place, 1e-3), 399.999)
    tap = off_floor(np.array([inside, 20.0, 0.0]))
    pools = trapped(whole, Stance("nose up", nose_up_rad=slope), [tap], least_mm3=0.0)
    held = sum(pool.volume_mm3 for pool in pools)
    full = wedge(slope, inside, 250.0)
    assert held == pytest.approx(full, rel=1e-5, abs=30.0)


@pytest.mark.parametrize("hand", [1.0, -1.0])
def test_leant_with_one_tap_both_pools_are_closed_forms(saddle: FuelSpace, hand: float) -> None:
    """Tap in the middle of the left leg's floor, leant right by a: two prisms; and mirrored.

    The right leg keeps what stands under the level of the roof's left corner; the left leg the
    wedge beyond the tap, towards the tunnel. 1 in 100 is asked.
    """
    lean = np.radians(8.0)
    tap = off_floor(np.array([200.0, hand * 80.0, 0.0]))
    pools = trapped(saddle, Stance("leant", lean_left_rad=-hand * lean), [tap])
    tan = np.tan(lean)
    # s to the right of the roof's left corner: depth ROOF + s tan over the floor
    over_tunnel = tan * 60.0**2 / 2.0
    right = ROOF * LEG + tan * ((60.0 + LEG) ** 2 - 60.0**2) / 2.0
    assert len(pools) == 2
    assert pools[0].volume_mm3 == pytest.approx(LENGTH * (right + over_tunnel), rel=1e-6)
    assert pools[1].volume_mm3 == pytest.approx(wedge(lean, 50.0, LENGTH), rel=1e-4)


@pytest.mark.parametrize("hand", [1.0, -1.0])
def test_one_tap_in_the_upper_leg_empties_none_of_the_lower_one(
    saddle: FuelSpace, hand: float
) -> None:
    """On the side stand with the tap in the upper leg: the lower leg keeps all that it holds.

    It spills over the roof's upper corner: its section over the slope to the outer wall, and what
    stands over the roof.
    """
    tan = np.tan(np.radians(12.0))
    stance = Stance("side stand", lean_left_rad=hand * np.radians(12.0))
    tap = off_floor(np.array([200.0, -hand * 30.01, 0.0]))  # the lowest place of the upper leg
    (pool,) = trapped(saddle, stance, [tap])
    lower = ROOF * LEG + tan * ((60.0 + LEG) ** 2 - 60.0**2) / 2.0 + tan * 60.0**2 / 2.0
    assert pool.volume_mm3 == pytest.approx(LENGTH * lower, rel=1e-6)
    assert hand * pool.place[1] > 29.0


@pytest.mark.parametrize("slope", [10.0, -10.0])
def test_nose_up_both_legs_keep_the_wedge_beyond_their_taps(
    saddle: FuelSpace, slope: float
) -> None:
    """Taps 100 mm from the lower end: behind each a wedge of that reach, a leg wide."""
    stance = Stance("nose", nose_up_rad=np.radians(slope))
    x = 100.0 if slope > 0 else LENGTH - 100.0
    taps = [off_floor(np.array([x, side * 75.0, 0.0])) for side in (1.0, -1.0)]
    pools = trapped(saddle, stance, taps)
    each = wedge(np.radians(10.0), 100.0, LEG)
    assert [pool.volume_mm3 for pool in pools] == pytest.approx([each, each], rel=1e-4)
    end = 0.0 if slope > 0 else LENGTH
    assert [pool.place[0] for pool in pools] == pytest.approx([end, end])


def test_a_recess_that_hangs_in_the_fuel_makes_no_low_point_of_its_own() -> None:
    """A cup let into the roof: its bottom is the skin's lowest place around, but fuel is below."""
    whole = box(400.0, 250.0, 200.0)
    cup = TriMesh(box(80.0, 60.0, 150.0).vertices + [160.0, 0.0, 80.0], whole.faces)
    left = taken_off(whole, cup)
    space = FuelSpace(left, 1, 2e7, 0.0)
    (only,) = low_points(space, LEVEL)
    assert only.place[2] == pytest.approx(0.0, abs=1e-9)
    tap = off_floor(np.array([50.0, 0.0, 0.0]))
    assert sum(pool.volume_mm3 for pool in trapped(space, LEVEL, [tap])) < 20.0
    standpipe = off_floor(np.array([50.0, 0.0, 0.0]), 100.0)
    (pool,) = trapped(space, LEVEL, [standpipe])
    assert pool.volume_mm3 == pytest.approx(400 * 250 * 100 - 80 * 60 * 20, rel=1e-9)


def test_a_turned_tank_and_a_leant_one_are_the_same() -> None:
    """An egg turned about its length by a, level, against itself leant by a."""
    egg = ellipsoid(200.0, 120.0, 90.0, 40)
    lean = 0.3
    turn = np.array([[1, 0, 0], [0, np.cos(lean), np.sin(lean)], [0, -np.sin(lean), np.cos(lean)]])
    turned = TriMesh(egg.vertices @ turn.T, egg.faces)
    tap = np.array([10.0, -20.0, -40.0])
    here = trapped(FuelSpace(egg, 1, 0, 0), Stance("leant", lean_left_rad=lean), [tap])
    there = trapped(FuelSpace(turned, 1, 0, 0), LEVEL, [turn @ tap])
    assert here[0].volume_mm3 == pytest.approx(there[0].volume_mm3, rel=1e-9)


def test_a_tap_outside_is_refused(saddle: FuelSpace) -> None:
    with pytest.raises(TapOutsideError):
        trapped(saddle, LEVEL, [np.array([200.0, 0.0, 10.0])])  # in the tunnel


def test_a_tank_that_lies_down_is_refused() -> None:
    for angle in (np.radians(90.0), np.radians(61.0), float("nan")):
        with pytest.raises(TooSteepError):
            Stance("down", lean_left_rad=angle)
    with pytest.raises(TooSteepError):
        Stance("down", nose_up_rad=-np.radians(75.0))


def test_up_is_a_unit_vector_that_leans_the_way_it_says() -> None:
    up = Stance("s", lean_left_rad=0.2, nose_up_rad=0.1).up
    assert np.linalg.norm(up) == pytest.approx(1.0)
    assert up @ [0.0, 1.0, 0.0] < 0.0  # the left side goes down
    assert up @ [1.0, 0.0, 0.0] > 0.0  # the nose goes up
    frame = Stance("s", lean_left_rad=0.2, nose_up_rad=0.1).frame
    assert np.allclose(frame @ frame.T, np.eye(3), atol=1e-15)
    assert np.linalg.det(frame) == pytest.approx(1.0)
