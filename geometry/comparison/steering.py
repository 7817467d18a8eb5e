"""`Steering`: what turns with the bars, about the steering axis."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray, locked
from geometry.comparison.bodies import BodySizeError
from geometry.errors import GeometryError
from geometry.mesh import TriMesh

MOST_LOCK_RAD = np.radians(90.0)
"""To either side: no bars of a motorcycle turn further."""


class SteeringLockError(GeometryError):
    """Bars that turn to neither side, or further than any do.

    Attributes
    ----------
    lock_rad : float
    """

    def __init__(self, lock_rad: float) -> None:
        self.lock_rad = lock_rad
        super().__init__(f"a lock of {np.degrees(lock_rad):g} degrees")


@dataclass(frozen=True, eq=False)
class Steering:
    """The steering axis and how far it turns to either side.

    Attributes
    ----------
    foot, top : (3,) float
        Two places on the axis, the lower first.
    lock_rad : float
        From straight ahead to full lock.

    Raises
    ------
    BodySizeError
        Its two places are one.
    SteeringLockError
    """

    foot: FloatArray
    top: FloatArray
    lock_rad: float

    def __post_init__(self) -> None:
        locked(self.foot)
        locked(self.top)
        length = float(np.linalg.norm(self.top - self.foot))
        if length < 1.0:
            raise BodySizeError("length", length)
        if not 0.0 < self.lock_rad <= MOST_LOCK_RAD:
            raise SteeringLockError(self.lock_rad)

    def turned(self, body: TriMesh, angle_rad: float) -> TriMesh:
        """Return a body turned about the axis; to the left, seen from above, where over nothing."""
        axis = (self.top - self.foot) / np.linalg.norm(self.top - self.foot)
        turn = Rotation.from_rotvec(angle_rad * axis)
        return TriMesh(turn.apply(body.vertices - self.foot) + self.foot, body.faces)

    def distances(self, points: FloatArray) -> FloatArray:
        """Return how far (k, 3) places lie from the axis, mm.

        >>> Steering(np.zeros(3), np.array([0.0, 0, 9]), 0.5).distances(np.array([[3.0, 4, 7]]))
        array([5.])
        """
        axis = (self.top - self.foot) / np.linalg.norm(self.top - self.foot)
        return np.asarray(np.linalg.norm(np.cross(points - self.foot, axis), axis=1))

    def angles(self, step_rad: float) -> tuple[float, ...]:
        """Return angles from full lock right to full lock left, straight ahead among them.

        >>> Steering(np.zeros(3), np.array([0.0, 0, 9]), 0.5).angles(0.3)
        (-0.5, -0.25, 0.0, 0.25, 0.5)
        """
        half = max(1, int(np.ceil(self.lock_rad / step_rad)))
        return tuple(float(a) for a in np.linspace(-self.lock_rad, self.lock_rad, 2 * half + 1))
