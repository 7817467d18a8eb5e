"""The order in which unknowns are eliminated: halve the panel again and again by its own layout.

Keeps the factors sparse. Source: [george1973] nested dissection, here with halves by coordinate.
"""

import numpy as np

from geometry.arrays import FloatArray, IntArray

LEAF = 48
"""Vertices below which a part is not halved further."""


def nested_dissection(points: FloatArray, edges: IntArray) -> IntArray:
    """Return the vertices in elimination order: both halves first, their separator last.

    Parameters
    ----------
    points : (n, 2) float
        A layout in which edges are short; only used to halve.
    edges : (e, 2) int

    Returns
    -------
    (n,) int
        A permutation of 0 to n - 1.
    """
    order = np.empty(len(points), np.int64)
    side = np.empty(len(points), np.int8)
    stack = [(np.arange(len(points)), edges, len(points))]
    while stack:
        members, inner, end = stack.pop()  # members take the places before `end`
        if len(members) <= LEAF or not len(inner):
            order[end - len(members) : end] = members
            continue
        left, right, between = _halve(points, members, inner, side)
        order[end - len(between) : end] = between
        side[left], side[right], side[between] = 0, 1, 2
        ends = side[inner]
        stack.append((left, inner[(ends == 0).all(axis=1)], end - len(between) - len(right)))
        stack.append((right, inner[(ends == 1).all(axis=1)], end - len(between)))
    return order


def _halve(
    points: FloatArray,
    members: IntArray,
    edges: IntArray,
    side: np.ndarray[tuple[int], np.dtype[np.int8]],
) -> tuple[IntArray, IntArray, IntArray]:
    places = points[members]
    axis = int(np.argmax(places.max(axis=0) - places.min(axis=0)))
    middle = len(members) // 2
    rank = np.argpartition(places[:, axis], middle)
    side[members[rank[:middle]]], side[members[rank[middle:]]] = 0, 1
    crossing = edges[side[edges[:, 0]] != side[edges[:, 1]]]
    on_left = np.unique(crossing[side[crossing] == 0])
    on_right = np.unique(crossing[side[crossing] == 1])
    between = on_left if len(on_left) <= len(on_right) else on_right
    side[between] = 2
    return members[side[members] == 0], members[side[members] == 1], between
