"""The rows of Lines: every character line, how it stands, and what is told about it. No Qt."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from app.job import JobState, LineChoice, Lines, Tidied, latest, made
from app.units import length_text, thickness_text
from geometry.arrays import FloatArray
from geometry.datum import Point3
from geometry.mesh import TriMesh
from geometry.polyline import line_length
from geometry.surface import CharacterLine

Standing = Literal["locked", "offered", "rejected"]

SURE, LIKELY = 0.9, 0.75
"""From which confidence a line is called sure, or likely; below that it is doubtful."""


@dataclass(frozen=True, eq=False)
class MeshInMm:
    """The tank in mm, and what one unit of its file is."""

    mesh: TriMesh
    mm_per_unit: float


@dataclass(frozen=True, eq=False)
class LineRow:
    """One line.

    Attributes
    ----------
    number : int
        In the list.
    points : (k, 3) float, file coordinates
    places : tuple of points
        The same, as a decision about it names it.
    length_mm : float
    standing : "locked", "offered" or "rejected"
    decision : int
        Its number among the job's decisions, -1 for none.
    drawn : bool
        By hand.
    line : CharacterLine or None
        In mm, what was found of it; None for one drawn by hand.
    """

    number: int
    points: FloatArray
    places: tuple[Point3, ...]
    length_mm: float
    standing: Standing
    decision: int
    drawn: bool
    line: CharacterLine | None

    @property
    def confidence(self) -> float:
        """How sure it is that there is a line, 0 to 1; one drawn by hand is sure."""
        return 1.0 if self.line is None else float(self.line.confidence)

    def words(self, show: str) -> str:
        """Return what the list says."""
        long = f"{length_text(self.length_mm, show)} long"
        if self.line is None:
            return f"{self.number + 1}   by hand, {long}\n{self.standing_words()}"
        radius = float(np.median(self.line.radius_mm))
        angle = float(np.degrees(np.median(self.line.opening_rad)))
        ring = ", a ring" if self.line.is_closed else ""
        return (
            f"{self.number + 1}   {self.line.standing}{ring}, {long}\n"
            f"R {thickness_text(radius, show)}, {angle:.0f}\u00b0 between the flanks\n"
            f"{self.standing_words()}"
        )

    def standing_words(self) -> str:
        """Return how it stands and how sure it is, in words."""
        sure = "" if self.line is None else f", {confidence_words(self.confidence)}"
        return {"locked": "LOCKED", "offered": "offered", "rejected": "thrown out"}[
            self.standing
        ] + sure


def confidence_words(confidence: float) -> str:
    """Return how sure a line is.

    >>> [confidence_words(c) for c in (0.97, 0.8, 0.55)]
    ['sure', 'likely', 'doubtful']
    """
    return "sure" if confidence >= SURE else "likely" if confidence >= LIKELY else "doubtful"


def line_rows(state: JobState) -> tuple[LineRow, ...]:
    """Return every line: those found, longest first, then those only the maker knows of."""
    size = made(state, "Size")
    if size is None:
        return ()
    found: Lines | None = latest(state, "Lines")
    decided = {choice.points: at for at, choice in enumerate(state.lines)}
    known = () if found is None else tuple(zip(found.places, found.found, strict=True))
    lines: list[tuple[tuple[Point3, ...], CharacterLine | None, int]]
    lines = [(places, line, decided.pop(places, -1)) for places, line in known]
    lines += [(places, None, at) for places, at in decided.items()]
    return tuple(
        _row(number, *line, state.lines[line[2]] if line[2] >= 0 else None, scale=size.mm_per_unit)
        for number, line in enumerate(lines)
    )


def _row(
    number: int,
    places: tuple[Point3, ...],
    line: CharacterLine | None,
    decision: int,
    choice: LineChoice | None,
    *,
    scale: float,
) -> LineRow:
    points = np.array(places)
    length = line_length(points) * scale
    standing: Standing = "offered" if choice is None else choice.state
    drawn = choice is not None and choice.drawn
    return LineRow(number, points, places, length, standing, decision, drawn, line)


def mm_mesh(state: JobState) -> MeshInMm | None:
    """Return the tank lines lie on."""
    tidied: Tidied | None = made(state, "Tidy")
    size = made(state, "Size")
    if tidied is None or size is None:
        return None
    return MeshInMm(tidied.tidy.mesh, size.mm_per_unit)
