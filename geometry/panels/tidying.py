"""After the cut: needles beside the seams turned, drawn together or evened out.

Seams and rims stay where they are: a vertex of theirs goes only if the line stays in place to a
small part of the spacing, and both panels beside a seam go on sharing its vertices.
"""

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh, face_areas
from geometry.panels.growing import Growing
from geometry.panels.seam import SeamPath

_WELL_SHAPED_RAD = math.radians(25.0)  # faces with no smaller angle are left alone
_GAIN_RAD = 1e-3  # the smallest angle about a change must grow by this, so that changes end
_SHORT = 1 / 3  # of the spacing: seam edges shorter than this are drawn together
_IN_PLACE = 0.02  # of the spacing: how far a line may move
_BEND = math.cos(math.radians(12.0))  # no face turns more than this
_ROUNDS = 6

Vector = tuple[float, float, float]
Face = tuple[int, int, int]
Change = tuple[float, str, int, int]  # gain in angle, what, and the two vertices it is done to


def tidied(grown: Growing, first: TriMesh, filled: BoolArray) -> Growing:
    """Return the surface with better triangles beside its seams.

    Parameters
    ----------
    grown : Growing
    first : TriMesh
        The surface before it was cut: says how wide its triangles are meant to be.
    filled : (m,) bool
        Faces of the first surface that are a guess: their border stays where it is.
    """
    width = np.sqrt(4 / np.sqrt(3) * face_areas(first.vertices, first.faces))
    net = _Net(grown, width[grown.parent], filled[grown.parent])
    net.shorten_seams()
    for _ in range(_ROUNDS):
        if not net.better_faces():
            break
    return net.result()


