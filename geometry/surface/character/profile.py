"""A scan's points beside a course drawn into profiles across it, averaged along it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.surface.locked import Course, beside, direction_at

ALONG_MM = 4.0
_BIN, _BIN_GROWTH = 0.3, 0.1
_LOOKED_AT_MM = 8.0
_TURNED_AWAY = 0.0
_LEAST_COUNT = 1e-3
_CLOSE_MM = 8.0


@dataclass(frozen=True, eq=False)
class Profiles:
    """Heights across k stations of a course, in j bins.

    Attributes
    ----------
    across, height : (k, j) float, mm
        Means of the points in each bin.
    counts : (k, j) float
        How many points each mean is worth; 0 where none lie.
    seen : (k,) bool
        Whether points lie close by to the left and to the right, no more than a station off.
    """

    across: FloatArray
    height: FloatArray
    counts: FloatArray
    seen: BoolArray

    def at(self, rows: IntArray) -> "Profiles":
        """Return those of some stations."""
        return Profiles(self.across[rows], self.height[rows], self.counts[rows], self.seen[rows])

    def within(self, reach_mm: float) -> "Profiles":
        """Return the bins up to some way across."""
        spare = (self.across.shape[1] + 1 - len(_edges(reach_mm))) // 2
        keep = slice(spare, self.across.shape[1] - spare)
        return Profiles(self.across[:, keep], self.height[:, keep], self.counts[:, keep], self.seen)


def together(parts: Sequence[Profiles]) -> Profiles:
    """Return profiles of several courses as one."""
    return Profiles(
        np.concatenate([part.across for part in parts]),
        np.concatenate([part.height for part in parts]),
        np.concatenate([part.counts for part in parts]),
        np.concatenate([part.seen for part in parts]),
    )


def _edges(reach_mm: float) -> FloatArray:
    """Return where bins part: narrow in the middle, wider farther out."""
    out = [_BIN / 2.0]
    while out[-1] < reach_mm:
        out.append(out[-1] + max(_BIN, _BIN_GROWTH * out[-1]))
    half = np.array(out)
    return np.concatenate([-half[::-1], half])


class ScanPoints:
    """A scan's points, ready to be found near courses."""

    def __init__(self, points: FloatArray, normals: FloatArray) -> None:
        self.points, self.normals = points, normals
        self.tree = cKDTree(points)

    def profiles(self, course: Course, reach_mm: float) -> Profiles:
        """Return the profiles across a course."""
        edges = _edges(reach_mm)
        k, j = len(course.places), len(edges) - 1
        points, normals = self._near(course, reach_mm)
        near = beside(course, points, reach_mm)
        up = direction_at(course, near.station, np.zeros(len(near.which)), np.ones(len(near.which)))
        facing = (normals[near.which] * up).sum(axis=1) > _TURNED_AWAY
        across, height = near.across[facing], near.height[facing]
        station = np.rint(near.station[facing]).astype(np.int64)
        station = station % k if course.closed else np.clip(station, 0, k - 1)
        column = np.searchsorted(edges, across) - 1
        inside = (column >= 0) & (column < j)
        at = (station * j + column)[inside]
        sums = [
            np.bincount(at, weights=values, minlength=k * j).astype(np.float64).reshape(k, j)
            for values in (np.ones(len(at)), across[inside], height[inside])
        ]
        stations = ALONG_MM / course.step_mm
        mode: Literal["wrap", "constant"] = "wrap" if course.closed else "constant"
        count, x, z = (gaussian_filter1d(total, stations, axis=0, mode=mode) for total in sums)
        seen = count > _LEAST_COUNT
        safe = np.where(seen, count, 1.0)
        worth = np.where(seen, count, 0.0) * 2.0 * np.sqrt(np.pi) * stations
        return Profiles(x / safe, z / safe, worth, _seen(sums[0], sums[1]))

    def _near(self, course: Course, reach_mm: float) -> tuple[FloatArray, FloatArray]:
        every = max(1, int(_LOOKED_AT_MM / course.step_mm))
        reach = reach_mm + _LOOKED_AT_MM
        rows = self.tree.query_ball_point(course.places[::every], reach)
        which = np.unique(np.concatenate([np.asarray(row, np.int64) for row in rows]))
        return self.points[which], self.normals[which]


def _seen(count: FloatArray, across: FloatArray) -> BoolArray:
    """Return (k,) whether points lie close by on both sides of a station."""
    middle = across / np.maximum(count, 1.0)
    sides = [
        ((count > 0) & (side * middle > 0.0) & (np.abs(middle) < _CLOSE_MM)) for side in (-1, 1)
    ]
    return np.asarray(sides[0].any(axis=1) & sides[1].any(axis=1))
