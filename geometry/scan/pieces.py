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
    """Return the measures of pieces, given the piece of each face.

    >>> square = np.array([[0.0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0]])
    >>> found = piece_measures(square, np.array([[0, 1, 2], [0, 2, 3]]), np.array([0, 0]))
    >>> found.area.tolist(), found.centre.tolist()
    ([4.0], [[1.0, 1.0, 0.0]])
    """
    count = int(piece.max(initial=-1)) + 1
    area, moment = np.zeros(count), np.zeros((count, 3))
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    for start in range(0, len(faces), _FACES_AT_ONCE):
        part = slice(start, start + _FACES_AT_ONCE)
        at = piece[part]
        corners = vertices[faces[part]]
        vectors = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        own = np.linalg.norm(vectors, axis=1) / 2.0
        area += np.bincount(at, own, count)
        middle = corners.mean(axis=1)
        for axis in range(3):
            moment[:, axis] += np.bincount(at, own * middle[:, axis], count)
            np.minimum.at(low[:, axis], at, corners[:, :, axis].min(axis=1))
            np.maximum.at(high[:, axis], at, corners[:, :, axis].max(axis=1))
    centre = np.divide(moment, area[:, None], out=(low + high) / 2.0, where=area[:, None] > 0)
    return PieceMeasures(np.bincount(piece, minlength=count), area, centre, low, high)
