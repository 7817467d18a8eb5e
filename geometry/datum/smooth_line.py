"""A smooth curve through a line over a scan: where a tape lies, which does not follow the grain."""

import numpy as np
from scipy.interpolate import BSpline, make_lsq_spline

from geometry.arrays import FloatArray

KNOTS_APART = 5.0
"""Knots of the curve laid through a line, in pieces of that line: enough to take scan noise out."""

_OVERLAP_KNOTS = 8
"""How far a closed line is carried on past its joint on both sides, so that none shows there."""


def smooth_line(path: FloatArray) -> FloatArray:
    """Return a fine line along the least-squares cubic through a path's points, ends kept.

    A path that ends where it begins is smooth there too.

    >>> from geometry.polyline import line_length
    >>> turn = np.linspace(0.0, np.pi, 200)
    >>> round(line_length(smooth_line(np.stack([np.cos(turn), np.sin(turn), 0 * turn], 1))), 3)
    3.142
    """
    steps = np.linalg.norm(np.diff(path, axis=0), axis=1)
    points: FloatArray = path[np.concatenate([[True], steps > 0.0])]
    along = np.concatenate([[0.0], np.cumsum(steps[steps > 0.0])])
    pieces = int((len(points) - 1) // KNOTS_APART)
    if pieces < 2:
        return points
    knots = np.linspace(0.0, along[-1], pieces + 1)
    is_closed = bool(np.allclose(points[0], points[-1], rtol=0.0, atol=1e-9 * along[-1]))
    if is_closed and pieces > _OVERLAP_KNOTS:
        return _smooth_round(points, along, knots)
    curve = _fitted(points, along, knots)
    return np.asarray(curve(np.linspace(0.0, along[-1], 20 * pieces + 1)))


def _smooth_round(points: FloatArray, along: FloatArray, knots: FloatArray) -> FloatArray:
    step = knots[1]
    after = along[1:] < _OVERLAP_KNOTS * step
    before = along[:-1] > along[-1] - _OVERLAP_KNOTS * step
    line = np.concatenate([points[:-1][before], points, points[1:][after]])
    place = np.concatenate([along[:-1][before] - along[-1], along, along[1:][after] + along[-1]])
    inner = np.arange(np.ceil(place[0] / step), np.floor(place[-1] / step) + 1) * step
    inner = inner[(inner > place[0] + 0.5 * step) & (inner < place[-1] - 0.5 * step)]
    curve = _fitted(line, place, np.concatenate([place[:1], inner, place[-1:]]))
    line = np.array(curve(np.linspace(0.0, along[-1], 20 * (len(knots) - 1) + 1)))
    line[-1] = line[0]
    return line


def _fitted(points: FloatArray, along: FloatArray, knots: FloatArray) -> BSpline:
    """Return the least-squares cubic through a line, its ends all but kept."""
    count = int((len(knots) - 1) * KNOTS_APART * 2) + 1
    places = np.linspace(along[0], along[-1], count)
    even = np.stack([np.interp(places, along, points[:, axis]) for axis in range(3)], axis=1)
    every = np.concatenate([[knots[0]] * 3, knots, [knots[-1]] * 3])
    weight = np.ones(count)
    weight[[0, -1]] = 1e3
    return make_lsq_spline(places, even, every, k=3, w=weight)
