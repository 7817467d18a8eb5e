"""The tank's own axes where nobody gave a centre plane."""

import numpy as np
import pytest

from geometry.gauges import tank_axes
from geometry.mesh import TriMesh

AHEAD, UP = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])


def test_only_what_counts_says_how_far_back_and_low_it_goes() -> None:
    points = np.array([[0.0, 0, 0], [9, 0, 0], [0, 4, 0], [9, 4, 2], [-3.0, 1, -2]])
    mesh = TriMesh(points, np.array([[0, 1, 2], [1, 3, 2], [0, 2, 4]]))
    among = np.array([True, True, True, True, False])
    assert tank_axes(mesh, AHEAD, UP).to_tank(points)[0, [0, 2]].tolist() == [3.0, 2.0]
    assert tank_axes(mesh, AHEAD, UP, among=among).to_tank(points)[0, [0, 2]].tolist() == [0.0, 0.0]


def test_a_spike_at_a_corner_moves_no_middle() -> None:
    """A sheet of 101 x 41 points, -100 to 100 across; one corner stands out by 7 mm."""
    x, y = np.meshgrid(np.linspace(0.0, 400.0, 41), np.linspace(-100.0, 100.0, 101), indexing="ij")
    grid = np.arange(x.size).reshape(x.shape)
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    faces = np.concatenate([np.stack([a, b, c], -1), np.stack([a, c, d], -1)]).reshape(-1, 3)
    points = np.stack([x, y, np.zeros(x.shape)], axis=-1).reshape(-1, 3)
    points[0, 1] -= 7.0
    axes = tank_axes(TriMesh(points, faces), AHEAD, UP)
    assert axes.to_tank(np.array([[0.0, 0.0, 0.0]]))[0, 1] == pytest.approx(0.0, abs=1e-9)
