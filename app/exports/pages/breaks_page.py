"""Break-ups side by side on one page: a picture of each, and what it costs, for choosing."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.exports.drawing import (
    A4,
    Drawing,
    Line,
    Meaning,
    Page,
    Picture,
    Text,
    fitted,
    straight,
    together,
    wrapped,
)
from app.exports.facts import JobFacts, TankModel
from app.exports.pages.cautions import WELDING
from app.exports.pages.reduced_page import MARGIN_MM, TEXT_MM, page_foot, reduced_page, room_mm
from app.exports.pages.tank_picture import panels_coloured, view_of
from app.exports.pages.title import Cell, paragraph, stacked
from app.exports.words import CAUTION, job_words, proof_words, revision_words, sheet_words
from app.job import HEADINGS, BreakUpRow

_SIZE = A4[::-1]
_PIXELS_PER_MM = 10
_HATCH_MM = 1.4
_VIEWS = ((40.0, 28.0), (220.0, 28.0))
"""From the front left, from the rear right: degrees sideways and upward."""

_WIDTHS_MM = (25.0, 14.5, 15.0, 14.5, 17.0, 17.0, 22.5, 22.5, 21.5, 22.5, 19.5, 21.5)
"""Of the columns of words, `HEADINGS` one by one."""

_TALLEST_MM, _LEAST_TALL_MM = 27.0, 12.0
_PICTURES_MM = 44.0
MOST_ON_A_PAGE = 10
"""More than that many break-ups are no short list, and could not be read on one page."""


@dataclass(frozen=True, eq=False)
class BreakUpShown:
    """One break-up for the page.

    Attributes
    ----------
    row : BreakUpRow
    tank : TankModel
        The tank in its panels.
    """

    row: BreakUpRow
    tank: TankModel


@dataclass(frozen=True, eq=False)
class BreaksSheet:
    """What the page is made from.

    Attributes
    ----------
    job : JobFacts
    breakups : sequence of BreakUpShown
        As they are to stand, `MOST_ON_A_PAGE` at most.
    """

    job: JobFacts
    breakups: Sequence[BreakUpShown]


def breaks_pages(sheet: BreaksSheet) -> list[Page]:
    """Return the page: A4 on its side.

    Raises
    ------
    ValueError
        Nothing to compare, or more than fits.
    """
    if not 1 <= len(sheet.breakups) <= MOST_ON_A_PAGE:
        raise ValueError(f"{len(sheet.breakups)} break-ups on a page of {MOST_ON_A_PAGE} at most")
    head, foot = _head(sheet), _foot(sheet)
    tall = min(_TALLEST_MM, room_mm(head, foot, size=_SIZE) / len(sheet.breakups))
    rows = [_row(shown, tall) for shown in sheet.breakups]
    return [reduced_page(head, stacked(rows), foot, size=_SIZE)]


def _head(sheet: BreaksSheet) -> Cell:
    """Return the title and the headings of the columns, hanging from (0, 0)."""
    job = sheet.job
    texts = [
        Text(fitted(f"BREAK-UPS  {job_words(job)}", 180.0, 4.5), (0.0, -5.2), 4.5, bold=True),
        Text(f"{sheet_words(job)}   {revision_words(job)}", (0.0, -9.7), TEXT_MM),
    ]
    named = [
        _lines(words, width, bold=True).moved(x, -11.5)
        for words, x, width in zip(HEADINGS, _lefts(), _WIDTHS_MM, strict=True)
    ]
    rule = Drawing((straight(0.0, -21.0, _full_width(), -21.0),), tuple(texts))
    return Cell(together([rule, *named]), 21.5)


def _lefts() -> list[float]:
    """Return where the columns of words begin: after the name, the pictures."""
    first = [0.0]
    x = _WIDTHS_MM[0] + _PICTURES_MM
    for width in _WIDTHS_MM[1:]:
        first.append(x)
        x += width
    return first


def _full_width() -> float:
    return sum(_WIDTHS_MM) + _PICTURES_MM


def _row(shown: BreakUpShown, tall_mm: float) -> Cell:
    """Return one break-up, hanging from (0, 0), a thin line below it."""
    parts = [_pictures(shown.tank, tall_mm - 1.5)]
    for place, (words, x, width) in enumerate(
        zip(shown.row.cells, _lefts(), _WIDTHS_MM, strict=True)
    ):
        parts.append(_lines(words, width, bold=place == 0).moved(x, -0.2))
    below = Line(Meaning.GRID, straight(0.0, -tall_mm, _full_width(), -tall_mm).points)
    return Cell(together([Drawing((below,)), *parts]), tall_mm)


def _lines(words: str, width_mm: float, *, bold: bool) -> Drawing:
    """Return words in a column, mm and inches on lines of their own."""
    parts = words.replace(" (", "\n(").split("\n")
    rows = [row for part in parts for row in wrapped(part, width_mm - 1.5, TEXT_MM, bold=bold)]
    return paragraph(rows, width_mm + 1.0, TEXT_MM, bold=bold).drawing


def _pictures(tank: TankModel, tall_mm: float) -> Drawing:
    wide = _PICTURES_MM / len(_VIEWS) - 1.0
    parts = []
    for place, angles in enumerate(_VIEWS):
        view = view_of(tank, *angles, round(wide * _PIXELS_PER_MM), round(tall_mm * _PIXELS_PER_MM))
        pixels = panels_coloured(view, hatch_px=round(_HATCH_MM * _PIXELS_PER_MM))
        x = _WIDTHS_MM[0] + place * (wide + 1.0)
        parts.append(Drawing(pictures=(Picture(pixels, (x, -tall_mm - 0.5), wide, tall_mm),)))
    return together(parts)


def _foot(sheet: BreaksSheet) -> Cell:
    """Return what the figures mean, the proof of size and the caution."""
    unit = "per 100" if sheet.job.show == "mm" else "inches per foot"
    sentences = [
        f"Stretch and shrink: {unit}, what all but 1 part in 100 of the worst panel stays within. "
        "Shaping work is for comparing only. Sheet needed: the rectangle round every blank with "
        "its trim. Judged on a coarse surface: a layout of the one you take gives the last word.",
        proof_words(sheet.job),
        f"{WELDING} {CAUTION}",
    ]
    return page_foot(sentences, width_mm=_SIZE[0] - 2.0 * MARGIN_MM)
