"""A laid tunnel in its tank: ends left long close against the skin they are scribed to."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.tank import (
    LEVEL,
    FuelSpace,
    LaidTunnel,
    PlainTunnel,
    TunnelEnd,
    TunnelPlace,
    TunnelSheet,
    TunnelSpec,
    ends_inside,
    fuel_space,
    lay_tunnel,
    low_points,
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
