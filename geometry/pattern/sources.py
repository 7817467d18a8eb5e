"""What a pattern is made from, named by what is read of it: a flat panel, and the panel it was."""

from collections.abc import Sequence
from typing import Protocol

from geometry.arrays import BoolArray, FloatArray, IntArray


class FlatSheet(Protocol):
    """The part of a flat panel that its pattern needs: the same mesh formed and flat."""

    def __hash__(self) -> int:
        """Told apart by identity: what was worked out from one is kept with it."""

    @property
    def vertices(self) -> FloatArray:
        """(n, 3) formed places, mm."""

    @property
    def faces(self) -> IntArray:
        """(m, 3) vertex indices, counter-clockwise on the blank seen from outside."""

    @property
    def flat_vertices(self) -> FloatArray:
        """(n, 2) places on the blank, mm, seen from outside."""

    @property
    def stretches(self) -> FloatArray:
        """(m, 2) formed length over flat length, larger first."""

    @property
    def rim(self) -> IntArray:
        """(k,) vertices of the rim, counter-clockwise on the blank."""


class OpeningOnPanel(Protocol):
    """A hole in the formed panel, carried on the solid blank."""

    @property
    def outline(self) -> FloatArray:
        """(k, 3) points on the formed panel, mm."""

    @property
    def centre(self) -> FloatArray:
        """(3,) its middle, mm."""

    @property
    def diameter_mm(self) -> float:
        """Across the formed opening."""

    @property
    def is_round(self) -> bool:
        """Whether a diameter says it all."""


class SeamHalf(Protocol):
    """One side of a seam: the run of this panel's rim that lies along it."""

    @property
    def seam(self) -> str:
        """The seam's name."""

    @property
    def vertices(self) -> IntArray:
        """(k,) vertices of this panel in its rim's order."""

    @property
    def other(self) -> str:
        """The panel on the other side."""


class FormedPanel(Protocol):
    """The part of a panel that its pattern needs; vertices and faces numbered as on the sheet."""

    @property
    def name(self) -> str:
        """What the maker calls it."""

    @property
    def filled(self) -> BoolArray:
        """(m,) faces nobody scanned."""

    @property
    def copied(self) -> BoolArray:
        """(j,) which of the first j faces were made from the tank's other side."""

    @property
    def lines(self) -> Sequence[FloatArray]:
        """(k, 3) each: locked lines on the formed panel, mm."""

    @property
    def openings(self) -> Sequence[OpeningOnPanel]:
        """Holes to be cut after forming."""

    @property
    def seam_halves(self) -> Sequence[SeamHalf]:
        """The runs of the rim that lie along seams."""
