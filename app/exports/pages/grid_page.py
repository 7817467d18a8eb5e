"""The grid on the blank and the same grid on the formed tank, squares by name; what they read."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from app.exports.drawing import (
    Drawing,
    FreeSpace,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    place_text,
)
from app.exports.facts import PanelSheet
from app.exports.pages.bench_page import (
    TEXT_MM,
    Box,
    FittedBlank,
    OnPage,
    bench_page,
    box_space,
    courses,
    fitted_blank,
    level_name,
    noted,
    outlines,
    picture_part,
    side_tables,
)
from app.exports.pages.in_sight import PICTURE_MM, Sight, panel_rim, sight_of_panel
from app.exports.words import spacing_text
from app.units import MM_PER_INCH, plain_number
from geometry.arrays import FloatArray
from geometry.mesh import NearestPoint, TriMesh
from geometry.pattern import NamedGrid, SquareReading, formed_readings, named_grid

HEADING = "GRID"

MOST_SQUARES = 10
"""So many squares are listed with what they must read, those that change most."""

_PIECES_MM = 4.0
_NAME_MM = 3.2
_ROOMY_MM = 9.0
"""Squares larger than this in the picture are named in the picture too."""

_NAME_REACH_MM = 2.2
_RIM_STEP_MM = 1.5

_WIDTHS = (15.0, 22.0, 22.0, 22.0, 37.0)


def grid_pages(sheet: PanelSheet) -> list[Page]:
    """Return the page; none where the pattern has no grid."""
    if sheet.pattern.grid_mm <= 0.0 or not sheet.pattern.grid:
        return []
    squares = named_grid(sheet.pattern.net, sheet.pattern.centre, sheet.pattern.grid_mm)
    note, box = noted(sheet, _told(sheet))
    blank = fitted_blank(sheet, box)
    sight = sight_of_panel(sheet.tank, sheet.panel)
    picture, beside = picture_part(
        sheet, sight, _on_tank(sheet, sight, squares), ["The same grid on the formed panel."]
    )
    parts = [
        note,
        Placed(_blank_drawing(sheet, blank, squares, box)),
        picture,
        *_table(sheet, squares, beside),
    ]
    return [bench_page(sheet, HEADING, blank, parts)]


def _whole_squares(sheet: PanelSheet) -> FloatArray:
    """Return the (k, 2) middles of the squares that lie whole on the blank."""
    squares = sheet.pattern.squares
    if squares is not None:
        return squares.middles
    return np.empty((0, 2))


def _blank_drawing(sheet: PanelSheet, blank: FittedBlank, squares: NamedGrid, box: Box) -> Drawing:
    """Return the blank with its grid, columns and rows named round it, squares named in them."""
    on_page = blank.on_page
    grid = [Line(Meaning.SCRIBE, on_page(piece)) for piece in sheet.pattern.grid]
    lines = [*grid, *outlines(sheet, on_page)]
    outer = np.concatenate([line.points for line in lines])
    texts = _ranks(on_page, squares, outer.min(axis=0), outer.max(axis=0))
    within = FreeSpace(on_page(sheet.pattern.net), courses(lines))
    side = squares.side_mm * blank.scale
    for middle in _whole_squares(sheet):
        near = on_page(middle[None])[0]
        texts += place_text(within, squares.name(middle), near, TEXT_MM, side / 4.0)
    return Drawing(tuple(lines), tuple(texts))


def _ranks(on_page: OnPage, squares: NamedGrid, low: FloatArray, high: FloatArray) -> list[Text]:
    """Return the letters of the columns in a rank above the blank, the rows' numbers beside it."""
    texts: list[Text] = []
    for number in range(squares.columns):
        at = on_page(squares.middle_of(number, 0)[None])[0]
        place = (float(at[0]), float(high[1]) + 2.0)
        texts.append(Text(squares.column_name(number), place, _NAME_MM, "middle", bold=True))
    for number in range(squares.rows):
        at = on_page(squares.middle_of(0, number)[None])[0]
        place = (float(low[0]) - 2.0, float(at[1]) - 0.5 * _NAME_MM)
        texts.append(Text(str(number + 1), place, _NAME_MM, "end", bold=True))
    return texts


