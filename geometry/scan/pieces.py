"""Area, middle and box of every piece of a scan, a million faces at a time."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray

_FACES_AT_ONCE = 1_000_000


@dataclass(frozen=True, eq=False)
class PieceMeasures:
    """Measures of p pieces, in the unit of their vertices.

    Attributes
    ----------
    triangles : (p,) int
    area : (p,) float
    centre : (p, 3) float
        Weighted by area.
    low, high : (p, 3) float
        Opposite corners of the box around each.
    """

    triangles: IntArray
    area: FloatArray
    centre: FloatArray
    low: FloatArray
    high: FloatArray


def piece_measures(vertices: FloatArray, faces: IntArray, piece: IntArray) -> PieceMeasures:
    """Return the measures of pieces, given the piece of each face; no vertex is in two pieces.

    >>> square = np.array([[0.0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0]])
    >>> found = piece_measures(square, np.array([[0, 1, 2], [0, 2, 3]]), np.array([0, 0]))
    >>> found.area.tolist(), found.centre.tolist()
    ([4.0], [[1.0, 1.0, 0.0]])
    """
    count = int(piece.max(initial=-1)) + 1
    area, moment = np.zeros(count), np.zeros((count, 3))
    piece_of_vertex = np.full(len(vertices), -1, np.int64)
    for start in range(0, len(faces), _FACES_AT_ONCE):
        part = slice(start, start + _FACES_AT_ONCE)
        at = piece[part]
        piece_of_vertex[faces[part]] = at[:, None]
        a, b, c = (vertices[faces[part, corner]] for corner in range(3))
        vectors = np.cross(b - a, c - a)
        own = np.sqrt(np.einsum("ij,ij->i", vectors, vectors)) / 2.0
        area += np.bincount(at, own, count)
        middle = (a + b + c) / 3.0
        for axis in range(3):
            moment[:, axis] += np.bincount(at, own * middle[:, axis], count)
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    used = np.flatnonzero(piece_of_vertex >= 0)
    for axis in range(3):
        np.minimum.at(low[:, axis], piece_of_vertex[used], vertices[used, axis])
        np.maximum.at(high[:, axis], piece_of_vertex[used], vertices[used, axis])
    centre = np.divide(moment, area[:, None], out=np.zeros((count, 3)), where=area[:, None] > 0)
    return PieceMeasures(np.bincount(piece, minlength=count), area, centre, low, high)
