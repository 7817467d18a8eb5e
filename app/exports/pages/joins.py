"""What joins tiles: dotted joins, crosshairs on every corner, numbered marks across each join.

All are laid out once, on the pattern; each tile shows the part that falls on it, so that what
two tiles share is the same on both.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from app.exports.drawing import (
    Drawing,
    FreeSpace,
    Line,
    Meaning,
    Text,
    parts_within,
    rectangle,
    text_width,
)
from app.exports.pages.tiling import OVERLAP_MM, Box, Tiling
from geometry.arrays import FloatArray

CROSS_MM = OVERLAP_MM / 2.0
RING_MM = 2.5
_MARK_REACH_MM = 9.0
_MARK_APART_MM = 0.8
_LABEL_MM = 2.5
_NAME_MM = (6.0, 4.0, 3.0)
_SHORT_MM = 60.0
_PIECE_POINTS = 8
_ALONG = (0.25, 0.75)
_HALF = OVERLAP_MM / 2.0


@dataclass(frozen=True)
class _Join:
    """Where two cells meet: from `low` to `high` along x or y, at `across` on the other axis."""

    before: tuple[int, int]
    after: tuple[int, int]
    across: float
    low: float
    high: float
    upright: bool

    def place(self, across: float, along: float) -> FloatArray:
        """Return the point so far past the join and at a place along it."""
        x, y = self.across + across, along
        return np.array([x, y] if self.upright else [y, x])

    def within(self, shape: shapely.Geometry) -> "_Join":
        """Return the part that runs across the pattern, or all of it where that is short."""
        line = shapely.LineString([self.place(0.0, self.low), self.place(0.0, self.high)])
        crossed = shapely.intersection(shape, line)
        if shapely.is_empty(crossed):
            return self
        along = shapely.get_coordinates(crossed)[:, 1 if self.upright else 0]
        low, high = float(along.min()), float(along.max())
        return self if high - low < _SHORT_MM else replace(self, low=low, high=high)


class _Room:
    """What words and marks of the joins must keep off: the pattern's lines, and what is taken."""

    def __init__(self, drawing: Drawing, taken: Sequence[Box]) -> None:
        self._tree = shapely.STRtree(_pieces(_barriers(drawing)))
        self.taken = np.array(taken, np.float64).reshape(-1, 4)

    def take_if_free(self, boxes: Sequence[Box]) -> bool:
        """Take boxes if all are free, and return whether they were."""
        taken = self.taken
        for left, bottom, right, top in boxes:
            clash = (taken[:, 0] < right) & (taken[:, 2] > left)
            if (clash & (taken[:, 1] < top) & (taken[:, 3] > bottom)).any():
                return False
        if len(self._tree.query(shapely.box(*np.array(boxes).T), "intersects")[0]):
            return False
        self.take(boxes)
        return True

    def take(self, boxes: Sequence[Box]) -> None:
        """Take boxes without asking whether they are free."""
        self.taken = np.concatenate([self.taken, np.array(boxes, np.float64).reshape(-1, 4)])


def _barriers(drawing: Drawing) -> list[Line]:
    """Return the lines that words of the joins keep off."""
    free = {Meaning.GRID, Meaning.STATION, Meaning.MIDDLE, Meaning.NO_DATA, Meaning.COPIED}
    return [line for line in drawing.lines if line.meaning not in free and len(line.points) > 1]


def _pieces(lines: Sequence[Line]) -> list[shapely.LineString]:
    """Return lines in short pieces, so that a box is held against those near it alone."""
    return [
        shapely.LineString(course[start : start + _PIECE_POINTS + 1])
        for course in (line.course for line in lines)
        for start in range(0, len(course) - 1, _PIECE_POINTS)
    ]


def _pattern_area(drawing: Drawing) -> shapely.Geometry:
    """Return the area within the outermost lines of a pattern."""
    outlines = [
        shapely.make_valid(shapely.Polygon(line.points))
        for line in drawing.lines
        if line.meaning in {Meaning.NET, Meaning.CUT} and line.closed and len(line.points) > 2
    ]
    return shapely.union_all(outlines)


def join_courses(tiles: Tiling, outline: FloatArray | None = None) -> tuple[FloatArray, ...]:
    """Return what words of the pattern keep off: joins, a square at each crosshair, their numbers.

    Parameters
    ----------
    tiles : Tiling
    outline : (k, 2) float, mm, optional
        The outermost line of the pattern, on paper; without it no room is kept for the numbers.
    """
    courses = [
        np.stack([join.place(0.0, join.low), join.place(0.0, join.high)]) for join in _joins(tiles)
    ]
    square = CROSS_MM * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]])
    numbers = [] if outline is None else _number_places(tiles, outline)
    return (*courses, *numbers, *(np.array(corner) + square for corner in _corners(tiles)))


