"""What every full-size tile says: along its foot, in its filing margin, and on its key plan."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from app.exports.drawing import (
    BLACK,
    Colour,
    Drawing,
    Fill,
    Line,
    Meaning,
    Text,
    fitted,
    rectangle,
    scaled,
    straight,
    text_width,
    together,
    wrapped,
)
from app.exports.output import Correction
from app.exports.pages.full_size import FullSize
from app.exports.pages.tiling import FILING_MM, MARGIN_MM, TilePage, Tiling
from app.exports.pages.title import ARROW_MM, Cell, bars, stacked
from app.exports.words import CAUTION, job_words, revision_words, scan_words, short_proof_words
from geometry.arrays import FloatArray

FULL_SIZE = "FULL SIZE 1:1. Print at 100 %, never fit to page."
ONLY_BARS = "Bars are full size, the plan is not. Print at 100 %, never fit to page."
JOINING = "Lay crosshair over crosshair, and each double stroke over its own number."
LAY = "Lay crosshairs over crosshairs."
MEASURE = "Measure the bars both ways before you cut."

_WHITE: Colour = (1.0, 1.0, 1.0)
_SMALL_MM = 2.5
_LEADING_MM = 3.9
_PICTURE_MM = (27.0, 19.0)
PLAN_MM = 28.0
_IDENTITY_MM = 60.0
_GAP_MM = 2.5
_BARS_LEFT_MM = 5.0
"""Air between the frame and the level bars."""

_BARS_MM = _BARS_LEFT_MM + 105.0
_BARS_HIGH_MM = 11.0
_CAUTION_MM = 44.0
_WIDE_MM = 100.0
_BETWEEN = " \u00b7 "


def correction_words(correction: Correction) -> str:
    """Return which printer correction a page carries.

    >>> correction_words(Correction()), correction_words(Correction(1.0132, 0.996))
    ('No printer correction.', 'Printer correction: across x 1.0132, up x 0.9960.')
    """
    if correction.is_none:
        return "No printer correction."
    return f"Printer correction: across x {correction.x:.4f}, up x {correction.y:.4f}."


@dataclass(frozen=True)
class TileWords:
    """What one tile says of itself: name and number, printer correction, hatches it shows."""

    name: str
    numbered: str
    correction: Correction
    patches: tuple[str, ...] = ()


def block_height(full: FullSize, width_mm: float, correction: Correction) -> float:
    """Return how high the title along a tile's foot is at a width, whichever tile it is."""
    patches = tuple(full.hatches().values())
    most = TileWords("TILE AB12", "sheet 100 of 100", correction, patches)
    return _upper(full, most, Drawing(), width_mm).height_mm + _BARS_HIGH_MM


def tile_block(
    full: FullSize, words: TileWords, plan: Drawing, width_mm: float, height_mm: float
) -> Drawing:
    """Return the title along a tile's foot: who, what, which face, how sure, bars, key plan.

    Parameters
    ----------
    full : FullSize
    words : TileWords
    plan : Drawing
        The small key plan, 28 mm each way at most, its upper left corner at (0, 28).
    width_mm, height_mm : float
        Its corner is at (0, 0), its upper edge at the height.
    """
    upper = _upper(full, words, plan, width_mm)
    level = scaled(bars(vertical=False), words.correction.x, words.correction.y)
    rows = _caution_beside_bars(width_mm)
    caution = _column(rows, bold=True).drawing.moved(_BARS_MM, _BARS_HIGH_MM - 1.0)
    rule = Drawing((straight(0.0, height_mm, width_mm, height_mm),))
    return together(
        [rule, upper.drawing.moved(0.0, height_mm), level.moved(_BARS_LEFT_MM, 2.6), caution]
    )


def _caution_beside_bars(width_mm: float) -> list[str]:
    """Return the caution in rows beside the level bars; none where they have no room for it."""
    if width_mm < _BARS_MM + _CAUTION_MM:
        return []
    rows = wrapped(CAUTION, width_mm - _BARS_MM - 2.0, _SMALL_MM, bold=True)
    return rows if len(rows) <= 2 else []


def _upper(full: FullSize, words: TileWords, plan: Drawing, width_mm: float) -> Cell:
    """Return all of the title but its foot, hanging down from (0, 0).

    Sentences stand beside the key plan where that is wide enough, else below it.
    """
    down = _PICTURE_MM[1] + ARROW_MM + 1.0
    shown = Cell(full.thumbnail(*_PICTURE_MM).moved(0.0, -down), down)
    key = Cell(plan.moved(0.0, -PLAN_MM - 1.5), PLAN_MM + 2.0)
    middle = width_mm - _IDENTITY_MM - _PICTURE_MM[0] - PLAN_MM - 5.0 * _GAP_MM
    name = _name_cell(full, words, middle)
    told = _told(full, words, width_mm)
    is_wide = middle >= _WIDE_MM
    if is_wide:
        name = stacked([name, _column([row for each in told for row in _rows(each, middle)])])
    above = _beside([_identity(full), shown, name, key], [_IDENTITY_MM, _PICTURE_MM[0], middle])
    if is_wide:
        return above
    rows = [row for each in told for row in _rows(each, width_mm - 2.0 * _GAP_MM)]
    below = _column(rows)
    return stacked([above, Cell(below.drawing.moved(_GAP_MM, 1.5), below.height_mm - 1.0)])


def _rows(words: str, width_mm: float) -> list[str]:
    return wrapped(words, width_mm, _SMALL_MM)


