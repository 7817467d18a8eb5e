"""Room for text: boxes inside an outline that touch no line and no other box."""

from collections.abc import Iterable

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray

Box = tuple[float, float, float, float]


class FreeSpace:
    """Keeps account of what is taken.

    Parameters
    ----------
    outline : (k, 2) float, mm
        Text stays within.
    lines : iterable of (j, 2) float, mm
        Lines that no text may touch.
    """

    def __init__(self, outline: FloatArray, lines: Iterable[FloatArray] = ()) -> None:
        self._inside = shapely.make_valid(shapely.Polygon(outline)).buffer(-1.0)
        shapely.prepare(self._inside)
        self._tree = shapely.STRtree([shapely.LineString(line) for line in lines if len(line) > 1])
        self._taken = np.empty((0, 4))

    def keep_clear(self, box: Box) -> None:
        """Take a box without asking whether it is free."""
        self._taken = np.concatenate([self._taken, [box]])

    def place(
        self,
        size: tuple[float, float],
        near: FloatArray,
        *,
        reach_mm: float,
        step_mm: float = 1.5,
    ) -> tuple[float, float] | None:
        """Return the free middle nearest to a point for a box of a size, and take the box.

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
        first = int(np.argmax(free))
        self.keep_clear((*low[first], *high[first]))
        return float(middles[first, 0]), float(middles[first, 1])

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
            (low[:, None, 0] < self._taken[:, 2])
            & (high[:, None, 0] > self._taken[:, 0])
            & (low[:, None, 1] < self._taken[:, 3])
            & (high[:, None, 1] > self._taken[:, 1])
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
        return free
