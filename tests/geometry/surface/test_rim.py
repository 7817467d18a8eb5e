"""Rims: teeth off, corners on, circles round."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.surface.rim import smoothed_rim, spikes


def circle(radius: float, count: int) -> FloatArray:
    angle = np.arange(count) * 2 * np.pi / count
    return radius * np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)


def square(side: float, step: float) -> FloatArray:
    along = np.arange(0.0, side, step)
    zero = 0 * along
    runs = [(along, zero), (zero + side, along), (side - along, zero + side), (zero, side - along)]
    flat = np.concatenate([np.stack(run, axis=1) for run in runs])
    return np.column_stack([flat, np.zeros(len(flat))])


def with_teeth(points: FloatArray, height: float) -> FloatArray:
    """Return points moved off their outline by uneven teeth of a standard deviation."""
    off = np.random.default_rng(3).normal(0.0, height, (len(points), 2))
    return points + np.column_stack([off, np.zeros(len(points))])


def off_square(points: FloatArray, side: float) -> FloatArray:
    sides = [points[:, 0], side - points[:, 0], points[:, 1], side - points[:, 1]]
    return np.asarray(np.min(np.abs(sides), axis=0))


def test_teeth_of_half_a_millimetre_go_and_corners_stay() -> None:
    """A parabola fitted over a window of 4.5 mm averages about a dozen points 1.5 mm apart."""
    raw = with_teeth(square(120.0, 1.5), 0.5)
    smooth = smoothed_rim(raw, window_mm=4.5)
    assert len(smooth.corners) == 4
    assert off_square(smooth.points, 120.0).std() < 0.5 * off_square(raw, 120.0).std()
    truth = np.array([[0.0, 0, 0], [120, 0, 0], [0, 120, 0], [120, 120, 0]])
    found = smooth.points[smooth.corners]
    gap = np.linalg.norm(found[:, None] - truth, axis=2).min(axis=0)
    assert gap.max() < 1.5


@pytest.mark.parametrize("radius", [8.0, 30.0, 100.0])
def test_a_clean_circle_keeps_its_radius_within_its_chords(radius: float) -> None:
    """The rim given is its chords, up to r (1 - cos(pi / k)) inside the circle."""
    count = max(24, round(2 * np.pi * radius / 2.0))
    smooth = smoothed_rim(circle(radius, count), window_mm=4.5)
    assert len(smooth.corners) == 0
    off = np.linalg.norm(smooth.points, axis=1) - radius
    sag = radius * (1 - np.cos(np.pi / count))
    assert (-sag < off).all()
    assert (off < sag / 10).all()


def test_a_ragged_circle_comes_out_rounder() -> None:
    raw = with_teeth(circle(30.0, 95), 0.4)
    smooth = smoothed_rim(raw, window_mm=4.5)
    before, after = (np.linalg.norm(p, axis=1).std() for p in (raw, smooth.points))
    assert after < 0.5 * before
    assert np.linalg.norm(smooth.points, axis=1).mean() == pytest.approx(30.0, abs=0.1)


def test_a_clean_square_is_left_alone() -> None:
    raw = square(50.0, 2.0)
    smooth = smoothed_rim(raw, window_mm=4.5)
    assert off_square(smooth.points, 50.0).max() < 0.05
    assert np.linalg.norm(smooth.points - raw, axis=1).max() < 0.6


def test_a_rim_of_few_points_is_kept() -> None:
    raw = circle(3.0, 7)
    assert np.array_equal(smoothed_rim(raw, window_mm=4.5).points, raw)


def test_a_spike_is_told_from_a_corner_and_from_teeth() -> None:
    raw = square(60.0, 2.0)
    assert not spikes(raw).any()
    raw[40, :2] += 7.0
    assert np.flatnonzero(spikes(raw)).tolist() == [40]
    assert not spikes(with_teeth(square(60.0, 2.0), 0.3))[[0, 30, 60, 90]].any()
