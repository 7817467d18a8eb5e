"""`Cells`: many places in small boxes, so that most can be judged by the middle of their box."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray

_FEW = 30_000
_SIDE_MM = 8.0


@dataclass(frozen=True, eq=False)
class Cells:
    """Boxes of places.

    Attributes
    ----------
    of_point : (k,) int
        The box each place is in.
    middles : (c, 3) float, mm
    half_mm : float
        No place is farther from the middle of its box.
    """

    of_point: IntArray
    middles: FloatArray
    half_mm: float


def cells_of(points: FloatArray) -> Cells:
    """Return (k, 3) places in boxes of 8 mm; each by itself where there are few.

    >>> cells_of(np.zeros((5, 3))).half_mm
    0.0
    """
    if len(points) <= _FEW:
        return Cells(np.arange(len(points)), points, 0.0)
    corner = points.min(axis=0)
    number = np.floor((points - corner) / _SIDE_MM).astype(np.int64)
    counts = number.max(axis=0) + 1
    key = (number[:, 0] * counts[1] + number[:, 1]) * counts[2] + number[:, 2]
    keys, of_point = np.unique(key, return_inverse=True)
    rows, third = np.divmod(keys, counts[2])
    first, second = np.divmod(rows, counts[1])
    middles = corner + _SIDE_MM * (np.stack([first, second, third], axis=1) + 0.5)
    return Cells(of_point, middles, _SIDE_MM * np.sqrt(3.0) / 2.0 * (1.0 + 1e-9))
