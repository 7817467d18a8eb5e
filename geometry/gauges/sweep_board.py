"""`SweepBoard`: a board with a hollow and a crowned edge, both of one known radius."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.pattern import Curve

WIDE_MM = 40.0
_DRAWN_MM = 0.002


@dataclass(frozen=True)
class SweepBoard:
    """A sweep: laid on with its hollow edge on crowned metal, with its crowned edge in hollow.

    Attributes
    ----------
    number : int
        From 1, the tightest first.
    radius_mm : float
        Of both edges.
    chord_mm : float
        How long they are, straight across.
    """

    number: int
    radius_mm: float
    chord_mm: float

    @cached_property
    def curve(self) -> Curve:
        """Its outline, counter-clockwise: the hollow edge from the left, an end, the crowned one.

        The middle of the board's lower chord lies at the origin. Both edges are arcs that rise over
        their chord, the crowned one a board's width above the hollow one.
        """
        half, quarter = self.chord_mm / 2.0, np.arcsin(self.chord_mm / 2.0 / self.radius_mm) / 2.0
        corners = np.array([[-half, 0.0], [half, 0.0], [half, WIDE_MM], [-half, WIDE_MM]])
        bulge = float(np.tan(quarter))
        bulges = np.array([-bulge, 0.0, bulge, 0.0])
        return Curve(locked(corners), locked(bulges), np.full((4, 2, 2), np.nan), closed=True)

    @property
    def outline(self) -> FloatArray:
        """(k, 2) points of its outline, mm."""
        return self.curve.sampled(_DRAWN_MM)

    @property
    def corners(self) -> IntArray:
        """(4,) which points of its outline are corners."""
        apart = np.linalg.norm(self.outline[:, None] - self.curve.points, axis=2)
        return np.asarray(apart.argmin(axis=0))

    @property
    def rise_mm(self) -> float:
        """How high its edges rise over their chord.

        >>> round(SweepBoard(1, 50.0, 60.0).rise_mm, 6)
        10.0
        """
        return float(self.radius_mm - np.sqrt(self.radius_mm**2 - self.chord_mm**2 / 4.0))
