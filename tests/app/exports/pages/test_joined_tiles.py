"""Tiles printed, found by their crosshairs in the pixels, joined, held against the one piece."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy.ndimage import binary_dilation, shift

from app.exports import PanelSheet
from app.exports.drawing import Drawing
from app.exports.files import pdf_bytes
from app.exports.output import A4, Correction, Paper
from app.exports.pages import one_piece, pattern_drawing
from app.exports.pages.joins import join_courses, joins_drawing
from app.exports.pages.panel_on_paper import PanelOnPaper
from app.exports.pages.tile_block import block_height
from app.exports.pages.tiles import tile_pages
from app.exports.pages.tiling import Tiling, fewest_pages, upright_and_turned
from geometry.arrays import BoolArray, FloatArray
from tests.app.exports.pages.printed import PER_MM, crosshairs, picture
from tests.app.exports.reading_back import reader
from tests.app.exports.sample_sheets import panel_sheet

NOT_WHITE, DARK = 0.85, 0.35


def laid(name: str, paper: Paper, turn_deg: float) -> tuple[PanelSheet, Tiling]:
    """Return a panel at a turn and its tiling."""
    sheet = panel_sheet(name)
    pages = upright_and_turned(
        paper, lambda w: block_height(PanelOnPaper(sheet), w, Correction()), Correction()
    )
    turn, tiles = fewest_pages(PanelOnPaper(sheet).outline(), pages, [float(np.deg2rad(turn_deg))])
    return replace(sheet, turn_rad=turn, joins=join_courses(tiles)), tiles


def joined(content: bytes, tiles: Tiling) -> tuple[FloatArray, FloatArray]:
    """Return the cells of all tiles on one picture, and where its first crosshair is (x, y).

    Nothing is used but the pixels: each tile is laid with its crosshairs on those of the tile
    on its left, or above.
    """
    found = {}
    for index, at in enumerate(tiles.used, len(reader(content).pages) - len(tiles.used)):
        page = picture(content, index)
        found[at] = (page, crosshairs(page))
    first = tiles.used[0]
    places = {first: np.zeros(2)}
    for column, row in tiles.used[1:]:
        for beside, own, other in (
            ((column - 1, row), (0, 2), (1, 3)),
            ((column, row + 1), (0, 1), (2, 3)),
            ((column + 1, row), (1, 3), (0, 2)),
        ):
            if beside in places:
                step = found[beside][1][list(other)] - found[column, row][1][list(own)]
                assert np.ptp(step, axis=0).max() < 0.6, "crosshairs of two tiles do not fit"
                places[column, row] = places[beside] + step.mean(axis=0)
                break
    low = np.min([place + found[at][1][0] for at, place in places.items()], axis=0) - 4.0
    high = np.max([place + found[at][1][3] for at, place in places.items()], axis=0) + 4.0
    whole = np.ones(np.ceil(high - low).astype(int)[::-1])
    for at, place in places.items():
        page, cross = found[at]
        x0, y0 = np.floor(cross.min(axis=0)).astype(int)
        x1, y1 = np.ceil(cross.max(axis=0)).astype(int)
        x, y = np.floor(place - low).astype(int) + (x0, y0)
        page = moved(page, *((place - low) % 1.0))
        part = whole[y : y + y1 - y0, x : x + x1 - x0]
        np.minimum(part, page[y0:y1, x0:x1][: part.shape[0], : part.shape[1]], out=part)
    return whole, places[first] + found[first][1][0] - low


def moved(page: FloatArray, right: float, down: float) -> FloatArray:
    """Return a picture moved by a part of a pixel."""
    return np.asarray(shift(page, (down, right), order=1, cval=1.0))


def near(mask: BoolArray) -> BoolArray:
    """Return the pixels of a mask and those next to them."""
    return np.asarray(binary_dilation(mask, np.ones((3, 3), bool)))


def covered(joins: Drawing, places: FloatArray) -> BoolArray:
    """Return which places stand under joins, marks and their words, or a pixel or two off."""
    pieces = [shapely.LineString(line.points).buffer(0.45) for line in joins.lines]
    pieces += [shapely.LinearRing(line.points).buffer(0.45) for line in joins.lines if line.closed]
    pieces += [shapely.box(*text.box).buffer(0.9) for text in joins.texts]
    area = shapely.union_all(pieces)
    shapely.prepare(area)
    return np.asarray(shapely.contains_xy(area, *places.T))


@pytest.mark.parametrize(
    ("name", "turn_deg"),
    [
        ("top strip", 35.0),
        pytest.param("left side", 0.0, marks=pytest.mark.slow),
        pytest.param("right side", 80.0, marks=pytest.mark.slow),
    ],
)
def test_tiles_joined_by_their_crosshairs_are_the_one_piece_print_to_a_pixel(
    name: str, turn_deg: float
) -> None:
    """At 150 dots per inch a pixel is 0.17 mm: each dark one has ink next to it on the other."""
    sheet, tiles = laid(name, A4, turn_deg)
    assert len(tiles.used) >= 3
    whole, at = joined(
        pdf_bytes(tile_pages(PanelOnPaper(sheet), tiles, tiles.page, "A4", 0.0), "x"), tiles
    )
    page = one_piece(sheet)
    alone = picture(pdf_bytes([page], "x"), 0)
    left, _, _, top = tiles.cell(*tiles.used[0])
    pattern = page.contents[1]
    first = np.array([pattern.x + left, page.height_mm - pattern.y - top]) * PER_MM
    step = np.ceil(first - at).astype(int)
    alone = moved(alone, *(step - (first - at)))
    outline = PanelOnPaper(sheet).outline()
    low = (outline.min(axis=0) - [left, top]) * PER_MM * [1.0, -1.0] + at
    high = (outline.max(axis=0) - [left, top]) * PER_MM * [1.0, -1.0] + at
    x0, x1 = int(low[0]) - 1, int(high[0]) + 2
    y0, y1 = int(high[1]) - 1, int(low[1]) + 2
    tiled = whole[max(y0, 0) : y1, max(x0, 0) : x1]
    x, y = np.array([max(x0, 0), max(y0, 0)]) + step
    one = alone[y : y + tiled.shape[0], x : x + tiled.shape[1]]
    offset = at - [max(x0, 0), max(y0, 0)]
    joins = joins_drawing(pattern_drawing(sheet), tiles)
    for printed, other in ((one, tiled), (tiled, one)):
        dark = printed < DARK
        assert dark.sum() > 10000
        y_off, x_off = np.nonzero(dark & ~near(other < NOT_WHITE))
        places = np.stack([x_off - offset[0], offset[1] - y_off], axis=1) / PER_MM + [left, top]
        assert covered(joins, places).all()
