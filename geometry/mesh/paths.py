"""Shortest lines over a surface, straight across its faces; the way a taut string would lie."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.mesh.edge_walk import EdgeWalker
from geometry.mesh.face_net import FaceNet
from geometry.mesh.straight_shot import straight_shot
from geometry.mesh.strip import (
    Bend,
    Unfolded,
    crossings,
    line_length,
    passed_on_far_side,
    tight_bends,
    touched,
    unfolded,
    without_detours,
    wrong_sides,
)
from geometry.mesh.topology import EdgeTable, NonManifoldError
from geometry.mesh.tri_mesh import TriMesh

_AT_CORNER = 1e-6  # weights below this put an end on the edge or at the vertex
_MOST_ROUNDS = 5_000
_MOST_SHOTS = 12
_ROUNDING = 1e-9
_WORTH_A_SHOT = 1e-7  # of the length: less gain than this and shooting gives way to fine work


@dataclass(frozen=True, eq=False)
class SurfacePoint:
    """A place on a mesh: a face and the weights of its three corners (sum 1)."""

    face: int
    barycentric: FloatArray


@dataclass(frozen=True, eq=False)
class SurfacePath:
    """A line over the surface, straight within each face.

    Attributes
    ----------
    points : (k, 3) float, mm
    faces : (k - 1,) int
        A face that holds each straight piece.
    length : float, mm
    vertex : (k,) int
        The mesh vertex a point is at, or -1.
    edge : (k, 2) int
        The mesh edge a point lies on, smaller vertex first, or -1, -1. Neither vertex nor edge:
        the point, an end, lies inside the face of the piece beside it.
    along : (k,) float
        Where on the edge: 0 at its first vertex, 1 at its second.
    corners : (j,) int
        The points asked for among the points: both ends and every place led through.
    """

    points: FloatArray
    faces: IntArray
    length: float
    vertex: IntArray
    edge: IntArray
    along: FloatArray
    corners: IntArray

    def __post_init__(self) -> None:
        locked(self.points)
        locked(self.along)
        for array in (self.faces, self.vertex, self.edge, self.corners):
            locked(array)


@dataclass(frozen=True, eq=False)
class _Place:
    """A surface point with what it lies on and every face that holds it."""

    point: FloatArray
    vertex: int
    edge: tuple[int, int]
    along: float
    faces: list[int]
    corners: dict[int, float]  # distance to the corners of those faces


class PathFinder:
    """Shortest lines over one mesh, its set-up kept.

    The shortest edge walk gives a first strip of faces; a line drawn tight in the strip is aimed
    again at its end while that shortens it, then led round every vertex that it passes on the
    longer side. The result is locally shortest: laid flat it runs straight across every edge, and
    where it bends at a vertex both sides hold half a turn or more, or one side is a rim.

    Parameters
    ----------
    mesh : TriMesh
        Manifold, its faces all facing one way out.
    table : EdgeTable, optional
        Of its faces, where one is at hand.

    Raises
    ------
    NonManifoldError, NotOrientableError
        The mesh is not.
    """

    def __init__(self, mesh: TriMesh, table: EdgeTable | None = None) -> None:
        self._net = FaceNet(mesh, table)
        self._walker = EdgeWalker(mesh.vertices, self._net.table.edges)

    def edge_walk_length(self, start: SurfacePoint, end: SurfacePoint) -> float:
        """Return the length of the shortest walk along edges, mm: no path is ever longer."""
        begin, finish = self._place(start), self._place(end)
        return self._walker.walk(begin.point, finish.point, begin.corners, finish.corners)[0]

    def path(
        self, start: SurfacePoint, end: SurfacePoint, *, along: SurfacePath | None = None
    ) -> SurfacePath:
        """Return a locally shortest line between two points of the surface.

        Parameters
        ----------
        start, end : SurfacePoint
        along : SurfacePath, optional
            A line between them to draw tight, instead of the shortest edge walk: what comes back is
            no longer than it, and lies near it.

        Raises
        ------
        NoPathError
            The points lie on pieces that do not hang together.
        """
        begin, finish = self._place(start), self._place(end)
        shared = [face for face in begin.faces if face in finish.faces]
        if shared:
            return _straight(self._net, begin, finish, shared[0])
        if along is not None:
            line = self._tight(self._strip_under(along, begin, finish), begin, finish)
            path = _as_path(self._net, self._led_round(line, begin, finish), begin, finish)
            return path if path.length <= along.length * (1.0 + _ROUNDING) else along
        length, walk = self._walker.walk(begin.point, finish.point, begin.corners, finish.corners)
        line = self._tight(self._strip_along(walk, begin.faces, begin, finish), begin, finish)
        line = self._led_round(self._aimed(line, begin, finish), begin, finish)
        path = _as_path(self._net, line, begin, finish)
        if path.length <= length * (1.0 + _ROUNDING):
            return path
        return self._walked(walk, begin, finish)

    def _walked(self, walk: list[int], begin: _Place, finish: _Place) -> SurfacePath:
        """Return an edge walk as a path.

        Where vertices lie in one place, a face between them shows no way on when laid flat, and
        the line drawn tight may be a detour.
        """
        stops = [_Stop(begin.point, begin.vertex, begin.edge, begin.along, -1)]
        inner = walk[1:] if walk[0] == begin.vertex else walk
        inner = inner[:-1] if inner and inner[-1] == finish.vertex else inner
        ends = [self._net.vertices[vertex] for vertex in inner]
        first, last = walk[0], walk[-1]
        faces = [f for f in begin.faces if self._net.corner_of(f, first) >= 0][:1]
        faces = [] if first == begin.vertex else faces
        for one, other in pairwise(walk):
            faces.append(int(self._face_on(one, other)))
        if last != finish.vertex:
            faces += [f for f in finish.faces if self._net.corner_of(f, last) >= 0][:1]
        stops += [
            _Stop(place, vertex, (-1, -1), 0.0, -1)
            for place, vertex in zip(ends, inner, strict=True)
        ]
        stops.append(_Stop(finish.point, finish.vertex, finish.edge, finish.along, -1))
        return _path_of_stops(stops, faces)

    def _face_on(self, one: int, other: int) -> int:
        """Return a face beside an edge."""
        table, span = self._net.table, len(self._net.vertices)
        keys = table.edges @ np.array([span, 1])
        row = int(np.searchsorted(keys, min(one, other) * span + max(one, other)))
        return int(table.faces_of_edge[row].max())

    def through(self, points: Sequence[SurfacePoint], *, closed: bool = False) -> SurfacePath:
        """Return the shortest lines from point to point, joined; it may bend at the points.

        Parameters
        ----------
        points : sequence of SurfacePoint
            Two or more. Repeats of the point before are passed over.
        closed : bool
            Whether the last point is joined to the first; the path then ends where it begins.
        """
        stops = list(points) + ([points[0]] if closed else [])
        places = [self._place(stop) for stop in stops]
        kept = [0]
        for index in range(1, len(stops)):
            if np.linalg.norm(places[index].point - places[kept[-1]].point) > 0:
                kept.append(index)
        if len(kept) < 2:
            raise ValueError("a path needs two points apart from each other")
        legs = [self.path(stops[a], stops[b]) for a, b in pairwise(kept)]
        return joined_paths(legs)

    def _place(self, point: SurfacePoint) -> _Place:
        """Return where a point lies, moved to the edge or vertex if it is all but there."""
        weights = np.asarray(point.barycentric, np.float64)
        face = self._net.faces[point.face]
        kept = np.where(weights > _AT_CORNER, weights, 0.0)
        kept = kept / kept.sum()
        corners = np.flatnonzero(kept)
        vertex, edge, along, faces = -1, (-1, -1), 0.0, [int(point.face)]
        if len(corners) == 1:
            vertex = int(face[corners[0]])
            faces = self._net.fan(vertex, int(point.face))
        elif len(corners) == 2:
            low, high = sorted(int(each) for each in face[corners])
            edge, along = (low, high), float(kept[face == high][0])
            side = (3 - corners.sum() + 1) % 3
            beyond = int(self._net.across[point.face, side])
            faces += [beyond] if beyond >= 0 else []
        place = kept @ self._net.vertices[face]
        if vertex >= 0:
            around = {vertex: 0.0}
        else:
            ends = np.unique(self._net.faces[faces])
            gap = np.linalg.norm(self._net.vertices[ends] - place, axis=1)
            around = dict(zip(ends.tolist(), gap.tolist(), strict=True))
        return _Place(place, vertex, edge, along, faces, around)

    def _strip_along(
        self, walk: list[int], from_faces: list[int], begin: _Place, finish: _Place
    ) -> list[int]:
        """Return a strip of faces that hugs an edge walk, turning round each of its vertices."""
        ahead = [*walk[1:], -1]
        first = [f for f in from_faces if self._net.corner_of(f, walk[0]) >= 0]
        if walk[0] == begin.vertex and len(walk) > 1:
            first = [f for f in first if self._net.corner_of(f, walk[1]) >= 0] or first
        strip = first[:1]
        for at, following in zip(walk, ahead, strict=True):
            if following == -1 and strip[-1] in finish.faces:
                break
            turns = [
                self._turn_to(at, strip[-1], following, finish, left) for left in (True, False)
            ]
            reached = [turn for turn in turns if turn]
            if not reached:
                place = self._net.vertices[[at]]
                raise NonManifoldError(np.empty((0, 2), np.int64), np.array([at]), place)
            strip += min(reached, key=len)[1:]
        return without_detours(strip, frozenset(begin.faces), frozenset(finish.faces))

    def _strip_under(self, path: SurfacePath, begin: _Place, finish: _Place) -> list[int]:
        """Return the strip of faces under a path, turning round the vertices it goes through."""
        strip = [int(path.faces[0])]
        for face, vertex in zip(path.faces[1:].tolist(), path.vertex[1:-1].tolist(), strict=True):
            if face == strip[-1]:
                continue
            if vertex < 0 or face in self._net.across[strip[-1]]:
                strip.append(face)
                continue
            fans = [self._net.fan_from(vertex, strip[-1], left=left) for left in (True, False)]
            turns = [fan[1 : fan.index(face) + 1] for fan in fans if face in fan]
            strip += sorted(turns, key=len)[0]
        return without_detours(strip, frozenset(begin.faces), frozenset(finish.faces))

    def _turn_to(
        self, vertex: int, face: int, following: int, finish: _Place, left: bool
    ) -> list[int]:
        """Return faces about a vertex from one to the first with the next vertex, or at the end."""
        fan = self._net.fan_from(vertex, face, left=left)
        for index, each in enumerate(fan):
            there = (
                each in finish.faces
                if following == -1
                else self._net.corner_of(each, following) >= 0
            )
            if there:
                return fan[: index + 1]
        return []

    def _tight(self, strip: list[int], begin: _Place, finish: _Place) -> "_Line":
        if len(strip) == 1:
            length = float(np.linalg.norm(finish.point - begin.point))
            return _Line(strip, None, [], length)
        flat = unfolded(self._net, strip, begin.point, finish.point)
        bends = tight_bends(flat)
        return _Line(strip, flat, bends, line_length(flat, bends))

    def _aimed(self, line: "_Line", begin: _Place, finish: _Place) -> "_Line":
        """Aim straight at the end as the strip shows it, join up what misses, keep if shorter.

        On a surface that is nearly flat across the strip a shot ends close by, and one saves
        hundreds of single vertices; each shot starts from the better strip of the last.
        """
        for _ in range(_MOST_SHOTS):
            if line.flat is None or not line.bends:
                break
            shot = straight_shot(self._net, line.strip, line.flat)
            strip = shot if shot[-1] in finish.faces else self._joined_up(shot, begin, finish)
            strip = without_detours(strip, frozenset(begin.faces), frozenset(finish.faces))
            better = self._tight(strip, begin, finish)
            gain = line.length - better.length
            if gain > 0:
                line = better
            if gain <= _WORTH_A_SHOT * line.length:
                break
        return line

    def _joined_up(self, shot: list[int], begin: _Place, finish: _Place) -> list[int]:
        ends = self._net.faces[shot[-1]]
        middle = self._net.vertices[ends].mean(axis=0)
        gap = np.linalg.norm(self._net.vertices[ends] - middle, axis=1)
        leave = dict(zip(ends.tolist(), gap.tolist(), strict=True))
        _, walk = self._walker.walk(middle, finish.point, leave, finish.corners)
        start = _Place(middle, -1, (-1, -1), 0.0, [shot[-1]], leave)
        return shot + self._strip_along(walk, [shot[-1]], start, finish)[1:]

    def _led_round(self, line: "_Line", begin: _Place, finish: _Place) -> "_Line":
        """Pass every vertex on its shorter side; where the line is closest to one, go through."""
        at_start, at_end = frozenset(begin.faces), frozenset(finish.faces)
        through: list[Bend] = []
        for _ in range(_MOST_ROUNDS):
            if line.flat is None:
                break
            wrong = wrong_sides(self._net, line.strip, line.flat, line.bends, line.bends)
            touching = not wrong
            if touching:
                through = touched(line.flat, line.bends)
                wrong = wrong_sides(self._net, line.strip, line.flat, line.bends, through)
            if not wrong:
                break
            strip = passed_on_far_side(self._net, line.strip, wrong)
            better = self._tight(without_detours(strip, at_start, at_end), begin, finish)
            if touching and better.length >= line.length:
                break
            line = better
            through = []
        if line.flat is None:
            return line
        bends = sorted([*line.bends, *through], key=lambda bend: (bend.first, bend.last))
        return _Line(line.strip, line.flat, bends, line_length(line.flat, bends))


@dataclass(frozen=True, eq=False)
class _Line:
    """A strip laid flat with the line in it; one face alone is not laid flat."""

    strip: list[int]
    flat: Unfolded | None
    bends: list[Bend]
    length: float


def shortest_path(mesh: TriMesh, start: SurfacePoint, end: SurfacePoint) -> SurfacePath:
    """Return a locally shortest line over the mesh; `PathFinder` keeps the set-up."""
    return PathFinder(mesh).path(start, end)


def _straight(net: FaceNet, begin: _Place, finish: _Place, face: int) -> SurfacePath:
    line = _Line([face], None, [], float(np.linalg.norm(finish.point - begin.point)))
    return _as_path(net, line, begin, finish)


def _as_path(net: FaceNet, line: _Line, begin: _Place, finish: _Place) -> SurfacePath:
    """Write a flat line as points on the edges and vertices of the mesh."""
    stops = [_Stop(begin.point, begin.vertex, begin.edge, begin.along, line.strip[0])]
    if line.flat is not None:
        stops += _stops_between(net, line.strip, line.flat, line.bends)
    stops.append(_Stop(finish.point, finish.vertex, finish.edge, finish.along, line.strip[-1]))
    points = np.array([stop.point for stop in stops])
    moves = np.linalg.norm(np.diff(points, axis=0), axis=1) > 0
    kept = np.concatenate([[True], moves[:-1], [True]])
    if not moves[-1] and kept.sum() > 2:
        kept[np.flatnonzero(kept)[-2]] = False
    stops = [stop for stop, keep in zip(stops, kept.tolist(), strict=True) if keep]
    return _path_of_stops(stops, [stop.face for stop in stops[1:]])


def _path_of_stops(stops: "list[_Stop]", faces: list[int]) -> SurfacePath:
    points = np.array([stop.point for stop in stops])
    return SurfacePath(
        points,
        np.array(faces),
        float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum()),
        np.array([stop.vertex for stop in stops]),
        np.array([stop.edge for stop in stops]),
        np.array([stop.along for stop in stops]),
        np.array([0, len(stops) - 1]),
    )


class _Stop(NamedTuple):
    """A point of a path, what it lies on, and the face of the piece that leads to it."""

    point: FloatArray
    vertex: int
    edge: tuple[int, int]
    along: float
    face: int


def _stops_between(
    net: FaceNet, strip: list[int], flat: Unfolded, bends: list[Bend]
) -> list[_Stop]:
    """Return the crossings and bends between the ends."""
    share = crossings(flat, bends)
    stops: list[_Stop] = []

    def cross(first: int, beyond: int) -> None:
        for portal in range(first, beyond):
            left, right, part = flat.left[portal], flat.right[portal], float(share[portal])
            point = (1 - part) * net.vertices[left] + part * net.vertices[right]
            edge, along = ((left, right), part) if left < right else ((right, left), 1 - part)
            stops.append(_Stop(point, -1, edge, along, strip[portal]))

    portal = 0
    for bend in bends:
        cross(portal, bend.first)
        stops.append(
            _Stop(net.vertices[bend.vertex], bend.vertex, (-1, -1), 0.0, strip[bend.first])
        )
        portal = max(portal, bend.last + 1)
    cross(portal, len(share))
    return stops


def joined_paths(legs: Sequence[SurfacePath]) -> SurfacePath:
    """Return paths that meet end to start as one; its corners are the ends of each."""
    first, rest = legs[0], legs[1:]
    sizes = np.cumsum([len(leg.points) - 1 for leg in legs])
    return SurfacePath(
        np.concatenate([first.points, *(leg.points[1:] for leg in rest)]),
        np.concatenate([leg.faces for leg in legs]),
        sum(leg.length for leg in legs),
        np.concatenate([first.vertex, *(leg.vertex[1:] for leg in rest)]),
        np.concatenate([first.edge, *(leg.edge[1:] for leg in rest)]),
        np.concatenate([first.along, *(leg.along[1:] for leg in rest)]),
        np.concatenate([[0], sizes]),
    )
