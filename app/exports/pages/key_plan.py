"""The pages before the tiles: a large plan of how they lie, and the whole title."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

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
    scaled,
    text_width,
    together,
)
from app.exports.output import Correction
from app.exports.pages.full_size import FullSize
from app.exports.pages.tile_block import (
    JOINING,
    ONLY_BARS,
    TileWords,
    block_height,
    correction_words,
    margin_strip,
    tile_block,
)
from app.exports.pages.tiling import (
    FILING_MM,
    MARGIN_MM,
    Box,
    TilePage,
    Tiling,
    column_letters,
    frame,
)
from app.exports.pages.title import Cell, paragraph, stacked
from app.exports.pages.title_flow import title, titles_in_columns

_HEADING_MM = 3.0
_NAME_MM = 5.0
_SMALL_NAME_MM = 2.5
_LARGEST_SCALE = 0.5
_INSET_MM = 2.0
_RIM_MM = 14.0
_HEADING_HIGH_MM = 20.0
_TITLE_HEAD_MM = 7.0
_TOUCH_MM = 0.1
_PATCHES = frozenset({Meaning.NO_DATA, Meaning.COPIED})
_LEAST_PLAN_MM = 60.0


@dataclass(frozen=True, eq=False)
class _Title:
    """The whole title on a page, true to size once printed, and whether it has room there."""

    page: TilePage
    drawing: Drawing
    height_mm: float

    @property
    def room_mm(self) -> float:
        """Height left on the page, beside the title and a heading."""
        inner = self.page.height_mm - 2.0 * (MARGIN_MM + _INSET_MM)
        return inner - self.height_mm - _HEADING_HIGH_MM


def front_pages(
    full: FullSize, drawing: Drawing, tiles: Tiling, page: TilePage, said: str
) -> list[Page]:
    """Return the key plan and the whole title, on one page where both have room.

    Parameters
    ----------
    full : FullSize
    drawing : Drawing
        The pattern that is tiled.
    tiles : Tiling
    page : TilePage
        The paper as it runs through the printer.
    said : str
        On what it is printed, and how it lies.
    """
    whole = _title(full, page)
    count = len(tiles.used) + 1
    if whole.room_mm >= _LEAST_PLAN_MM:
        edge = FILING_MM + _INSET_MM
        below = Placed(whole.drawing, edge, whole.height_mm + MARGIN_MM + _INSET_MM)
        taken = whole.height_mm + _INSET_MM
        return [
            _plan_page(
                drawing, tiles, page, f"sheet 1 of {count}: not full size. {said}", (below, taken)
            )
        ]
    wholes = [whole] if whole.room_mm >= 0.0 else _titles(full, page)
    count += len(wholes)
    wide = page.width_mm - FILING_MM - MARGIN_MM
    high = block_height(full, wide, page.correction)
    words = TileWords(
        "KEY PLAN", f"sheet 1 of {count}", page.correction, tuple(full.hatches().values())
    )
    below = Placed(tile_block(full, words, Drawing(), wide, high), FILING_MM, MARGIN_MM)
    plan = _plan_page(
        drawing, tiles, page, f"sheet 1 of {count}: not full size. {said}", (below, high)
    )
    titles = [
        _title_page(each, f"sheet {number} of {count}")
        for number, each in enumerate(wholes, start=2)
    ]
    return [plan, *titles]


def _title(full: FullSize, page: TilePage) -> _Title:
    by = page.correction
    block = title(full, _across_mm(page))
    return _Title(page, scaled(block.drawing, by.x, by.y), block.height_mm * by.y)


def _across_mm(page: TilePage) -> float:
    """Return how wide a title is on a page, once it is printed true."""
    room = page.width_mm - FILING_MM - MARGIN_MM - 2.0 * _INSET_MM
    return room / page.correction.x


def _titles(full: FullSize, page: TilePage) -> list[_Title]:
    """Return a title that has no room upright: on its side, or in columns over several pages."""
    side = replace(
        page,
        width_mm=page.height_mm,
        height_mm=page.width_mm,
        correction=Correction(page.correction.y, page.correction.x),
    )
    lying = _title(full, side)
    if lying.room_mm >= 0.0:
        return [lying]
    return min((_pages_of_title(full, each) for each in (page, side)), key=len)


def _pages_of_title(full: FullSize, page: TilePage) -> list[_Title]:
    by = page.correction
    high = page.height_mm - 2.0 * (MARGIN_MM + _INSET_MM) - _TITLE_HEAD_MM
    blocks = titles_in_columns(full, _across_mm(page), high / by.y)
    return [
        _Title(page, scaled(block.drawing, by.x, by.y), block.height_mm * by.y) for block in blocks
    ]


def _title_page(chosen: _Title, numbered: str) -> Page:
    """Return a page with the title or a part of it alone."""
    at = chosen.page
    edge, top = FILING_MM + _INSET_MM, at.height_mm - MARGIN_MM - _INSET_MM
    words = f"TITLE, {numbered}. {correction_words(at.correction)}"
    heading = paragraph([words], at.width_mm - edge - MARGIN_MM, _HEADING_MM, bold=True)
    contents = (
        Placed(heading.drawing, edge, top),
        Placed(chosen.drawing, edge, top - heading.height_mm),
        Placed(frame(at.width_mm, at.height_mm)),
        Placed(margin_strip(at)),
    )
    return Page(at.width_mm, at.height_mm, contents)


def _plan_page(
    drawing: Drawing, tiles: Tiling, page: TilePage, said: str, below: tuple[Placed, float]
) -> Page:
    """Return the page with the large plan; what stands below it takes so much of its height."""
    beneath, taken_mm = below
    room = page.width_mm - FILING_MM - MARGIN_MM - 2.0 * _INSET_MM
    heading = _heading(said, page.correction, room)
    high = page.height_mm - 2.0 * MARGIN_MM - _INSET_MM - heading.height_mm - taken_mm
    full = np.array([tiles.columns, tiles.rows]) * tiles.cell_mm
    scale = min((room - _RIM_MM) / full[0], (high - _RIM_MM) / full[1], _LARGEST_SCALE)
    plan = _large_plan(drawing, tiles, float(scale))
    edge, top = FILING_MM + _INSET_MM, page.height_mm - MARGIN_MM - _INSET_MM
    middle = edge + (room - full[0] * scale) / 2.0
    down = top - heading.height_mm - _RIM_MM / 2.0 - full[1] * scale
    contents = (
        Placed(heading.drawing, edge, top),
        Placed(plan, float(middle), float(down)),
        beneath,
        Placed(frame(page.width_mm, page.height_mm)),
        Placed(margin_strip(page, ONLY_BARS)),
    )
    return Page(page.width_mm, page.height_mm, contents)


def _heading(said: str, by: Correction, width_mm: float) -> Cell:
    """Return what the key plan is, and how the tiles are printed and joined."""
    first = paragraph([f"KEY PLAN, {said}"], width_mm, _HEADING_MM, bold=True)
    rest = paragraph(
        [f"Tiles A from the left, 1 from the top. {JOINING}", correction_words(by)],
        width_mm,
        _SMALL_NAME_MM,
    )
    return stacked([first, rest])


def _large_plan(drawing: Drawing, tiles: Tiling, scale: float) -> Drawing:
    """Return outline, cells and their names at a small scale, lower left corner at (0, 0).

    Where a cell is too small for its name, letters and numbers stand along the rim.
    """
    outline = _plan_outline(drawing, tiles, scale)
    names = _plan_names(tiles, scale, outline.lines)
    cells = [_scaled_cell(tiles, at, scale) for at in tiles.used]
    frames = [rectangle(*cell) for cell in cells]
    return together([outline, Drawing((*frames,), (*names,))])


def _scaled_cell(tiles: Tiling, at: tuple[int, int], scale: float) -> Box:
    left, bottom, right, top = (np.array(tiles.cell(*at)) - [*tiles.origin] * 2) * scale
    return float(left), float(bottom), float(right), float(top)


def _plan_names(tiles: Tiling, scale: float, lines: Sequence[Line]) -> list[Text]:
    """Return every tile's name in its cell, off the lines of the plan where it can stand so."""
    cells = [(tiles.name(*at), _scaled_cell(tiles, at, scale)) for at in tiles.used]
    width, height = tiles.cell_mm[0] * scale, tiles.cell_mm[1] * scale
    for size in (_NAME_MM, _SMALL_NAME_MM):
        widest = max(text_width(name, size, bold=True) for name, _ in cells)
        if widest + 1.5 < width and 1.6 * size < height:
            return [_cell_name(name, cell, size, lines) for name, cell in cells]
    return _rim_names(tiles, width, height)


