"""Local quadrics against polynomials, balls and tubes whose derivatives are known."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.fitting import fit_quadric, fit_quadrics, frames_of_normals


def _disc(count: int, radius: float, seed: int = 0) -> FloatArray:
    random = np.random.default_rng(seed)
    return random.uniform(-radius, radius, (count, 2))


def test_a_polynomial_of_second_degree_is_found_exactly_in_any_pose() -> None:
    """Heights w = h + a u + b v + (c u^2 + 2 d u v + e v^2) / 2 comes back to rounding."""
    random = np.random.default_rng(3)
    count, near = 50, 12
    normals = random.normal(size=(count, 3)) * random.uniform(0.1, 10, (count, 1))
    points = random.uniform(-300, 300, (count, 3))
    wanted = random.normal(size=(count, 6)) * [0.1, 0.2, 0.2, 0.01, 0.01, 0.01]
    places = random.uniform(-5, 5, (count, near, 2))
    u, v = places[..., 0], places[..., 1]
    terms = np.stack([np.ones_like(u), u, v, u * u / 2, u * v, v * v / 2], axis=2)
    heights = (terms * wanted[:, None]).sum(axis=2)
    local = np.concatenate([places, heights[..., None]], axis=2)
    frames = frames_of_normals(normals)
    neighbours = points[:, None] + np.einsum("kji,kil->kjl", local, frames)
    fit = fit_quadrics(points, normals, neighbours, random.uniform(0.5, 2, (count, near)))
    found = np.column_stack([fit.height, fit.slope, fit.curvature])
    np.testing.assert_allclose(found, wanted, atol=1e-10)
    assert fit.residual_rms.max() < 1e-11
    assert fit.determined.all()


def test_frames_are_right_handed_and_keep_the_normal() -> None:
    normals = np.random.default_rng(0).normal(size=(100, 3))
    frames = frames_of_normals(normals)
    np.testing.assert_allclose(np.linalg.det(frames), 1.0, atol=1e-12)
    unit = normals / np.linalg.norm(normals, axis=1, keepdims=True)
    np.testing.assert_allclose(frames[:, 2], unit, atol=1e-15)
    eye = np.broadcast_to(np.eye(3), frames.shape)
    np.testing.assert_allclose(frames @ frames.transpose(0, 2, 1), eye, atol=1e-12)


def test_curvature_of_a_ball_converges_with_the_square_of_the_neighbourhood() -> None:
    """Closed form: -1 / radius twice; the first term left out is of fourth degree."""
    radius = 100.0
    errors = []
    for reach in (16.0, 8.0):
        at = _disc(4000, reach)
        heights = np.sqrt(radius**2 - (at**2).sum(axis=1)) - radius
        fit = fit_quadric(
            np.zeros(3), np.array([0.0, 0, 1]), np.column_stack([at, heights]), np.ones(len(at))
        )
        errors.append(abs(fit.curvature[0, 0] + 1 / radius))
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.05)
    assert errors[1] < 1e-4  # third derivatives vanish; next: reach^2 / radius^3 = 6e-5


def test_a_tube_is_curved_across_and_straight_along() -> None:
    radius = 50.0
    at = _disc(200, 3.0)
    heights = np.sqrt(radius**2 - at[:, 0] ** 2) - radius
    points = np.column_stack([at, heights])
    fit = fit_quadric(np.zeros(3), np.array([0.0, 0, 1]), points, np.ones(len(at)))
    assert fit.curvature[0, 0] == pytest.approx(-1 / radius, rel=0.005)  # (3 / 50)^2
    assert abs(fit.curvature[0, 2]) < 1e-5


def test_padding_counts_for_nothing_even_when_it_is_not_a_number() -> None:
    at = _disc(15, 4.0)
    points = np.column_stack([at, 0.02 * at[:, 0] * at[:, 1]])
    padded = np.concatenate([points, np.full((5, 3), np.nan)])
    weights = np.concatenate([np.ones(15), np.zeros(5)])
    normal = np.array([0.0, 0, 1])
    plain = fit_quadric(np.zeros(3), normal, points, np.ones(15))
    with_padding = fit_quadric(np.zeros(3), normal, padded, weights)
    np.testing.assert_allclose(with_padding.curvature, plain.curvature, atol=1e-15)
    np.testing.assert_allclose(with_padding.residual_rms, plain.residual_rms, atol=1e-15)


@pytest.mark.parametrize("size", [1e-6, 1.0, 1e6])
def test_the_fit_follows_the_size_of_the_file(size: float) -> None:
    at = _disc(30, 4.0)
    points = np.column_stack([at, 0.3 + 0.01 * at[:, 0] ** 2]) * size
    fit = fit_quadric(np.zeros(3), np.array([0.0, 0, 1]), points, np.ones(30))
    assert fit.height[0] == pytest.approx(0.3 * size, rel=1e-9)
    assert fit.curvature[0, 0] == pytest.approx(0.02 / size, rel=1e-9)


def test_points_on_one_line_fix_only_what_they_can() -> None:
    """Along u: height, slope and curvature along u; everything across stays nought."""
    u = np.linspace(-3, 3, 9)
    points = np.column_stack([u, np.zeros(9), 0.5 + 0.1 * u + 0.05 * u**2])
    fit = fit_quadric(np.zeros(3), np.array([0.0, 0, 1]), points, np.ones(9))
    assert not fit.determined[0]
    np.testing.assert_allclose(fit.height, 0.5, atol=1e-12)
    np.testing.assert_allclose(fit.slope[0], [0.1, 0.0], atol=1e-12)
    np.testing.assert_allclose(fit.curvature[0], [0.1, 0.0, 0.0], atol=1e-12)


@pytest.mark.parametrize("count", [0, 1, 2, 4])
def test_too_few_neighbours_still_give_finite_numbers(count: int) -> None:
    points = np.random.default_rng(1).normal(size=(count, 3))
    fit = fit_quadric(np.zeros(3), np.array([0.0, 0, 1]), points, np.ones(count))
    assert not fit.determined[0]
    for numbers in (fit.height, fit.slope, fit.curvature, fit.residual_rms):
        assert np.isfinite(numbers).all()


def test_a_heavy_neighbour_pulls_the_quadric_to_itself() -> None:
    at = _disc(20, 4.0)
    heights = np.random.default_rng(2).normal(scale=0.1, size=20)
    heights[0] = 1.0
    points = np.column_stack([at, heights])
    weights = np.ones(20)
    weights[0] = 1e8
    fit = fit_quadric(points[0], np.array([0.0, 0, 1]), points, weights)
    assert abs(fit.height[0]) < 1e-6


def test_misfit_of_white_noise_follows_the_degrees_of_freedom() -> None:
    """Mean square misfit of j points of noise s is s^2 (j - 6) / j."""
    random = np.random.default_rng(5)
    count, near, noise = 4000, 18, 0.1
    places = random.uniform(-3, 3, (count, near, 2))
    neighbours = np.concatenate([places, random.normal(0, noise, (count, near, 1))], axis=2)
    normals = np.tile([0.0, 0, 1], (count, 1))
    fit = fit_quadrics(np.zeros((count, 3)), normals, neighbours, np.ones((count, near)))
    mean_square = float((fit.residual_rms**2).mean())
    expected = noise**2 * (near - 6) / near
    # Standard error of the mean: sqrt(2 / (12 * 4000)) = 0.0065; four of them.
    assert mean_square == pytest.approx(expected, rel=0.026)
