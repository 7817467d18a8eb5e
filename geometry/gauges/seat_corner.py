"""Where a flat face and the wall beside it would meet if the edge between was not rounded."""

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray
from geometry.polyline import outward_of_loop

_HALF_MM = 5.0
_SHALLOWEST_MM, _DEEPEST_MM = 2.5, 9.0
_REACH_MM = 9.0
_FEWEST = 12
_STEEPEST = 2.0
_ROUNDS = 4
_TUKEY = 4.7
_CALM = 2
_EVEN = 3.0
_LONGEST_GAP = 6


def corner_line(edge: FloatArray, flat: FloatArray, depth: FloatArray) -> FloatArray:
    """Return, for each place of the edge of a flat, where wall and plane would meet.

    Parameters
    ----------
    edge : (k, 2) float, mm
        Where the flat ends, in order, counter-clockwise; not repeated.
    flat : (n, 2) float, mm
        Points of the skin laid into the plane.
    depth : (n,) float, mm
        How far they lie behind it.

    Source: own derivation. Beside each place, the wall between 2.5 and 9 mm down is a line over the
    depth, bowed along the edge; carried on to no depth. Where there is no wall, or it lies flatter
    than a rise of one in two, the edge itself stands.
    """
    even = np.asarray(gaussian_filter1d(edge, _EVEN, axis=0, mode="wrap"))
    outward = outward_of_loop(even)
    wall = (depth > _SHALLOWEST_MM) & (depth < _DEEPEST_MM)
    points, down = flat[wall], depth[wall]
    if not len(points):
        return edge.copy()
    found = np.full(len(edge), np.nan)
    near = cKDTree(points).query_ball_point(even, np.hypot(_HALF_MM, _REACH_MM))
    for number, index in enumerate(near):
        away = points[index] - even[number]
        along = away @ np.array([-outward[number, 1], outward[number, 0]])
        beside = np.abs(along) < _HALF_MM
        found[number] = _met(along[beside], away[beside] @ outward[number], down[index][beside])
    found = _bridged(found)
    met = ~np.isnan(found)
    corner = edge.copy()
    corner[met] = (even + _calmed(found, met)[:, None] * outward)[met]
    return corner


def _met(along: FloatArray, across: FloatArray, down: FloatArray) -> float:
    """Return where a wall meets the plane, across; nan where there is none steep enough."""
    if len(along) < _FEWEST or np.ptp(down) < 0.5 * (_DEEPEST_MM - _SHALLOWEST_MM):
        return np.nan
    rows = np.stack([np.ones(len(along)), down, along, along**2], axis=1)
    weight = np.ones(len(along))
    for _ in range(_ROUNDS):
        root = np.sqrt(weight)
        fit = np.linalg.lstsq(rows * root[:, None], across * root, rcond=None)[0]
        off = across - rows @ fit
        scatter = max(float(np.median(np.abs(off))) / 0.6745, 1e-3)
        weight = np.clip(1.0 - (off / (_TUKEY * scatter)) ** 2, 0.0, 1.0) ** 2
    return float(fit[0]) if abs(fit[1]) < _STEEPEST else np.nan


def _bridged(found: FloatArray) -> FloatArray:
    """Return steps with short stretches without a wall led straight across, as over a scratch."""
    met = ~np.isnan(found)
    if met.all() or not met.any():
        return found
    place, count = np.arange(len(found)), float(len(found))
    across = np.interp(place, place[met], found[met], period=count)
    before = np.maximum.accumulate(np.where(np.tile(met, 3), np.arange(3 * len(found)), -1))
    after = np.minimum.accumulate(
        np.where(np.tile(met, 3), np.arange(3 * len(found)), 4 * len(found))[::-1]
    )[::-1]
    gap = (after - before)[len(found) : 2 * len(found)] - 1
    return np.asarray(np.where(gap <= _LONGEST_GAP, across, np.nan))


def _calmed(found: FloatArray, met: BoolArray) -> FloatArray:
    """Return steps outward without lone ones; none where no wall was met."""
    padded = np.concatenate([found[-_CALM:], found, found[:_CALM]])
    rows = np.stack([padded[shift : shift + len(found)] for shift in range(2 * _CALM + 1)])
    out = np.zeros(len(found))
    out[met] = np.nanmedian(rows[:, met], axis=0)
    return out
