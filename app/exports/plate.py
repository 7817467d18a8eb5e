"""`Plate`: something flat besides a panel's blank, full size: a template, the net of a tunnel."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from app.exports.drawing import Line, Meaning
from app.exports.facts import JobFacts
from geometry.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class PlateNote:
    """Words that belong to a place of the plate.

    Attributes
    ----------
    words : str
    place : (2,) float, mm
        On the plate, not turned.
    height_mm : float
        Of a capital; smaller down to 2.5 mm where there is no room.
    bold : bool
    """

    words: str
    place: FloatArray
    height_mm: float = 3.5
    bold: bool = False


@dataclass(frozen=True, eq=False)
class Thumbnail:
    """A small picture of where the piece belongs.

    Attributes
    ----------
    pixels : (h, w, 3), 0-255
    front : (2,) float or None
        Which way FRONT points on it.
    """

    pixels: NDArray[np.uint8]
    front: FloatArray | None = None


@dataclass(frozen=True, eq=False)
class Plate:
    """A flat piece or template as the maker sees it, full size.

    Attributes
    ----------
    job : JobFacts
    name : str
        What it is called and its file begins with.
    makes : str
        What it makes or serves for, in capitals; "" to say nothing more than its name.
    face : str
        Which face to mark, or how it is held; "" where either does.
    material : str
        What it is cut from.
    lines : tuple of Line
        Their meanings say what they are for; CUT only where they may be cut.
    outline : (k, 2) float, mm
        The outermost line, closed without repeating its first point.
    notes : tuple of PlateNote
    facts : tuple of str
        Sentences of the title.
    lists : tuple of tuple of str
        Further rows of the title, by subject.
    legend : tuple of (Meaning, str)
    remarks : tuple of str
        What every tile and cutting file tells: limits, cautions.
    no_cut : str or None
        Why no CUT line is drawn, in capitals.
    front, top : (2,) float or None
        Which way FRONT and TOP lie on it; None where it shows none.
    thumbnail : Thumbnail or None
    turn_rad : float
        How far it is turned on its pages, to the left.
    joins : tuple of (k, 2) float, mm
        Where its tiles meet: words keep off.
    where : str
        Where it is held, in capitals, on a line of its own; "" where that is said otherwise.
    """

    job: JobFacts
    name: str
    makes: str
    face: str
    material: str
    lines: tuple[Line, ...]
    outline: FloatArray
    notes: tuple[PlateNote, ...] = ()
    facts: tuple[str, ...] = ()
    lists: tuple[tuple[str, ...], ...] = ()
    legend: tuple[tuple[Meaning, str], ...] = ()
    remarks: tuple[str, ...] = ()
    no_cut: str | None = None
    front: FloatArray | None = None
    top: FloatArray | None = None
    thumbnail: Thumbnail | None = None
    turn_rad: float = 0.0
    joins: tuple[FloatArray, ...] = ()
    where: str = ""

    def turned(self, turn_rad: float) -> "Plate":
        """Return the plate turned further to the left on its pages."""
        return replace(self, turn_rad=self.turn_rad + turn_rad)

    def on_paper(self, points: FloatArray) -> FloatArray:
        """Return places of the plate (..., 2) as they lie on the page, mm."""
        if self.turn_rad == 0.0:
            return points
        return np.asarray(points @ self._matrix.T)

    def line_on_paper(self, line: Line) -> Line:
        """Return a line of the plate as it lies on the page."""
        if self.turn_rad == 0.0:
            return line
        curve = None if line.curve is None else line.curve.transformed(self._matrix, np.zeros(2))
        return replace(line, points=self.on_paper(line.points), curve=curve)

    @property
    def _matrix(self) -> FloatArray:
        cosine, sine = np.cos(self.turn_rad), np.sin(self.turn_rad)
        return np.array([[cosine, -sine], [sine, cosine]])


def outermost(lines: Sequence[Line], meaning: Meaning) -> FloatArray:
    """Return the points of the longest closed line of a meaning, for a plate's outline.

    Raises
    ------
    ValueError
        There is none.
    """
    closed = [line.points for line in lines if line.closed and line.meaning is meaning]
    if not closed:
        raise ValueError(f"no closed line means {meaning}")
    return max(closed, key=lambda points: float(np.prod(np.ptp(points, axis=0))))
