"""How a blank lies on paper: patterns are seen from outside, pages from the face that is marked."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray
from geometry.pattern import Curve

Face = Literal["inside", "outside"]


@dataclass(frozen=True)
class Lay:
    """Which face of the blank is up, and how far the blank is turned on the page.

    Attributes
    ----------
    face : "inside" or "outside"
        The face the maker marks; seen from inside the blank is mirrored.
    turn_rad : float
        Turned by so much to the left, after that.

    >>> Lay("inside").on_paper(np.array([[3.0, 1.0]])).tolist()
    [[-3.0, 1.0]]
    >>> Lay("outside", np.pi / 2.0).on_paper(np.array([[3.0, 1.0]])).round(9).tolist()
    [[-1.0, 3.0]]
    """

    face: Face = "inside"
    turn_rad: float = 0.0

    def on_paper(self, points: FloatArray) -> FloatArray:
        """Return places on the blank (..., 2) as the maker sees them on the page, mm."""
        seen = points * np.array([-1.0, 1.0]) if self.face == "inside" else points
        if self.turn_rad == 0.0:
            return seen
        cosine, sine = np.cos(self.turn_rad), np.sin(self.turn_rad)
        return np.asarray(seen @ np.array([[cosine, sine], [-sine, cosine]]))

    def curve_on_paper(self, curve: Curve) -> Curve:
        """Return a curve on the blank as the maker sees it on the page."""
        return curve.transformed(self.on_paper(np.eye(2)).T)

    @property
    def front(self) -> FloatArray:
        """(2,) the direction on paper of the blank's +u."""
        return self.on_paper(np.array([1.0, 0.0]))

    @property
    def inward_side(self) -> float:
        """On which side of its edges the blank lies as the maker sees it: 1 left, -1 right.

        Edges run counter-clockwise seen from outside.
        """
        return -1.0 if self.face == "inside" else 1.0
