"""The centre plane between left and right: what is known of it, and the two ways of finding none.

How it is found stands in `symmetry` (from the scan) and `centre_plane_picks` (from places picked).
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError


@dataclass(frozen=True, eq=False)
class CentrePlane:
    """A centre plane, how sure it is, and how well the two hands agree about it.

    Attributes
    ----------
    point : (3,) float, mm
        On the plane, the nearest there to the scan's middle: where `spread_mm` holds.
    normal : (3,) float
        Unit. Towards the maker's left once a `Datum` holds the plane; until then its largest
        component is positive.
    spread_rad : float
        Standard error of the normal's direction, the way it is least sure.
    spread_mm : float
        Standard error of where the plane lies at `point`, along the normal.
    weak : tuple of str
        What the shape or the picks do not fix, in words; empty where all is fixed.
    matched_share : float or None
        Share of the scanned area with its like on the other hand; None from picks or as given.
    residual_mm : float
        Usual difference between the hands where they match, or between picks and plane: root
        mean square, dents and handed things left out of the former.
    others : tuple of CentrePlane
        Further planes about which the scan is alike, best first: the maker may choose one.
    """

    point: FloatArray
    normal: FloatArray
    spread_rad: float
    spread_mm: float
    weak: tuple[str, ...] = ()
    matched_share: float | None = None
    residual_mm: float = 0.0
    others: tuple["CentrePlane", ...] = ()

    def __post_init__(self) -> None:
        normal = np.array(self.normal, np.float64)
        object.__setattr__(self, "point", locked(np.array(self.point, np.float64)))
        object.__setattr__(self, "normal", locked(normal / np.linalg.norm(normal)))

    def off(self, points: FloatArray) -> FloatArray:
        """Return how far (k, 3) points lie off the plane, mm, positive to the normal's side."""
        return np.asarray((points - self.point) @ self.normal)

    def mirrored(self, points: FloatArray) -> FloatArray:
        """Return (k, 3) points on the other hand.

        >>> plane = CentrePlane(np.zeros(3), np.array([0.0, 1.0, 0.0]), 0.0, 0.0)
        >>> plane.mirrored(np.array([[1.0, 2.0, 3.0]])).tolist()
        [[1.0, -2.0, 3.0]]
        """
        return np.asarray(points - 2.0 * self.off(points)[..., None] * self.normal)


class NoSymmetryError(GeometryError):
    """No plane makes enough of the scan alike on both hands.

    Attributes
    ----------
    share : float
        Of the scanned area that matched about the best plane tried, 0 to 1.
    """

    def __init__(self, share: float) -> None:
        self.share = share
        super().__init__(f"only {share:.2f} of the area matches about any plane")


class PicksDoNotFixPlaneError(GeometryError):
    """The picks leave the centre plane open: too few, at one spot, or all along one line.

    Attributes
    ----------
    on_centre, pairs : int
        How many there are.
    along_a_line : bool
        There are enough of them, but they lie along one line or at one spot.
    """

    def __init__(self, on_centre: int, pairs: int, along_a_line: bool) -> None:
        self.on_centre, self.pairs, self.along_a_line = on_centre, pairs, along_a_line
        super().__init__(f"{on_centre} centre points and {pairs} pairs do not fix a plane")


def positive_along_largest(normal: FloatArray) -> FloatArray:
    """Return the unit vector, or its opposite, whose largest component is positive.

    >>> positive_along_largest(np.array([0.0, -2.0, 0.0])).tolist()
    [0.0, 1.0, 0.0]
    """
    unit = normal / np.linalg.norm(normal)
    return np.asarray(unit * np.sign(unit[np.abs(unit).argmax()]) + 0.0)