def _beside(cells: Sequence[Cell], widths_mm: Sequence[float]) -> Cell:
    """Return cells from the left; each but the last has a width."""
    lefts = _GAP_MM + np.concatenate([[0.0], np.cumsum(np.array(widths_mm) + _GAP_MM)])
    parts = [cell.drawing.moved(float(x), 0.0) for cell, x in zip(cells, lefts, strict=True)]
    return Cell(together(parts), max(cell.height_mm for cell in cells))


def _column(rows: Sequence[str], *, bold: bool = False) -> Cell:
    """Return rows of small text, one under another."""
    texts = tuple(
        Text(row, (0.0, -_LEADING_MM * (index + 1)), _SMALL_MM, bold=bold)
        for index, row in enumerate(rows)
    )
    return Cell(Drawing(texts=texts), _LEADING_MM * len(rows) + 1.5)


def _identity(full: FullSize) -> Cell:
    """Return name, face, what it makes, and the job."""
    name, face, makes = full.headings
    rows = ((name, 5.0, 7.5), (face, 4.0, 7.0), (makes, 3.5, 6.0), (full.job.job, 3.0, 5.5))
    return _fitted_rows([row for row in rows if row[0]], _IDENTITY_MM)


def _name_cell(full: FullSize, words: TileWords, width_mm: float) -> Cell:
    """Return a tile's name and number, large, and which way FRONT lies."""
    heading = f"{words.name}, {words.numbered}, {full.ways()}"
    if width_mm >= _WIDE_MM and text_width(heading, _SMALL_MM, bold=True) <= width_mm:
        return _fitted_rows(((heading, 4.0, 6.0),), width_mm)
    front = wrapped(full.ways(), width_mm, 3.0, bold=True)
    front = front if len(front) <= 1 else wrapped(full.ways(), width_mm, _SMALL_MM, bold=True)
    ways = [(row, 3.0, 4.6 if at else 6.5) for at, row in enumerate(front)]
    return _fitted_rows(((words.name, 6.0, 8.5), (words.numbered, 4.0, 7.0), *ways), width_mm)


def _fitted_rows(rows: Sequence[tuple[str, float, float]], width_mm: float) -> Cell:
    """Return rows of words, height and step down, none wider than asked."""
    texts, down = [], 0.0
    for words, height, step in rows:
        down += step
        wide = max(text_width(words, height, bold=True), 1e-3)
        size = max(min(height, 0.99 * height * width_mm / wide), _SMALL_MM)
        kept = fitted(words, width_mm, size)
        texts.append(Text(kept, (0.0, -down), size, bold=True))
    return Cell(Drawing(texts=tuple(texts)), down + 1.5)


def _told(full: FullSize, words: TileWords, page_mm: float) -> list[str]:
    """Return what the tile stands on, what its hatches mean, why it may not be cut."""
    job, reason = full.job, full.no_cut
    metal, *rest = full.brief_facts()
    facts = (
        job_words(job),
        metal,
        revision_words(job),
        short_proof_words(job),
        *rest,
        scan_words(job),
        correction_words(words.correction).removesuffix("."),
    )
    first = [] if reason is None else [f"NO CUT LINE: {reason}"]
    hatches = [_BETWEEN.join(words.patches)] if words.patches else []
    last = [] if _caution_beside_bars(page_mm) else [CAUTION]
    return [*first, *hatches, _BETWEEN.join(facts), *last]


def margin_strip(page: TilePage, size: str = FULL_SIZE) -> Drawing:
    """Return the upright bars and the words on printing, in the filing margin of a page.

    Parameters
    ----------
    page : TilePage
    size : str, optional
        What is full size on it; all of it if not given.
    """
    upright = scaled(bars(vertical=True), page.correction.x, page.correction.y)
    foot = MARGIN_MM + 3.0
    start = foot + 101.6 * page.correction.y + 4.0
    room = page.height_mm - MARGIN_MM - start
    for below in (f"{MEASURE} {JOINING}", JOINING, LAY):
        rows = [row for words in (size, below) for row in wrapped(words, room, _SMALL_MM)]
        if len(rows) <= 2:
            break
    texts = tuple(
        Text(row, (FILING_MM - 6.0 + _LEADING_MM * index, start), _SMALL_MM, "start", 90.0)
        for index, row in enumerate(rows[:2])
    )
    return together([upright.moved(FILING_MM - 6.0, foot), Drawing(texts=texts)])


def small_plan(
    outline: FloatArray, tiles: Tiling, at: tuple[int, int] | None, largest_mm: float = PLAN_MM
) -> Drawing:
    """Return how the tiles lie, one of them black, hanging down from (0, largest)."""
    full = np.array([tiles.columns * tiles.cell_mm[0], tiles.rows * tiles.cell_mm[1]])
    scale = largest_mm / float(full.max())
    up = largest_mm - full[1] * scale
    lines, fills, texts = [], [], []
    for cell in tiles.used:
        left, bottom, right, top = (np.array(tiles.cell(*cell)) - [*tiles.origin] * 2) * scale
        lines.append(rectangle(left, bottom, right, top))
        if cell == at:
            loop = rectangle(left, bottom, right, top).points
            fills.append(Fill((loop,), BLACK))
        name = tiles.name(*cell)
        if text_width(name, _SMALL_MM, bold=True) < right - left - 1.0 and top - bottom > 4.0:
            middle = ((left + right) / 2.0, (bottom + top - _SMALL_MM) / 2.0)
            colour = _WHITE if cell == at else BLACK
            texts.append(Text(name, middle, _SMALL_MM, "middle", bold=True, colour=colour))
    shape = shapely.LinearRing((outline - tiles.origin) * scale).simplify(0.05)
    lines.append(Line(Meaning.FRAME, np.array(shape.coords)[:-1], closed=True))
    return Drawing(tuple(lines), tuple(texts), tuple(fills)).moved(0.0, float(up))
