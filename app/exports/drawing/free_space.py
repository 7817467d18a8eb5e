"""Room for text: boxes inside an outline that touch no line and no other box."""

from collections.abc import Iterable
from copy import copy

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray

Box = tuple[float, float, float, float]


class _Account:
    """What is taken: upright boxes (k, 4), and boxes that stand at an angle."""

    def __init__(self) -> None:
        self.boxes = np.empty((0, 4))
        self.turned: list[shapely.Polygon] = []


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
            How finely to look.
        """
        middles = self._middles(near, reach_mm, step_mm)
        half = np.array(size) / 2.0
        low, high = middles - half, middles + half
        free = self._free(low, high)
        if not free.any():
            return None
        rows = np.flatnonzero(free)
        boxes = shapely.box(low[rows, 0], low[rows, 1], high[rows, 0], high[rows, 1])
        on_line = np.unique(self._better.query(boxes, predicate="intersects")[0])
        off_line = np.setdiff1d(np.arange(len(rows)), on_line)
        first = int(rows[off_line[0]]) if len(off_line) else int(rows[0])
        self.keep_clear((*low[first], *high[first]))
        return float(middles[first, 0]), float(middles[first, 1])

    def take_turned(self, corners: FloatArray, *, off_all: bool = False) -> bool:
        """Take a box that stands at an angle, if it is free, and return whether it was.

        Parameters
        ----------
        corners : (4, 2) float, mm
        off_all : bool
            Whether a line better kept off counts as not free.
        """
        box = shapely.Polygon(corners)
        if off_all and len(self._better.query(box, "intersects")):
            return False
        if not self._inside.contains_properly(box) or len(self._tree.query(box, "intersects")):
            return False
        if any(box.intersects(other) for other in self._account.turned):
            return False
        if any(box.intersects(shapely.box(*taken)) for taken in self._near(box.bounds)):
            return False
        self._account.turned.append(box)
        return True

    def _near(self, box: Box) -> FloatArray:
        """Return the taken boxes that overlap a box."""
        low, high = np.array(box[:2]), np.array(box[2:])
        clash = (self._account.boxes[:, :2] < high) & (self._account.boxes[:, 2:] > low)
        return np.asarray(self._account.boxes[clash.all(axis=1)])

    @staticmethod
    def _middles(near: FloatArray, reach_mm: float, step_mm: float) -> FloatArray:
        """Return places to try, nearest first."""
        steps = np.arange(-np.ceil(reach_mm / step_mm), np.ceil(reach_mm / step_mm) + 1) * step_mm
        offsets = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
        distance = np.linalg.norm(offsets, axis=1)
        order = np.lexsort((offsets[:, 0], offsets[:, 1], np.round(distance, 9)))
        return np.asarray(near + offsets[order[distance[order] <= reach_mm + 1e-9]])

    def _free(self, low: FloatArray, high: FloatArray) -> BoolArray:
        clash = (
            (low[:, None, 0] < self._account.boxes[:, 2])
            & (high[:, None, 0] > self._account.boxes[:, 0])
            & (low[:, None, 1] < self._account.boxes[:, 3])
            & (high[:, None, 1] > self._account.boxes[:, 1])
        )
        free: BoolArray = np.asarray(~clash.any(axis=1))
        rows = np.flatnonzero(free)
        boxes = shapely.box(low[rows, 0], low[rows, 1], high[rows, 0], high[rows, 1])
        inside = shapely.contains_properly(self._inside, boxes)
        free[rows[~inside]] = False
        if free.any() and len(self._tree.geometries):
            rows, boxes = rows[inside], boxes[inside]
            hit = self._tree.query(boxes, predicate="intersects")[0]
            free[rows[np.unique(hit)]] = False
        for turned in self._account.turned:
            rows = np.flatnonzero(free)
            clear = shapely.box(low[rows, 0], low[rows, 1], high[rows, 0], high[rows, 1])
            free[rows[shapely.intersects(clear, turned)]] = False
        return free


def _tree(lines: Iterable[FloatArray]) -> shapely.STRtree:
    return shapely.STRtree([shapely.LineString(line) for line in lines if len(line) > 1])
