"""A drawn seam followed in even steps over the skin: where it is, faces, turns and how it bends."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.polyline import in_pieces, line_length

STEP_MM = 2.0


@dataclass(frozen=True, eq=False)
class SeamCourse:
    """A seam in even steps.

    Attributes
    ----------
    name : str
    points : (k, 3) float, mm
        On the scanned face, a step apart as drawn; a closed seam does not repeat its first.
    normals : (k, 3) float
        The skin's, outward.
    bend : (k,) float, 1/mm
        The skin's larger curvature without its sign; infinite where it could not be told.
    closed : bool
    step_mm : float
        The step taken: nearly `STEP_MM`, so that the last falls on the end.
    """

    name: str
    points: FloatArray
    normals: FloatArray
    bend: FloatArray
    closed: bool
    step_mm: float

    def turns(self, reach_mm: float) -> FloatArray:
        """Return (k,) by how much the seam turns within the skin from one reach to the next, rad.

        Left is positive. Not-a-number nearer to an end than the reach, and where it doubles back.
        """
        steps = max(1, round(reach_mm / self.step_mm))
        turn = np.full(len(self.points), np.nan)
        at = np.arange(len(self.points))
        if not self.closed:
            at = at[steps : len(at) - steps]
        if not len(at):
            return turn
        count = len(self.points)
        here, normals = self.points[at], self.normals[at]
        before = _within(here - self.points[(at - steps) % count], normals)
        after = _within(self.points[(at + steps) % count] - here, normals)
        across = (np.cross(before, after) * normals).sum(axis=1)
        turn[at] = np.arctan2(across, (before * after).sum(axis=1))
        return turn

    def runs(self, mask: BoolArray, *, bridge_mm: float = 0.0) -> Iterator["Run"]:
        """Return the stretches where a mask holds, gaps up to a length passed over."""
        order = np.arange(len(mask))
        if self.closed and not mask.all() and mask[0] and mask[-1]:
            order = np.roll(order, -int(np.flatnonzero(~mask)[0]))
        where = np.flatnonzero(mask[order])
        if not len(where):
            return
        gap = np.flatnonzero(np.diff(where) > 1 + bridge_mm / self.step_mm)
        starts = np.concatenate([[0], gap + 1, [len(where)]])
        for low, high in pairwise(starts.tolist()):
            first, last = int(where[low]), int(where[high - 1])
            rows = order[first : last + 1].tolist()
            yield Run(rows, self.step_mm * len(rows))


@dataclass(frozen=True)
class Run:
    """A stretch of a course.

    Attributes
    ----------
    rows : list of int
        Its points, in order.
    length_mm : float
        Half a step at either end counted in.
    """

    rows: list[int]
    length_mm: float

    @property
    def middle(self) -> int:
        """Return the point half way."""
        return self.rows[len(self.rows) // 2]


def in_even_steps(points: FloatArray, *, closed: bool) -> tuple[FloatArray, float]:
    """Return a line in even steps, and the step.

    >>> stepped, step = in_even_steps(np.array([[0.0, 0, 0], [7, 0, 0]]), closed=False)
    >>> len(stepped), round(step, 3)
    (5, 1.75)
    """
    line = np.concatenate([points, points[:1]]) if closed else points
    length = line_length(line)
    count = max(1, round(length / STEP_MM))
    stepped = in_pieces(line, count)
    return (stepped[:-1] if closed else stepped), length / count


def _within(ways: FloatArray, normals: FloatArray) -> FloatArray:
    """Return directions without what leaves the skin."""
    return np.asarray(ways - (ways * normals).sum(axis=1, keepdims=True) * normals)
