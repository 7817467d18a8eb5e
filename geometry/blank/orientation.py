"""Which way round three points of the plane run, decided exactly.

A quick sum with a bound on its rounding answers nearly always; the rest is worked in whole numbers.
"""

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray

HALF_ULP = 2.0**-53
ROUNDING_PART = (3.0 + 16.0 * HALF_ULP) * HALF_ULP
"""Largest rounding of the quick sum, over the sum of its two products' sizes."""

TINY = 1e-280
"""Products below this may have lost digits at the bottom of the number range."""


def turning_sides(points: FloatArray, triples: IntArray) -> IntArray:
    """Return (k,): 1 where three points run counter-clockwise, -1 clockwise, 0 on one line.

    Parameters
    ----------
    points : (n, 2) float
        Finite.
    triples : (k, 3) int

    Source: [shewchuk1997] the bound on rounding; whole numbers of any length behind it.

    >>> points = np.array([[0.1, 0.1], [0.2, 0.2], [0.3, 0.3], [0.3, 0.3000001]])
    >>> turning_sides(points, np.array([[0, 1, 3], [0, 3, 1], [1, 0, 2]])).tolist()
    [1, -1, 0]
    """
    x, y = np.ascontiguousarray(points.T)
    a, b, c = triples.T
    left = (x[a] - x[c]) * (y[b] - y[c])
    right = (y[a] - y[c]) * (x[b] - x[c])
    doubled_area = left - right
    size = np.abs(left) + np.abs(right)
    sides: IntArray = np.sign(doubled_area).astype(np.int64)
    unsure = ~(np.abs(doubled_area) > ROUNDING_PART * size) | ~(size > TINY)
    undecided = np.flatnonzero(unsure)
    if undecided.size:
        sides[undecided] = _exact_sides(points[triples[undecided]])
    return sides


def folded_or_flat(flat_vertices: FloatArray, faces: IntArray) -> BoolArray:
    """Return (m,) whether each face is clockwise or without area on the blank, decided exactly."""
    return np.asarray(turning_sides(flat_vertices, faces) <= 0)


def _exact_sides(corners: FloatArray) -> IntArray:
    """Return (k,) the same for (k, 3, 2) corners, in whole numbers: no rounding."""
    parts, exponents = np.frexp(corners)
    exponents = np.where(parts == 0.0, exponents.max(axis=(1, 2), keepdims=True), exponents)
    shift = (exponents - exponents.min(axis=(1, 2), keepdims=True)).astype(object)
    whole = (parts * 2.0**53).astype(np.int64).astype(object) * 2**shift
    one, two = whole[:, 0] - whole[:, 2], whole[:, 1] - whole[:, 2]
    left, right = one[:, 0] * two[:, 1], one[:, 1] * two[:, 0]
    return np.asarray(left > right, np.int64) - np.asarray(left < right, np.int64)
