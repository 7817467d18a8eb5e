"""Open holes in the way of a seam: it ends at the hole's edge and goes on from the other side.

What was drawn over a hole is left out (`led_over_holes`). Between the two sides the seam runs along
the hole's edge (`along_holes`), where there is nothing to part, so that no sliver is left between
the hole and a line drawn taut round it.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import SurfacePath, TriMesh, joined_paths
from geometry.panels.growing import Growing
from geometry.panels.on_surface import BESIDE_MM, beyond_edge
from geometry.panels.seam import Seam
from geometry.polyline import line_length

_SAMPLE_MM = 2.0  # along a seam, to see whether it goes over a hole
_LONGEST_MM = 80.0  # between two points: farther apart, the straight way is not what was meant
_OVER_MM = 0.05  # a place nearer to the hole's edge is on it
_SHARES = np.linspace(0.0, 1.0, 17)
_ROUNDS = 3  # of sixteen: within a few thousandths of a mm where the line crosses the edge
_DETOUR = 3.0  # times the taut way: a hole's edge longer than this is no way on, but round a tongue
_ON_RIM_MM = 1e-6


def holes_at(grown: Growing, points: FloatArray) -> IntArray:
    """Return on which hole's edge each of (k, 3) places outside lies, -1 on none."""
    near = grown.skin.find(points)
    hole, on_edge = _hole_beside(grown, near.faces, near.barycentric)
    return np.where(on_edge & (near.distances < _ON_RIM_MM), hole, -1)


def led_over_holes(grown: Growing, outside: TriMesh, seam: Seam) -> Seam:
    """Return a seam without what lies over open holes, led to their edges instead.

    Parameters
    ----------
    grown : Growing
        The surface before any seam is laid.
    outside : TriMesh
        Its scanned face.
    seam : Seam
        An end over a hole ends at its edge.
    """
    if not grown.hole_rims or len(seam.points) < 2:
        return seam
    points, drawn = _sampled(seam)
    over = _over_hole(grown, outside, points)
    if not (over >= 0).any() or (over >= 0).all():
        return seam
    if seam.closed:  # begin on the skin
        first = int(np.argmax(over < 0))
        order = np.append(np.roll(np.arange(len(points)), -first), first)
        points, over, drawn = points[order], over[order], drawn[order]
        drawn[-1] = False
    led = [points[0]] if over[0] < 0 else []
    for k in range(1, len(points)):
        before, here = over[k - 1], over[k]
        if before < 0 <= here:
            led.append(_edge_between(grown, outside, points[k - 1], points[k]))
        elif before >= 0 and before != here:  # back on the skin, or over another hole
            led.append(_edge_between(grown, outside, points[k], points[k - 1]))
        if here < 0 and drawn[k]:
            led.append(points[k])
    return replace(seam, points=np.array(led))


def _sampled(seam: Seam) -> tuple[FloatArray, BoolArray]:
    """Return places close along a seam as drawn, and which of them are its own points."""
    ends = np.concatenate([seam.points, seam.points[:1]]) if seam.closed else seam.points
    length = np.linalg.norm(np.diff(ends, axis=0), axis=1)
    near = np.isfinite(length) & (length <= _LONGEST_MM)
    count = np.where(near, np.ceil(length / _SAMPLE_MM), 1).astype(np.int64).clip(min=1)
    places = [
        start + share * (end - start)
        for start, end, parts in zip(ends[:-1], ends[1:], count.tolist(), strict=True)
        for share in np.arange(parts) / parts
    ]
    drawn = np.zeros(len(places), bool)
    drawn[np.concatenate([[0], np.cumsum(count)[:-1]])] = True
    if seam.closed:
        return np.array(places), drawn
    return np.concatenate([places, ends[-1:]]), np.append(drawn, True)


def _over_hole(grown: Growing, outside: TriMesh, points: FloatArray) -> IntArray:
    """Return over which open hole each place lies, -1 over none."""
    near = grown.skin.find(points)
    hole, _ = _hole_beside(grown, near.faces, near.barycentric)
    over = beyond_edge(outside, points, near)
    over &= (near.distances > _OVER_MM) & (near.distances < BESIDE_MM)
    return np.where(over, hole, -1)


def _hole_beside(
    grown: Growing, faces: IntArray, barycentric: FloatArray
) -> tuple[IntArray, BoolArray]:
    """Return the hole next to places of faces, -1 for none, and whether they lie on its edge."""
    hole_of = np.full(len(grown.vertices), -1, np.int64)
    for number, rim in enumerate(grown.hole_rims):
        hole_of[rim] = number
    held = np.where(barycentric > _ON_RIM_MM, hole_of[grown.faces[faces]], -2)
    hole = held.max(axis=1, initial=-1)
    return hole, np.asarray(((held == hole[:, None]) | (held == -2)).all(axis=1) & (hole >= 0))


def _edge_between(
    grown: Growing, outside: TriMesh, on_skin: FloatArray, over: FloatArray
) -> FloatArray:
    """Return the place of the hole's edge where the way from the skin out over it crosses it."""
    for _ in range(_ROUNDS):
        places = on_skin + _SHARES[:, None] * (over - on_skin)
        first = int(np.argmax(_over_hole(grown, outside, places) >= 0))
        on_skin, over = places[max(first - 1, 0)], places[first]
    return np.asarray(grown.skin.find(over).points[0])


