"""Circles in space against circles that are known."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.fitting import TooFewPointsError, fit_circle, frames_of_normals


def _arc(centre: FloatArray, normal: FloatArray, radius: float, angles: FloatArray) -> FloatArray:
    u, v, _ = frames_of_normals(normal[None])[0]
    return centre + radius * (np.outer(np.cos(angles), u) + np.outer(np.sin(angles), v))


@pytest.mark.parametrize("sweep", [2 * np.pi, np.pi, 0.3])
def test_points_on_an_arc_give_its_circle_back(sweep: float) -> None:
    centre, normal = np.array([10.0, -400, 33]), np.array([0.6, 0.0, 0.8])
    points = _arc(centre, normal, 38.1, np.linspace(0, sweep, 41)[:-1])
    circle = fit_circle(points)
    np.testing.assert_allclose(circle.centre, centre, atol=1e-8)
    np.testing.assert_allclose(circle.normal, normal, atol=1e-9)
    assert circle.radius == pytest.approx(38.1, abs=1e-8)
    assert circle.residual_rms < 1e-9


def test_an_oval_rim_is_as_far_from_round_as_its_axes_differ() -> None:
    angles = np.linspace(0, 2 * np.pi, 201)[:-1]
    points = np.column_stack([31.0 * np.cos(angles), 30.0 * np.sin(angles), np.zeros(200)])
    circle = fit_circle(points)
    assert circle.roundness == pytest.approx(1.0, abs=1e-6)
    assert circle.radius == pytest.approx(30.5, abs=0.02)
    np.testing.assert_allclose(circle.centre, 0.0, atol=1e-9)


def test_noise_moves_the_radius_no_further_than_its_standard_error() -> None:
    """Radius from a full ring of k points of noise s: standard error s / sqrt(k)."""
    random = np.random.default_rng(4)
    angles = np.linspace(0, 2 * np.pi, 401)[:-1]
    points = _arc(np.zeros(3), np.array([0.0, 0, 1]), 25.0, angles)
    circle = fit_circle(points + random.normal(0, 0.1, points.shape))
    assert circle.radius == pytest.approx(25.0, abs=4 * 0.1 / 20)


def test_points_on_a_line_have_no_circle() -> None:
    with pytest.raises(TooFewPointsError):
        fit_circle(np.outer(np.arange(6.0), [1.0, 1.0, 0.0]))
