"""`FlatFace`: a flat face of a skin."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray


@dataclass(frozen=True, eq=False)
class FlatFace:
    """A part of a skin that is flat, up to where it meets its edge radius or a rim.

    Attributes
    ----------
    faces : (j,) int
        The mesh's faces within the edge.
    point, normal : (3,) float
        The plane fitted; the normal points out of the skin. Dents do not tilt it.
    flatness_mm : float
        From the lowest to the highest place of the skin with its noise taken off; the hundredth of
        it that stands lowest and the hundredth that stands highest are left out.
    off : (j,) float, mm
        How far the skin, noise taken off, stands out of the plane at each face; below nothing where
        it lies in.
    edge : (k, 3) float, mm
        Where the face ends, in order; the first point is repeated last.
    area : float, mm2
        Within the edge.
    width : float, mm
        Across its narrowest way.
    """

    faces: IntArray
    point: FloatArray
    normal: FloatArray
    flatness_mm: float
    off: FloatArray
    edge: FloatArray
    area: float
    width: float


def width_of(outline: FloatArray) -> float:
    """Return the least width of (k, 2) points between two straight edges, to 0.1 per cent.

    >>> round(width_of(np.array([[0.0, 0], [3, 0], [3, 2], [0, 2]])), 3)
    2.0
    """
    angle = np.linspace(0.0, np.pi, 181)[:-1]
    along = outline @ np.stack([np.cos(angle), np.sin(angle)])
    return float(np.ptp(along, axis=0).min())


def area_of(outline: FloatArray) -> float:
    """Return the area within (k, 2) points in order, below nothing when clockwise.

    >>> area_of(np.array([[0.0, 0], [3, 0], [3, 2], [0, 2]]))
    6.0
    """
    x, y = outline.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2.0)
