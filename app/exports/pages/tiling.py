"""How a pattern is split over papers: cells of equal size, named in a grid, and the best turn.

ISO 5457 margins: 20 mm on the left for filing, 10 mm on the other sides, a frame of 0.7 mm.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
import shapely

from app.exports.drawing import BLACK, Drawing, Fill
from app.exports.output import Correction, Paper
from geometry.arrays import FloatArray

FILING_MM = 20.0
MARGIN_MM = 10.0
FRAME_MM = 0.7
OVERLAP_MM = 10.0
_STEP_DEG = 5
_TOUCH_MM = 0.5

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class TilePage:
    """A page that tiles are put on.

    Attributes
    ----------
    width_mm, height_mm : float
    block_mm : float
        Height of the title along its foot.
    correction : Correction
        As it counts for this page, across and up it.
    """

    width_mm: float
    height_mm: float
    block_mm: float
    correction: Correction

    @property
    def window(self) -> Box:
        """Left, bottom, right, top of the room for the pattern, mm on the page."""
        return (
            FILING_MM,
            MARGIN_MM + self.block_mm,
            self.width_mm - MARGIN_MM,
            self.height_mm - MARGIN_MM,
        )

    @property
    def shown_mm(self) -> tuple[float, float]:
        """How much of the pattern the window shows, once it is printed true."""
        left, bottom, right, top = self.window
        return (right - left) / self.correction.x, (top - bottom) / self.correction.y


def upright_and_turned(
    paper: Paper, block_mm: Callable[[float], float], correction: Correction
) -> tuple[TilePage, TilePage]:
    """Return a paper as it runs through the printer, and on its side, with its title's height.

    On its side the page's width runs where the paper's length does, and is corrected so.

    Parameters
    ----------
    paper : Paper
    block_mm : callable
        Height of the title at a width.
    correction : Correction
    """
    sides = FILING_MM + MARGIN_MM
    width, height = paper.size
    return (
        TilePage(width, height, block_mm(width - sides), correction),
        TilePage(height, width, block_mm(height - sides), Correction(correction.y, correction.x)),
    )


@dataclass(frozen=True)
class Tiling:
    """A pattern split into cells of equal size over its box; each page shows more all round.

    Attributes
    ----------
    page : TilePage
    cell_mm : (float, float)
        What each page adds; it shows half an overlap more on every side.
    origin : (float, float), mm
        Lower left corner of the cells, on the pattern.
    columns, rows : int
    used : tuple of (column, row)
        Cells that carry any of the pattern, in the order of their names.
    """

    page: TilePage
    cell_mm: tuple[float, float]
    origin: tuple[float, float]
    columns: int
    rows: int
    used: tuple[tuple[int, int], ...]

    def name(self, column: int, row: int) -> str:
        """Return a tile's name: letters from the left, number from the top."""
        return f"{column_letters(column)}{self.rows - row}"

    def cell(self, column: int, row: int) -> Box:
        """Return left, bottom, right, top of a cell on the pattern."""
        left = self.origin[0] + column * self.cell_mm[0]
        bottom = self.origin[1] + row * self.cell_mm[1]
        return left, bottom, left + self.cell_mm[0], bottom + self.cell_mm[1]

    def shown(self, column: int, row: int) -> Box:
        """Return what a tile shows: its cell and half an overlap more all round."""
        left, bottom, right, top = self.cell(column, row)
        half = OVERLAP_MM / 2.0
        return left - half, bottom - half, right + half, top + half


