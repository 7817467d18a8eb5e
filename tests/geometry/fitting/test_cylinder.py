"""Cylinders fitted to points against cylinders that are known."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.fitting import TooFewPointsError, fit_cylinder, frames_of_normals

AXIS = np.array([0.9, 0.1, -0.3]) / np.linalg.norm([0.9, 0.1, -0.3])
PLACE = np.array([120.0, -3.0, 88.0])


def _tube(radius: float, length: float, sweep: float) -> tuple[FloatArray, FloatArray]:
    """Return points of part of a tube, and the normals there."""
    u, v, _ = frames_of_normals(AXIS[None])[0]
    turn, along = np.meshgrid(np.linspace(0.0, sweep, 40), np.linspace(0.0, length, 30))
    outward = np.cos(turn).ravel()[:, None] * u + np.sin(turn).ravel()[:, None] * v
    return PLACE + radius * outward + along.ravel()[:, None] * AXIS, outward


@pytest.mark.parametrize(("length", "sweep"), [(300.0, 6.1), (300.0, 2.0), (30.0, 3.0)])
def test_points_of_a_tube_give_it_back(length: float, sweep: float) -> None:
    points, normals = _tube(15.9, length, sweep)
    for found in (fit_cylinder(points), fit_cylinder(points, normals)):
        assert found.radius == pytest.approx(15.9, abs=1e-6)
        np.testing.assert_allclose(np.abs(found.direction @ AXIS), 1.0, atol=1e-10)
        np.testing.assert_allclose(np.cross(found.start - PLACE, AXIS), 0.0, atol=1e-5)
        assert np.linalg.norm(found.end - found.start) == pytest.approx(length, abs=1e-5)
        assert found.residual_rms < 1e-7
        assert found.seen_rad == pytest.approx(sweep, abs=1e-5)


def test_noise_moves_the_radius_no_further_than_a_few_standard_errors() -> None:
    """A half round of k points of noise s: the radius errs by about s sqrt(c / k).

    c = 1 / (1 - 8 / pi^2) = 5.28 from the least squares of a half circle, its middle free.
    """
    points, _ = _tube(15.9, 300.0, np.pi)
    noisy = points + np.random.default_rng(3).normal(0.0, 0.05, points.shape)
    found = fit_cylinder(noisy)
    error = 0.05 * np.sqrt(5.28 / len(points))
    assert abs(found.radius - 15.9) < 4.0 * error
    assert found.residual_rms == pytest.approx(0.05, rel=0.1)


def test_moving_and_turning_the_points_moves_and_turns_the_cylinder() -> None:
    points, _ = _tube(12.0, 90.0, 2.5)
    turn = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    found, moved = fit_cylinder(points), fit_cylinder(points @ turn.T + 7.0)
    assert moved.radius == pytest.approx(found.radius, abs=1e-7)
    ends = np.stack([found.start, found.end]) @ turn.T + 7.0
    there = np.stack([moved.start, moved.end])
    off = min(np.abs(there - ends).max(), np.abs(there[::-1] - ends).max())
    assert off < 1e-5


def test_too_few_points_or_a_flat_sheet_are_refused() -> None:
    with pytest.raises(TooFewPointsError) as found:
        fit_cylinder(np.eye(3))
    assert (found.value.points, found.value.needed) == (3, 5)
    flat = np.column_stack([np.arange(20.0), np.arange(20.0) ** 2, np.zeros(20)])
    with pytest.raises(TooFewPointsError):
        fit_cylinder(flat)
