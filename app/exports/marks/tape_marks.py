"""What a soft tape is laid to: ticks along net and cut line, what lies between, grid squares.

On full-size patterns only: on the shape map a square is too small to write in.
"""

from collections.abc import Sequence

import numpy as np
import shapely

from app.exports.drawing import FreeSpace, Line, Meaning, Text, Wording, text_along, text_width
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.words import gather_words, square_words, tells_a_tape
from geometry.arrays import FloatArray, IntArray
from geometry.pattern import Gather, GridSquares, PatternEdge

TICK_MM = 5.0
_TEXT_MM = 2.5
_SQUARE_TEXT_MM = 1.8
_OFF_LINE_MM = 0.5
"""A tick farther than this from the cut line stands where a gap closes over: left out."""

MOST_SQUARES = 30
"""With more squares worth telling, only every second one is, as on a chess board."""


def tick_lines(sheet: PanelSheet) -> list[Line]:
    """Return a short line inward at every tick, corners left out: from the net line and from
    the cut line, if there is one.
    """
    gathers = [*sheet.pattern.gathers, *_cut_gathers(sheet)]
    ticks: list[Line] = []
    for gather in gathers:
        for index in _ticks_on_line(sheet, gather):
            place, outward = gather.places[index], gather.outward[index]
            reach = TICK_MM if gather.outside_mm == 0.0 else min(TICK_MM, gather.outside_mm / 3.0)
            ends = np.stack([place, place - reach * outward])
            ticks.append(Line(Meaning.TICK, sheet.lay.on_paper(ends)))
    return ticks


def gather_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    """Return what each piece of the net line forms to, inside it and along it."""
    texts: list[Text] = []
    if not sheet.pattern.gathers:
        return texts  # not known, or not marked out
    for gather, edge in zip(sheet.pattern.gathers, sheet.pattern.edges, strict=True):
        texts += _piece_texts(sheet, space, gather, edge, (5.0, 6.5, 8.0, 10.0, 13.0, 17.0))
    return texts


def cut_gather_texts(sheet: PanelSheet, lines: Sequence[FloatArray]) -> list[Text]:
    """Return what each piece of the cut line forms to, in the margin and along it.

    Parameters
    ----------
    sheet : PanelSheet
    lines : sequence of (k, 2) float, mm
        Lines that no text may touch, in the maker's view.
    """
    gathers = _cut_gathers(sheet)
    if not gathers or sheet.pattern.trim is None:
        return []
    space = FreeSpace(sheet.lay.on_paper(sheet.pattern.trim), lines)
    wide = sheet.pattern.trim_mm
    beside = tuple(-part * wide for part in (0.46, 0.52, 0.4, 0.58, 0.34, 0.64))
    texts: list[Text] = []
    for gather, edge in zip(gathers, sheet.pattern.edges, strict=True):
        texts += _piece_texts(sheet, space, gather, edge, beside)
    return texts


def square_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    """Return what the lines through grid squares form to, where a soft tape can tell.

    Parameters
    ----------
    sheet : PanelSheet
    space : FreeSpace
        Clear of every line, grid and contours too.
    """
    squares = sheet.pattern.squares
    if squares is None:
        return []
    texts: list[Text] = []
    for index in told_squares(squares, sheet.job.show):
        middle = sheet.lay.on_paper(squares.middles[index])
        across, up = squares.formed_mm[index].tolist()
        long = square_words(squares.side_mm, across, up, sheet.job.show)
        short = square_words(squares.side_mm, across, up, sheet.job.show, side=False)
        for rows in (long, short):
            found = _rows_in_square(space, rows, middle, squares.side_mm)
            texts += found
            if found:
                break
    return texts


def told_squares(squares: GridSquares, show: str) -> IntArray:
    """Return which squares are told about: those a tape can tell, or every second one of them."""
    worth = np.array(
        [
            index
            for index, formed in enumerate(squares.formed_mm.tolist())
            if any(tells_a_tape(squares.side_mm, length, show) for length in formed)
        ],
        np.int64,
    )
    if len(worth) <= MOST_SQUARES:
        return worth
    cells = np.round((squares.middles[worth] - squares.middles[0]) / squares.side_mm).astype(int)
    return np.asarray(worth[cells.sum(axis=1) % 2 == 0])


def _rows_in_square(
    space: FreeSpace, rows: Sequence[str], middle: FloatArray, side: float
) -> list[Text]:
    """Return one or two level rows within a square, near its middle; nothing without room."""
    height = _SQUARE_TEXT_MM
    size = (max(text_width(row, height) for row in rows) + 1.0, 1.7 * height * len(rows))
    found = space.place(size, middle, reach_mm=side / 2.0, step_mm=1.0)
    if found is None:
        return []
    x, top = found[0], found[1] + size[1] / 2.0
    return [
        Text(row, (x, top - (1.25 + 1.7 * down) * height), height, "middle", masked=True)
        for down, row in enumerate(rows)
    ]


def _cut_gathers(sheet: PanelSheet) -> tuple[Gather, ...]:
    return sheet.pattern.cut_gathers if reason_not_to_cut(sheet) is None else ()


def _ticks_on_line(sheet: PanelSheet, gather: Gather) -> IntArray:
    """Return the ticks that stand on the line they belong to: not an edge's corners.

    A round edge has no corners: its first tick is where its last piece ends.
    """
    closes = np.allclose(gather.places[0], gather.places[-1])
    inner = np.arange(0 if closes else 1, len(gather.places) - 1)
    if gather.outside_mm == 0.0 or sheet.pattern.trim is None:
        return inner
    ring = shapely.LinearRing(sheet.pattern.trim)
    off = shapely.distance(shapely.points(gather.places[inner]), ring)
    return np.asarray(inner[off < _OFF_LINE_MM])


def _piece_texts(
    sheet: PanelSheet,
    space: FreeSpace,
    gather: Gather,
    edge: PatternEdge,
    beside: Sequence[float],
) -> list[Text]:
    """Return the words of every piece of an edge, where a soft tape can tell a difference."""
    show = sheet.job.show
    points = sheet.lay.on_paper(edge.points)
    line = shapely.LineString(points)
    feet = sheet.lay.on_paper(gather.places - gather.outside_mm * gather.outward)
    along: FloatArray = np.array(shapely.line_locate_point(line, shapely.points(feet)), np.float64)
    along[0], along[-1] = 0.0, line.length  # an edge that closes starts where it ends
    side = sheet.lay.inward_side
    texts: list[Text] = []
    for index, (flat, formed) in enumerate(zip(gather.flat_mm, gather.formed_mm, strict=True)):
        if not tells_a_tape(float(flat), float(formed), show):
            continue
        words = gather_words(float(flat), float(formed), show)
        bare = words.partition(",")[0]
        wordings = [Wording(words, _TEXT_MM), Wording(words, 2.0), Wording(bare, 2.0)]
        texts += text_along(
            space,
            points,
            wordings,
            beside_mm=[side * far for far in beside],
            around=(float(along[index]), float(along[index + 1])),
        )
    return texts
