"""Ends of a seam that go a hair too far: cut back to where the seam last meets what it ends on."""

import heapq
import math
from dataclasses import replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import SurfacePath
from geometry.panels.growing import Growing

Reached = list[tuple[int, float]]
"""Vertices at the ends of the rim's or seam's edge a place lies on, and how far it is to them."""


def without_overshoots(grown: Growing, path: SurfacePath, tolerance_mm: float) -> SurfacePath:
    """Return an open path without what only parts a sliver between it and a rim or seam.

    An end that starts on a rim or seam, leaves it and meets one again is cut back to that place if
    the way there is at most twice the tolerance, and the way back along rims and seams at most
    that much longer again. Where that comes from: an end may lie a tolerance off what it is meant
    to meet, so it goes that far out and that far back at most, and so may the line it meets. What
    goes farther is cut, and so is a narrow strip between two seams: the way round it is longer.

    Returns
    -------
    SurfacePath
        A single point is left where the whole path parts nothing but a sliver.
    """
    path = _cut_back(grown, path, tolerance_mm)
    return _turned_round(_cut_back(grown, _turned_round(path), tolerance_mm))


def _cut_back(grown: Growing, path: SurfacePath, tolerance_mm: float) -> SurfacePath:
    """Return the path from where its start last meets what it starts on."""
    meets = _meets(grown, path)
    step = np.linalg.norm(np.diff(path.points, axis=0), axis=1)
    gone = np.concatenate([[0.0], np.cumsum(step)])
    again = np.flatnonzero(meets & (gone > 0.0) & (gone <= 2.0 * tolerance_mm))
    awaited = np.flatnonzero(np.isin(path.vertex, grown.free_ends()))  # seams that end on this one
    again = again[again <= awaited.min(initial=len(meets))]
    if not meets[0] or not len(again):
        return path
    longest = float(gone[again[-1]]) + 2.0 * tolerance_mm
    reach = _reach_along_lines(grown, _line_ends(grown, path, 0), longest)
    for k in again[::-1].tolist():
        back = min(
            (reach.get(vertex, math.inf) + off for vertex, off in _line_ends(grown, path, k)),
            default=math.inf,
        )
        if _on_one_edge(path, k):
            back = min(back, float(np.linalg.norm(path.points[k] - path.points[0])))
        if back <= gone[k] + 2.0 * tolerance_mm:
            return _from(path, k)
    return path


def _meets(grown: Growing, path: SurfacePath) -> BoolArray:
    """Return which points of a path lie on a rim or a seam."""
    span = np.array([len(grown.vertices), 1])
    on_edge = (path.edge[:, 0] >= 0) & np.isin(path.edge @ span, grown.line_edges @ span)
    return np.asarray(on_edge | np.isin(path.vertex, grown.line_edges))


def _line_ends(grown: Growing, path: SurfacePath, k: int) -> Reached:
    """Return the vertices next to a path's point along the rim or seam it lies on."""
    if path.vertex[k] >= 0:
        return [(int(path.vertex[k]), 0.0)]
    place = path.points[k]
    return [(v, float(np.linalg.norm(grown.vertices[v] - place))) for v in path.edge[k].tolist()]


def _on_one_edge(path: SurfacePath, k: int) -> bool:
    return bool(path.edge[0, 0] >= 0 and (path.edge[0] == path.edge[k]).all())


def _reach_along_lines(grown: Growing, start: Reached, longest: float) -> dict[int, float]:
    """Return how far vertices of rims and seams are along them, as far as is asked."""
    beside: dict[int, list[tuple[int, float]]] = {}
    edges = grown.line_edges
    lengths = np.linalg.norm(grown.vertices[edges[:, 1]] - grown.vertices[edges[:, 0]], axis=1)
    for (a, b), length in zip(edges.tolist(), lengths.tolist(), strict=True):
        beside.setdefault(a, []).append((b, length))
        beside.setdefault(b, []).append((a, length))
    reach: dict[int, float] = {}
    waiting = [(off, vertex) for vertex, off in start]
    heapq.heapify(waiting)
    while waiting:
        off, vertex = heapq.heappop(waiting)
        if vertex in reach or off > longest:
            continue
        reach[vertex] = off
        for other, length in beside.get(vertex, ()):
            heapq.heappush(waiting, (off + length, other))
    return reach


def _from(path: SurfacePath, first: int) -> SurfacePath:
    """Return the path from one of its points on."""
    corners = path.corners[path.corners > first] - first
    return _measured(
        replace(
            path,
            points=path.points[first:].copy(),
            faces=path.faces[first:].copy(),
            vertex=path.vertex[first:].copy(),
            edge=path.edge[first:].copy(),
            along=path.along[first:].copy(),
            corners=np.concatenate([[0], corners]),
        )
    )


def _turned_round(path: SurfacePath) -> SurfacePath:
    """Return the path from its end to its start."""
    return replace(
        path,
        points=path.points[::-1].copy(),
        faces=path.faces[::-1].copy(),
        vertex=path.vertex[::-1].copy(),
        edge=path.edge[::-1].copy(),
        along=path.along[::-1].copy(),
        corners=(len(path.points) - 1 - path.corners)[::-1].copy(),
    )


def _measured(path: SurfacePath) -> SurfacePath:
    length: FloatArray = np.linalg.norm(np.diff(path.points, axis=0), axis=1)
    return replace(path, length=float(length.sum()))
