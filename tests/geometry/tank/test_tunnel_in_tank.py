"""A laid tunnel in its tank: ends left long close against the skin they are scribed to."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from geometry.tank import (
    LEVEL,
    AboveSkinError,
    FuelSpace,
    LaidTunnel,
    PlainTunnel,
    TunnelEnd,
    TunnelGround,
    TunnelPlace,
    TunnelSheet,
    TunnelSpec,
    TunnelStep,
    WiderThanTankError,
    bottom_opening,
    ends_inside,
    fuel_space,
    lay_tunnel,
    low_points,
    tank_bottom,
    tunnel_mesh,
    tunnel_through_skin,
)
from tests.geometry.tank.tunnel_tanks import LONG_MM, barrel, ground

SHEET = TunnelSheet("3003-H14", 1.6, 0.0)
SQUARE = TunnelEnd(60.0, 50.0)
"""60 high, 50 wide; 53.2 wide and 61.6 high with its metal, the corners outside round 3.2."""
SECTION_MM2 = 53.2 * 60.0 - (2.0 - np.pi / 2.0) * 3.2**2
"""Of both above the cap, whose inside lies 1.6 mm above the foot."""

STILL = TunnelPlace(10.0, fore_aft_mm=0.0, up_down_mm=0.0)
ASKED = TunnelSpec(LONG_MM - 20.0, SQUARE, SQUARE, top="three sided", place=STILL)
"""10 mm short of the wall at each end as asked, 2.7 mm past it with its run-out."""


def skin() -> TriMesh:
    """Return the barrel facing out."""
    found = barrel()
    return TriMesh(found.vertices, found.faces[:, ::-1])


def space_over(spec: TunnelSpec) -> FuelSpace:
    """Return the room in the barrel over a tunnel as it is laid out."""
    sheet = tunnel_through_skin(lay_tunnel(spec, SHEET, ground()))
    return fuel_space(skin(), wall_mm=1.6, caps={0: "flat"}, tunnel=LaidTunnel(sheet, 1.6))


def test_a_tunnel_scribed_to_the_skin_parts_the_tank_as_one_right_through_it_does() -> None:
    """Two pools, each as over a plain tunnel without ends, which has sharp corners.

    The space begins 1.6 mm above the foot and goes 396.8 mm between the walls.
    """
    plain = PlainTunnel(50.0, 50.0, 60.0, 60.0, "three-sided")
    right_through = fuel_space(skin(), wall_mm=1.6, metal_mm=1.6, caps={0: "flat"}, tunnel=plain)
    laid = space_over(ASKED)
    assert laid.tunnel_mm3 == pytest.approx(396.8 * SECTION_MM2, rel=2e-4)  # the round is of chords
    pools, wanted = low_points(laid, LEVEL), low_points(right_through, LEVEL)
    assert len(pools) == len(wanted) == 2
    np.testing.assert_allclose(
        [pool.holds_mm3 for pool in pools], [pool.holds_mm3 for pool in wanted], rtol=1e-2
    )


def test_the_bottom_is_cut_out_to_the_outsides_of_the_legs_from_wall_to_wall() -> None:
    """50 wide on top, its legs 60 down at 0.1 rad, 1.6 of metal square to them."""
    half = 25.0 + 60.0 * np.tan(0.1) + 1.6 / np.cos(0.1)
    left, right = bottom_opening(lay_tunnel(replace(ASKED, flare_rad=0.1), SHEET, ground()))
    for line, sign in ((left, 1.0), (right, -1.0)):
        assert line[0, 0] < 0.0 < LONG_MM < line[-1, 0]
        np.testing.assert_allclose(line[:, 2], 0.0, atol=1e-6)
        np.testing.assert_allclose(sign * line[:, 1], half, atol=1e-6)


def test_an_end_too_short_by_less_than_its_run_out_will_be_cut_longer() -> None:
    short = replace(ASKED, length_mm=LONG_MM - 40.0, place=replace(STILL, rear_mm=20.0))
    assert ends_inside(lay_tunnel(short, SHEET, ground())) == ()
    assert space_over(short).tunnel_mm3 == pytest.approx(space_over(ASKED).tunnel_mm3, rel=1e-9)


def test_an_end_that_stops_inside_is_told_and_closed_where_it_was_asked_to_end() -> None:
    """Both 60 mm inside: 280 mm of the same section."""
    inside = replace(ASKED, length_mm=LONG_MM - 120.0, place=replace(STILL, rear_mm=60.0))
    tunnel = lay_tunnel(inside, SHEET, ground())
    assert [scribe.end for scribe in ends_inside(tunnel)] == ["front", "rear"]
    asked = tunnel_mesh(tunnel)
    np.testing.assert_array_equal(tunnel_through_skin(tunnel).vertices, asked.vertices)
    space = space_over(inside)
    assert space.tunnel_mm3 == pytest.approx(280.0 * SECTION_MM2, rel=2e-4)
    assert len(low_points(space, LEVEL)) == 1


def flared(half_mm: Callable[[FloatArray], FloatArray]) -> TunnelGround:
    """Return a tank 180 wide 50 mm up, its open bottom so wide at each place ahead."""
    x = np.linspace(0.0, LONG_MM, 81)
    up = np.linspace(0.0, 50.0, 11)[:-1]
    turn = np.linspace(0.0, np.pi, 61)
    over = np.column_stack([90.0 * np.cos(turn), 50.0 + 60.0 * np.sin(turn)])
    rows = []
    for at, half in zip(x, half_mm(x), strict=True):
        side = np.column_stack([half + (90.0 - half) * up / 50.0, up])
        row = np.concatenate([side, over, side[::-1] * [-1.0, 1.0]])
        rows.append(np.column_stack([np.full(len(row), at), row]))
    wide = len(rows[0])
    grid = np.arange(len(x) * wide).reshape(len(x), wide)
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    faces = [np.stack(three, axis=-1).reshape(-1, 3) for three in ((a, b, c), (a, c, d))]
    ends = [(grid.size, grid[0]), (grid.size + 1, grid[-1][::-1])]
    faces += [
        np.stack([np.full(wide - 1, peak), ring[:-1], ring[1:]], axis=1) for peak, ring in ends
    ]
    peaks = [[0.0, 0.0, 40.0], [LONG_MM, 0.0, 40.0]]
    mesh = TriMesh(np.concatenate([*rows, peaks]), np.concatenate(faces))
    return TunnelGround(mesh, np.zeros(len(mesh.faces), bool), tank_bottom(mesh))


WIDE = replace(ASKED, rear=TunnelEnd(70.0, 100.0), front=TunnelEnd(70.0, 100.0), top="flat")


@pytest.mark.parametrize(
    "half_mm",
    [
        lambda x: np.full(len(x), 30.0),
        lambda x: 80.0 - 50.0 * np.exp(-(((x - 200.0) / 40.0) ** 2)),
    ],
    ids=["all along", "a waist in the middle"],
)
def test_legs_outside_a_narrow_bottom_are_refused(
    half_mm: Callable[[FloatArray], FloatArray],
) -> None:
    """103.2 mm with its metal, over a bottom 60 wide: under the flare its legs stand outside."""
    with pytest.raises(WiderThanTankError) as found:
        lay_tunnel(WIDE, SHEET, flared(half_mm))
    assert found.value.width_mm == pytest.approx(103.2, abs=0.01)
    assert 60.0 < found.value.tank_mm < 103.2


def test_legs_inside_a_narrow_bottom_are_not() -> None:
    assert lay_tunnel(WIDE, SHEET, flared(lambda x: np.full(len(x), 53.0))).in_tank
    with pytest.raises(WiderThanTankError):
        lay_tunnel(WIDE, SHEET, flared(lambda x: np.full(len(x), 48.0)))


def test_a_piece_that_stands_through_the_roof_is_refused_wherever_it_is() -> None:
    """140 high between steps, 115 to 180 mm along, in a barrel 100 high."""
    low, high = TunnelEnd(50.0, 60.0), TunnelEnd(140.0, 70.0)
    steps = (TunnelStep(115.0, low, high), TunnelStep(180.0, high, low))
    hump = replace(ASKED, rear=low, front=low, top="flat", corner_radius_mm=10.0, steps=steps)
    with pytest.raises(AboveSkinError) as found:
        lay_tunnel(hump, SHEET, ground())
    assert (found.value.at_mm, found.value.skin_mm) == pytest.approx((115.0, 100.0), abs=0.2)
    assert found.value.crown_mm == pytest.approx(141.6)


def test_a_hole_over_the_tunnel_is_no_place_outside() -> None:
    """A filler's, 60 mm wide over the crown: level lines still pass both walls."""
    whole = ground()
    middle = whole.skin.vertices[whole.skin.faces].mean(axis=1)
    over = (np.linalg.norm(middle[:, :2] - [200.0, 0.0], axis=1) < 30.0) & (middle[:, 2] > 80.0)
    open_one = TriMesh(whole.skin.vertices, whole.skin.faces[~over])
    assert over.sum() > 8
    assert lay_tunnel(ASKED, SHEET, replace(whole, skin=open_one, guessed=whole.guessed[~over]))


def test_a_tunnel_fits_the_recess_of_an_old_one_that_was_scanned_with_the_tank() -> None:
    """A closed box 240 x 150 with a recess 64 wide and 70 high right through its bottom."""
    sides = [(120.0, 0.0), (120.0, 150.0), (-120.0, 150.0), (-120.0, 0.0)]
    recess = [(-32.0, 0.0), (-32.0, 70.0), (32.0, 70.0), (32.0, 0.0)]
    body = trimesh.creation.extrude_polygon(shapely.Polygon([*sides, *recess]), LONG_MM)
    for _ in range(4):
        body = body.subdivide()
    mesh = TriMesh(np.asarray(body.vertices)[:, [2, 0, 1]], np.asarray(body.faces))
    ground_of = TunnelGround(mesh, np.zeros(len(mesh.faces), bool), tank_bottom(mesh))
    assert lay_tunnel(ASKED, SHEET, ground_of).in_tank
    with pytest.raises(WiderThanTankError):
        lay_tunnel(replace(WIDE, rear=TunnelEnd(70.0, 238.0)), SHEET, ground_of)
