"""How a job leaves the program: papers, roll, printer correction, kinds of line and file."""

import math
import re
from dataclasses import dataclass
from typing import Literal

from app.exports.drawing import LARGEST_PAGE_MM

LARGEST_CORRECTION = 0.03
"""A printer further out than this is scaling on purpose: its settings want a look, not a sum."""

SMALLEST_PAPER_MM = (206.0, 270.0)
"""Below this a sheet has no room for its title and its bars beside a piece worth joining."""

CHECK_MARGIN_MM = 10.0
_ROLL_CHECK_MM = 420.0
_CHECK_STEP_MM = 10.0
_INCH_MM = 25.4


class BadPaperError(Exception):
    """A paper is not known by its name, or cannot be used.

    Attributes
    ----------
    text : str
        As typed.
    reason : str
    """

    def __init__(self, text: str, reason: str) -> None:
        self.text, self.reason = text, reason
        super().__init__(f"{text}: {reason}")


class PrinterFarOutError(Exception):
    """A bar measures so far from what was drawn that the printer is scaling on purpose.

    Attributes
    ----------
    way : "level" or "upright"
    measured_mm, drawn_mm : float
    """

    def __init__(self, way: str, measured_mm: float, drawn_mm: float) -> None:
        self.way, self.measured_mm, self.drawn_mm = way, measured_mm, drawn_mm
        super().__init__(f"{way} bar of {drawn_mm:g} mm measured {measured_mm:g} mm")


@dataclass(frozen=True)
class Paper:
    """A paper that tiles are printed on: its name in words, and its size upright or as given."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, mm."""
        return self.width_mm, self.height_mm

    @property
    def key(self) -> str:
        """Its name in file names and on the command line: a4, letter, 500x700mm."""
        return self.name.lower().removeprefix("us ")


A4 = Paper("A4", 210.0, 297.0)
A3 = Paper("A3", 297.0, 420.0)
LETTER = Paper("US Letter", 215.9, 279.4)
TABLOID = Paper("US Tabloid", 279.4, 431.8)

PAPERS = (
    A4,
    A3,
    Paper("A2", 420.0, 594.0),
    Paper("A1", 594.0, 841.0),
    Paper("A0", 841.0, 1189.0),
    LETTER,
    Paper("US Legal", 215.9, 355.6),
    TABLOID,
)
"""Papers known by name. ISO 216: each A size is the larger one halved, whole millimetres."""


def paper_named(text: str) -> Paper:
    """Return a paper by its name, or of a size typed as width x height with its unit.

    Raises
    ------
    BadPaperError

    >>> paper_named("a3") == A3, paper_named("500 x 700 mm")
    (True, Paper(name='500x700mm', width_mm=500.0, height_mm=700.0))
    >>> paper_named("12x18in").size
    (304.8, 457.2)
    """
    plain = re.sub(r"\s+", "", text.lower()).replace("\u00d7", "x").removeprefix("us")
    for paper in PAPERS:
        if plain == paper.key:
            return paper
    number = r"(\d+(?:\.\d+)?)"
    found = re.fullmatch(rf"{number}(mm|in)?x{number}(mm|in)", plain)
    if found is None:
        known = ", ".join(paper.key for paper in PAPERS)
        raise BadPaperError(text, f"known are {known}, or a size such as 500x700mm or 12x18in")
    if found[2] not in {None, found[4]}:
        raise BadPaperError(text, "both sides need the same unit")
    per = _INCH_MM if found[4] == "in" else 1.0
    width, height = (round(float(side) * per, 4) for side in (found[1], found[3]))
    low, high = sorted((width, height))
    if low < SMALLEST_PAPER_MM[0] or high < SMALLEST_PAPER_MM[1]:
        raise BadPaperError(text, "it has to be at least 206 x 270 mm (8 1/8 x 10 5/8 in)")
    if high > LARGEST_PAGE_MM:
        raise BadPaperError(text, f"no side may be longer than {LARGEST_PAGE_MM:.0f} mm (200 in)")
    return Paper(f"{found[1]}x{found[3]}{found[4]}", width, height)


