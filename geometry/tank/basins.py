"""The basins a space has in one stance: where each part drains to, over what they run together."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.tank.depth import Depths
from geometry.tank.runs import Runs

_ON_EDGE_MM = 1e-9


@dataclass(frozen=True, eq=False)
class Basin:
    """One basin, or two that have run together.

    Attributes
    ----------
    foot : int
        Its lowest vertex.
    within : (k,) int
        The vertices that lie in it below the height over which it runs to its neighbour.
    spills_at : float
        That height, level axes; inf of the one that is all of a space.
    parts : tuple of Basin
        The two it was made of; none of a single one.
    """

    foot: int
    within: IntArray
    spills_at: float
    parts: tuple["Basin", ...]

    def __post_init__(self) -> None:
        locked(self.within)

    @property
    def singles(self) -> tuple["Basin", ...]:
        """The single basins in it."""
        if not self.parts:
            return (self,)
        return tuple(single for part in self.parts for single in part.singles)


def wet_below(basin: Basin, depths: Depths, level: float) -> BoolArray:
    """Return which vertices (n,) a basin has below a level; those on its very edge are dry."""
    wet = np.zeros(len(depths.heights), bool)
    wet[basin.within] = depths.heights[basin.within] < min(level, basin.spills_at) - _ON_EDGE_MM
    return wet


def held_below(basin: Basin, depths: Depths, level: float) -> float:
    """Return what a basin holds below a level, mm3."""
    wet = wet_below(basin, depths, level)[depths.faces].any(axis=1)
    return float(depths.below(np.where(wet, min(level, depths.highest), -np.inf)).sum())


class Basins:
    """All basins of a space in a stance.

    Parameters
    ----------
    runs : Runs
    least_depth_mm : float
        Shallower hollows belong to the basin they run over to.
    """

    def __init__(self, runs: Runs, least_depth_mm: float) -> None:
        self.runs = runs
        self._least = least_depth_mm
        self._over_to: dict[int, int] = {}
        self.whole = self._gathered()

    def _gathered(self) -> tuple[Basin, ...]:
        """Return the basins that are left when all ties are made: one for each part of a space."""
        low = self.runs.depths.heights.tolist()
        count = len(low)
        parent = list(range(count))
        members = [[vertex] for vertex in range(count)]
        foot = list(range(count))
        parts: list[tuple[Basin, ...]] = [()] * count

        def root(vertex: int) -> int:
            while parent[vertex] != vertex:
                parent[vertex] = parent[parent[vertex]]
                vertex = parent[vertex]
            return vertex

        def basin(at: int, height: float) -> Basin:
            return Basin(foot[at], np.array(members[at], np.int64), height, parts[at])

        ties, over = self.runs.tree
        for (one, other), height in zip(ties.tolist(), over.tolist(), strict=True):
            a, b = root(one), root(other)
            if low[foot[a]] > low[foot[b]]:
                a, b = b, a
            if height - low[foot[b]] >= self._least:
                parts[a] = (basin(a, height), basin(b, height))
            else:
                self._over_to[foot[b]] = foot[a]
            if len(members[a]) < len(members[b]):
                members[a], members[b] = members[b], members[a]
            members[a] += members[b]
            members[b] = []
            parent[b] = a
        return tuple(basin(at, float("inf")) for at in range(count) if parent[at] == at)

    @cached_property
    def foot_of_vertex(self) -> IntArray:
        """(n,) Foot of the single basin each vertex drains to, down the steepest edges."""
        down = _steepest_down(self.runs.ties, self.runs.depths.points, self.runs.depths.heights)
        for foot, deeper in self._over_to.items():
            if down[foot] == foot:
                down[foot] = deeper
        while True:
            further = down[down]
            if np.array_equal(further, down):
                return down
            down = further


def _steepest_down(ties: IntArray, points: FloatArray, heights: FloatArray) -> IntArray:
    """Return for each vertex the one it runs down to; itself where it is lower than all round.

    Of equally high ones the first counts as the lowest, so that a level floor drains somewhere.
    """
    rank = np.empty(len(heights), np.int64)
    rank[np.lexsort((np.arange(len(heights)), heights))] = np.arange(len(heights))
    falls = rank[ties[:, 0]] > rank[ties[:, 1]]
    high = np.where(falls, ties[:, 0], ties[:, 1])
    low = np.where(falls, ties[:, 1], ties[:, 0])
    length = np.linalg.norm(points[high] - points[low], axis=1)
    slope = (heights[high] - heights[low]) / np.maximum(length, 1e-12)
    order = np.lexsort((slope, high))
    down = np.arange(len(heights))
    down[high[order]] = low[order]  # the last of each, the steepest, stays
    return down
