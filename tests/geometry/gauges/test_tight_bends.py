"""Bends too tight for a scan's points: found where they are, let be where their line is kept."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.gauges import GaugeWishes, gauge_set
from geometry.gauges.tight_bends import LEAST_OFF_MM, TightBends
from geometry.mesh import TriMesh
from tests.bodies import patch
from tests.geometry.gauges.gauged_bodies import barrel, round_skin, skin_of

RIDGE = np.array([80.0, 60.0])
"""Where the roof's edges run: out to either hand, and up."""


def roof(step_mm: float = 3.0) -> TriMesh:
    """A skin with a crisp edge of 90 degrees along either hand: a top, two upright walls."""
    top = np.linspace(-RIDGE[0], RIDGE[0], int(2.0 * RIDGE[0] / step_mm) + 1)
    down = np.arange(step_mm, 55.0, step_mm)
    y = np.concatenate([np.full(len(down), -RIDGE[0]), top, np.full(len(down), RIDGE[0])])
    z = np.concatenate([RIDGE[1] - down[::-1], np.full(len(top), RIDGE[1]), RIDGE[1] - down])
    x, across = np.meshgrid(np.arange(0.0, 300.0, step_mm), np.arange(len(y)), indexing="ij")
    return patch(x, y[across], z[across])


def arch() -> FloatArray:
    """The roof's outline on a board: seen from behind, from the left foot over the top."""
    places = np.array([[-1.0, 0.1], [-1.0, 1.0], [1.0, 1.0], [1.0, 0.1]]) * RIDGE
    at = np.linspace(0.0, 3.0, 181)
    return np.stack([np.interp(at, np.arange(4.0), places[:, k]) for k in range(2)], axis=1)


def test_a_crisp_edge_is_found_on_both_hands_with_what_the_points_leave_open() -> None:
    """Two errors of h^2 k / 8: the normals of a corner's two neighbours turn by 45 degrees."""
    bends = TightBends(skin_of(roof()), 2.5, ()).along(arch(), 0, 150.0)
    assert [np.sign(bend.at[0]) for bend in bends] == [-1.0, 1.0]
    for bend in bends:
        assert np.abs(np.abs(bend.at) - RIDGE).max() < 4.0
        turn = np.radians(45.0) / 3.0 * 2.5
        assert bend.off_mm == pytest.approx(2.0 * 2.5 * turn / 8.0, rel=0.2)


def test_closer_points_leave_less_open() -> None:
    off = [
        max(bend.off_mm for bend in TightBends(skin_of(roof()), h, ()).along(arch(), 0, 150.0))
        for h in (2.5, 5.0)
    ]
    assert off[1] == pytest.approx(4.0 * off[0], rel=0.15)
    assert TightBends(skin_of(roof()), 0.5, ()).along(arch(), 0, 150.0) == ()


def test_where_the_line_is_kept_nothing_is_told() -> None:
    x = np.array([0.0, 300.0])
    left = np.column_stack([x, np.full(2, RIDGE[0]), np.full(2, RIDGE[1])])
    (bend,) = TightBends(skin_of(roof()), 2.5, [left]).along(arch(), 0, 150.0)
    assert bend.at[0] > 0.0  # the right hand's: seen from behind, it is on the right
    both = [left, left * [1.0, -1.0, 1.0]]
    assert TightBends(skin_of(roof()), 2.5, both).along(arch(), 0, 150.0) == ()


def test_a_round_tank_has_none_and_the_roofs_stations_have_two_each() -> None:
    wishes = GaugeWishes(spacing_mm=100.0, profile=False, side_line="none")

    def told(mesh: TriMesh, spacing_mm: float) -> list[int]:
        nowhere = np.zeros(len(mesh.faces), bool)
        cut = gauge_set(mesh, nowhere, nowhere, wishes, spacing_mm=spacing_mm)
        return [len(each.tight) for each in cut.stations]

    assert set(told(round_skin(barrel), 2.5)) == {0}
    assert set(told(roof(), 2.5)) == {2}
    assert set(told(roof(), 0.0)) == {0}  # a body known exactly has nothing between its points


def test_on_the_inside_of_the_sheet_bends_are_found_as_well() -> None:
    skin = replace(skin_of(roof()), inward_mm=1.6)
    bends = TightBends(skin, 2.5, ()).along(arch() * 0.985, 0, 150.0)
    assert len(bends) == 2
    assert min(bend.off_mm for bend in bends) >= LEAST_OFF_MM
