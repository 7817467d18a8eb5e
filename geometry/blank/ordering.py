"""The order in which unknowns are eliminated: halve the panel again and again by its own layout.

Keeps the factors sparse. Source: [george1973] nested dissection, here with halves by coordinate.
"""

import numpy as np

from geometry.arrays import FloatArray, IntArray

BETWEEN = 5
"""The side of a separator's vertices: odd, and no sum of two sides with it is one without."""

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
    places = np.ascontiguousarray(points.T)
    one, two = np.ascontiguousarray(edges.T)
    stack = [(np.arange(len(points)), one, two, len(points))]
    while stack:
        members, one, two, end = stack.pop()  # members take the places before `end`
        if len(members) <= LEAF or not len(one):
            order[end - len(members) : end] = members
            continue
        _halve(places, members, one, two, side)
        there = side[members]
        left, right = members[there == 0], members[there == 1]
        between = members[there == BETWEEN]
        order[end - len(between) : end] = between
        ends = side[one] + side[two]  # 0 within the left, 2 within the right, odd across
        for half, place in ((left, end - len(between) - len(right)), (right, end - len(between))):
            kept = ends == (0 if half is left else 2)
            stack.append((half, one[kept], two[kept], place))
    return order


def _halve(
    places: FloatArray,
    members: IntArray,
    one: IntArray,
    two: IntArray,
    side: np.ndarray[tuple[int], np.dtype[np.int8]],
) -> None:
    """Set the members' sides: 0 left, 1 right, `BETWEEN` on the smaller shore of the cut."""
    spread = [np.ptp(axis[members]) for axis in places]
    along = places[int(np.argmax(spread))][members]
    rank = np.argpartition(along, len(members) // 2)
    side[members[rank]] = np.arange(len(members)) >= len(members) // 2
    start, end = side[one], side[two]
    across = start != end
    one, two, swapped = one[across], two[across], start[across] == 1
    shores = (np.unique(np.where(swapped, two, one)), np.unique(np.where(swapped, one, two)))
    side[min(shores, key=len)] = BETWEEN
