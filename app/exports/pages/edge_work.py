"""What every piece of an edge forms to: ticks, slits and folds as paper would show, and a table.

Paper keeps its length. Laid over the formed panel it has to be slit where the edge is stretched,
and the slit opens; where the edge is shrunk it is folded, and laps over. Either by just as much as
the metal is worked.
"""

from collections.abc import Callable, Sequence

import numpy as np
import shapely

from app.exports.drawing import (
    BLACK,
    Drawing,
    Fill,
    FreeSpace,
    Line,
    Meaning,
    Page,
    Text,
    place_text,
)
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.pages.bench_page import Box, more_tables, number_text
from app.exports.words import tape_reading, tells_a_tape
from geometry.arrays import FloatArray
from geometry.pattern import Gather, PatternEdge

HEADING = "SHAPE, ALONG THE EDGES"

_TICK_MM = 2.4
_DEEP_MM = 6.5
_HALF_MOUTH_MM = 1.4
_TEXT_MM = 2.5
_OFF_LINE_MM = 0.5
_WIDTHS = (14.0, 18.0, 18.0, 20.0, 18.0, 18.0, 20.0)

OnPage = Callable[[FloatArray], FloatArray]


def cut_gathers(sheet: PanelSheet) -> tuple[Gather, ...]:
    """Return the pieces of the line to cut; none where nothing may be cut."""
    return sheet.pattern.cut_gathers if reason_not_to_cut(sheet) is None else ()


def edge_ticks(sheet: PanelSheet, on_page: OnPage) -> list[Line]:
    """Return a short line across net and cut line at every tick, corners of the net too."""
    ticks: list[Line] = []
    ring = None if sheet.pattern.trim is None else shapely.LinearRing(sheet.pattern.trim)
    for gather in (*sheet.pattern.gathers, *cut_gathers(sheet)):
        for place, outward in zip(gather.places, gather.outward, strict=True):
            on_net = gather.outside_mm == 0.0
            if not on_net and (ring is None or ring.distance(shapely.Point(place)) > _OFF_LINE_MM):
                continue
            foot, out = on_page(np.stack([place, place + outward]))
            way = (out - foot) / np.linalg.norm(out - foot)
            reach = _TICK_MM / 2.0
            ends = [foot - (_TICK_MM if on_net else reach) * way, foot + reach * way * (not on_net)]
            ticks.append(Line(Meaning.TICK, np.stack(ends)))
    return ticks


def slits_and_folds(sheet: PanelSheet, on_page: OnPage) -> Drawing:
    """Return an open V where paper is slit, a black wedge where it is folded, at each piece."""
    lines: list[Line] = []
    fills: list[Fill] = []
    for _, place, inward, flat, formed in _pieces(sheet, on_page):
        if not tells_a_tape(flat, formed, sheet.job.show):
            continue
        along = np.array([-inward[1], inward[0]]) * _HALF_MOUTH_MM
        corners = np.stack([place - along, place + _DEEP_MM * inward, place + along])
        lines.append(Line(Meaning.MARK, corners))
        if formed < flat:
            fills.append(Fill((corners,), BLACK))
    return Drawing(tuple(lines), (), tuple(fills))


def amounts(sheet: PanelSheet, on_page: OnPage, lines: Sequence[Line], box: Box) -> list[Text]:
    """Return each piece's name and how far its slit opens or its fold laps over, outside it."""
    left, bottom, right, top = box
    outline = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    space = FreeSpace(outline, [line.course for line in lines])
    margin = max((gather.outside_mm for gather in cut_gathers(sheet)), default=0.0)
    scale = float(np.linalg.norm(np.diff(on_page(np.array([[0.0, 0.0], [1.0, 0.0]])), axis=0)))
    texts: list[Text] = []
    for name, place, inward, flat, formed in _pieces(sheet, on_page):
        near = place - (margin * scale + 4.0) * inward
        words = amount_words(name, flat, formed, sheet.job.show)
        texts += place_text(space, words, near, _TEXT_MM, 11.0)
    return texts