def _number_places(tiles: Tiling, outline: FloatArray) -> list[FloatArray]:
    """Return the outlines of where the numbers of the joins' marks stand if nothing is there."""
    shape = shapely.make_valid(shapely.Polygon(outline))
    size = np.array([text_width("88 to tile AB88", _LABEL_MM, bold=True), 1.5 * _LABEL_MM]) / 2.0
    out = _HALF + 1.5 + float(size[0])
    outlines = []
    for join in _joins(tiles):
        crossing = join.within(shape)
        half = size if join.upright else size[::-1]
        for part, way in [(part, way) for part in _ALONG for way in (-1.0, 1.0)]:
            along = crossing.low + part * (crossing.high - crossing.low) + _lift(join)
            middle = join.place(way * out, along)
            box = rectangle(*(middle - half), *(middle + half))
            outlines.append(np.concatenate([box.points, box.points[:1]]))
    return outlines


def joins_drawing(drawing: Drawing, tiles: Tiling) -> Drawing:
    """Return dotted joins, crosshairs, numbered marks and names of tiles, on the pattern."""
    words_at = [text.box for text in drawing.texts]
    room = _Room(drawing, words_at)
    shape = _pattern_area(drawing)
    corners = np.array(_corners(tiles))
    room.take([*np.concatenate([corners - CROSS_MM, corners + CROSS_MM], axis=1)])
    lines: list[Line] = []
    texts: list[Text] = []
    number = 0
    for join in _joins(tiles):
        across = join.within(shape)
        for part in _ALONG:
            number += 1
            wanted = across.low + part * (across.high - across.low)
            mark, words = _mark(room, join, wanted, number, tiles)
            lines += mark
            texts += words
    texts += _tile_names(drawing, tiles, room.taken)
    return Drawing(
        (
            *_dotted(tiles, [*words_at, *(text.box for text in texts)]),
            *_crosshairs(tiles),
            *lines,
        ),
        tuple(texts),
    )


def _corners(tiles: Tiling) -> list[tuple[float, float]]:
    """Return every corner of a cell that is used, once."""
    places = {
        (column + right, row + up)
        for column, row in tiles.used
        for right in (0, 1)
        for up in (0, 1)
    }
    return [
        (tiles.origin[0] + x * tiles.cell_mm[0], tiles.origin[1] + y * tiles.cell_mm[1])
        for x, y in sorted(places)
    ]


def _joins(tiles: Tiling) -> Iterator[_Join]:
    """Return where used cells meet, in the order of their names."""
    used = set(tiles.used)
    for column, row in tiles.used:
        left, bottom, right, top = tiles.cell(column, row)
        if (column + 1, row) in used:
            yield _Join((column, row), (column + 1, row), right, bottom, top, upright=True)
        if (column, row - 1) in used:
            yield _Join((column, row - 1), (column, row), bottom, left, right, upright=False)


def _crosshairs(tiles: Tiling) -> list[Line]:
    turn = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    ring = RING_MM * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    lines = []
    for place in np.array(_corners(tiles)):
        for arm in np.eye(2) * CROSS_MM:
            lines.append(Line(Meaning.FRAME, np.stack([place - arm, place + arm])))
        lines.append(Line(Meaning.FRAME, place + ring, closed=True))
    return lines


def _dotted(tiles: Tiling, words_at: Sequence[Box]) -> list[Line]:
    """Return the edges of the cells, run out to the edge of the tiles, not under words."""
    ways = set()
    for cell in tiles.used:
        left, bottom, right, top = (round(value, 9) for value in tiles.cell(*cell))
        ways |= {(x, bottom - _HALF, x, top + _HALF) for x in (left, right)}
        ways |= {(left - _HALF, y, right + _HALF, y) for y in (bottom, top)}
    merged = shapely.line_merge(
        shapely.union_all([shapely.LineString([way[:2], way[2:]]) for way in sorted(ways)])
    )
    boxes = shapely.box(*np.array(words_at).reshape(-1, 4).T)
    boxes = boxes[shapely.intersects(merged, boxes)]
    rings = [shapely.Point(place).buffer(CROSS_MM) for place in _corners(tiles)]
    kept = shapely.difference(merged, shapely.union_all([*boxes, *rings]))
    pieces = shapely.get_parts(kept)
    return [Line(Meaning.JOIN, np.array(piece.coords)) for piece in pieces if piece.length > 1.0]


