"""Pages of one panel: the one-piece page, and tiles for a small printer with their key plan."""

from dataclasses import dataclass

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
    rectangle,
    straight,
    text_width,
    together,
)
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.marks import patch_sentences_within
from app.exports.pages.panel_drawing import pattern_drawing
from app.exports.pages.title import (
    BAR_STRIP_MM,
    CELL_MM,
    FOOTER_MM,
    bars,
    footer,
    line_legend,
    title,
)
from geometry.arrays import FloatArray

_MARGIN_MM = 12.0
_PRINTER_MARGIN_MM = 8.0
_NARROWEST_MM = 2 * CELL_MM + 4.0
OVERLAP_MM = 12.0
_CROSS_MM = 5.0


def one_piece(sheet: PanelSheet) -> Page:
    """Return the whole blank full size on one page of its own size, the title below."""
    drawing = pattern_drawing(sheet)
    left, bottom, right, top = drawing.box
    width = max(right - left, _NARROWEST_MM)
    legend = line_legend(sheet, with_cut=reason_not_to_cut(sheet) is None)
    block = title(sheet, width, legend)
    page_width = width + 2 * _MARGIN_MM + BAR_STRIP_MM
    foot = block.height_mm + 2 * _MARGIN_MM
    page_height = foot + (top - bottom) + _MARGIN_MM
    edge = _MARGIN_MM + BAR_STRIP_MM
    x = edge + (width - (right - left)) / 2.0 - left
    heading = Text(
        "FULL SIZE 1:1 - print at 100 %, never fit to page",
        (edge, page_height - 7.0),
        2.6,
        bold=True,
    )
    return Page(
        page_width,
        page_height,
        (
            Placed(Drawing(texts=(heading,))),
            Placed(drawing, x, foot - bottom),
            Placed(block.drawing, edge, block.height_mm + _MARGIN_MM * 0.7),
            Placed(bars(vertical=True), _MARGIN_MM - 3.0, _MARGIN_MM),
        ),
    )


@dataclass(frozen=True)
class Tiling:
    """How a drawing is split: cells of equal size over its box, on pages of one size.

    Attributes
    ----------
    page_mm : (float, float)
    cell_mm : (float, float)
        What each page adds; pages show half an overlap more on every side.
    origin : (float, float), mm
        Lower left corner of the cells, on the drawing.
    columns, rows : int
    """

    page_mm: tuple[float, float]
    cell_mm: tuple[float, float]
    origin: tuple[float, float]
    columns: int
    rows: int

    def name(self, column: int, row: int) -> str:
        """Return a tile's name: letter from the left, number from the top."""
        return f"{chr(ord('A') + column)}{self.rows - row}"

    def cell(self, column: int, row: int) -> tuple[float, float, float, float]:
        """Return left, bottom, right, top of a cell on the drawing."""
        left = self.origin[0] + column * self.cell_mm[0]
        bottom = self.origin[1] + row * self.cell_mm[1]
        return left, bottom, left + self.cell_mm[0], bottom + self.cell_mm[1]


def tiling(box: tuple[float, float, float, float], paper: tuple[float, float]) -> Tiling:
    """Return the tiling with fewest pages, upright or on its side; the drawing in its middle."""
    choices = []
    for page in (paper, paper[::-1]):
        cell = (
            page[0] - 2 * _PRINTER_MARGIN_MM - BAR_STRIP_MM - OVERLAP_MM,
            page[1] - 2 * _PRINTER_MARGIN_MM - FOOTER_MM - 2.0 - OVERLAP_MM,
        )
        extent = (box[2] - box[0], box[3] - box[1])
        columns, rows = (max(1, int(np.ceil(e / c))) for e, c in zip(extent, cell, strict=True))
        origin = (
            (box[0] + box[2] - columns * cell[0]) / 2.0,
            (box[1] + box[3] - rows * cell[1]) / 2.0,
        )
        choices.append(Tiling(page, cell, origin, columns, rows))
    return min(choices, key=lambda choice: choice.columns * choice.rows)


def tiled(sheet: PanelSheet, paper: tuple[float, float], paper_name: str) -> list[Page]:
    """Return the key plan and then the tiles that carry any of the blank, full size."""
    drawing = pattern_drawing(sheet)
    outline = _outline(sheet)
    tiles = tiling((*outline.min(axis=0), *outline.max(axis=0)), paper)
    shape = shapely.make_valid(shapely.Polygon(outline)).buffer(2.0)
    used = [
        (column, row)
        for row in range(tiles.rows - 1, -1, -1)
        for column in range(tiles.columns)
        if shape.intersects(shapely.box(*tiles.cell(column, row)))
    ]
    pages = [_key_plan(sheet, drawing, tiles, used, paper_name)]
    pages += [_tile(sheet, drawing, tiles, at, used) for at in used]
    return pages


