"""The maker's view of the blank: patterns are seen from outside, pages from the marked face."""

import numpy as np

from app.exports.facts import Face
from geometry.arrays import FloatArray


def as_marked(points: FloatArray, face: Face) -> FloatArray:
    """Return places on the blank as seen by the maker: mirrored where the inside is marked.

    >>> as_marked(np.array([[3.0, 1.0]]), "inside").tolist()
    [[-3.0, 1.0]]
    """
    return points * np.array([-1.0, 1.0]) if face == "inside" else points


def inward_side(face: Face) -> float:
    """Return on which side of its edges the blank lies as the maker sees it: 1 left, -1 right.

    Edges run counter-clockwise seen from outside.
    """
    return -1.0 if face == "inside" else 1.0
