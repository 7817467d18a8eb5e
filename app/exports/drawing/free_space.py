"""Room for text: boxes inside an outline that touch no line and no other box."""

from collections.abc import Iterable, Iterator
from copy import copy
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.arrays import BoolArray, FloatArray

Box = tuple[float, float, float, float]

_FIRST_TRIED = 24
_PIECE_POINTS = 8
_MOST_STEPS = 250


class _Account:
    """What is taken: upright boxes (k, 4)."""

    def __init__(self) -> None:
        self.boxes = np.empty((0, 4))


class FreeSpace:
    """Keeps account of what is taken.

    Parameters
    ----------
    outline : (k, 2) float, mm
        Text stays within.
    lines : iterable of (j, 2) float, mm
        Lines that no text may touch.
    better_clear_of : iterable of (j, 2) float, mm
        Lines that text keeps off where it can.
    """

    def __init__(
        self,
        outline: FloatArray,
        lines: Iterable[FloatArray] = (),
        better_clear_of: Iterable[FloatArray] = (),
    ) -> None:
        self._inside = shapely.make_valid(shapely.Polygon(outline)).buffer(-1.0)
        shapely.prepare(self._inside)
        self._tree = _tree(lines)
        self._better = _tree(better_clear_of)
        self._account = _Account()

    def also_clear_of(self, lines: Iterable[FloatArray]) -> "FreeSpace":
        """Return the same room, one account of what is taken, with more lines to keep off."""
        room = copy(self)
        room._tree = shapely.STRtree([*self._tree.geometries, *_tree(lines).geometries])
        return room

    def clear_only_of(self, lines: Iterable[FloatArray]) -> "FreeSpace":
        """Return the same room, one account of what is taken, with other lines to keep off."""
        room = copy(self)
        room._tree = _tree(lines)
        return room

    def is_crossed_by(self, start: FloatArray, end: FloatArray) -> bool:
        """Return whether a straight line crosses any box that is taken."""
        low, high = np.minimum(start, end), np.maximum(start, end)
        near = self._near((*low.tolist(), *high.tolist()))
        if not len(near):
            return False
        course = shapely.LineString([start, end])
        return bool(shapely.intersects(course, shapely.box(*near.T)).any())

    def keep_clear(self, box: Box) -> None:
        """Take a box without asking whether it is free."""
        self._account.boxes = np.concatenate([self._account.boxes, [box]])

    def place(
        self,
        size: tuple[float, float],
        near: FloatArray,
        *,
        reach_mm: float,
        step_mm: float = 1.5,
    ) -> tuple[float, float] | None:
        """Return the free middle nearest to a point for a box of a size, and take the box.

        One clear of lines better kept off goes before any nearer one.

        Parameters
        ----------
        size : (width, height), mm
        near : (2,) float, mm
        reach_mm : float
            How far the middle may lie from `near`.
        step_mm : float
            How finely to look; more coarsely where the reach is very long.
        """
        half = np.array(size) / 2.0
        middles = near + _offsets(reach_mm, max(step_mm, reach_mm / _MOST_STEPS))
        low, high = np.array(self._inside.bounds).reshape(2, 2)
        middles = middles[((middles - half > low) & (middles + half < high)).all(axis=1)]
        second: FloatArray | None = None
        for some in _in_growing_parts(middles):
            low, high = some - half, some + half
            rows = np.flatnonzero(self._free(low, high))
            if not len(rows):
                continue
            off_line = self._off_better(low[rows], high[rows])
            if off_line.any():
                return self._taken(some[rows[np.argmax(off_line)]], half)
            if second is None:
                second = some[rows[0]]
        return None if second is None else self._taken(second, half)

    def _taken(self, middle: FloatArray, half: FloatArray) -> tuple[float, float]:
        """Take the box round a middle and return the middle."""
        self.keep_clear((*(middle - half), *(middle + half)))
        return float(middle[0]), float(middle[1])

    def take_first(
        self, middles: FloatArray, sizes: FloatArray, *, off_all: bool = False
    ) -> int | None:
        """Take the first free box of several and return which; None where none is free.

        Parameters
        ----------
        middles : (k, 2) float, mm
            Best first.
        sizes : (k, 2) float, mm
            Width and height of each.
        off_all : bool
            Whether a line better kept off counts as not free.
        """
        low, high = middles - sizes / 2.0, middles + sizes / 2.0
        for some in _in_growing_parts(np.arange(len(middles))):
            rows = some[self._free(low[some], high[some])]
            if off_all and len(rows):
                rows = rows[self._off_better(low[rows], high[rows])]
            if len(rows):
                self._taken(middles[rows[0]], sizes[rows[0]] / 2.0)
                return int(rows[0])
        return None

    def _near(self, box: Box) -> FloatArray:
        """Return the taken boxes that overlap a box."""
        low, high = np.array(box[:2]), np.array(box[2:])
        clash = (self._account.boxes[:, :2] < high) & (self._account.boxes[:, 2:] > low)
        return np.asarray(self._account.boxes[clash.all(axis=1)])

    def _off_better(self, low: FloatArray, high: FloatArray) -> BoolArray:
        """Return which boxes touch no line that is better kept off."""
        off = np.ones(len(low), np.bool_)
        if len(self._better.geometries):
            off[self._better.query(_boxes(low, high), predicate="intersects")[0]] = False
        return off

    def _free(self, low: FloatArray, high: FloatArray) -> BoolArray:
        all_round = (*low.min(axis=0).tolist(), *high.max(axis=0).tolist())
        taken = self._near(all_round)
        clash = (
            (low[:, None, 0] < taken[:, 2])
            & (high[:, None, 0] > taken[:, 0])
            & (low[:, None, 1] < taken[:, 3])
            & (high[:, None, 1] > taken[:, 1])
        )
        free: BoolArray = np.asarray(~clash.any(axis=1))
        rows = np.flatnonzero(free)
        boxes = _boxes(low[rows], high[rows])
        inside = shapely.contains_properly(self._inside, boxes)
        free[rows[~inside]] = False
        if free.any() and len(self._tree.geometries):
            rows, boxes = rows[inside], boxes[inside]
            hit = self._tree.query(boxes, predicate="intersects")[0]
            free[rows[hit]] = False
        return free