def _outline(sheet: PanelSheet) -> FloatArray:
    """Return the outermost line drawn, in the maker's view."""
    cut = reason_not_to_cut(sheet) is None and sheet.pattern.trim is not None
    line = sheet.pattern.trim if cut and sheet.pattern.trim is not None else sheet.pattern.net
    return sheet.lay.on_paper(line)


def _tile(
    sheet: PanelSheet,
    drawing: Drawing,
    tiles: Tiling,
    at: tuple[int, int],
    used: list[tuple[int, int]],
) -> Page:
    width, height = tiles.page_mm
    left, bottom, right, top = tiles.cell(*at)
    half = OVERLAP_MM / 2.0
    x0 = _PRINTER_MARGIN_MM + BAR_STRIP_MM
    y0 = _PRINTER_MARGIN_MM + FOOTER_MM + 2.0
    clip = (x0, y0, x0 + right - left + OVERLAP_MM, y0 + top - bottom + OVERLAP_MM)
    shift = (x0 + half - left, y0 + half - bottom)
    name = tiles.name(*at)
    numbered = f"page {used.index(at) + 2} of {len(used) + 1}"
    joins = _joins(drawing.moved(*shift), clip, tiles, at, used)
    foot = footer(
        sheet,
        width - 2 * _PRINTER_MARGIN_MM,
        [
            f"TILE {name}, {numbered}. FULL SIZE 1:1, print at 100 %.",
            *patch_sentences_within(sheet, sheet.lay.on_paper, _shown(tiles.cell(*at))),
            "Lay crosshairs over crosshairs, dotted lines over dotted lines.",
        ],
        full_size=True,
    )
    return Page(
        width,
        height,
        (
            Placed(drawing, *shift, clip),
            Placed(joins),
            Placed(bars(vertical=True), _PRINTER_MARGIN_MM + 2.6, y0 + 6.0),
            Placed(foot, _PRINTER_MARGIN_MM, _PRINTER_MARGIN_MM),
        ),
    )


