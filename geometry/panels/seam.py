"""Seams as drawn, seams as cut, and what can be wrong with them."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.errors import GeometryError


@dataclass(frozen=True, eq=False)
class Seam:
    """A seam as the maker drew it.

    Attributes
    ----------
    name : str
    points : (k, 3) float, mm
        Near the scanned face, in order; joined over the surface.
    closed : bool
        Whether the last point is joined to the first.
    """

    name: str
    points: FloatArray
    closed: bool = False


@dataclass(frozen=True, eq=False)
class SeamPath:
    """A seam as it was cut.

    Attributes
    ----------
    name : str
    vertices : (k,) int
        Along it, on the cut surface; a closed seam does not repeat its first.
    closed : bool
    """

    name: str
    vertices: IntArray
    closed: bool

    @property
    def edges(self) -> IntArray:
        """Return the (k - 1 or k, 2) edges along the seam, in order."""
        after = np.roll(self.vertices, -1)
        pairs = np.stack([self.vertices, after], axis=1)
        return pairs if self.closed else pairs[:-1]


class SeamError(GeometryError):
    """Something about one seam, at one place.

    Attributes
    ----------
    seam : str
    point : (3,) float, mm
    """

    def __init__(self, seam: str, point: FloatArray, what: str) -> None:
        self.seam = seam
        self.point = locked(np.asarray(point, np.float64).copy())
        place = ", ".join(f"{value:.1f}" for value in self.point)
        super().__init__(f"seam {seam!r} {what} at ({place})")


class SeamOffSurfaceError(SeamError):
    """A seam point lies too far from the surface.

    Attributes
    ----------
    distance_mm, tolerance_mm : float
    """

    def __init__(self, seam: str, point: FloatArray, distance: float, tolerance: float) -> None:
        self.distance_mm, self.tolerance_mm = distance, tolerance
        super().__init__(seam, point, f"leaves the surface by {distance:.1f} mm")


class SeamNotScannedError(SeamError):
    """A seam runs over a place that was not scanned, off what there is of the surface.

    Attributes
    ----------
    distance_mm : float
        From the patch that was filled there, or from the edge where the skin breaks off.
    is_filled : bool
        Whether the place was filled by guess; otherwise it was left open.
    """

    def __init__(self, seam: str, point: FloatArray, distance: float, *, is_filled: bool) -> None:
        self.distance_mm, self.is_filled = distance, is_filled
        what = "filled by guess" if is_filled else "left open"
        super().__init__(seam, point, f"is {distance:.1f} mm off what was not scanned and {what}")


class SeamCrossesItselfError(SeamError):
    """A seam meets itself on its way."""

    def __init__(self, seam: str, point: FloatArray) -> None:
        super().__init__(seam, point, "crosses itself")


class SeamDoublesBackError(SeamError):
    """A seam turns and runs back over itself; the place is where it turns."""

    def __init__(self, seam: str, point: FloatArray) -> None:
        super().__init__(seam, point, "doubles back over itself")


class SeamTooShortError(SeamError):
    """A seam has too few points, or all of them in one place."""

    def __init__(self, seam: str, point: FloatArray) -> None:
        super().__init__(seam, point, "has no length")


class SeamDoesNotPartError(SeamError):
    """A seam has the same panel on both sides, or ends in the middle of the surface.

    Attributes
    ----------
    gap_mm : float
        How far its end is from the nearest rim or seam; 0 where the ends meet something.
    """

    def __init__(self, seam: str, point: FloatArray, gap_mm: float = 0.0) -> None:
        self.gap_mm = gap_mm
        what = f"ends {gap_mm:.1f} mm short" if gap_mm else "has one panel on both its sides"
        super().__init__(seam, point, what)


class SeamLeavesSliverError(SeamError):
    """A seam cuts a strip off that is too narrow to be a panel.

    Two seams lie all but on each other, or a seam runs a hair beside a rim.

    Attributes
    ----------
    width_mm : float
        Of the strip: its area over half the length of its edge.
    other : str
        The seam on its other side; "" where there is a rim, or the seam itself.
    hole_mm : float
        How far across the open hole on its other side is; 0 where there is none.
    needed_mm : float
        How wide the strip would have to be.
    """

    def __init__(
        self,
        seam: str,
        point: FloatArray,
        width_mm: float,
        other: str,
        *,
        hole_mm: float = 0.0,
        needed_mm: float = 1.0,
    ) -> None:
        self.width_mm, self.other = width_mm, other
        self.hole_mm, self.needed_mm = hole_mm, needed_mm
        beside = f"seam {other!r}" if other else "a rim or itself"
        beside = f"a hole {hole_mm:.0f} mm across" if hole_mm else beside
        super().__init__(seam, point, f"runs {width_mm:.2f} mm beside {beside}")


class PanelPointError(GeometryError):
    """Two names for one panel, or a point that lies on no panel.

    Attributes
    ----------
    names : tuple of str
    point : (3,) float, mm
    distance_mm : float
        From the surface.
    """

    def __init__(self, names: tuple[str, ...], point: FloatArray, distance_mm: float) -> None:
        self.names, self.point, self.distance_mm = names, point, distance_mm
        super().__init__(f"panel names {', '.join(map(repr, names))}")
