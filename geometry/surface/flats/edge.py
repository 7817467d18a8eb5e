"""Where a flat face ends: the place at which the skin leaves the plane, all round."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d, median_filter
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray
from geometry.polyline import lengths_along, outward_of_loop

_STEP_MM = 2.0
_CALM_MM, _EDGE_CALM_MM = 3.0, 3.0
_INWARD_MM, _OUTWARD_MM = 8.0, 6.0
_DEEPEST_MM = 2.0
_START_STEP_MM = 0.2
_LEAST_RADIUS_MM = 0.3
_LEAST_CUT_MM = 0.25
_BEND_ROUNDS = 3
_TIGHT_MM = 25.0
_FEWEST = 8
_WIDEST_SCATTER = 3.0


@dataclass(frozen=True, eq=False)
class Edge:
    """The end of a flat face, in its plane.

    Attributes
    ----------
    points : (k, 2) float, mm
        In order, counter-clockwise, evenly about 2 mm apart; not repeated.
    turned : float
        Share of the edge at which the skin turns away over a tight radius.
    rim : float
        Share at which the skin itself ends.
    """

    points: FloatArray
    turned: float
    rim: float


def edge_of(outline: FloatArray, flat: FloatArray, height: FloatArray, spacing_mm: float) -> Edge:
    """Return the edge near a rough outline.

    Parameters
    ----------
    outline : (k, 2) float, mm
        In the plane, counter-clockwise.
    flat : (n, 2) float, mm
        Points of the skin near the face, laid into the plane.
    height : (n,) float, mm
        How far they stand out of it.
    spacing_mm : float
        Of those points.

    Source: own derivation. Across each place of the outline the skin is level, then follows a
    circle that leaves the level without a kink; start and radius of that circle are those with the
    least distances, far ones cut off.
    """
    rough = _even(outline, _STEP_MM, _CALM_MM)
    outward = outward_of_loop(rough)
    tree = cKDTree(flat)
    half = max(2.0, 1.6 * spacing_mm)
    near = tree.query_ball_point(rough, np.hypot(_INWARD_MM, half))
    start = np.zeros(len(rough))
    kind = np.zeros(len(rough), np.int64)
    for number, found in enumerate(near):
        index = np.array(found, np.int64)
        away = flat[index] - rough[number]
        along = away @ np.array([-outward[number, 1], outward[number, 0]])
        across = away @ outward[number]
        beside = (np.abs(along) < half) & (across < _OUTWARD_MM)
        start[number], kind[number] = _leaves(across[beside], height[index][beside], spacing_mm)
    found_at = _smooth(start, kind > 0)
    points = _even(rough + found_at[:, None] * outward, _STEP_MM, 0.0)
    return Edge(points, float((kind == 1).mean()), float((kind == 2).mean()))


def _leaves(across: FloatArray, height: FloatArray, spacing_mm: float) -> tuple[float, int]:
    """Return where a strip of points leaves its level, and how: 1 over a radius, 2 by ending.

    0 where it does neither.
    """
    level = across < -3.0
    if level.sum() < _FEWEST:
        return 0.0, 0
    height = height - np.median(height[level])
    near = np.abs(height) < _DEEPEST_MM
    across, height = across[near], height[near]
    drop = np.abs(height).max() if len(height) else 0.0
    last = float(across[np.abs(height) < 0.5].max(initial=-_INWARD_MM))
    if drop < 0.6:
        ends = last < _OUTWARD_MM - 2.0 * spacing_mm
        return (last, 2) if ends else (0.0, 0)
    side = np.sign(height[np.abs(height).argmax()])
    starts = np.arange(-5.0, 4.01, _START_STEP_MM)
    cost, bend = _cost_and_bend(across, side * height, starts)
    best = int(cost.argmin())
    shift = 0.0
    if 0 < best < len(starts) - 1:
        before, at, after = cost[best - 1 : best + 2]
        dip = before - 2.0 * at + after
        shift = 0.5 * _START_STEP_MM * (before - after) / dip if dip > 0 else 0.0
    return float(starts[best] + shift), int(bend[best] >= 1.0 / _TIGHT_MM)


def _cost_and_bend(
    across: FloatArray, drop: FloatArray, starts: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return, for each start, the mean squared distance, far ones cut off, and 1 / radius.

    A point of the circle lies q / (2 r) under the level, q the square of its chord from the start:
    the radius follows from the points past the start, those that miss by more than half left out
    the second time.
    """
    scatter = max(float(np.median(np.abs(drop[across < -2.0]))) / 0.6745, 0.02)
    cut = max(_WIDEST_SCATTER * scatter, _LEAST_CUT_MM)
    past = np.maximum(across - starts[:, None], 0.0)
    chord = past**2 + np.where(past > 0.0, drop**2, 0.0)
    share = np.ones_like(chord)
    for _ in range(_BEND_ROUNDS):
        met = (share * chord * drop).sum(axis=1) / np.maximum((share * chord**2).sum(axis=1), 1e-9)
        bend = np.clip(2.0 * met, 1e-4, 1.0 / _LEAST_RADIUS_MM)
        radius = 1.0 / bend[:, None]
        round_ = np.abs(np.hypot(past, drop - radius) - radius)
        off = np.where(past > 0.0, round_, np.abs(drop))
        share = 1.0 / (1.0 + (off / cut) ** 2) ** 2
    return np.asarray(np.minimum(off, cut) ** 2).mean(axis=1), bend


def _even(loop: FloatArray, step_mm: float, calm_mm: float) -> FloatArray:
    """Return a closed loop with even steps, calmed over a length."""
    closed = np.concatenate([loop, loop[:1]])
    run = lengths_along(closed)
    fine = max(round(run[-1] / 0.5), 12)
    dense = _at(closed, run, np.arange(fine) * run[-1] / fine)
    if calm_mm > 0.0:
        dense = gaussian_filter1d(dense, calm_mm / 0.5, axis=0, mode="wrap")
    closed = np.concatenate([dense, dense[:1]])
    run = lengths_along(closed)
    count = max(round(run[-1] / step_mm), 12)
    return _at(closed, run, np.arange(count) * run[-1] / count)


def _at(points: FloatArray, run: FloatArray, where: FloatArray) -> FloatArray:
    return np.stack([np.interp(where, run, column) for column in points.T], axis=1)


def _smooth(values: FloatArray, known: BoolArray) -> FloatArray:
    """Return values round a loop without lone ones, calmed; unknown ones from those beside."""
    if not known.any():
        return np.zeros(len(values))
    place = np.arange(len(values), dtype=np.float64)
    filled = np.interp(place, place[known], values[known], period=float(len(values)))
    calm = median_filter(filled, 5, mode="wrap")
    return np.asarray(gaussian_filter1d(calm, _EDGE_CALM_MM / _STEP_MM, mode="wrap"))
