"""Partly filled bodies: published and closed-form volumes, at any lean."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, enclosed_volume
from geometry.tank import LEVEL, Depths, Stance
from tests.geometry.tank.bodies_to_fill import box, ellipsoid, revolved


def cylinder(radius: float, length: float, around: int) -> TriMesh:
    return revolved(
        np.array([0.0, radius, radius, 0.0]), np.array([0.0, 0.0, length, length]), around
    )


def test_a_published_lying_cylinder_is_read_back() -> None:
    """hackmath.net problem 3613: 10 m long, chord 1 m, 0.2 m below the top: 15.138 m3."""
    radius = (0.5**2 + 0.2**2) / (2.0 * 0.2)
    tank = cylinder(radius * 1000.0, 10_000.0, 3000)
    depths = Depths(tank)
    found = depths.volume((radius - 0.2) * 1000.0) / 1e9
    assert found == pytest.approx(15.137923, abs=2e-5)
    assert round(found, 3) == 15.138


@pytest.mark.parametrize(
    ("depth", "flat", "round_ends", "ellipsoid_ends"),
    [
        (24.0, 0.706325, 0.908995, 0.807660),
        (60.0, 2.653279, 3.784252, 3.218765),
        (120.0, 6.785840, 10.404955, 8.595398),
        (192.0, 11.639365, 18.124819, 14.882092),
        (240.0, 13.571680, 20.809910, 17.190795),
    ],
)
def test_a_dip_chart_of_a_drum_with_three_kinds_of_ends(
    depth: float, flat: float, round_ends: float, ellipsoid_ends: float
) -> None:
    """Radius 120, length 300: segment area times length, and h^2 (3R - h) pi / 3 for the ends."""
    angle = np.linspace(0.0, np.pi / 2, 81)
    for bulge, litres in ((0.0, flat), (120.0, round_ends), (60.0, ellipsoid_ends)):
        end = np.stack([120.0 * np.sin(angle), -bulge * np.cos(angle)], axis=1)
        if not bulge:
            end = np.array([[0.0, 0.0], [120.0, 0.0]])
        other = np.column_stack([end[::-1, 0], 300.0 - end[::-1, 1]])
        profile = np.concatenate([end, other])
        tank = revolved(profile[:, 0], profile[:, 1], 400)
        found = Depths(tank).volume(depth - 120.0) / 1e6
        assert found == pytest.approx(litres, rel=4e-4)  # chords of 400 sides and 160 rings
        assert found <= litres  # a chord lies inside


def test_an_ellipsoid_to_three_heights() -> None:
    """200 x 120 x 90: whole 9.047787 L, to 30 mm .670206, to 45 mm 1.413717."""
    depths = Depths(ellipsoid(200.0, 120.0, 90.0, 160))
    for height, litres in ((180.0, 9.047787), (30.0, 0.670206), (45.0, 1.413717)):
        assert depths.volume(height - 90.0) / 1e6 == pytest.approx(litres, rel=1e-3)


def test_the_error_on_a_ball_falls_with_the_square_of_the_edge() -> None:
    """4/3 pi r^3, by meshes of twice and four times the rings."""
    errors = [
        4.0 / 3.0 * np.pi * 1e6 - Depths(ellipsoid(100.0, 100.0, 100.0, n)).volume(200.0)
        for n in (20, 40, 80)
    ]
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert orders == pytest.approx([2.0, 2.0], abs=0.05)


def test_a_leant_box_holds_a_wedge() -> None:
    """Leant to its left by a, filled so that the surface just reaches the right bottom edge.

    The wedge is w^2 tan(a) / 2 times the length.
    """
    lean = np.radians(12.0)
    depths = Depths(box(400.0, 250.0, 200.0), Stance("leant", lean_left_rad=lean))
    right_edge = float(np.array([0.0, -125.0, 0.0]) @ depths.stance.up)
    wedge = 400.0 * 250.0**2 * np.tan(lean) / 2.0
    assert depths.volume(right_edge) == pytest.approx(wedge, rel=1e-12)


@pytest.mark.parametrize("stance", [LEVEL, Stance("a", 0.2), Stance("b", -0.3, 0.25)])
def test_the_brim_is_the_closed_volume_in_any_stance(stance: Stance) -> None:
    tank = ellipsoid(200.0, 120.0, 90.0, 24)
    depths = Depths(tank, stance)
    whole = enclosed_volume(tank.vertices, tank.faces)
    assert depths.volume(depths.highest) == pytest.approx(whole, rel=1e-12)
    assert depths.volume(depths.lowest) == 0.0


def test_a_level_found_for_a_volume_holds_it() -> None:
    depths = Depths(ellipsoid(200.0, 120.0, 90.0, 24), Stance("leant", 0.2))
    for volume in (1e5, 1e6, 5e6):
        assert depths.volume(depths.level_of(volume)) == pytest.approx(volume, rel=1e-5)