def _strips(sheet: PanelSheet, squares: NamedGrid) -> list[tuple[str, FloatArray]]:
    """Return every column and row by name with its middle line over the blank, (k, 2)."""
    net = shapely.Polygon(sheet.pattern.net).buffer(0.0)
    last = (squares.columns - 1, squares.rows - 1)
    ends = [
        (squares.column_name(n), squares.middle_of(n, 0), squares.middle_of(n, last[1]))
        for n in range(squares.columns)
    ]
    ends += [
        (str(n + 1), squares.middle_of(0, n), squares.middle_of(last[0], n))
        for n in range(squares.rows)
    ]
    found = []
    for name, start, stop in ends:
        reach = np.sign(stop - start) * squares.side_mm
        line = shapely.intersection(shapely.LineString([start - reach, stop + reach]), net)
        parts = [part for part in shapely.get_parts(line) if part.length > squares.side_mm / 2.0]
        if parts:
            longest = max(parts, key=lambda part: part.length)
            found.append((name, _fine(shapely.get_coordinates(longest)[[0, -1]])))
    return found


def _on_tank(sheet: PanelSheet, sight: Sight, squares: NamedGrid) -> Drawing:
    """Return the grid carried to the formed panel, on the picture, squares named where they fit."""
    pieces = [_fine(piece) for piece in sheet.pattern.grid]
    formed = _formed(sheet, np.concatenate(pieces))
    ends = np.cumsum([len(piece) for piece in pieces])[:-1]
    lines = [
        Line(Meaning.SCRIBE, part)
        for line in np.split(formed, ends)
        for part in sight.lines_in_sight(line)
    ]
    lines += [Line(Meaning.NET, part) for part in sight.lines_in_sight(panel_rim(sheet))]
    space = box_space((0.0, 0.0, *PICTURE_MM), lines)
    texts = _strip_names(sheet, sight, squares, space)
    middles = _whole_squares(sheet)
    if len(middles) and squares.side_mm * sight.scale > _ROOMY_MM:
        places = _formed(sheet, middles)
        seen, at = sight.in_sight(places), sight.on_picture(places)
        for middle, near, shown in zip(middles, at, seen.tolist(), strict=True):
            if shown:
                texts += place_text(space, squares.name(middle), near, TEXT_MM, 1.0)
    return Drawing(tuple(lines), tuple(texts))


def _strip_names(
    sheet: PanelSheet, sight: Sight, squares: NamedGrid, space: FreeSpace
) -> list[Text]:
    """Return the names of rows along one side of the picture, of columns along another.

    A name stands level beyond the end of its strip where that is in sight, or is left out: rows
    all where rows start or all where they stop, whichever shows more of them; columns alike. A
    strip that runs out where the rim lies along it more than across has no name there.
    """
    strips = _strips(sheet, squares)
    if not strips:
        return []
    formed = _formed(sheet, np.concatenate([line for _, line in strips]))
    bounds = np.cumsum([len(line) for _, line in strips])[:-1]
    ends: dict[bool, list[list[tuple[str, FloatArray]]]] = {True: [[], []], False: [[], []]}
    for (name, flat), line in zip(strips, np.split(formed, bounds), strict=True):
        crosses = _rim_crosses(sheet, flat)
        for side, place in enumerate(_beyond_ends(sight, line)):
            if place is not None and crosses[side]:
                ends[name.isdigit()][side].append((name, place))
    texts: list[Text] = []
    for is_row in (True, False):
        for name, near in max(ends[is_row], key=len):
            texts += level_name(space, name, near, _NAME_REACH_MM, bold=True)
    return texts


def _rim_crosses(sheet: PanelSheet, strip: FloatArray) -> list[bool]:
    """Return of both ends of a strip on the blank whether the rim runs across it there."""
    rim = shapely.LinearRing(sheet.pattern.net)
    way = (strip[-1] - strip[0]) / np.linalg.norm(strip[-1] - strip[0])
    at = shapely.line_locate_point(rim, shapely.points(strip[[0, -1]]))
    before, after = (
        shapely.get_coordinates(shapely.line_interpolate_point(rim, (at + step) % rim.length))
        for step in (-_RIM_STEP_MM, _RIM_STEP_MM)
    )
    along = (after - before) / np.linalg.norm(after - before, axis=1, keepdims=True)
    crosses: list[bool] = (np.abs(along @ way) < np.sqrt(0.5)).tolist()
    return crosses


