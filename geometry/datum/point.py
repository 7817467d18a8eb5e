"""Points and directions as plain numbers: as decisions keep them, and as arrays for computing."""

import numpy as np

from geometry.arrays import FloatArray

Point3 = tuple[float, float, float]


def point3(point: FloatArray) -> Point3:
    """Return a point (3,) as plain numbers.

    >>> point3(np.array([1, 2, 0.5]))
    (1.0, 2.0, 0.5)
    """
    return float(point[0]), float(point[1]), float(point[2])


def point_array(point: Point3 | None) -> FloatArray | None:
    """Return a point (3,) as an array; None where none was said."""
    return None if point is None else np.array(point, np.float64)
