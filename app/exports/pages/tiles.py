"""A flat piece full size on small papers: a key plan, then tiles that are joined by their marks."""

from dataclasses import replace

import numpy as np
import shapely

from app.exports.drawing import (
    Drawing,
    Page,
    Placed,
    Text,
    parts_within,
    scaled,
)
from app.exports.output import Output, Paper
from app.exports.pages.full_size import FullSize
from app.exports.pages.joins import join_courses, joins_drawing
from app.exports.pages.key_plan import front_pages
from app.exports.pages.laid_on_paper import Flat, on_paper
from app.exports.pages.tile_block import (
    TileWords,
    block_height,
    margin_strip,
    small_plan,
    tile_block,
)
from app.exports.pages.tiling import (
    FILING_MM,
    MARGIN_MM,
    TilePage,
    Tiling,
    fewest_pages,
    frame,
    tiling,
    turns,
    upright_and_turned,
)
from app.units import angle_text

_OWN_SHARE = 0.15


def tiled(sheet: Flat, paper: Paper, output: Output | None = None) -> list[Page]:
    """Return the key plan and then the tiles that carry any of a flat piece, full size.

    The piece lies as it needs the fewest tiles, straight where that does not cost one; where
    it is turned, TOP does not hang down.

    Parameters
    ----------
    sheet : PanelSheet, Plate or FullSize
    paper : Paper
    output : Output, optional
        Whether patterns are turned, and what the printer's lengths are corrected by.
    """
    chosen, full = output or Output(), on_paper(sheet)

    def block(width_mm: float) -> float:
        return block_height(full, width_mm, chosen.correction)

    to_try = turns() if chosen.turn else (0.0,)
    pages = upright_and_turned(paper, block, chosen.correction)
    turn, tiles = fewest_pages(full.outline(), pages, to_try)
    lying = full.turned(turn)
    topped = lying if turn == 0.0 else lying.topped()
    if topped is not lying:
        lying, tiles = topped, tiling(topped.outline(), tiles.page)
    lying = lying.joined(join_courses(tiles, lying.outline()))
    plan_page = replace(pages[0], width_mm=paper.width_mm, height_mm=paper.height_mm)
    return tile_pages(lying, tiles, plan_page, paper.name, lying.turn_rad - full.turn_rad)


def tile_pages(
    full: FullSize, tiles: Tiling, plan_page: TilePage, paper_name: str, turn_rad: float
) -> list[Page]:
    """Return the key plan and the tiles of a tiling, the piece lying as it is tiled."""
    drawing = _complete_words(full.drawing(), tiles)
    joins = joins_drawing(drawing, tiles)
    page, by = tiles.page, tiles.page.correction
    shown = [tiles.shown(*at) for at in tiles.used]
    said = f"{paper_name}. {_turn_words(turn_rad)}"
    pages = front_pages(full, drawing, tiles, plan_page, said)
    front, outline = len(pages), full.outline()
    pieces = zip(
        tiles.used, shown, parts_within(drawing, shown), parts_within(joins, shown), strict=True
    )
    for index, (at, box, part, marks) in enumerate(pieces):
        pattern = _own_words(part, tiles, at)
        words = TileWords(
            f"TILE {tiles.name(*at)}",
            f"sheet {front + index + 1} of {front + len(tiles.used)}",
            by,
            tuple(full.hatches_within(box)),
        )
        width = page.width_mm - FILING_MM - MARGIN_MM
        block = tile_block(full, words, small_plan(outline, tiles, at), width, page.block_mm)
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
                tiles.name(*at),
            )
        )
    return pages


def _complete_words(drawing: Drawing, tiles: Tiling) -> Drawing:
    """Return a pattern without words that would be cut off where the tiles end.

    They lie below the outline, and are told on the tiles' titles too.
    """
    area = shapely.union_all([shapely.box(*tiles.shown(*at)) for at in tiles.used])
    shapely.prepare(area)
    boxes = shapely.box(*np.array([text.box for text in drawing.texts]).reshape(-1, 4).T)
    kept = np.flatnonzero(shapely.contains(area, boxes)).tolist()
    return replace(drawing, texts=tuple(drawing.texts[row] for row in kept))


def _own_words(part: Drawing, tiles: Tiling, at: tuple[int, int]) -> Drawing:
    """Return what a tile shows, without words that stand whole on a tile beside it."""
    left, bottom, right, top = tiles.cell(*at)
    cell = shapely.box(left, bottom, right, top)

    def is_own(text: Text) -> bool:
        if left < text.place[0] < right and bottom < text.place[1] < top:
            return True
        ground = shapely.Polygon(text.outline)
        return bool(shapely.intersection(ground, cell).area > _OWN_SHARE * ground.area)

    return replace(part, texts=tuple(text for text in part.texts if is_own(text)))


def _turn_words(turn_rad: float) -> str:
    """Return how far the pattern is turned on the paper."""
    if turn_rad == 0.0:
        return ""
    left = float(np.remainder(turn_rad + np.pi, 2.0 * np.pi) - np.pi)
    side = "left" if left > 0.0 else "right"
    return f"Turned by {angle_text(abs(left), 0)} to the {side} to save paper."