def _beyond_ends(sight: Sight, line: FloatArray) -> list[FloatArray | None]:
    """Return the places just beyond the start and the end of a strip; None where out of sight."""
    seen = sight.in_sight(line[[0, -1]]).tolist()
    places: list[FloatArray | None] = []
    for is_seen, (end, before) in zip(seen, (line[[0, 1]], line[[-1, -2]]), strict=True):
        place, inner = sight.on_picture(np.stack([end, before]))
        way = (place - inner) / max(float(np.linalg.norm(place - inner)), 1e-9)
        places.append(place + 2.6 * way if is_seen else None)
    return places


def _fine(piece: FloatArray) -> FloatArray:
    """Return points along a straight piece, close enough to follow the panel's curve."""
    length = float(np.linalg.norm(piece[-1] - piece[0]))
    part = np.linspace(0.0, 1.0, int(np.ceil(length / _PIECES_MM)) + 1)[:, None]
    return np.asarray(piece[0] + part * (piece[-1] - piece[0]))


@lru_cache(maxsize=2)
def _on_blank(sheet: PanelSheet) -> NearestPoint:
    flat = sheet.flat
    return NearestPoint(TriMesh(np.pad(flat.flat_vertices, ((0, 0), (0, 1))), flat.faces))


def _formed(sheet: PanelSheet, places: FloatArray) -> FloatArray:
    """Return places on the blank (k, 2) as (k, 3) on the formed panel."""
    flat = sheet.flat
    found = _on_blank(sheet).find(np.pad(places, ((0, 0), (0, 1))))
    corners = flat.vertices[flat.faces[found.faces]]
    return np.asarray(np.einsum("kc,kcd->kd", found.barycentric, corners))


def _table(sheet: PanelSheet, squares: NamedGrid, box: Box) -> list[Placed]:
    """Return what the squares that change most must read when the panel is done, and boxes."""
    middles, told = _whole_squares(sheet), sheet.pattern.squares
    if told is None or not len(middles):
        return []
    change = np.abs(told.formed_mm / told.side_mm - 1.0).max(axis=1)
    order = np.argsort(-change, kind="stable")[:MOST_SQUARES]
    names = [squares.name(middles[at]) for at in order.tolist()]
    readings = formed_readings(sheet.flat, sheet.pattern, names)
    head = ("square", "along row", "along col.", "diagonals", "yours: 2 of each")
    rows = [_reading_row(reading, sheet.job.show) for reading in readings]
    placed, _ = side_tables(head, rows, _WIDTHS, box)
    return placed


def _reading_row(reading: SquareReading, show: str) -> Sequence[str]:
    """Return one square's row: what its sides and diagonals must come to."""

    def pair(lengths: Sequence[float]) -> str:
        return ", ".join(_reading_text(length, show) for length in lengths)

    diagonals = reading.diagonals_mm or ()
    return (
        reading.square,
        pair(reading.along_mm),
        pair(reading.across_mm),
        pair(diagonals),
        "______________",
    )


def _reading_text(length_mm: float, show: str) -> str:
    """Return a reading as callipers show it: to a tenth of a mm, or a thousandth of an inch.

    >>> _reading_text(25.26, "mm"), _reading_text(25.26, "in")
    ('25.3', '0.994')
    """
    return plain_number(length_mm) if show == "mm" else f"{length_mm / MM_PER_INCH:.3f}"


def _told(sheet: PanelSheet) -> list[str]:
    """Return the sentences above the foot."""
    side = spacing_text(sheet.pattern.grid_mm, sheet.job.show)
    end = "front end" if sheet.front_along_u else "end named A"
    first = "top" if sheet.lay.on_paper(np.array([0.0, 1.0]))[1] > 0.0 else "foot"
    return [
        f"Squares of {side} on the blank. Columns by letters from the {end} (no I, no O), rows by "
        f"numbers from the {first} of the blank as drawn: C4 is in column C, row 4.",
        "Listed: what the squares that change most must read when the panel is done, over the "
        "metal: both sides along the row, both along the column, both diagonals. Type your own "
        "readings in that order and the job says how far the metal is stretched there.",
    ]