class _Net:
    """The mesh while it is tidied: faces come and go, vertices keep their numbers till the end."""

    def __init__(self, grown: Growing, width: FloatArray, marked: BoolArray) -> None:
        self.grown = grown
        self.marked: list[bool] = marked.tolist()
        self.place: list[Vector] = [(x, y, z) for x, y, z in grown.vertices.tolist()]
        self.outside = grown.outside.copy()
        self.faces: list[Face | None] = [(a, b, c) for a, b, c in grown.faces.tolist()]
        self.width: list[float] = width.tolist()
        self.around: dict[int, set[int]] = _FacesAround(grown)
        self.lines: dict[int, set[int]] = {}  # neighbours along rims and seams
        for a, b in grown.line_edges.tolist():
            self.lines.setdefault(a, set()).add(b)
            self.lines.setdefault(b, set()).add(a)
        ends = [seam.vertices[[0, -1]] for seam in grown.seams if not seam.closed]
        self.ends: set[int] = set(np.concatenate([np.empty(0, np.int64), *ends]).tolist())
        self.gone: set[int] = set()
        self.angles: dict[int, float] = {}  # of faces as they stand, kept once worked out
        self.normals: dict[int, Vector] = {}

    # ---- what is done, and in which order

    def shorten_seams(self) -> None:
        """Draw together seam vertices much nearer to each other than the spacing."""
        for seam in self.grown.seams:
            for a, b in seam.edges.tolist():
                if a in self.gone or b in self.gone or b not in self.lines.get(a, ()):
                    continue
                spacing = min(self.width[face] for face in self.around[a] | self.around[b])
                if math.dist(self.place[a], self.place[b]) >= _SHORT * spacing:
                    continue
                options = [(self._drawn_gain(x, y, 0.26), x, y) for x, y in ((a, b), (b, a))]
                gain, vertex, to = max(options)
                if gain > -math.inf:
                    self._draw(vertex, to)

    def better_faces(self) -> bool:
        """Better each badly shaped face near a seam once, the worst first; say if any was."""
        near = {v for seam in self.grown.seams for v in seam.vertices.tolist()} - self.gone
        ring = {v for vertex in near for v in self._beside(vertex)} | near
        bad = sorted(
            (angle, face)
            for face in {face for vertex in ring for face in self.around[vertex]}
            if (angle := self._angle(face)) < _WELL_SHAPED_RAD
        )
        changed = False
        for _, face in bad:
            changed = self._better(face) or changed
        return changed

    def _better(self, face: int) -> bool:
        corners = self.faces[face]
        if corners is None:
            return False
        options: list[Change] = []
        for a, b in ((corners[k], corners[k - 1]) for k in range(3)):
            options.append((self._turned_gain(a, b), "turn", a, b))
            options.append((self._drawn_gain(a, b), "draw", a, b))
            options.append((self._drawn_gain(b, a), "draw", b, a))
        options += [(self._moved_gain(corner), "move", corner, -1) for corner in corners]
        gain, what, a, b = max(options)
        if gain < _GAIN_RAD:
            return False
        if what == "turn":
            self._turn(a, b)
        elif what == "draw":
            self._draw(a, b)
        else:
            self._move(a, *self._evened(a))
        return True

    # ---- shapes

    def _angle(self, face: int) -> float:
        angle = self.angles.get(face)
        if angle is None:
            corners = self.faces[face]
            if corners is None:
                return math.inf
            a, b, c = corners
            angle = _smallest_angle(self.place[a], self.place[b], self.place[c])
            self.angles[face] = angle
        return angle

    def _worst(self, faces: Iterable[int]) -> float:
        return min((self._angle(face) for face in faces), default=math.inf)

    def _normal(self, face: int) -> Vector:
        normal = self.normals.get(face)
        if normal is None:
            corners = self.faces[face]
            if corners is None:
                return 0.0, 0.0, 0.0
            a, b, c = corners
            normal = _normal(self.place[a], self.place[b], self.place[c])
            self.normals[face] = normal
        return normal

    def _forget(self, face: int) -> None:
        """Let go what was worked out of a face that changes."""
        self.angles.pop(face, None)
        self.normals.pop(face, None)

    def _beside(self, vertex: int) -> set[int]:
        corners = (self.faces[face] or () for face in self.around[vertex])
        return {v for face in corners for v in face} - {vertex}

    def _on_mark(self, vertex: int) -> bool:
        """Return whether faces that are a guess and faces that are not meet at the vertex."""
        return len({self.marked[face] for face in self.around[vertex]}) > 1

    # ---- turning a diagonal

    def _turned(self, a: int, b: int) -> tuple[int, int, Face, Face] | None:
        """Return two faces and what they become with their other diagonal, if that can be."""
        if b in self.lines.get(a, ()):
            return None
        both = sorted(self.around[a] & self.around[b])
        if len(both) != 2:
            return None
        one, other = both
        first, second = self.faces[one], self.faces[other]
        if first is None or second is None:
            return None
        if first[(first.index(a) + 1) % 3] != b:
            first, second, one, other = second, first, other, one
        (c,), (d,) = set(first) - {a, b}, set(second) - {a, b}
        if d in self._beside(c) or self.marked[one] != self.marked[other]:
            return None
        return one, other, (a, d, c), (d, b, c)

    def _turned_gain(self, a: int, b: int) -> float:
        turned = self._turned(a, b)
        if turned is None:
            return -math.inf
        one, other, first, second = turned
        old = self._normal(one), self._normal(other)
        if _dot(*old) < _BEND:
            return -math.inf
        angles = []
        for new in (first, second):
            corners = [self.place[corner] for corner in new]
            if min(_dot(_normal(*corners), normal) for normal in old) < _BEND:
                return -math.inf
            angles.append(_smallest_angle(*corners))
        return min(angles) - self._worst((one, other))

    def _turn(self, a: int, b: int) -> None:
        turned = self._turned(a, b)
        if turned is None:
            return
        one, other, first, second = turned
        self._replace(one, first)
        self._replace(other, second)

    def _replace(self, face: int, new: Face | None) -> None:
        for vertex in self.faces[face] or ():
            self.around[vertex].discard(face)
        self.faces[face] = new
        self._forget(face)
        for vertex in new or ():
            self.around[vertex].add(face)

    # ---- drawing a vertex into another

    def _drawn_gain(self, vertex: int, to: int, enough: float = math.inf) -> float:
        """Return what drawing one vertex into another gains; with `enough` a little loss is borne.

        Minus infinity where it may not be.
        """
        both = self.around[vertex] & self.around[to]
        if not both or not self._may_go(vertex, to):
            return -math.inf
        if len(self._beside(vertex) & self._beside(to)) != len(both):
            return -math.inf
        kept = self.around[vertex] - both
        before = self._worst(self.around[vertex])
        after = math.inf
        for face in kept:
            corners = self.faces[face] or ()
            places = [self.place[to if corner == vertex else corner] for corner in corners]
            if _dot(_normal(*places), self._normal(face)) < _BEND:
                return -math.inf
            after = min(after, _smallest_angle(*places))
        if enough < math.inf and after < min(before, enough):
            return -math.inf
        return after - before

    def _may_go(self, vertex: int, to: int) -> bool:
        """Return whether a vertex is free to go, or its line stays in place without it."""
        if self._on_mark(vertex):
            return False
        along = self.lines.get(vertex)
        if along is None:
            spacing = min(self.width[face] for face in self.around[vertex])
            return math.dist(self.place[vertex], self.place[to]) < 0.5 * spacing
        if to not in along or len(along) != 2 or vertex in self.ends:
            return False
        (beyond,) = along - {to}
        if to in self.lines[beyond] or len(self.around[vertex] & self.around[to]) == 0:
            return False
        spacing = min(self.width[face] for face in self.around[vertex])
        gap = _off_line(self.place[vertex], self.place[to], self.place[beyond])
        return gap < _IN_PLACE * spacing

    def _draw(self, vertex: int, to: int) -> None:
        both = self.around[vertex] & self.around[to]
        for face in both:
            self._replace(face, None)
        for face in list(self.around[vertex]):
            a, b, c = (to if corner == vertex else corner for corner in self.faces[face] or ())
            self._replace(face, (a, b, c))
        along = self.lines.pop(vertex, None)
        if along is not None:
            (beyond,) = along - {to}
            self.lines[to] = self.lines[to] - {vertex} | {beyond}
            self.lines[beyond] = self.lines[beyond] - {vertex} | {to}
        self.gone.add(vertex)

    # ---- moving a free vertex

    def _evened(self, vertex: int) -> tuple[Vector, Vector]:
        """Return a place nearer the middle of the neighbours, and the step there."""
        here = self.place[vertex]
        beside = [self.place[v] for v in self._beside(vertex)]
        step = _from(here, _scaled(_sum(beside), 1.0 / len(beside)))
        normal = _sum([self._normal(face) for face in self.around[vertex]])
        out = _dot(step, normal) / _dot(normal, normal)
        x, y, z = _scaled(_from(_scaled(normal, out), step), 0.5)
        return (here[0] + x, here[1] + y, here[2] + z), (x, y, z)

    def _moved_gain(self, vertex: int) -> float:
        if vertex in self.lines or self._on_mark(vertex):
            return -math.inf
        old = [self._normal(face) for face in self.around[vertex]]
        if min(_dot(old[0], normal) for normal in old) < _BEND:
            return -math.inf
        there, _ = self._evened(vertex)
        after, turned = math.inf, math.inf
        for face, normal in zip(self.around[vertex], old, strict=True):
            corners = self.faces[face] or ()
            a, b, c = (there if corner == vertex else self.place[corner] for corner in corners)
            after = min(after, _smallest_angle(a, b, c))
            turned = min(turned, _dot(_normal(a, b, c), normal))
        gain = after - self._worst(self.around[vertex])
        return gain if turned > _BEND else -math.inf

    def _move(self, vertex: int, place: Vector, step: Vector) -> None:
        self.place[vertex] = place
        for face in self.around[vertex]:
            self._forget(face)
        self.outside[vertex] += step

    # ---- the end

    def result(self) -> Growing:
        """Return what is left, vertices renumbered without those that went."""
        kept = np.ones(len(self.place), bool)
        kept[list(self.gone)] = False
        number = np.cumsum(kept) - 1
        here = np.array([face is not None for face in self.faces])
        faces = np.array([face for face in self.faces if face is not None], np.int64)
        seams = tuple(
            SeamPath(seam.name, number[seam.vertices[kept[seam.vertices]]], seam.closed)
            for seam in self.grown.seams
        )
        return replace(
            self.grown,
            vertices=np.array(self.place)[kept],
            outside=self.outside[kept],
            faces=number[faces],
            parent=self.grown.parent[here],
            seams=seams,
        )