def column_letters(column: int) -> str:
    """Return the letters of a column, counted from 0: A to Z, then AA, AB and on.

    >>> [column_letters(each) for each in (0, 25, 26, 51, 52, 701, 702)]
    ['A', 'Z', 'AA', 'AZ', 'BA', 'ZZ', 'AAA']
    """
    letters = ""
    count = column + 1
    while count:
        count, rest = divmod(count - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def tile_counts(
    extent: tuple[float, float], shown: tuple[float, float], overlap_mm: float = OVERLAP_MM
) -> tuple[int, int]:
    """Return how many columns and rows cover an extent where each page shows so much.

    >>> tile_counts((640.0, 420.0), (190.0, 277.0)), tile_counts((640.0, 420.0), (277.0, 400.0))
    ((4, 2), (3, 2))
    """
    columns, rows = (
        max(1, int(np.ceil(round(length / (size - overlap_mm), 9))))
        for length, size in zip(extent, shown, strict=True)
    )
    return columns, rows


def tiling(outline: FloatArray, page: TilePage) -> Tiling:
    """Return how an outline (k, 2), mm, is split over pages of one size, it in their middle."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    shown = page.shown_mm
    columns, rows = tile_counts((float(high[0] - low[0]), float(high[1] - low[1])), shown)
    cell = np.array(shown) - OVERLAP_MM
    origin = (low + high - cell * [columns, rows]) / 2.0
    shape = _shape(outline)
    column, row = np.meshgrid(np.arange(columns), np.arange(rows)[::-1])
    at = np.stack([column.ravel(), row.ravel()], axis=1)
    corners = origin + at * cell
    boxes = shapely.box(*corners.T, *(corners + cell).T)
    used = tuple((int(c), int(r)) for c, r in at[shapely.intersects(shape, boxes)])
    return Tiling(
        page,
        (float(cell[0]), float(cell[1])),
        (float(origin[0]), float(origin[1])),
        columns,
        rows,
        used,
    )


def _shape(outline: FloatArray) -> shapely.Geometry:
    """Return the area of an outline with a little more round it, also where it has no area."""
    line = shapely.LineString(np.concatenate([outline, outline[:1]])).buffer(_TOUCH_MM)
    area = shapely.make_valid(shapely.Polygon(outline)) if len(outline) > 2 else line
    shape = shapely.union(area, line)
    shapely.prepare(shape)
    return shape


def turns(*, straight_only: bool = False) -> tuple[float, ...]:
    """Return the turns to try, radians: as it lies and upright first, then nearest to those.

    >>> [round(float(np.rad2deg(turn))) for turn in turns()[:6]]
    [0, 90, 5, 85, 95, 175]
    """
    degrees = [0, 90] if straight_only else range(0, 180, _STEP_DEG)
    order = sorted(degrees, key=lambda each: (abs((each + 45) % 90 - 45), each))
    return tuple(float(np.deg2rad(each)) for each in order)


def turned(outline: FloatArray, turn_rad: float) -> FloatArray:
    """Return an outline turned to the left."""
    cosine, sine = np.cos(turn_rad), np.sin(turn_rad)
    return np.asarray(outline @ np.array([[cosine, sine], [-sine, cosine]]))


def fewest_pages(
    outline: FloatArray, pages: Iterable[TilePage], to_try: Iterable[float]
) -> tuple[float, Tiling]:
    """Return the turn, and the tiling, that needs the fewest pages; on a tie what comes first.

    Parameters
    ----------
    outline : (k, 2) float, mm
        The outermost line of the pattern, not turned.
    pages : iterable of TilePage
    to_try : iterable of float
        Turns, radians to the left.
    """
    best: tuple[float, Tiling] | None = None
    for turn, page in product(to_try, tuple(pages)):
        lying = turned(outline, turn)
        if best is not None and _least_count(lying, page) >= len(best[1].used):
            continue
        tiles = tiling(lying, page)
        if best is None or len(tiles.used) < len(best[1].used):
            best = (turn, tiles)
        if len(best[1].used) == 1:
            break
    if best is None:
        raise ValueError("no turn or no page to try")
    return best


def _least_count(outline: FloatArray, page: TilePage) -> int:
    """Return how many pages an outline reaches at least: one in every column and in every row."""
    across, along = np.ptp(outline, axis=0).tolist()
    return max(tile_counts((across, along), page.shown_mm))


@lru_cache(maxsize=16)
def frame(width_mm: float, height_mm: float) -> Drawing:
    """Return the frame of a page, its middle on the border of the margins."""
    half = FRAME_MM / 2.0
    loops = [
        np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
        for left, bottom, right, top in (
            (
                FILING_MM - out,
                MARGIN_MM - out,
                width_mm - MARGIN_MM + out,
                height_mm - MARGIN_MM + out,
            )
            for out in (half, -half)
        )
    ]
    return Drawing(fills=(Fill(tuple(loops), BLACK),))
