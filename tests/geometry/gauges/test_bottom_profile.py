"""The bottom edge on either hand, widths across, and long boards along it."""

import numpy as np
import pytest
import shapely

from geometry.arrays import FloatArray
from geometry.gauges.bottom_profile import (
    bar_across,
    bottom_profile,
    long_template,
    scribing_template,
    seen,
)
from geometry.mesh import TriMesh
from tests.bodies import patch
from tests.geometry.gauges.gauged_bodies import closed_tank, skin_of


def _half_width(x: FloatArray) -> FloatArray:
    return np.asarray(80.0 - (x - 250.0) ** 2 / 2500.0)


def _sag(x: FloatArray) -> FloatArray:
    return np.asarray(20.0 * ((x - 200.0) / 200.0) ** 2)


def boat(wider_right: float = 0.0) -> TriMesh:
    """Return a tank whose foot runs along known curves, its ends closed: one open edge, below."""
    x, turn = np.meshgrid(np.linspace(0, 400, 101), np.linspace(np.pi, 0, 61), indexing="ij")
    right = np.where(turn > np.pi / 2.0, 1.0 + wider_right / 80.0, 1.0)
    y = _half_width(x) * np.cos(turn) * right
    z = _sag(x) + 90.0 * np.sin(turn)
    skin = patch(x, y, z)
    last = len(skin.vertices)
    ends = np.array([[0.0, 0, _sag(np.zeros(1))[0]], [400.0, 0, _sag(np.full(1, 400.0))[0]]])
    step = np.arange(60)
    rear = np.column_stack([np.full(60, last), step, step + 1])
    first = 100 * 61
    front = np.column_stack([np.full(60, last + 1), first + step + 1, first + step])
    return TriMesh(np.concatenate([skin.vertices, ends]), np.concatenate([skin.faces, rear, front]))


def test_the_open_edge_is_the_bottom_profile_of_either_hand() -> None:
    profile = bottom_profile(skin_of(boat()))
    assert profile.is_rim
    for line, side in ((profile.left, 1.0), (profile.right, -1.0)):
        along = line[np.abs(line[:, 1]) > 1.0]
        assert np.abs(side * along[:, 1] - _half_width(along[:, 0])).max() < 1e-9
        assert np.abs(along[:, 2] - _sag(along[:, 0])).max() < 1e-9
        assert line[0, 1] == 0.0
        assert line[-1, 1] == 0.0


def test_widths_are_told_at_three_stations_front_first() -> None:
    profile = bottom_profile(skin_of(boat()))
    wanted = 2.0 * _half_width(np.array([300.0, 200.0, 100.0]))
    assert np.allclose(profile.widths_mm, wanted, atol=0.01)
    bar = bar_across(*profile.across[0])
    assert np.ptp(bar.outline[:, 0]) == pytest.approx(profile.widths_mm[0])


def test_the_side_view_board_runs_along_the_edge_within_0_02_mm() -> None:
    profile = bottom_profile(skin_of(boat()))
    for kind in ("female", "male"):
        made = long_template(profile.left, "side", kind=kind)
        edge = max(made.edges, key=len)
        assert np.abs(edge[:, 1] - _sag(edge[:, 0])).max() < 0.02
        assert np.ptp(edge[:, 0]) > 395.0
        other = made.outline[np.abs(made.outline[:, 1] - _sag(made.outline[:, 0])) > 1.0]
        assert (other[:, 1].mean() < 0.0) == (kind == "female")  # the board is under the edge


def test_the_plan_board_runs_along_the_edge_of_either_hand_outward_up() -> None:
    profile = bottom_profile(skin_of(boat(wider_right=4.0)))
    for line, wider in ((profile.left, 1.0), (profile.right, 1.05)):
        edge = max(long_template(line, "plan", kind="female").edges, key=len)
        inner = edge[(edge[:, 0] > 5.0) & (edge[:, 0] < 395.0)]
        assert np.abs(inner[:, 1] - wider * _half_width(inner[:, 0])).max() < 0.02


def test_a_closed_tank_has_its_edges_where_its_sections_turn_under() -> None:
    profile = bottom_profile(skin_of(closed_tank(wide=120.0, high=90.0)))
    assert not profile.is_rim
    assert np.allclose(profile.widths_mm, 120.0)
    assert np.allclose(profile.left[:, 1], 60.0)
    assert np.allclose(profile.left[:, 2], 0.0)


def test_a_line_is_scribed_along_the_upper_edge_of_its_board() -> None:
    x = np.linspace(10.0, 390.0, 80)
    line = np.column_stack([x, _half_width(x), 100.0 + _sag(x)])
    made = scribing_template(line)
    edge = max(made.edges, key=len)
    course = shapely.LineString(seen(line, "side"))
    assert shapely.distance(shapely.points(edge), course).max() < 1e-6
    assert made.outline[:, 1].min() == pytest.approx(line[:, 2].min() - 60.0)
