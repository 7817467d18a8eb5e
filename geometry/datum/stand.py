"""The datum: the frame in which the tank stands, x to the front, y to the left, z up."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.datum.centre_plane import CentrePlane
from geometry.errors import GeometryError

SQUARE_RAD = np.deg2rad(60.0)
"""A direction said by the maker may lean this far out of the centre plane, or front towards up."""


@dataclass(frozen=True, eq=False)
class Datum:
    """Where the tank stands.

    Attributes
    ----------
    plane : CentrePlane
        Its normal points to the maker's left, as the rider sits.
    up, front : (3,) float
        Unit, square to each other, in the plane; in the mesh's axes.
    origin : (3,) float, mm
        On the plane: as far back as the tank's rearmost place and as low as its lowest.
    guessed : tuple of str
        Which of "up" and "front" the maker has not said; "level" where no edge, pick or typed
        direction says how the tank is tilted.
    level_spread_rad : float or None
        Standard error of the tilt; None where it was typed or guessed.
    """

    plane: CentrePlane
    up: FloatArray
    front: FloatArray
    origin: FloatArray
    guessed: tuple[str, ...] = ()
    level_spread_rad: float | None = None

    def __post_init__(self) -> None:
        for name in ("up", "front", "origin"):
            object.__setattr__(self, name, locked(np.array(getattr(self, name), np.float64)))
        if not np.allclose(self.axes @ self.axes.T, np.eye(3), atol=1e-9):
            raise ValueError("up, front and the plane's normal are not square to each other")
        if not np.allclose(self.plane.normal, self.left, atol=1e-9):
            raise ValueError("the plane's normal does not point to the left")

    @property
    def left(self) -> FloatArray:
        """The unit direction to the rider's left."""
        return np.cross(self.up, self.front)

    @property
    def axes(self) -> FloatArray:
        """(3, 3), rows front, left, up."""
        return np.stack([self.front, self.left, self.up])

    def to_datum(self, points: FloatArray) -> FloatArray:
        """Return (k, 3) places of the mesh in the datum's frame, mm.

        >>> plane = CentrePlane(np.zeros(3), np.array([0.0, 0.0, 1.0]), 0.0, 0.0)
        >>> datum = Datum(plane, np.array([1.0, 0, 0]), np.array([0.0, 1, 0]), np.zeros(3))
        >>> datum.to_datum(np.array([[3.0, 1.0, 2.0]])).tolist()
        [[1.0, 2.0, 3.0]]
        """
        return np.asarray((points - self.origin) @ self.axes.T)

    def from_datum(self, points: FloatArray) -> FloatArray:
        """Return (k, 3) places of the datum's frame in the mesh's axes."""
        return np.asarray(points @ self.axes + self.origin)


class DirectionAcrossError(GeometryError):
    """A direction the maker said does not go with the centre plane, or with the other one.

    Attributes
    ----------
    which : str
        "up" or "front".
    off_rad : float
        How far it leans out of the centre plane, or "front" towards up.
    """

    def __init__(self, which: str, off_rad: float) -> None:
        self.which, self.off_rad = which, off_rad
        super().__init__(f"{which} leans {off_rad:.2f} rad out of where it can be")


def direction_in_plane(which: str, direction: FloatArray, normal: FloatArray) -> FloatArray:
    """Return the unit direction laid into the plane across a unit normal.

    Raises
    ------
    DirectionAcrossError
        It stands off the plane by more than `SQUARE_RAD`, or has no length.

    >>> direction_in_plane("up", np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.0])).tolist()
    [0.0, 0.0, 1.0]
    """
    length = float(np.linalg.norm(direction))
    if not length > 0.0:
        raise DirectionAcrossError(which, np.pi / 2)
    unit = direction / length
    lean = float(np.arcsin(np.clip(abs(unit @ normal), 0.0, 1.0)))
    if lean > SQUARE_RAD:
        raise DirectionAcrossError(which, lean)
    laid = unit - (unit @ normal) * normal
    return np.asarray(laid / np.linalg.norm(laid) + 0.0)