def _cell_name(name: str, cell: Box, size: float, lines: Sequence[Line]) -> Text:
    """Return a name in a cell, as near to its middle as it stands clear of lines; else there."""
    left, bottom, right, top = cell
    middle = np.array([left + right, bottom + top]) / 2.0
    space = FreeSpace(rectangle(*cell).points, [line.course for line in lines])
    box = (text_width(name, size, bold=True) + 1.0, 1.6 * size)
    found = space.place(box, middle, reach_mm=float(np.hypot(right - left, top - bottom)) / 2.0)
    x, y = middle.tolist() if found is None else found
    return Text(name, (x, y - size / 2.0), size, "middle", bold=True, masked=True)


def _rim_names(tiles: Tiling, width_mm: float, height_mm: float) -> list[Text]:
    """Return letters above the columns and numbers left of the rows, as many as have room."""
    size, high = _SMALL_NAME_MM, tiles.rows * height_mm
    widest = text_width(column_letters(tiles.columns - 1), size, bold=True) + 1.5
    every = max(1, int(np.ceil(widest / width_mm)))
    texts = [
        Text(
            column_letters(column),
            ((column + 0.5) * width_mm, high + 1.2),
            size,
            "middle",
            bold=True,
        )
        for column in range(0, tiles.columns, every)
    ]
    every = max(1, int(np.ceil(1.6 * size / height_mm)))
    texts += [
        Text(
            str(tiles.rows - row),
            (-1.2, (row + 0.5) * height_mm - size / 2.0),
            size,
            "end",
            bold=True,
        )
        for row in range(tiles.rows - 1, -1, -every)
    ]
    return texts


def _plan_outline(drawing: Drawing, tiles: Tiling, scale: float) -> Drawing:
    """Return the outlines and patches of a pattern at a small scale."""
    drawn_as = {
        Meaning.NET: Meaning.FRAME,
        Meaning.AFTER_FORMING: Meaning.FRAME,
        Meaning.CUT: Meaning.JOIN,
        Meaning.NO_DATA: Meaning.NO_DATA,
        Meaning.COPIED: Meaning.COPIED,
    }
    rings = [
        shapely.make_valid(shapely.Polygon(line.points))
        for line in drawing.lines
        if line.closed and line.meaning in _PATCHES
    ]
    patches = shapely.union_all(rings).buffer(_TOUCH_MM)
    shapely.prepare(patches)
    return Drawing(
        tuple(
            Line(drawn_as[line.meaning], (line.points - tiles.origin) * scale, line.closed)
            for line in drawing.lines
            if line.meaning in drawn_as and (line.closed or _is_within(line, patches))
        )
    )


def _is_within(line: Line, patches: shapely.Geometry) -> bool:
    """Return whether a line lies on the patches: hatch does, a line to their words does not."""
    return bool(shapely.covers(patches, shapely.LineString(line.points)))
