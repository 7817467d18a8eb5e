"""Planes against planes that are known."""

import numpy as np
import pytest

from geometry.fitting import TooFewPointsError, fit_plane


def test_points_on_a_plane_give_that_plane_back() -> None:
    random = np.random.default_rng(0)
    normal = np.array([1.0, 2.0, -3.0]) / np.sqrt(14.0)
    points = random.uniform(-100, 100, (40, 3))
    points -= np.outer(points @ normal - 7.0, normal)
    plane = fit_plane(points)
    np.testing.assert_allclose(plane.normal, -normal, atol=1e-12)  # largest component positive
    assert plane.centre @ normal == pytest.approx(7.0, abs=1e-12)
    assert plane.residual_rms < 1e-12


def test_noise_is_the_misfit() -> None:
    """Heights +d and -d chessboard-wise on a square grid: the plane stays, the misfit is d."""
    x, y = np.meshgrid(np.arange(10.0), np.arange(10.0))
    z = 0.25 * (-1.0) ** (x + y)
    plane = fit_plane(np.column_stack([x.ravel(), y.ravel(), z.ravel()]))
    assert plane.residual_rms == pytest.approx(0.25, rel=1e-3)


def test_points_without_weight_do_not_count() -> None:
    points = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [5, 5, 90]])
    plane = fit_plane(points, np.array([1.0, 1, 1, 0]))
    np.testing.assert_allclose(plane.normal, [0, 0, 1], atol=1e-12)


@pytest.mark.parametrize("points", [np.zeros((2, 3)), np.outer(np.arange(5.0), [1, 2, 3])])
def test_points_on_one_line_are_refused(points: np.ndarray) -> None:
    with pytest.raises(TooFewPointsError) as caught:
        fit_plane(points)
    assert caught.value.points == len(points)
    assert caught.value.needed == 3
