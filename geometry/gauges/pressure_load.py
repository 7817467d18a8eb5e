"""What a little pressure in a tank pushes with on one of its faces: why tests begin very low."""

import numpy as np

from geometry.arrays import FloatArray, IntArray


def pressure_load(vertices: FloatArray, faces: IntArray, pressure_kpa: float) -> float:
    """Return the force in newtons with which pressure pushes a face outward.

    Pressure times the face's own outline seen square on: the sum of the triangles' area vectors,
    which is the same for every face with one rim, however it bulges.

    Parameters
    ----------
    vertices : (n, 3) float, mm
    faces : (m, 3) int
    pressure_kpa : float
        Over that outside.

    Source: own derivation: the theorem of Gauss on the face and any other with its rim.

    >>> square = np.array([[0.0, 0, 0], [254, 0, 0], [254, 508, 0], [0, 508, 0]])
    >>> newton = pressure_load(square, np.array([[0, 1, 2], [0, 2, 3]]), 6.894757293168)
    >>> round(newton / 4.4482216152605, 6)  # 1 psi on 10 x 20 in, in pounds force
    200.0
    """
    one, two, three = (vertices[faces[:, corner]] for corner in range(3))
    area = np.cross(two - one, three - one).sum(axis=0) / 2.0
    return float(np.linalg.norm(area)) * pressure_kpa * 1e-3