def amount_words(name: str, flat_mm: float, formed_mm: float, show: str = "mm") -> str:
    """Return what a piece does, as short as it goes.

    >>> amount_words("A/2", 100.0, 93.6), amount_words("A/3", 100.0, 100.1)
    ('A/2: fold 6.5', 'A/3')
    >>> amount_words("B/1", 101.6, 108.0, "in")
    'B/1: slit 1/4'
    """
    if not tells_a_tape(flat_mm, formed_mm, show):
        return name
    by = tape_reading(formed_mm, show) - tape_reading(flat_mm, show)
    return f"{name}: {'slit' if by > 0.0 else 'fold'} {number_text(abs(by), show)}"


def _pieces(
    sheet: PanelSheet, on_page: OnPage
) -> list[tuple[str, FloatArray, FloatArray, float, float]]:
    """Return of each piece of the net line: name, middle on the page, way in, flat, formed."""
    found = []
    for gather, edge in zip(sheet.pattern.gathers, sheet.pattern.edges, strict=False):
        for number, (place, inward) in enumerate(_middles(sheet, gather, edge, on_page)):
            flat, formed = float(gather.flat_mm[number]), float(gather.formed_mm[number])
            found.append((piece_name(edge, number), place, inward, flat, formed))
    return found


def piece_name(edge: PatternEdge, number: int) -> str:
    """Return the name of an edge's piece, counted from 0: tiles, marks and squares have no slash.

    "A/1" is the first piece of edge A, "F1/2" the second of the free edge F1.
    """
    return f"{edge.letter}/{number + 1}"


def _middles(
    sheet: PanelSheet, gather: Gather, edge: PatternEdge, on_page: OnPage
) -> list[tuple[FloatArray, FloatArray]]:
    """Return the middle of every piece on the page and the way in to the blank there."""
    line = shapely.LineString(on_page(edge.points))
    steps = np.concatenate([[0.0], np.cumsum(gather.flat_mm)])
    at = line.length * (steps[:-1] + steps[1:]) / 2.0 / steps[-1]
    found = []
    for middle in at.tolist():
        before, place, after = (
            np.array(line.interpolate(min(max(spot, 0.0), line.length)).coords[0])
            for spot in (middle - 1.5, middle, middle + 1.5)
        )
        way = (after - before) / max(float(np.linalg.norm(after - before)), 1e-9)
        found.append((place, sheet.lay.inward_side * np.array([-way[1], way[0]])))
    return found


def edge_table_pages(sheet: PanelSheet) -> list[Page]:
    """Return the table of all pieces, net line and line to cut, with a total for every edge."""
    if not sheet.pattern.gathers:
        return []
    show = sheet.job.show
    cuts = {gather.letter: gather for gather in cut_gathers(sheet)}
    rows: list[tuple[str, ...]] = []
    for gather, edge in zip(sheet.pattern.gathers, sheet.pattern.edges, strict=False):
        cut = cuts.get(edge.letter)
        other = f"to {edge.other}" if edge.other else "free edge"
        count = max(len(gather.flat_mm), 0 if cut is None else len(cut.flat_mm))
        rows.append((f"{edge.letter}", other, "", "", "", "", ""))
        for piece in range(count):
            name = piece_name(edge, piece)
            cells = [_cells(each, piece, show) for each in (gather, cut)]
            rows.append((name, *cells[0], *cells[1]))
        totals = [
            ("", "", "") if each is None else _sums(*each.total_mm[:2], show)
            for each in (gather, cut)
        ]
        rows.append(("total", *totals[0], *totals[1]))
    head = ("piece", f"net, {show}", "forms to", "by", f"cut, {show}", "forms to", "by")
    return more_tables(sheet, HEADING, head, rows, _WIDTHS, is_continued=False)


def _cells(gather: Gather | None, piece: int, show: str) -> tuple[str, str, str]:
    if gather is None or piece >= len(gather.flat_mm):
        return ("", "", "")
    return _sums(float(gather.flat_mm[piece]), float(gather.formed_mm[piece]), show)


def _sums(flat_mm: float, formed_mm: float, show: str) -> tuple[str, str, str]:
    """Return flat, formed, and which way by how much."""
    by = tape_reading(formed_mm, show) - tape_reading(flat_mm, show)
    flat, formed, amount = (
        number_text(tape_reading(length, show), show) for length in (flat_mm, formed_mm, abs(by))
    )
    if not tells_a_tape(flat_mm, formed_mm, show):
        return flat, formed, "leave"
    return flat, formed, f"{'+' if by > 0.0 else chr(0x2212)}{amount}"
