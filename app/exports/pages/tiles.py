"""A pattern full size on small papers: a key plan, then tiles that are joined by their marks."""

from dataclasses import replace

import numpy as np
import shapely

from app.exports.drawing import (
    Drawing,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    parts_within,
    rectangle,
    scaled,
    text_width,
    together,
)
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.marks import patch_sentences_within
from app.exports.output import Correction, Output, Paper
from app.exports.pages.joins import join_courses, joins_drawing
from app.exports.pages.panel_drawing import pattern_drawing
from app.exports.pages.tile_block import (
    JOINING,
    TileWords,
    block_height,
    correction_words,
    margin_strip,
    small_plan,
    tile_block,
)
from app.exports.pages.tiling import (
    FILING_MM,
    MARGIN_MM,
    Box,
    TilePage,
    Tiling,
    column_letters,
    fewest_pages,
    frame,
    turns,
    upright_and_turned,
)
from app.exports.pages.title import (
    Cell,
    brief_title,
    line_legend,
    paragraph,
    stacked,
    title,
)
from app.units import angle_text
from geometry.arrays import FloatArray

_HEADING_MM = 3.0
_NAME_MM = 5.0
_SMALL_NAME_MM = 2.5
_LARGEST_SCALE = 0.5
_INSET_MM = 2.0
_RIM_MM = 14.0
_HEADING_HIGH_MM = 20.0
_LEAST_PLAN_MM = 60.0
_OWN_SHARE = 0.15


def tiled(sheet: PanelSheet, paper: Paper, output: Output | None = None) -> list[Page]:
    """Return the key plan and then the tiles that carry any of the blank, full size.

    The pattern lies as it needs the fewest tiles, straight where that does not cost one.

    Parameters
    ----------
    sheet : PanelSheet
    paper : Paper
    output : Output, optional
        Whether patterns are turned, and what the printer's lengths are corrected by.
    """
    chosen = output or Output()

    def block(width_mm: float) -> float:
        return block_height(sheet, width_mm, chosen.correction)

    to_try = turns() if chosen.turn else (0.0,)
    pages = upright_and_turned(paper, block, chosen.correction)
    turn, tiles = fewest_pages(outline_on_paper(sheet), pages, to_try)
    lying = replace(sheet, turn_rad=sheet.turn_rad + turn)
    lying = replace(lying, joins=join_courses(tiles, outline_on_paper(lying)))
    plan_page = replace(pages[0], width_mm=paper.width_mm, height_mm=paper.height_mm)
    return tile_pages(lying, tiles, plan_page, paper.name, turn)


def outline_on_paper(sheet: PanelSheet) -> FloatArray:
    """Return the outermost line drawn, in the maker's view."""
    cut = reason_not_to_cut(sheet) is None and sheet.pattern.trim is not None
    line = sheet.pattern.trim if cut and sheet.pattern.trim is not None else sheet.pattern.net
    return sheet.lay.on_paper(line)


def tile_pages(
    sheet: PanelSheet, tiles: Tiling, plan_page: TilePage, paper_name: str, turn_rad: float
) -> list[Page]:
    """Return the key plan and the tiles of a tiling, the sheet lying as it is tiled."""
    drawing = _complete_words(pattern_drawing(sheet), tiles)
    joins = joins_drawing(drawing, tiles)
    page, by = tiles.page, tiles.page.correction
    shown = [tiles.shown(*at) for at in tiles.used]
    said = f"{paper_name}. {_turn_words(turn_rad)}"
    pages = _front_pages(sheet, drawing, tiles, plan_page, said)
    front, outline = len(pages), outline_on_paper(sheet)
    pieces = zip(
        tiles.used, shown, parts_within(drawing, shown), parts_within(joins, shown), strict=True
    )
    for index, (at, box, part, marks) in enumerate(pieces):
        pattern = _own_words(part, tiles, at)
        words = TileWords(
            f"TILE {tiles.name(*at)}",
            f"sheet {front + index + 1} of {front + len(tiles.used)}",
            by,
            tuple(patch_sentences_within(sheet, sheet.lay.on_paper, box)),
        )
        width = page.width_mm - FILING_MM - MARGIN_MM
        block = tile_block(sheet, words, small_plan(outline, tiles, at), width, page.block_mm)
        shift = (page.window[0] - box[0] * by.x, page.window[1] - box[1] * by.y)
        pages.append(
            Page(
                page.width_mm,
                page.height_mm,
                (
                    Placed(scaled(pattern, by.x, by.y), *shift, page.window),
                    Placed(scaled(marks, by.x, by.y), *shift, page.window),
                    Placed(frame(page.width_mm, page.height_mm)),
                    Placed(margin_strip(page)),
                    Placed(block, FILING_MM, MARGIN_MM),
                ),
            )
        )
    return pages


def _complete_words(drawing: Drawing, tiles: Tiling) -> Drawing:
    """Return a pattern without words that would be cut off where the tiles end.

    They lie below the outline, and are told on the tiles' titles too.
    """
    area = shapely.union_all([shapely.box(*tiles.shown(*at)) for at in tiles.used])
    shapely.prepare(area)
    kept = [text for text in drawing.texts if shapely.contains(area, shapely.box(*text.box))]
    return replace(drawing, texts=tuple(kept))


