"""Triangles across a closed outline in space, with no new points: the skin of least area."""

import numpy as np

from geometry.arrays import FloatArray, IntArray

_MOST_AT_ONCE = 160
_EVEN_SHARE = 1e-4


def triangles_across(outline: FloatArray) -> IntArray:
    """Return (k - 2, 3) triangles, as indices of the (k, 3) outline, turning the way it runs.

    The least total area, ties going to short edges; an outline of very many points is first
    spanned through every few of them, then between.

    >>> triangles_across(np.array([[0.0, 0, 0], [2, 0, 0], [2, 1, 0], [0, 1, 0]])).shape
    (2, 3)
    """
    k = len(outline)
    if k <= _MOST_AT_ONCE:
        return _least_area(outline)
    stride = -(-k // _MOST_AT_ONCE)
    coarse = np.arange(0, k, stride)
    parts = [coarse[_least_area(outline[coarse])]]
    for start, end in zip(coarse, np.append(coarse[1:], k), strict=True):
        arc = np.arange(start, end + 1) % k
        if len(arc) > 2:
            parts.append(arc[_least_area(outline[arc])])
    return np.concatenate(parts)


def _least_area(outline: FloatArray) -> IntArray:
    """Return the triangles of least total cost, by the classic recursion over spans.

    Source: own derivation: cost[i, j] = min over k of cost[i, k] + cost[k, j] + cost of i k j.
    """
    n = len(outline)
    cost = np.zeros((n, n))
    best = np.zeros((n, n), np.int64)
    for gap in range(2, n):
        i = np.arange(n - gap)
        j = i + gap
        k = i[:, None] + np.arange(1, gap)[None, :]
        total = cost[i[:, None], k] + cost[k, j[:, None]] + _triangle_cost(outline, i, k, j)
        choice = np.argmin(total, axis=1)
        cost[i, j] = total[i, choice]
        best[i, j] = k[i, choice]
    triangles: list[tuple[int, int, int]] = []
    spans = [(0, n - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        middle = int(best[first, last])
        triangles.append((first, middle, last))
        spans += [(first, middle), (middle, last)]
    return np.array(triangles, np.int64).reshape(-1, 3)


def _triangle_cost(outline: FloatArray, i: IntArray, k: IntArray, j: IntArray) -> FloatArray:
    """Return the areas of triangles i k j, and a little for long sides."""
    a, b = outline[i][:, None, :], outline[j][:, None, :]
    c = outline[k]
    u, v = c - a, b - a
    uu, vv, uv = (u * u).sum(axis=2), (v * v).sum(axis=2), (u * v).sum(axis=2)
    area = np.sqrt(np.maximum(uu * vv - uv * uv, 0.0)) / 2.0
    return np.asarray(area + _EVEN_SHARE * (uu + ((c - b) ** 2).sum(axis=2)))
