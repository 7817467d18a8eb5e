"""A line carried to the other hand of the tank."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.seams.ground import SeamGround


@dataclass(frozen=True, eq=False)
class Mirrored:
    """Points of a line on the other side of the tank.

    Attributes
    ----------
    points : (k, 3) float, mm
        On the surface, nearest to the mirror images, in the same order.
    off_mm : (k,) float
        From each mirror image to the surface: how far the two hands differ there.
    """

    points: FloatArray
    off_mm: FloatArray

    def __post_init__(self) -> None:
        locked(self.points)
        locked(self.off_mm)


def mirrored(
    ground: SeamGround, points: FloatArray, point: FloatArray, normal: FloatArray
) -> Mirrored:
    """Return points mirrored by a plane and laid on the surface.

    Parameters
    ----------
    ground : SeamGround
    points : (k, 3) float, mm
    point, normal : (3,) float
        A point of the plane, mm, and what is square to it, of any length but zero.
    """
    near = ground.nearest(mirror_images(points, point, normal))
    return Mirrored(near.points.copy(), near.distances.copy())


def mirror_images(points: FloatArray, point: FloatArray, normal: FloatArray) -> FloatArray:
    """Return (k, 3) points mirrored by a plane.

    >>> mirror_images(np.array([[1.0, 2, 3]]), np.zeros(3), np.array([0.0, 2, 0])).tolist()
    [[1.0, -2.0, 3.0]]
    """
    across = np.asarray(normal, np.float64) / np.linalg.norm(normal)
    height = (np.asarray(points, np.float64) - point) @ across
    return np.asarray(points - 2.0 * height[:, None] * across)