def _own_words(part: Drawing, tiles: Tiling, at: tuple[int, int]) -> Drawing:
    """Return what a tile shows, without words that stand whole on a tile beside it."""
    cell = shapely.box(*tiles.cell(*at))

    def is_own(text: Text) -> bool:
        ground = shapely.Polygon(text.outline)
        return bool(shapely.intersection(ground, cell).area > _OWN_SHARE * ground.area)

    return replace(part, texts=tuple(text for text in part.texts if is_own(text)))


def _turn_words(turn_rad: float) -> str:
    """Return how far the pattern is turned on the paper."""
    if turn_rad == 0.0:
        return ""
    return f"Turned by {angle_text(turn_rad, 0)} to save paper."


def _front_pages(
    sheet: PanelSheet, drawing: Drawing, tiles: Tiling, page: TilePage, said: str
) -> list[Page]:
    """Return the key plan and the whole title, on one page where both have room."""
    by = page.correction
    room = page.width_mm - FILING_MM - MARGIN_MM - 2.0 * _INSET_MM
    legend = line_legend(sheet, with_cut=reason_not_to_cut(sheet) is None)
    block = title(sheet, room / by.x, legend)
    told = scaled(block.drawing, by.x, by.y)
    title_high = block.height_mm * by.y
    high = page.height_mm - 2.0 * (MARGIN_MM + _INSET_MM)
    count = len(tiles.used) + 1
    together_fit = high - title_high - _HEADING_HIGH_MM >= _LEAST_PLAN_MM
    heading = _heading(said, 1, count + (not together_fit), by, room)
    brief = brief_title(sheet, room / by.x)
    below_high = title_high if together_fit else brief.height_mm * by.y
    plan_high = high - heading.height_mm - below_high
    full = np.array([tiles.columns, tiles.rows]) * tiles.cell_mm
    scale = min((room - _RIM_MM) / full[0], (plan_high - _RIM_MM) / full[1], _LARGEST_SCALE)
    plan = _large_plan(drawing, tiles, float(scale))
    edge, top = FILING_MM + _INSET_MM, page.height_mm - MARGIN_MM - _INSET_MM
    middle = edge + (room - full[0] * scale) / 2.0
    down = top - heading.height_mm - _RIM_MM / 2.0 - full[1] * scale
    around = (Placed(frame(page.width_mm, page.height_mm)), Placed(margin_strip(page)))
    head, placed = Placed(heading.drawing, edge, top), Placed(plan, float(middle), float(down))
    below = Placed(told, edge, title_high + MARGIN_MM + _INSET_MM)
    size = (page.width_mm, page.height_mm)
    if together_fit:
        return [Page(*size, (head, placed, below, *around))]
    words = f"TITLE, sheet 2 of {count + 1}. {correction_words(by)}"
    second = paragraph([words], room, _HEADING_MM, bold=True)
    facts = Placed(told, edge, top - second.height_mm)
    who = Placed(scaled(brief.drawing, by.x, by.y), edge, below_high + MARGIN_MM + _INSET_MM)
    return [
        Page(*size, (head, placed, who, *around)),
        Page(*size, (Placed(second.drawing, edge, top), facts, *around)),
    ]


def _heading(said: str, number: int, count: int, by: Correction, width_mm: float) -> Cell:
    """Return what the key plan is, and how the tiles are printed and joined."""
    first = paragraph(
        [f"KEY PLAN, sheet {number} of {count}: not full size. {said}"],
        width_mm,
        _HEADING_MM,
        bold=True,
    )
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
    names = _plan_names(tiles, scale)
    cells = [_scaled_cell(tiles, at, scale) for at in tiles.used]
    frames = [rectangle(*cell) for cell in cells]
    return together([_plan_outline(drawing, tiles, scale), Drawing((*frames,), (*names,))])


def _scaled_cell(tiles: Tiling, at: tuple[int, int], scale: float) -> Box:
    left, bottom, right, top = (np.array(tiles.cell(*at)) - [*tiles.origin] * 2) * scale
    return float(left), float(bottom), float(right), float(top)


def _plan_names(tiles: Tiling, scale: float) -> list[Text]:
    cells = [(tiles.name(*at), _scaled_cell(tiles, at, scale)) for at in tiles.used]
    width, height = tiles.cell_mm[0] * scale, tiles.cell_mm[1] * scale
    for size in (_NAME_MM, _SMALL_NAME_MM):
        widest = max(text_width(name, size, bold=True) for name, _ in cells)
        if widest + 1.5 < width and 1.6 * size < height:
            return [
                Text(
                    name,
                    ((box[0] + box[2]) / 2.0, (box[1] + box[3] - size) / 2.0),
                    size,
                    "middle",
                    bold=True,
                    masked=True,
                )
                for name, box in cells
            ]
    return _rim_names(tiles, width, height)


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
    return Drawing(
        tuple(
            Line(drawn_as[line.meaning], (line.points - tiles.origin) * scale, line.closed)
            for line in drawing.lines
            if line.meaning in drawn_as
        )
    )
