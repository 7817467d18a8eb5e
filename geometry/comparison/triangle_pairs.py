"""How far two triangles are apart, exactly, for many pairs at once."""

import numpy as np

from geometry.arrays import BoolArray, FloatArray

_ENDS = ((0, 1), (1, 2), (2, 0))
_LEVEL = 1e-12


def least_separation(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return a length (k,) that two triangles (k, 3, 3) each are apart at least; cheap.

    The widest gap between their shadows on the line of their middles and on both their normals.
    """
    edges = one[:, 1] - one[:, 0], one[:, 2] - one[:, 0]
    others = other[:, 1] - other[:, 0], other[:, 2] - other[:, 0]
    middles = other.sum(axis=1) - one.sum(axis=1)
    apart = np.zeros(len(one))
    for way in (middles, np.cross(*edges), np.cross(*others)):
        length = np.sqrt(_dot(way, way))
        low, high = _shadow(one, way)
        other_low, other_high = _shadow(other, way)
        gap = np.maximum(other_low - high, low - other_high)
        np.maximum(apart, gap / np.where(length > 0.0, length, 1.0), out=apart)
    return apart


def _shadow(triangles: FloatArray, way: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return from where to where triangles (k, 3, 3) reach along directions (k, 3)."""
    a, b, c = (_dot(triangles[:, corner], way) for corner in range(3))
    return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


def nearest_of_triangles(
    one: FloatArray, other: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return how far triangles (k, 3, 3) are apart, and the places on each where they are nearest.

    Two triangles that do not meet are nearest between two sides, or between a corner of the one and
    a place within the other; those that meet have a side of the one through the other.

    Returns
    -------
    distances (k,), on_one (k, 3), on_other (k, 3)
        Nothing apart where they meet, both places the same.

    >>> level = np.array([[[0.0, 0, 0], [4, 0, 0], [0, 4, 0]]])
    >>> nearest_of_triangles(level, level + [1.0, 1.0, 2.5])[0].tolist()
    [2.5]
    """
    best = _Best(len(one))
    for a, b in _ENDS:
        for c, d in _ENDS:
            best.take(*_nearest_of_segments(one[:, a], one[:, b], other[:, c], other[:, d]))
    for corner in range(3):
        foot, inside = _foot_within(one[:, corner], other)
        best.take(one[:, corner], foot, among=inside)
        foot, inside = _foot_within(other[:, corner], one)
        best.take(foot, other[:, corner], among=inside)
    for a, b in _ENDS:
        meet, through = _pierced(one[:, a], one[:, b], other)
        best.take(meet, meet, among=through)
        meet, through = _pierced(other[:, a], other[:, b], one)
        best.take(meet, meet, among=through)
    return np.sqrt(best.square), best.on_one, best.on_other


class _Best:
    """The nearest places known so far of each pair."""

    def __init__(self, count: int) -> None:
        self.square = np.full(count, np.inf)
        self.on_one, self.on_other = np.zeros((count, 3)), np.zeros((count, 3))

    def take(
        self, on_one: FloatArray, on_other: FloatArray, among: BoolArray | None = None
    ) -> None:
        """Keep these where they are nearer."""
        away = on_other - on_one
        square = np.einsum("kx,kx->k", away, away)
        better = square < self.square
        if among is not None:
            better &= among
        self.square[better] = square[better]
        self.on_one[better], self.on_other[better] = on_one[better], on_other[better]


def _dot(one: FloatArray, other: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("kx,kx->k", one, other))


def _nearest_of_segments(
    a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the nearest places of segments a-b and c-d, each (k, 3).

    Source: own derivation: along the first, the place nearest to the line of the second, held to
    its ends; then the nearest place of the second to it, held; then of the first to that.
    """
    u, v, w = b - a, d - c, a - c
    uu, uv, vv, uw, vw = _dot(u, u), _dot(u, v), _dot(v, v), _dot(u, w), _dot(v, w)
    square = uu * vv - uv * uv
    slanting = square > _LEVEL * uu * vv
    s = np.where(slanting, (uv * vw - vv * uw) / np.where(slanting, square, 1.0), 0.0).clip(0, 1)
    t = ((uv * s + vw) / np.where(vv > 0.0, vv, 1.0)).clip(0.0, 1.0)
    s = ((uv * t - uw) / np.where(uu > 0.0, uu, 1.0)).clip(0.0, 1.0)
    return a + s[:, None] * u, c + t[:, None] * v


def _foot_within(points: FloatArray, triangles: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return the feet (k, 3) of points on the planes of triangles, and which lie within them."""
    a = triangles[:, 0]
    ab, ac, ap = triangles[:, 1] - a, triangles[:, 2] - a, points - a
    normal = np.cross(ab, ac)
    square = _dot(normal, normal)
    safe = np.where(square > 0.0, square, 1.0)
    at_b = _dot(np.cross(ap, ac), normal) / safe
    at_c = _dot(np.cross(ab, ap), normal) / safe
    inside = (at_b >= 0.0) & (at_c >= 0.0) & (at_b + at_c <= 1.0) & (square > 0.0)
    return a + at_b[:, None] * ab + at_c[:, None] * ac, inside


def _pierced(
    start: FloatArray, end: FloatArray, triangles: FloatArray
) -> tuple[FloatArray, BoolArray]:
    """Return where segments meet the planes of triangles, and which go through the triangles."""
    a = triangles[:, 0]
    normal = np.cross(triangles[:, 1] - a, triangles[:, 2] - a)
    before, after = _dot(start - a, normal), _dot(end - a, normal)
    apart = before - after
    crosses = (before * after <= 0.0) & (apart != 0.0)
    share = np.where(crosses, before / np.where(crosses, apart, 1.0), 0.0)
    meet = start + share[:, None] * (end - start)
    foot, inside = _foot_within(meet, triangles)
    return foot, crosses & inside