def _shown(cell: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Return what a tile shows: its cell and half an overlap more all round."""
    left, bottom, right, top = cell
    half = OVERLAP_MM / 2.0
    return left - half, bottom - half, right + half, top + half


def _joins(
    drawing: Drawing,
    clip: tuple[float, float, float, float],
    tiles: Tiling,
    at: tuple[int, int],
    used: list[tuple[int, int]],
) -> Drawing:
    """Return the dotted edges of the cell, crosshairs on its corners, and what joins where.

    Words stand clear of the net and the trim line.
    """
    half = OVERLAP_MM / 2.0
    left, bottom, right, top = clip[0] + half, clip[1] + half, clip[2] - half, clip[3] - half
    lines: list[Line] = [rectangle(*clip)]
    for x0, y0, x1, y1 in (
        (left, clip[1], left, clip[3]),
        (right, clip[1], right, clip[3]),
        (clip[0], bottom, clip[2], bottom),
        (clip[0], top, clip[2], top),
    ):
        lines.append(straight(x0, y0, x1, y1, Meaning.JOIN))
    for x in (left, right):
        for y in (bottom, top):
            lines += [
                straight(x - _CROSS_MM, y, x + _CROSS_MM, y),
                straight(x, y - _CROSS_MM, x, y + _CROSS_MM),
            ]
    space = _room_on_tile(drawing, clip)
    texts = _tile_name(space, tiles.name(*at), (left, bottom, right, top))
    column, row = at
    for neighbour, across, side in (
        ((column - 1, row), left - 2.6, 0),
        ((column + 1, row), right + 2.6, 0),
        ((column, row - 1), bottom - 2.6, 1),
        ((column, row + 1), top + 2.6, 1),
    ):
        if neighbour in used:
            low, high = (bottom, top) if side == 0 else (left, right)
            texts += _join_text(space, tiles.name(*neighbour), across, (low, high), side)
    return Drawing(tuple(lines), tuple(texts))


def _room_on_tile(drawing: Drawing, clip: tuple[float, float, float, float]) -> FreeSpace:
    corners = rectangle(*clip).points
    barriers = [
        np.concatenate([line.points, line.points[:1]]) if line.closed else line.points
        for line in drawing.lines
        if line.meaning not in {Meaning.GRID, Meaning.NO_DATA, Meaning.COPIED}
    ]
    space = FreeSpace(corners, barriers)
    for text in drawing.texts:
        space.keep_clear(text.box)
    return space


def _tile_name(space: FreeSpace, name: str, cell: tuple[float, float, float, float]) -> list[Text]:
    """Return the tile's name large, near a corner of its cell or as near as there is room."""
    left, bottom, right, top = cell
    corners = [
        (left + 12, top - 10),
        (right - 12, top - 10),
        (left + 12, bottom + 10),
        (right - 12, bottom + 10),
    ]
    reach = max(right - left, top - bottom)
    for height, far in ((5.0, 4.0), (5.0, reach), (3.0, reach)):
        size = (text_width(name, height, bold=True) + 2.0, 1.6 * height)
        for corner in corners:
            found = space.place(size, np.array(corner), reach_mm=far, step_mm=3.0)
            if found is not None:
                place = (found[0], found[1] - height / 2.0)
                return [Text(name, place, height, "middle", bold=True, masked=True)]
    return []


def _join_text(
    space: FreeSpace, name: str, across: float, span: tuple[float, float], side: int
) -> list[Text]:
    """Return which tile joins at a side, where along it no line is in the way."""
    words, height = f"join to {name}", 1.8
    width = text_width(words, height) + 1.0
    size = (1.5 * height, width) if side == 0 else (width, 1.5 * height)
    for part in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        along = span[0] + part * (span[1] - span[0])
        near = np.array([across, along] if side == 0 else [along, across])
        found = space.place(size, near, reach_mm=0.1)
        if found is not None:
            x, y = found
            place = (x + 0.4 * height, y) if side == 0 else (x, y - 0.4 * height)
            angle = 90.0 if side == 0 else 0.0
            return [Text(words, place, height, "middle", angle, masked=True)]
    return []


def _key_plan(
    sheet: PanelSheet,
    drawing: Drawing,
    tiles: Tiling,
    used: list[tuple[int, int]],
    paper_name: str,
) -> Page:
    """Return the first page: how the tiles lie, and the whole title."""
    width, height = sorted(tiles.page_mm)
    edge = _PRINTER_MARGIN_MM + BAR_STRIP_MM
    room = width - edge - _PRINTER_MARGIN_MM
    legend = line_legend(sheet, with_cut=reason_not_to_cut(sheet) is None)
    block = title(sheet, room, legend)
    top = height - _PRINTER_MARGIN_MM
    high = top - 14.0 - (block.height_mm + _PRINTER_MARGIN_MM)
    full = (tiles.columns * tiles.cell_mm[0], tiles.rows * tiles.cell_mm[1])
    scale = min(room / full[0], high / full[1], 0.5)
    plan = _small_plan(drawing, tiles, used, scale)
    heading = Text(
        f"KEY PLAN, page 1 of {len(used) + 1} ({paper_name}): not full size. "
        "Tiles A from the left, 1 from the top.",
        (edge, top - 4.0),
        2.6,
        bold=True,
    )
    return Page(
        width,
        height,
        (
            Placed(Drawing(texts=(heading,))),
            Placed(plan, edge + (room - full[0] * scale) / 2.0, top - 9.0 - full[1] * scale),
            Placed(block.drawing, edge, block.height_mm + _PRINTER_MARGIN_MM * 0.6),
            Placed(bars(vertical=True), _PRINTER_MARGIN_MM + 2.6, _PRINTER_MARGIN_MM + 4.0),
        ),
    )


def _small_plan(
    drawing: Drawing, tiles: Tiling, used: list[tuple[int, int]], scale: float
) -> Drawing:
    """Return outline and cells at a small scale, lower left corner at (0, 0)."""
    origin = np.array(tiles.origin)
    kept = {Meaning.NET, Meaning.CUT, Meaning.AFTER_FORMING}
    patches = {Meaning.NO_DATA, Meaning.COPIED}
    outline = Drawing(
        tuple(
            Line(
                Meaning.JOIN
                if line.meaning is Meaning.CUT
                else line.meaning
                if line.meaning in patches
                else Meaning.FRAME,
                (line.points - origin) * scale,
                line.closed,
            )
            for line in drawing.lines
            if line.meaning in kept | patches
        )
    )
    cells = []
    for column in range(tiles.columns):
        for row in range(tiles.rows):
            box = np.array(tiles.cell(column, row)) - np.tile(origin, 2)
            left, bottom, right, top = box * scale
            words = tiles.name(column, row) if (column, row) in used else "empty"
            size = 5.0 if (column, row) in used else 2.0
            cells.append(
                Drawing(
                    (rectangle(left, bottom, right, top),),
                    (
                        Text(
                            words,
                            ((left + right) / 2.0, (bottom + top) / 2.0 - size / 2.0),
                            size,
                            "middle",
                            bold=True,
                            masked=True,
                        ),
                    ),
                )
            )
    return together([outline, *cells])
