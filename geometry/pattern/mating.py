"""Whether the two edges of each seam fit: formed lengths and witness marks, panel against panel.

Formed lengths must agree. Flat lengths differ by design, each edge being shrunk or stretched by as
much as its panel needs; they are told, never flagged.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Protocol

import numpy as np

from geometry.pattern.edges import PatternEdge
from geometry.pattern.witness import WitnessMark

FORMED_APART_MM = 0.5
"""Formed lengths of mating edges that differ by more are flagged (the trade's wish)."""

MARKS_APART_MM = 0.3
"""Marks of one number farther apart along the formed seam are flagged (the trade's wish)."""


class Dressed(Protocol):
    """The part of a pattern that says how its edges fit."""

    @property
    def edges(self) -> tuple[PatternEdge, ...]:
        """The runs of the net line."""

    @property
    def marks(self) -> tuple[WitnessMark, ...]:
        """Witness marks of all edges."""


@dataclass(frozen=True)
class Mating:
    """Two edges that are to be welded together.

    Attributes
    ----------
    letter, seam : str
    panels : (str, str)
        The two panels, in the order asked.
    flat_mm : (float, float)
        Their edges' lengths on the blanks: told, not compared.
    formed_mm : (float, float)
        On the finished panels.
    marks : (int, int)
        How many witness marks each edge carries.
    marks_apart_mm : float
        The most that marks of one number differ along the formed seam; infinite where a number
        stands on one side alone.
    """

    letter: str
    seam: str
    panels: tuple[str, str]
    flat_mm: tuple[float, float]
    formed_mm: tuple[float, float]
    marks: tuple[int, int]
    marks_apart_mm: float

    @property
    def apart_mm(self) -> float:
        """How much the formed lengths differ."""
        return abs(self.formed_mm[0] - self.formed_mm[1])

    @property
    def lengths_fit(self) -> bool:
        """Whether the formed edges are as long as each other to half a millimetre."""
        return self.apart_mm <= FORMED_APART_MM

    @property
    def marks_fit(self) -> bool:
        """Whether every mark meets its like to 0.3 mm along the formed seam."""
        return self.marks_apart_mm <= MARKS_APART_MM

    @property
    def fits(self) -> bool:
        """Whether nothing of this seam needs a look before metal is cut."""
        return self.lengths_fit and self.marks_fit


def matings(patterns: Mapping[str, Dressed]) -> tuple[Mating, ...]:
    """Return the edges that mate, of every two panels whose patterns are there, by letter.

    Parameters
    ----------
    patterns : mapping
        From panel name to its pattern; letters from one `edge_letters` for all of them.
    """
    found = []
    for one, other in combinations(patterns, 2):
        theirs = {edge.letter: edge for edge in patterns[other].edges if edge.other == one}
        for edge in patterns[one].edges:
            if edge.other == other and edge.letter in theirs:
                found.append(_mating((one, other), edge, theirs[edge.letter], patterns))
    return tuple(sorted(found, key=lambda mating: (len(mating.letter), mating.letter)))


def _mating(
    names: tuple[str, str],
    edge: PatternEdge,
    their: PatternEdge,
    patterns: Mapping[str, Dressed],
) -> Mating:
    mine, others = (
        {mark.number: mark for mark in patterns[name].marks if mark.letter == edge.letter}
        for name in names
    )
    apart = 0.0 if mine.keys() == others.keys() else np.inf
    for number in mine.keys() & others.keys():
        gap = np.linalg.norm(mine[number].formed - others[number].formed)
        along = abs(mine[number].along_mm - others[number].along_mm)
        apart = max(apart, float(gap), along)
    return Mating(
        edge.letter,
        edge.seam,
        names,
        (edge.flat_mm, their.flat_mm),
        (edge.formed_mm, their.formed_mm),
        (len(mine), len(others)),
        float(apart),
    )
