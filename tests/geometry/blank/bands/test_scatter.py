"""Errors that go together: variances of sums, and samples that scatter as told."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank.bands.scatter import Scatter, correlation, scattered


def grid(columns: int, spacing: float) -> FloatArray:
    """Return (columns^2, 3) places on a plane."""
    x, y = np.meshgrid(np.arange(columns), np.arange(columns))
    return spacing * np.stack([x.ravel(), y.ravel(), 0.0 * x.ravel()], axis=1)


def whole_covariance(places: FloatArray, sd: FloatArray, half_mm: float) -> FloatArray:
    apart = np.linalg.norm(places[:, None] - places[None], axis=2)
    return np.asarray(sd[:, None] * sd * correlation(apart, half_mm))


@pytest.mark.parametrize("half_mm", [0.0, 4.0, 40.0])
def test_no_sum_of_errors_ever_has_a_negative_variance(half_mm: float) -> None:
    places = np.random.default_rng(0).uniform(0, 30, size=(150, 3))
    least = np.linalg.eigvalsh(whole_covariance(places, np.ones(150), half_mm)).min()
    assert least > -1e-12


@pytest.mark.parametrize(("half_mm", "allowed"), [(0.0, 1e-12), (3.0, 1e-12), (25.0, 0.02)])
def test_variances_are_those_of_the_whole_covariance(half_mm: float, allowed: float) -> None:
    """Exact while cells are smaller than the spacing; with cells their rounding, 1 % of the sd."""
    places = grid(20, 3.0)
    random = np.random.default_rng(1)
    sd = random.uniform(0.5, 1.5, 400)
    smooth = np.exp(-((places[:, :1] - 25.0) ** 2) / 200.0)
    weights = np.concatenate([smooth, random.normal(size=(400, 2)), np.eye(400)[:, :1]], axis=1)
    exact = np.einsum("ij,ik,kj->j", weights, whole_covariance(places, sd, half_mm), weights)
    found = Scatter.of(places, sd, half_mm).variance(weights)
    assert found[[0, 3]] == pytest.approx(exact[[0, 3]], rel=allowed)
    if half_mm < 10.0:
        assert found == pytest.approx(exact, rel=allowed)


@pytest.mark.parametrize("half_mm", [0.0, 8.0])
def test_samples_have_unit_spread_and_half_the_correlation_where_told(half_mm: float) -> None:
    """Over 400 places and 2,000 samples the spread is known to some 0.5 %."""
    samples = scattered(grid(20, 4.0), half_mm, 2000).reshape(20, 20, 2000)
    assert samples.var() == pytest.approx(1.0, rel=0.02)
    together = (samples[:, :-2] * samples[:, 2:]).mean()
    assert together == pytest.approx(0.5 if half_mm else 0.0, abs=0.03)


def test_samples_are_the_same_every_time() -> None:
    places = grid(6, 3.0)
    assert (scattered(places, 5.0, 3) == scattered(places, 5.0, 3)).all()
