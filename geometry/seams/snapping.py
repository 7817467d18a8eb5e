"""What a point being drawn catches on: lines, rims, stations, the centre plane, other seams."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.mesh import TriMesh, section
from geometry.seams.cells import part_of

SnapKind = Literal["line", "rim", "station", "centre plane", "mirror", "seam"]

_ALL_ALIKE: Mapping[SnapKind, float] = MappingProxyType({})


@dataclass(frozen=True, eq=False)
class SnapLine:
    """A line on the surface that points catch on.

    Attributes
    ----------
    kind : str
        What it is: a locked character line, a rim, a station, the centre plane, the mirror of
        another seam, another seam.
    name : str
        "line 2", "station 150", a seam's name.
    points : (k, 3) float, mm
        Along it; joined straight.
    closed : bool
        Whether the last point is joined to the first.
    """

    kind: SnapKind
    name: str
    points: FloatArray
    closed: bool = False

    def __post_init__(self) -> None:
        points = np.array(self.points, np.float64).reshape(-1, 3)
        object.__setattr__(self, "points", locked(points))


@dataclass(frozen=True, eq=False)
class Caught:
    """Where a point is caught.

    Attributes
    ----------
    kind : str
    name : str
        Of the line that catches it.
    point : (3,) float, mm
        The nearest place of that line.
    distance_mm : float
        From the point to that place.
    along_mm : float
        How far along the line from its first point.
    """

    kind: SnapKind
    name: str
    point: FloatArray
    distance_mm: float
    along_mm: float


class SnapLines:
    """Lines to catch on, their pieces kept for quick answers.

    >>> rim = SnapLine("rim", "rim", np.array([[0.0, 0, 0], [9, 0, 0]]))
    >>> caught = SnapLines([rim]).caught(np.array([4.0, 1, 0]), 2.0)
    >>> caught.name, caught.point.tolist(), caught.distance_mm
    ('rim', [4.0, 0.0, 0.0], 1.0)
    """

    def __init__(self, lines: Sequence[SnapLine]) -> None:
        self._lines = tuple(line for line in lines if len(line.points))
        runs = [_run(line) for line in self._lines]
        self._start = np.concatenate([np.empty((0, 3)), *(run[:-1] for run in runs)])
        self._step = np.concatenate([np.empty((0, 3)), *(np.diff(run, axis=0) for run in runs)])
        self._length = np.linalg.norm(self._step, axis=1)
        self._line = np.repeat(np.arange(len(runs)), [len(run) - 1 for run in runs])
        before = [np.cumsum(np.append(0.0, _lengths(run)))[:-1] for run in runs]
        self._before = np.concatenate([np.empty(0), *before])

    def caught(
        self,
        point: FloatArray,
        reach_mm: float,
        *,
        strength: Mapping[SnapKind, float] = _ALL_ALIKE,
    ) -> Caught | None:
        """Return what a point catches on, None where nothing is in reach.

        Parameters
        ----------
        point : (3,) float, mm
        reach_mm : float
        strength : kind to float
            A kind of strength s catches from s times the reach, and of two lines the one wins that
            is nearer when distances are divided by strengths. 1 where not given; 0 is off.
        """
        if any(value < 0.0 for value in strength.values()):
            raise ValueError("a strength below 0")
        power = np.array([strength.get(line.kind, 1.0) for line in self._lines])[self._line]
        rough = np.linalg.norm(self._start - point, axis=1) - self._length
        near = np.flatnonzero((power > 0.0) & (rough <= reach_mm * power))
        if not len(near):
            return None
        start, step, length = self._start[near], self._step[near], self._length[near]
        share = ((point - start) * step).sum(axis=1) / np.maximum(length, 1e-300) ** 2
        share = np.clip(share, 0.0, 1.0)
        places = start + share[:, None] * step
        distance = np.linalg.norm(places - point, axis=1)
        felt = distance / power[near]
        best = int(np.argmin(felt))
        if not felt[best] <= reach_mm:
            return None
        line = self._lines[self._line[near[best]]]
        along = float(self._before[near[best]] + share[best] * length[best])
        return Caught(line.kind, line.name, locked(places[best]), float(distance[best]), along)


def plane_lines(
    mesh: TriMesh,
    point: FloatArray,
    normal: FloatArray,
    *,
    kind: SnapKind = "station",
    name: str = "",
) -> tuple[SnapLine, ...]:
    """Return the lines in which a plane cuts a mesh, the longest first, to catch on.

    Parameters
    ----------
    mesh : TriMesh
    point, normal : (3,) float
        A point of the plane, mm, and what is square to it.
    kind, name : str
        What the lines are called: a station's, or the centre plane's.
    """
    above = (mesh.vertices - np.asarray(point)) @ np.asarray(normal) >= 0
    sides = above[mesh.faces]
    cut = np.flatnonzero(sides.any(axis=1) & ~sides.all(axis=1))
    part, _ = part_of(mesh, cut)
    return tuple(SnapLine(kind, name, line) for line in section(part, point, normal))


def _run(line: SnapLine) -> FloatArray:
    """Return a line's points with the first again at the end of a closed one; two at least."""
    if line.closed or len(line.points) == 1:
        return np.concatenate([line.points, line.points[:1]])
    return line.points


def _lengths(run: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.norm(np.diff(run, axis=0), axis=1))
