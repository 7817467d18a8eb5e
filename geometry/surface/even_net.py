"""A cleaned scan as an even net whose rims and held lines are smooth."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh, rims
from geometry.progress import Report, part_of
from geometry.surface.follow import Follower
from geometry.surface.lines import line_table
from geometry.surface.locked import Lined, kinds_and_runs
from geometry.surface.net import FIXED, FREE, ON_LINE, Net, compacted, with_lines
from geometry.surface.relax import nearest_on_polyline, relaxed, without_new_folds
from geometry.surface.remesh import evened
from geometry.surface.rim import SmoothRim, smoothed_rim
from geometry.surface.size import wanted_size

_RIM_WINDOW = 1.5


@dataclass(frozen=True, eq=False)
class EvenNet:
    """An even net and the rims it keeps to.

    Attributes
    ----------
    net : Net
        Edges of rims have the line number 0, those of held line i the number i + 1.
    rims : list of SmoothRim
    """

    net: Net
    rims: list[SmoothRim]


@dataclass(frozen=True, eq=False)
class _Kept:
    """The lines a net keeps to, between vertices that stay.

    Attributes
    ----------
    smooth : (n, 3) float, mm
        Where every vertex of a line belongs.
    runs : list of (k,) int
    line : list of int
        What each run is part of: 0 a rim, i + 1 held line i.
    """

    smooth: FloatArray
    runs: list[IntArray]
    line: list[int]


def even_net(
    start: Lined,
    crests: Sequence[FloatArray],
    *,
    spacing_mm: float,
    typical_mm: float,
    report: Report,
) -> EvenNet:
    """Return a mesh as an even net, its rims smooth and its held lines on their crests.

    Parameters
    ----------
    start : Lined
    crests : sequence of (k, 3) float, mm
        Where each of its lines belongs; a closed one repeats its first point.
    typical_mm : float
        Edge length of the scan.
    """
    mesh = TriMesh(start.vertices, start.faces)
    loops = rims(mesh)
    size = wanted_size(
        start.vertices, start.faces, start.normals, loops, spacing_mm=spacing_mm, held=start.runs
    )
    net = Net(
        vertices=start.vertices,
        faces=start.faces,
        normals=start.normals,
        size=size,
        kind=np.full(len(start.vertices), FREE, np.int64),
        line_edges=np.empty((0, 2), np.int64),
        line_of_edge=np.empty(0, np.int64),
        came_from=np.arange(len(start.vertices)),
        guessed=start.guessed,
    )
    window = _RIM_WINDOW * max(spacing_mm, typical_mm)
    smoothed = [smoothed_rim(net.vertices[loop], window_mm=window) for loop in loops]
    net, kept = _with_rims(net, list(zip(loops, smoothed, strict=True)))
    net, kept = _with_held(net, kept, start.runs, crests)
    follow = Follower(mesh, start.normals, size)
    raw = tuple(start.vertices[run] for run in kept.runs)
    net = evened(compacted(net), follow, raw, rounds=2, polish=0, report=part_of(report, 0.0, 0.5))
    smooth = tuple(kept.smooth[run] for run in kept.runs)
    net = _on_smooth_lines(net, kept.smooth, smooth)
    net = evened(net, follow, smooth, rounds=3, polish=3, report=part_of(report, 0.5, 1.0))
    line = np.array([*kept.line, -1], np.int64)
    return EvenNet(replace(net, line_of_edge=line[net.line_of_edge]), smoothed)


def _with_rims(net: Net, rims_smoothed: Sequence[tuple[IntArray, SmoothRim]]) -> tuple[Net, _Kept]:
    """Return the net with its rims as lines between corners."""
    smooth = net.vertices.copy()
    kind = net.kind.copy()
    runs: list[IntArray] = []
    for loop, rim in rims_smoothed:
        smooth[loop] = rim.points
        kind[loop] = ON_LINE
        kind[loop[rim.corners]] = FIXED
        start = int(rim.corners[0]) if len(rim.corners) else 0
        lap = np.roll(loop, -start)
        firsts = (rim.corners - start).tolist() if len(rim.corners) else [0]
        lap = np.append(lap, lap[0])
        runs += [lap[a : b + 1] for a, b in itertools.pairwise([*firsts, len(loop)])]
    lined = with_lines(replace(net, kind=kind), *line_table(runs))
    return lined, _Kept(smooth, runs, [0] * len(runs))


def _with_held(
    net: Net, kept: _Kept, held: Sequence[IntArray], crests: Sequence[FloatArray]
) -> tuple[Net, _Kept]:
    """Return the net with lines held besides its rims, where they belong on their crests."""
    if not held:
        return net, kept
    smooth, kind = kept.smooth.copy(), net.kind.copy()
    on_rim = np.flatnonzero(kind != FREE)
    fixed, parts, owner = kinds_and_runs(held, on_rim)
    for run, crest in zip(held, crests, strict=True):
        smooth[run] = nearest_on_polyline(smooth[run], crest)
        kind[run] = ON_LINE
    kind[fixed] = FIXED
    runs = [*kept.runs, *parts]
    line = [*kept.line, *(number + 1 for number in owner)]
    return with_lines(replace(net, kind=kind), *line_table(runs)), _Kept(smooth, runs, line)


def _on_smooth_lines(net: Net, smooth_place: FloatArray, smooth: Sequence[FloatArray]) -> Net:
    """Return the net with corners, then lines, drawn to their smooth places in small steps."""
    fixed = np.flatnonzero(net.kind == FIXED)
    for _ in range(4):
        goal = net.vertices.copy()
        goal[fixed] = smooth_place[net.came_from[fixed]]
        net = relaxed(without_new_folds(net, goal), smooth)
    return net