def _boxes(low: FloatArray, high: FloatArray) -> NDArray[np.object_]:
    """Return upright boxes from their low and high corners (k, 2)."""
    return np.asarray(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]), object)


@lru_cache(maxsize=64)
def _offsets(reach_mm: float, step_mm: float) -> FloatArray:
    """Return places to try, from where they are wanted, nearest first."""
    steps = np.arange(-np.ceil(reach_mm / step_mm), np.ceil(reach_mm / step_mm) + 1) * step_mm
    offsets = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    distance = np.linalg.norm(offsets, axis=1)
    order = np.lexsort((offsets[:, 0], offsets[:, 1], np.round(distance, 9)))
    return np.asarray(offsets[order[distance[order] <= reach_mm + 1e-9]])


def _in_growing_parts(places: NDArray[Any]) -> Iterator[NDArray[Any]]:
    """Return places in order, few at first: most words find room near where they are wanted."""
    start, count = 0, _FIRST_TRIED
    while start < len(places):
        yield places[start : start + count]
        start, count = start + count, 3 * count


def _tree(lines: Iterable[FloatArray]) -> shapely.STRtree:
    """Return lines in short pieces, so that a box is held against those near it alone."""
    courses = [line for line in lines if len(line) > 1]
    if not courses:
        return shapely.STRtree([])
    counts = np.array([len(line) for line in courses])
    ends = np.cumsum(counts)
    at = np.arange(ends[-1]) - np.repeat(ends - counts, counts)
    parts_here = (at % _PIECE_POINTS == 0) & (at > 0) & (at < np.repeat(counts - 1, counts))
    rows = np.repeat(np.arange(ends[-1]), 1 + parts_here)  # ends one piece and starts the next
    starts = at[rows] == 0
    starts[1:] |= rows[1:] == rows[:-1]
    pieces = np.cumsum(starts) - 1
    return shapely.STRtree(shapely.linestrings(np.concatenate(courses)[rows], indices=pieces))
