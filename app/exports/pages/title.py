"""What stands round the drawing on every page: title cells, scale bars, footers, legend."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.exports.drawing import (
    BLACK,
    Colour,
    Drawing,
    Fill,
    Line,
    Meaning,
    Picture,
    Text,
    fitted,
    straight,
    text_width,
    together,
    wrapped,
)
from app.exports.facts import JobFacts, PanelSheet, TankModel, reason_not_to_cut
from app.exports.marking_out import TICK_MM
from app.exports.marks import (
    Way,
    allowance_rows,
    allowance_words,
    arrow_lines,
    deepest_mark,
    form_pointer,
    form_rows,
    is_uniform,
    roll_meaning,
    station_rows,
    thinnest_mark,
    told_squares,
    ways,
    ways_text,
)
from app.exports.pages.tank_picture import best_view_of_panel, one_panel_black
from app.exports.words import (
    CAUTION,
    FILLED_BY_GUESS,
    copied_words,
    cut_edge_words,
    edge_words,
    face_words,
    grain_words,
    job_words,
    makes_words,
    panel_words,
    revision_words,
    sheet_words,
    short_proof_words,
    spacing_text,
    sure_words,
    thin_region_words,
    trim_words,
)
from geometry.arrays import FloatArray
from geometry.pattern import Pattern

CELL_MM = 84.0
_WAY_MM = 2.6
GAP_MM = 4.0
_BODY_MM = 2.5
_LEADING = 1.58

FOOTER_MM = 54.0
BAR_STRIP_MM = 9.0
ARROW_MM = 6.0


@dataclass(frozen=True, eq=False)
class Cell:
    """A part of the title: its drawing hangs down from (0, 0)."""

    drawing: Drawing
    height_mm: float


def paragraph(
    lines: Sequence[str], width_mm: float, height_mm: float = _BODY_MM, *, bold: bool = False
) -> Cell:
    """Return sentences broken to a width, hanging from the top, a run-on line set in."""
    texts: list[Text] = []
    down = 0.0
    for sentence in lines:
        for row, words in enumerate(wrapped(sentence, width_mm - 2.0, height_mm, bold=bold)):
            down += _LEADING * height_mm
            texts.append(Text(words, (2.0 if row else 0.0, -down), height_mm, bold=bold))
        down += 0.25 * height_mm
    return Cell(Drawing(texts=tuple(texts)), down + 0.4 * height_mm)


def stacked(cells: Sequence[Cell]) -> Cell:
    """Return cells one under another."""
    parts, down = [], 0.0
    for cell in cells:
        parts.append(cell.drawing.moved(0.0, -down))
        down += cell.height_mm
    return Cell(together(parts), down)


def in_columns(cells: Sequence[Cell], count: int, pitch_mm: float) -> Cell:
    """Return cells in columns: the first row from the left, then each where it hangs highest."""
    depth = [0.0] * count
    parts = []
    for index, cell in enumerate(cells):
        column = index if index < count else int(np.argmin(depth))
        parts.append(cell.drawing.moved(column * pitch_mm, -depth[column]))
        depth[column] += cell.height_mm + GAP_MM
    return Cell(together(parts), max(depth))


def ruled_row(words: Sequence[str], starts_mm: Sequence[float], width_mm: float) -> Cell:
    """Return a row of a list: words broken into columns that begin at `starts_mm`, ruled under."""
    ends = (*starts_mm[1:], width_mm)
    cells = [
        paragraph([said], end - start - 1.0)
        for said, start, end in zip(words, starts_mm, ends, strict=True)
    ]
    high = max(cell.height_mm for cell in cells)
    drawn = [cell.drawing.moved(x, 0.0) for cell, x in zip(cells, starts_mm, strict=True)]
    rule = Drawing((straight(0.0, -high, width_mm, -high, Meaning.GRID),))
    return Cell(together([*drawn, rule]), high)


def columns_across(width_mm: float) -> tuple[int, float]:
    """Return how many columns a title has across a width, and how far apart they begin, mm."""
    count = max(1, min(4, int((width_mm + GAP_MM) // (CELL_MM + GAP_MM))))
    return count, (width_mm + GAP_MM) / count


def foot_of_title(width_mm: float) -> Cell:
    """Return the level bars and, beside them, what to do with them and the caution."""
    words = stacked(
        [
            paragraph(["Measure the bars both ways before you cut."], width_mm - 110.0),
            paragraph([CAUTION], width_mm - 110.0, 2.5, bold=True),
        ]
    )
    scale = bars(vertical=False).moved(0.0, -9.0)
    return Cell(
        together([scale, words.drawing.moved(110.0, 0.0)]), max(12.0, words.height_mm + 1.0)
    )


def identity(sheet: PanelSheet) -> Cell:
    """Return job, panel, the face to mark, and the thumbnail that shows which one it makes."""
    job = sheet.job
    reason = reason_not_to_cut(sheet)
    rows: list[Cell] = [
        paragraph([job_words(job)], CELL_MM, 3.4),
        paragraph([panel_words(sheet.panel)], CELL_MM, 5.5, bold=True),
        framed(face_words(job), 4.0),
        *([] if reason is None else [framed("NO CUT LINE", 3.4)]),
        thumbnail(sheet, 44.0, 32.0),
        ways_cell(sheet),
    ]
    return stacked(rows)


def ways_cell(sheet: PanelSheet) -> Cell:
    """Return the ways to FRONT and TOP and the grain, as the blank lies on the page."""
    texts: list[Text] = []
    lines: list[Line] = []
    left = down = 0.0
    for way in ways(sheet):
        inset = 0.0 if way.direction is None else 11.0
        wide = inset + text_width(way.words, _WAY_MM, bold=True)
        if left > 0.0 and left + wide > CELL_MM:
            left, down = 0.0, down + (7.0 if way.direction is None else 12.0)
        lines += arrow_lines(np.array([left + 5.0, -6.0 - down]), way, 9.0)
        texts.append(Text(way.words, (left + inset, -7.3 - down), _WAY_MM, bold=True))
        left += wide + 4.0
    return Cell(Drawing(tuple(lines), tuple(texts)), down + 12.0)


def framed(words: str, height_mm: float) -> Cell:
    """Return words in a black box, white, so that nobody misses them."""
    width = text_width(words, height_mm, bold=True) + 4.0
    tall = 1.9 * height_mm
    box = np.array([[0.0, -tall - 1.0], [width, -tall - 1.0], [width, -1.0], [0.0, -1.0]])
    white: Colour = (1.0, 1.0, 1.0)
    text = Text(words, (2.0, -1.0 - 1.43 * height_mm), height_mm, bold=True, colour=white)
    return Cell(Drawing(texts=(text,), fills=(Fill((box,), BLACK),)), tall + 2.5)


def thumbnail(sheet: PanelSheet, width_mm: float, height_mm: float) -> Cell:
    """Return the tank with this panel black, the words beside it."""
    picture, arrow = thumbnail_picture(sheet.tank, sheet.panel, width_mm, height_mm)
    down = height_mm + ARROW_MM
    beside = paragraph([makes_words(sheet.panel)], CELL_MM - width_mm - 4.0, 4.0, bold=True)
    note = paragraph(
        ["Black: this panel."] + ([] if sheet.tank.front is not None else ["FRONT NOT SET"]),
        CELL_MM - width_mm - 4.0,
    )
    side = stacked([beside, note])
    drawings = [picture.moved(0.0, -down), arrow.moved(0.0, -down)]
    whole = together([*drawings, side.drawing.moved(width_mm + 3.0, 0.0)])
    return Cell(whole, max(down, side.height_mm) + 2.0)


@lru_cache(maxsize=32)
def thumbnail_picture(
    tank: TankModel, panel: str, width_mm: float, height_mm: float
) -> tuple[Drawing, Drawing]:
    """Return the picture and, below it from (0, 0), an arrow to FRONT as the picture shows it."""
    per_mm = 8
    index = tank.names.index(panel)
    view = best_view_of_panel(tank, index, round(width_mm * per_mm), round(height_mm * per_mm))
    picture = Picture(one_panel_black(view, index), (0.0, ARROW_MM), width_mm, height_mm)
    return Drawing(pictures=(picture,)), view_arrow(view.front_on_page, 0.0, 0.0)


def view_arrow(front: FloatArray | None, x: float, y: float) -> Drawing:
    """Return an arrow to FRONT as a picture shows it, and the word, in a strip from (x, y)."""
    if front is None or float(np.linalg.norm(front)) < 0.2:
        return Drawing()
    way = front / np.linalg.norm(front)
    across = np.array([-way[1], way[0]])
    middle = np.array([x + 4.0, y + ARROW_MM / 2.0])
    tip, tail = middle + 3.2 * way, middle - 3.2 * way
    barbs = [tip - 1.6 * way + side * 0.8 * across for side in (1.0, -1.0)]
    lines = (
        Line(Meaning.FRAME, np.stack([tail, tip])),
        Line(Meaning.FRAME, np.stack([barbs[0], tip, barbs[1]])),
    )
    return Drawing(lines, (Text("FRONT", (x + 8.6, y + 1.7), 2.5, bold=True),))


def legend_cell(legend: Sequence[tuple[Meaning, str]], width_mm: float) -> Cell:
    """Return each kind of line with its name."""
    lines, texts = [], []
    down = 0.0
    for meaning, words in legend:
        first = True
        for row in wrapped(words, width_mm - 26.0, _BODY_MM):
            down += _LEADING * _BODY_MM
            if first:
                level = -down + 0.45 * _BODY_MM
                lines += _sample(meaning, level)
            first = False
            texts.append(Text(row, (24.0, -down), _BODY_MM))
        down += 0.35 * _BODY_MM
    return Cell(Drawing(tuple(lines), tuple(texts)), down + 2.0)


def _sample(meaning: Meaning, level: float) -> list[Line]:
    """Return what stands beside a name in the legend."""
    if meaning is Meaning.THINNEST:
        return thinnest_mark(np.array([10.0, level]))
    if meaning is Meaning.DEEPEST:
        return deepest_mark(np.array([10.0, level]))
    if meaning is Meaning.FORM_TICK:
        return [form_pointer(np.array([10.0, level + 1.5]), np.array([0.0, 1.0]))]
    if meaning is Meaning.HOLE_CENTRE:
        arms = [4.0 * np.eye(2)[axis] for axis in (0, 1)]
        place = np.array([10.0, level])
        return [Line(meaning, np.stack([place - 0.5 * arm, place + 0.5 * arm])) for arm in arms]
    if meaning is Meaning.GRAIN:
        way = Way("GRAIN", np.array([1.0, 0.0]), Meaning.GRAIN)
        return arrow_lines(np.array([10.0, level]), way)
    reach = 8.0 if meaning in {Meaning.MARK, Meaning.TICK} else 21.0
    return [straight(0.0, level, reach, level, meaning)]


def bars(*, vertical: bool) -> Drawing:
    """Return a 100 mm and a 4 in bar side by side from (0, 0), along x or along y."""
    lines: list[Line] = []
    texts: list[Text] = []
    for offset, length, step, words in (
        (0.0, 100.0, 10.0, "100 mm"),
        (4.4, 101.6, 25.4, "4 in"),
    ):
        ticks = np.arange(0.0, length + 1e-9, step)
        pieces = [np.array([[0.0, offset], [length, offset]])]
        pieces += [np.array([[tick, offset - 0.9], [tick, offset + 0.9]]) for tick in ticks]
        for piece in pieces:
            lines.append(Line(Meaning.BAR, piece[:, ::-1] if vertical else piece))
        place = (offset - 1.1, length * 0.62) if vertical else (length * 0.62, offset + 1.1)
        texts.append(Text(words, place, 2.5, "middle", 90.0 if vertical else 0.0))
    return Drawing(tuple(lines), tuple(texts))


def edge_rows(sheet: PanelSheet) -> list[str]:
    """Return the rows of the table of edges, the first of them its heading."""
    rows = ["Edges from corner to corner."]
    if sheet.pattern.marks:
        rows = ["Edges. Numbered marks meet their own number on the other panel:"]
    rows += [
        edge_words(edge, sheet.job) + cut_edge_words(sheet, edge.letter) + told
        for edge, told in zip(sheet.pattern.edges, _allowances_told(sheet), strict=True)
    ]
    return rows


def _allowances_told(sheet: PanelSheet) -> list[str]:
    """Return what is left outside each edge, where it differs from edge to edge."""
    if reason_not_to_cut(sheet) is not None or is_uniform(sheet):
        return [""] * len(sheet.pattern.edges)
    return [f"; {allowance_words(sheet, cut)}" for cut in sheet.pattern.allowance_of_edge]


def footer(sheet: PanelSheet, width_mm: float, rows: Sequence[str], *, full_size: bool) -> Drawing:
    """Return the foot of a page: who, what, which face, how sure, bars. Its corner is at (0, 0).

    Parameters
    ----------
    sheet : PanelSheet
    width_mm : float
    rows : sequence of str
        What this page is, most important first.
    full_size : bool
        Whether scale bars belong on it.
    """
    job = sheet.job
    picture, arrow = thumbnail_picture(sheet.tank, sheet.panel, 30.0, 20.0)
    top = FOOTER_MM - 1.5
    identity_texts = [
        Text(fitted(words, 78.0, height), (33.0, top - down), height, bold=True)
        for words, height, down in (
            (panel_words(sheet.panel), 5.0, 6.2),
            (face_words(job), 4.0, 12.4),
            (makes_words(sheet.panel), 4.0, 18.4),
            (job.job, 3.0, 23.4),
            (front_words(sheet), 3.0, 28.2),
            (grain_words(job), 2.6, 32.6),
        )
    ]
    small = [*rows, f"{sheet_words(job)}  {revision_words(job)}", short_proof_words(job)]
    column = paragraph(small, width_mm - 114.0).drawing.moved(113.0, top)
    tail = [
        f"{job_words(job)}. {sure_words(sheet)}",
        f"Surface: {job.surface}. Scan file in {job.scan_unit}.",
        CAUTION,
    ]
    left = 108.0 if full_size else 0.0
    words = paragraph(tail, width_mm - left).drawing.moved(left, 19.0)
    parts = [
        Drawing((straight(0.0, FOOTER_MM, width_mm, FOOTER_MM),), tuple(identity_texts)),
        column,
        words,
        picture.moved(0.0, top - 20.0 - ARROW_MM),
        arrow.moved(0.0, top - 20.0 - ARROW_MM),
    ]
    return together([*parts, bars(vertical=False).moved(1.0, 2.0)] if full_size else parts)


def front_words(sheet: PanelSheet) -> str:
    """Return which way FRONT and TOP lie on the page, as the blank is turned on it."""
    return ways_text(sheet)


def line_legend(sheet: PanelSheet, *, with_cut: bool) -> list[tuple[Meaning, str]]:
    """Return the lines a full-size page shows, with their names."""
    pattern, job = sheet.pattern, sheet.job
    rows: list[tuple[bool, Meaning, str]] = [
        (True, Meaning.NET, "NET line: the finished edge"),
        (
            with_cut,
            Meaning.CUT,
            f"TRIM line, CUT here: {trim_words(sheet)} outside",
        ),
        (
            bool(pattern.marks),
            Meaning.MARK,
            "witness marks (A1), in pen; same number on the other panel",
        ),
        *form_rows(sheet),
        *_worked_rows(sheet, with_cut=with_cut),
        *(allowance_rows(sheet) if with_cut else ()),
        (job.grain != "any", Meaning.GRAIN, "grain of the sheet"),
        (True, Meaning.CENTRE, "centre mark of the blank"),
        (
            bool(pattern.character_lines),
            Meaning.CHARACTER,
            "character line of the tank: keep it crisp",
        ),
        (bool(pattern.centre_lines), Meaning.TANK_CENTRE, "centre line of the tank"),
        (
            bool(pattern.thin_regions),
            Meaning.THIN,
            f"{thin_region_words(job.least_mm, job.show)}: a guide",
        ),
        (pattern.thinnest is not None, Meaning.THINNEST, "the thinnest place"),
        *station_rows(sheet),
        (True, Meaning.GRID, _grid_words(pattern, job)),
        (bool(pattern.no_data), Meaning.NO_DATA, f"crossed hatch: {FILLED_BY_GUESS}"),
        (bool(pattern.copied), Meaning.COPIED, f"broken steep hatch: {copied_words(job)}"),
    ]
    return [(meaning, words) for shown, meaning, words in rows if shown]


def _worked_rows(sheet: PanelSheet, *, with_cut: bool) -> list[tuple[bool, Meaning, str]]:
    """Return the lines that say what is done to the metal, and whether each is there."""
    pattern, job = sheet.pattern, sheet.job
    margin = "; numbers in the margin: along the cut line" if with_cut else ""
    apart = spacing_text(TICK_MM[job.show], job.show)
    per = "100" if job.show == "mm" else "foot, in inches"
    return [
        (
            any(len(gather.places) > 2 for gather in pattern.gathers),
            Meaning.TICK,
            f"ticks every {apart}: what the edge between forms to{margin}",
        ),
        (
            any(not roll.is_fold for roll in pattern.rolls),
            Meaning.ROLL,
            "roll along here, no metal is worked: inside radius and way beside it",
        ),
        *_fold_rows(sheet),
        (bool(pattern.openings), Meaning.AFTER_FORMING, "CUT AFTER FORMING"),
        (bool(pattern.fitting_lines), Meaning.SCRIBE, "ring or flange: scribe, do not cut"),
        (bool(pattern.openings), Meaning.HOLE_CENTRE, "centre of a hole, its diameter beside it"),
        (
            any(contour.value > 0 for contour in pattern.contours),
            Meaning.STRETCH_CONTOUR,
            f"stretch, numbers +: per {per}",
        ),
        (
            any(contour.value < 0 for contour in pattern.contours),
            Meaning.SHRINK_CONTOUR,
            f"shrink, numbers \u2212: per {per}",
        ),
    ]


def _fold_rows(sheet: PanelSheet) -> list[tuple[bool, Meaning, str]]:
    """Return the folds of the panel itself, up and down as the maker sees them."""
    folds = {roll_meaning(sheet, roll) for roll in sheet.pattern.rolls if roll.is_fold}
    return [
        (meaning in folds, meaning, f"bend {way} along here, by the angle beside it")
        for meaning, way in ((Meaning.BEND_UP, "UP"), (Meaning.BEND_DOWN, "DOWN"))
    ]


def _grid_words(pattern: Pattern, job: JobFacts) -> str:
    """Return the grid's size, and how the numbers in its squares are to be read."""
    words = f"grid {spacing_text(pattern.grid_mm, job.show)}"
    named = f"{words}, C4: col. C row 4"
    if pattern.squares is None or not len(told_squares(pattern.squares, job.show)):
        return named
    return f"{named}; in squares: what a line of the square along the arrow forms to"
