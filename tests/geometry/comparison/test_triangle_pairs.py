"""Distances of triangle pairs against a fine grid over both, and closed forms."""

import numpy as np
import pytest
from scipy.optimize import lsq_linear
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray
from geometry.comparison.triangle_pairs import least_separation, nearest_of_triangles

LEVEL = np.array([[[0.0, 0, 0], [4, 0, 0], [0, 4, 0]]])


def _by_bounded_squares(one: FloatArray, other: FloatArray) -> float:
    """The distance as a bounded least-squares problem, solved by a general library.

    A triangle is a + s u + r s' v; with both parameters held to [0, 1] a parallelogram would come,
    so each triangle is the hull of its corners with weights that a stiff row sums to one.
    """
    stiff = 1e5
    rows = np.concatenate([one.T, -other.T], axis=1)
    sums = stiff * np.array([[1.0, 1, 1, 0, 0, 0], [0, 0, 0, 1, 1, 1]])
    found = lsq_linear(
        np.concatenate([rows, sums]), np.array([0.0, 0, 0, stiff, stiff]), (0.0, 1.0), tol=1e-14
    )
    return float(np.linalg.norm(rows @ found.x))


def _random_pairs(count: int) -> tuple[FloatArray, FloatArray]:
    chance = np.random.default_rng(5)
    one, other = chance.normal(size=(2, count, 3, 3)) * 3.0
    return one, other + chance.normal(size=(count, 1, 3)) * 4.0


def test_distances_are_those_a_general_solver_finds() -> None:
    one, other = _random_pairs(60)
    found = nearest_of_triangles(one, other)[0]
    wanted = [_by_bounded_squares(a, b) for a, b in zip(one, other, strict=True)]
    assert (found == 0.0).sum() > 2
    assert found == pytest.approx(wanted, abs=2e-4)


def test_places_lie_on_the_triangles_as_far_apart_as_said() -> None:
    one, other = _random_pairs(300)
    distance, on_one, on_other = nearest_of_triangles(one, other)
    assert np.linalg.norm(on_one - on_other, axis=1) == pytest.approx(distance, abs=1e-12)
    for places, triangles in ((on_one, one), (on_other, other)):
        again = nearest_of_triangles(np.repeat(places[:, None], 3, axis=1), triangles)[0]
        assert again.max() < 1e-9


@pytest.mark.parametrize(
    ("other", "wanted"),
    [
        ([[1.0, 1, 2], [1, 1, 5], [2, 2, 5]], 2.0),  # corner over a face
        ([[1.0, -1, 3], [1, -1, -3], [1, -6, 0]], 1.0),  # side beside a side
        ([[-3.0, -4, 0], [-5, -4, 0], [-3, -9, 0]], 5.0),  # corner to corner, in one plane
        ([[1.0, 1, -1], [1, 1, 1], [9, 9, 1]], 0.0),  # through
    ],
)
def test_closed_forms(other: list[list[float]], wanted: float) -> None:
    assert nearest_of_triangles(LEVEL, np.array([other]))[0][0] == pytest.approx(wanted, abs=1e-12)


def test_the_cheap_bound_is_never_above_the_distance() -> None:
    one, other = _random_pairs(500)
    assert (least_separation(one, other) <= nearest_of_triangles(one, other)[0] + 1e-12).all()


def test_moving_and_turning_both_changes_nothing() -> None:
    one, other = _random_pairs(50)
    turn = Rotation.from_euler("xyz", [0.3, 1.0, -2.0]).as_matrix()
    moved = nearest_of_triangles(one @ turn.T + 70.0, other @ turn.T + 70.0)[0]
    assert moved == pytest.approx(nearest_of_triangles(one, other)[0], abs=1e-9)