def _mark(
    room: _Room, join: _Join, wanted: float, number: int, tiles: Tiling
) -> tuple[list[Line], list[Text]]:
    """Return a double stroke across a join, and beside it, on both tiles, its number.

    It slides along the join from where it is wanted until there is room for the numbers.
    """
    names = (tiles.name(*join.after), tiles.name(*join.before))
    words = [f"{number} to tile {name}" for name in names]
    length = max(text_width(each, _LABEL_MM, bold=True) for each in words) + 1.0
    out = _HALF + 1.5 + length / 2.0
    along = _free_along(room, join, wanted, (length, 1.5 * _LABEL_MM), out)
    strokes = [
        np.stack(
            [join.place(-_MARK_REACH_MM, along + side), join.place(_MARK_REACH_MM, along + side)]
        )
        for side in (-_MARK_APART_MM / 2.0, _MARK_APART_MM / 2.0)
    ]
    lines = [Line(Meaning.FRAME, stroke) for stroke in strokes]
    texts = []
    for way, told in zip((-1.0, 1.0), words, strict=True):
        x, y = join.place(way * out, along + _lift(join))
        place = (x, y - 0.4 * _LABEL_MM) if join.upright else (x + 0.4 * _LABEL_MM, y)
        angle = 0.0 if join.upright else 90.0
        texts.append(Text(told, place, _LABEL_MM, "middle", angle, bold=True, masked=True))
    return lines, texts


def _lift(join: _Join) -> float:
    """Return how far from a mark its number stands: above, or to the left of, its strokes."""
    lift = _MARK_APART_MM / 2.0 + 0.5 + 0.75 * _LABEL_MM
    return lift if join.upright else -lift


def _free_along(
    room: _Room, join: _Join, wanted: float, size: tuple[float, float], out: float
) -> float:
    """Return where along a join both numbers of a mark find room, else where they are wanted."""
    reach = max(wanted - join.low, join.high - wanted)
    turned = size if join.upright else size[::-1]
    steps = np.arange(-reach, reach + 1e-9, 2.0)
    inside = (wanted + steps > join.low + CROSS_MM) & (wanted + steps < join.high - CROSS_MM)
    for step in sorted(steps[inside].tolist(), key=abs):
        boxes = []
        for way in (-1.0, 1.0):
            middle = join.place(way * out, wanted + step + _lift(join))
            half = np.array(turned) / 2.0
            boxes.append((*(middle - half), *(middle + half)))
        strokes = (
            *join.place(-_MARK_REACH_MM, wanted + step - _MARK_APART_MM),
            *join.place(_MARK_REACH_MM, wanted + step + _MARK_APART_MM),
        )
        if room.take_if_free([*boxes, _ordered(strokes)]):
            return float(wanted + step)
    return wanted


def _ordered(corners: tuple[float, ...]) -> Box:
    x0, y0, x1, y1 = corners
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def _tile_names(drawing: Drawing, tiles: Tiling, taken: FloatArray) -> list[Text]:
    """Return each tile's name large, near a corner of its cell or as near as there is room."""
    cells = [tiles.cell(*cell) for cell in tiles.used]
    texts = []
    for at, cell, part in zip(tiles.used, cells, parts_within(drawing, cells), strict=True):
        left, bottom, right, top = cell
        inner = rectangle(left + _HALF, bottom + _HALF, right - _HALF, top - _HALF)
        space = FreeSpace(inner.points, (line.course for line in _barriers(part)))
        for box in taken[((taken[:, :2] < cell[2:]) & (taken[:, 2:] > cell[:2])).all(axis=1)]:
            space.keep_clear(tuple(box.tolist()))
        texts += _tile_name(space, f"TILE {tiles.name(*at)}", cell)
    return texts


def _tile_name(space: FreeSpace, name: str, cell: Box) -> list[Text]:
    """Return the tile's name large, near a corner of its cell or as near as there is room."""
    left, bottom, right, top = cell
    corners = [(x, y) for y in (top - 12.0, bottom + 12.0) for x in (left + 14.0, right - 14.0)]
    reach = max(right - left, top - bottom)
    for height, far in ((_NAME_MM[0], 4.0), *((size, reach) for size in _NAME_MM)):
        size = (text_width(name, height, bold=True) + 2.0, 1.6 * height)
        for corner in corners:
            found = space.place(size, np.array(corner), reach_mm=far, step_mm=3.0)
            if found is not None:
                place = (found[0], found[1] - height / 2.0)
                return [Text(name, place, height, "middle", bold=True, masked=True)]
    return []