def along_holes(grown: Growing, path: SurfacePath) -> SurfacePath:
    """Return a path that follows a hole's edge where it would lie taut against it.

    From where it first meets the edge to where it last does, as long as nothing was asked for off
    the edge in between.
    """
    for rim in grown.hole_rims:
        done = 0  # what was led already lies before this point
        while True:
            on_rim = _on_rim(grown, path, rim)
            runs = [run for run in _taut_runs(path, on_rim) if run[0] >= done]
            if not runs:
                break
            first, last = runs[0]
            done = last
            arc = _arc(grown, path, rim, first, last)
            taut = line_length(path.points[first : last + 1])
            if taut * (1.0 + 1e-9) < arc.length <= _DETOUR * taut:
                path = _with_arc(path, first, last, arc)
                done = first + len(arc.points) - 1
    return path


def _on_rim(grown: Growing, path: SurfacePath, rim: IntArray) -> BoolArray:
    """Return which points of a path lie on a hole's edge."""
    span = np.array([len(grown.vertices), 1])
    edges = np.sort(np.stack([rim, np.roll(rim, -1)], axis=1), axis=1) @ span
    on_edge = (path.edge[:, 0] >= 0) & np.isin(path.edge @ span, edges)
    return np.asarray(on_edge | np.isin(path.vertex, rim))


def _taut_runs(path: SurfacePath, on_rim: BoolArray) -> list[tuple[int, int]]:
    """Return from where to where a path lies taut against a hole."""
    runs: list[tuple[int, int]] = []
    asked_off = [k for k in path.corners.tolist() if not on_rim[k]]
    for start, end in zip([-1, *asked_off], [*asked_off, len(on_rim)], strict=True):
        at = np.flatnonzero(on_rim[start + 1 : end]) + start + 1
        if len(at) > 1 and not (at[0] == 0 and at[-1] == len(on_rim) - 1):
            runs.append((int(at[0]), int(at[-1])))
    return runs


def _arc(grown: Growing, path: SurfacePath, rim: IntArray, first: int, last: int) -> SurfacePath:
    """Return the shorter way along a hole's edge between two points of a path on it."""
    begin, finish = _place_on(path, rim, first), _place_on(path, rim, last)
    ways = []
    for step in (1, -1):
        inner = _between(begin, finish, len(rim), step)
        points = np.concatenate(
            [path.points[[first]], grown.vertices[rim[inner]], path.points[[last]]]
        )
        ways.append((line_length(points), inner, points))
    length, inner, points = min(ways, key=lambda way: way[0])
    vertex = np.concatenate([path.vertex[[first]], rim[inner], path.vertex[[last]]])
    edge = np.full((len(points), 2), -1)
    edge[[0, -1]] = path.edge[[first, last]]
    along = np.zeros(len(points))
    along[[0, -1]] = path.along[[first, last]]
    sides = [
        rim[[int(np.floor(place)), (int(np.floor(place)) + 1) % len(rim)]]
        for place in _middles(begin, inner, finish, len(rim))
    ]
    faces = grown.faces_beside(np.array(sides)).max(axis=1)
    return SurfacePath(points, faces, length, vertex, edge, along, np.array([0, len(points) - 1]))


def _place_on(path: SurfacePath, rim: IntArray, k: int) -> float:
    """Return how far round the rim a point of a path is, in its edges."""
    if path.vertex[k] >= 0:
        return float(np.flatnonzero(rim == path.vertex[k])[0])
    a, b = path.edge[k].tolist()
    at_a, at_b = (int(np.flatnonzero(rim == vertex)[0]) for vertex in (a, b))
    along = float(path.along[k])
    return at_a + along if rim[(at_a + 1) % len(rim)] == b else at_b + 1.0 - along


def _between(begin: float, finish: float, count: int, step: int) -> list[int]:
    """Return the rim's vertices passed on the way round from one place to another, ends left out.

    >>> _between(1.5, 4.0, 6, 1), _between(1.5, 4.0, 6, -1)
    ([2, 3], [1, 0, 5])
    """
    far = (step * (finish - begin)) % count
    at = int(np.floor(begin)) + 1 if step > 0 else int(np.ceil(begin)) - 1
    passed: list[int] = []
    while len(passed) < count and (step * (at - begin)) % count < far - 1e-12:
        passed.append(at % count)
        at += step
    return passed


def _middles(begin: float, inner: list[int], finish: float, count: int) -> list[float]:
    """Return a place within each piece of the way round."""
    stops = [begin, *map(float, inner), finish]
    middles = []
    for one, other in pairwise(stops):
        gap = (other - one + count / 2.0) % count - count / 2.0
        middles.append((one + gap / 2.0) % count)
    return middles


def _with_arc(path: SurfacePath, first: int, last: int, arc: SurfacePath) -> SurfacePath:
    """Return a path with one stretch of it led another way."""
    before = [_stretch(path, 0, first)] if first > 0 else []
    after = [_stretch(path, last, len(path.points) - 1)] if last < len(path.points) - 1 else []
    joined = joined_paths([*before, arc, *after])
    longer = len(arc.points) - 1 - (last - first)
    asked = path.corners[(path.corners <= first) | (path.corners >= last)]
    corners = np.where(asked >= last, asked + longer, asked)
    return replace(joined, corners=np.unique(np.append(corners, [0, len(joined.points) - 1])))


def _stretch(path: SurfacePath, first: int, last: int) -> SurfacePath:
    """Return a stretch of a path."""
    points = path.points[first : last + 1].copy()
    return SurfacePath(
        points,
        path.faces[first:last].copy(),
        line_length(points),
        path.vertex[first : last + 1].copy(),
        path.edge[first : last + 1].copy(),
        path.along[first : last + 1].copy(),
        np.array([0, last - first]),
    )