def roll_named(text: str) -> float:
    """Return the width of a roll, mm, typed with its unit: 24in, 914 mm.

    Raises
    ------
    BadPaperError

    >>> roll_named("36 in"), roll_named("610mm")
    (914.4, 610.0)
    """
    found = re.fullmatch(r"(\d+(?:\.\d+)?)(mm|in)", re.sub(r"\s+", "", text.lower()))
    if found is None:
        raise BadPaperError(text, "a roll is given by its width, such as 610mm or 24in")
    return checked_roll(round(float(found[1]) * (_INCH_MM if found[2] == "in" else 1.0), 4), text)


def checked_roll(width_mm: float, text: str = "") -> float:
    """Return a roll's width where it can be used.

    Raises
    ------
    BadPaperError
    """
    said = text or f"{width_mm:g}mm"
    if not width_mm >= SMALLEST_PAPER_MM[0]:
        raise BadPaperError(said, "a roll has to be at least 206 mm (8 1/8 in) wide")
    if width_mm > LARGEST_PAGE_MM:
        raise BadPaperError(said, f"no roll may be wider than {LARGEST_PAGE_MM:.0f} mm (200 in)")
    return width_mm


def roll_paper(width_mm: float) -> Paper:
    """Return the piece of a roll that its check page is printed on.

    >>> checked_lengths(roll_paper(610.0))
    (590.0, 400.0)
    """
    return Paper(f"roll {width_mm:g} mm", width_mm, _ROLL_CHECK_MM)


@dataclass(frozen=True)
class Correction:
    """What drawn lengths are multiplied by, across and up the paper as it runs, for one printer."""

    x: float = 1.0
    y: float = 1.0

    @property
    def is_none(self) -> bool:
        """Whether nothing is changed."""
        return self.x == 1.0 and self.y == 1.0


def checked_lengths(paper: Paper) -> tuple[float, float]:
    """Return how long the bars of a paper's check page are, across it as it runs and along it, mm.

    >>> checked_lengths(A4), checked_lengths(A3)
    ((190.0, 270.0), (270.0, 400.0))
    """
    level, upright = (
        math.floor((side - 2.0 * CHECK_MARGIN_MM) / _CHECK_STEP_MM) * _CHECK_STEP_MM
        for side in paper.size
    )
    return level, upright


def correction_from(
    measured_x_mm: float,
    measured_y_mm: float,
    drawn: tuple[float, float],
    *,
    carried: Correction | None = None,
) -> Correction:
    """Return the correction for a printer from what the bars of its check page measure.

    Parameters
    ----------
    measured_x_mm, measured_y_mm : float
        Of the level and of the upright bar as printed.
    drawn : (float, float), mm
        How long they should be: `checked_lengths(paper)`.
    carried : Correction, optional
        What the check page itself was printed with; none if not given.

    Raises
    ------
    PrinterFarOutError
        More than 3 in 100 off, nothing measured included.

    >>> correction_from(190.0, 269.0, (190.0, 270.0)).y == 270.0 / 269.0
    True
    """
    before = carried or Correction()
    factors = []
    for way, measured, length, already in (
        ("level", measured_x_mm, drawn[0], before.x),
        ("upright", measured_y_mm, drawn[1], before.y),
    ):
        printer = measured / (already * length)
        if not abs(printer - 1.0) <= LARGEST_CORRECTION:
            raise PrinterFarOutError(way, measured, length)
        factors.append(1.0 / printer)
    return Correction(*factors)


@dataclass(frozen=True)
class Output:
    """What files are made and how: plain values that a job, a command or a window chooses.

    Attributes
    ----------
    papers : tuple of Paper
        Full-size tiles are made on each.
    roll_mm : float or None
        How wide the roll for the one-piece page is; None for a page as large as the pattern.
    correction : Correction
        For the printer that is used.
    outline : {"arcs", "splines"}
        What smooth lines are made of in cutting files.
    dxf : {"R2010", "R12"}
        Version of the cutting file.
    turn : bool
        Whether patterns are turned on the paper to save pages.
    """

    papers: tuple[Paper, ...] = (A4, LETTER)
    roll_mm: float | None = None
    correction: Correction = Correction()
    outline: Literal["arcs", "splines"] = "arcs"
    dxf: Literal["R2010", "R12"] = "R2010"
    turn: bool = True
