"""What can be wrong with a line the maker locked."""

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError


class LockedLineError(GeometryError):
    """Something about one locked line, at one place.

    Attributes
    ----------
    line : int
        Which of the lines given, from 0.
    point : (3,) float, mm
    """

    def __init__(self, line: int, point: FloatArray, what: str) -> None:
        self.line = line
        self.point = locked(np.asarray(point, np.float64).copy())
        place = ", ".join(f"{value:.1f}" for value in self.point)
        super().__init__(f"locked line {line} {what} at ({place})")


class LineOffSurfaceError(LockedLineError):
    """A point of a locked line lies too far from the surface.

    Attributes
    ----------
    distance_mm, tolerance_mm : float
    """

    def __init__(self, line: int, point: FloatArray, distance: float, tolerance: float) -> None:
        self.distance_mm, self.tolerance_mm = distance, tolerance
        super().__init__(line, point, f"leaves the surface by {distance:.1f} mm")


class LineTooShortError(LockedLineError):
    """A locked line is shorter than a few triangles: there is nothing to hold.

    Attributes
    ----------
    length_mm, least_mm : float
    """

    def __init__(self, line: int, point: FloatArray, length: float, least: float) -> None:
        self.length_mm, self.least_mm = length, least
        super().__init__(line, point, f"is only {length:.1f} mm long")