class _FacesAround(dict[int, set[int]]):
    """The faces about each vertex, looked up when first asked for; far from seams none ever is."""

    def __init__(self, grown: Growing) -> None:
        super().__init__()
        corners = grown.faces.ravel()
        self._faces: IntArray = np.argsort(corners, kind="stable") // 3  # vertex by vertex
        count = np.bincount(corners, minlength=len(grown.vertices))
        self._first: list[int] = [0, *np.cumsum(count).tolist()]

    def __missing__(self, vertex: int) -> set[int]:
        """Return the faces a vertex had at first: it is asked before any of them changes."""
        faces = self._faces[self._first[vertex] : self._first[vertex + 1]]
        self[vertex] = found = set(faces.tolist())
        return found


def _normal(a: Vector, b: Vector, c: Vector) -> Vector:
    """Return the unit normal, nothing where there is no area."""
    x, y, z = _cross(a, b, c)
    length = math.hypot(x, y, z)
    return (x / length, y / length, z / length) if length > 0 else (0.0, 0.0, 0.0)


def _cross(a: Vector, b: Vector, c: Vector) -> Vector:
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    wx, wy, wz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    return uy * wz - uz * wy, uz * wx - ux * wz, ux * wy - uy * wx


def _sum(vectors: Iterable[Vector]) -> Vector:
    x = y = z = 0.0
    for dx, dy, dz in vectors:
        x, y, z = x + dx, y + dy, z + dz
    return x, y, z


def _scaled(a: Vector, by: float) -> Vector:
    return by * a[0], by * a[1], by * a[2]


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _smallest_angle(a: Vector, b: Vector, c: Vector) -> float:
    """Return the smallest angle: opposite the shortest side, radians."""
    sides = sorted((math.dist(a, b), math.dist(b, c), math.dist(c, a)))
    if sides[1] == 0:
        return 0.0
    return math.asin(min(1.0, math.hypot(*_cross(a, b, c)) / (sides[1] * sides[2])))


def _off_line(point: Vector, a: Vector, b: Vector) -> float:
    """Return how far a point lies from the straight piece a-b."""
    length = math.dist(a, b)
    if length == 0:
        return math.dist(point, a)
    along = _dot(_from(a, point), _from(a, b)) / length**2
    if not 0.0 <= along <= 1.0:
        return min(math.dist(point, a), math.dist(point, b))
    return math.hypot(*_cross(a, b, point)) / length


def _from(a: Vector, b: Vector) -> Vector:
    return b[0] - a[0], b[1] - a[1], b[2] - a[2]
