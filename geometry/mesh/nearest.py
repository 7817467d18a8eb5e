"""The nearest point of a surface to any point in space, exactly."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray, locked
from geometry.mesh.tri_mesh import TriMesh

_POINTS_AT_ONCE = 20_000
_PAIRS_AT_ONCE = 2_000_000


@dataclass(frozen=True, eq=False)
class Nearest:
    """Where on a mesh the nearest points lie, one row a question.

    Attributes
    ----------
    points : (k, 3) float, mm
        On the mesh.
    faces : (k,) int
        A face that holds the point; on an edge or vertex, one of those that meet there.
    barycentric : (k, 3) float
        Weights of that face's corners: not negative, sum 1.
    distances : (k,) float, mm
        From the point asked to the point found.
    """

    points: FloatArray
    faces: IntArray
    barycentric: FloatArray
    distances: FloatArray

    def __post_init__(self) -> None:
        for array in (self.points, self.barycentric, self.distances):
            locked(array)
        locked(self.faces)


@dataclass(frozen=True, eq=False)
class _SizeClass:
    """Faces of about one size in a tree of their middles; `radius` reaches all their corners."""

    tree: cKDTree
    faces: IntArray
    radius: float


class NearestPoint:
    """Nearest points of one mesh, its search trees kept for further questions.

    A face reaches at most its radius from its middle, so a tree of middles bounds how near the
    faces not yet looked at can be. Faces are sorted by size first: a few large ones would spoil
    the bound of the small ones.

    >>> mesh = TriMesh(np.array([[0.0, 0, 0], [9, 0, 0], [0, 9, 0]]), np.array([[0, 1, 2]]))
    >>> NearestPoint(mesh).find(np.array([[1.0, 2, 5]])).points.tolist()
    [[1.0, 2.0, 0.0]]
    """

    def __init__(self, mesh: TriMesh) -> None:
        if not len(mesh.faces):
            raise ValueError("a mesh without faces has no nearest point")
        self._corners = mesh.vertices[mesh.faces]
        middle = self._corners.mean(axis=1)
        reach = np.linalg.norm(self._corners - middle[:, None], axis=2).max(axis=1)
        self._radius = reach * (1 + 1e-12)
        self._classes = [
            _SizeClass(cKDTree(middle[faces]), faces, float(self._radius[faces].max()))
            for faces in _faces_by_size(self._radius)
        ]

    def find(self, points: FloatArray) -> Nearest:
        """Return the nearest points of the surface to (k, 3) points."""
        points = np.asarray(points, np.float64).reshape(-1, 3)
        faces = np.empty(len(points), np.int64)
        barycentric = np.empty((len(points), 3))
        for start in range(0, len(points), _POINTS_AT_ONCE):
            part = slice(start, start + _POINTS_AT_ONCE)
            answers = _Answers(points[part], self._corners)
            for size_class in self._classes:
                self._search(size_class, answers)
            faces[part], barycentric[part] = answers.faces, answers.barycentric
        found = np.einsum("kc,kcx->kx", barycentric, self._corners[faces])
        return Nearest(found, faces, barycentric, np.linalg.norm(points - found, axis=1))

    def _search(self, size_class: _SizeClass, answers: "_Answers") -> None:
        """Better the answers by the faces of one class: more of them until sure."""
        asked = np.arange(len(answers.points))
        seen = np.full(len(asked), -1.0)  # middles nearer than this have been looked at
        wanted = min(4, len(size_class.faces))
        while len(asked):
            still_open = [np.empty(0, np.int64)]
            step = max(1, _PAIRS_AT_ONCE // wanted)
            for start in range(0, len(asked), step):
                rows = asked[start : start + step]
                found = size_class.tree.query(answers.points[rows], wanted)
                distance = np.asarray(found[0]).reshape(len(rows), -1)
                near = size_class.faces[np.asarray(found[1]).reshape(len(rows), -1)]
                for columns in (slice(0, 1), slice(1, None)):  # the first sharpens the bound
                    gap = distance[:, columns]
                    may_be = gap < answers.distances[rows, None] + self._radius[near[:, columns]]
                    row, column = np.nonzero(may_be & (gap >= seen[rows, None]))
                    answers.better(rows[row], near[:, columns][row, column])
                seen[rows] = distance[:, -1]
                still_open.append(
                    rows[distance[:, -1] < answers.distances[rows] + size_class.radius]
                )
            asked = np.concatenate(still_open)
            if wanted == len(size_class.faces):
                return
            wanted = min(4 * wanted, len(size_class.faces))


class _Answers:
    """The best known so far for each point, bettered as faces are tried."""

    def __init__(self, points: FloatArray, corners: FloatArray) -> None:
        self.points, self._corners = points, corners
        self.distances = np.full(len(points), np.inf)
        self.faces = np.full(len(points), -1, np.int64)
        self.barycentric = np.zeros((len(points), 3))

    def better(self, point: IntArray, face: IntArray) -> None:
        """Measure pairs of point and face and keep each point's nearest, lowest face on a tie."""
        if not len(point):
            return
        weights, distance = _onto_triangles(self.points[point], self._corners[face])
        order = np.lexsort((face, distance, point))
        first = np.ones(len(order), bool)
        first[1:] = point[order][1:] != point[order][:-1]
        winner = order[first]
        winner = winner[distance[winner] < self.distances[point[winner]]]
        self.distances[point[winner]] = distance[winner]
        self.faces[point[winner]] = face[winner]
        self.barycentric[point[winner]] = weights[winner]


def nearest_points(mesh: TriMesh, points: FloatArray) -> Nearest:
    """Return the nearest points of the mesh to (k, 3) points; `NearestPoint` keeps the set-up."""
    return NearestPoint(mesh).find(points)


def _faces_by_size(radius: FloatArray) -> list[IntArray]:
    """Group faces whose radii lie within a factor of two, the fullest group first."""
    exponent = np.floor(np.log2(np.maximum(radius, radius.max() * 1e-6))).astype(np.int64)
    groups = [np.flatnonzero(exponent == value) for value in np.unique(exponent)]
    return sorted(groups, key=lambda group: -len(group))


def _onto_triangles(points: FloatArray, corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the (k, 3) weights and (k,) distances of the nearest points of one triangle each.

    The nearest point is the foot on the plane where that lies inside, else the nearest of the
    three sides' nearest points; the best of the four by true distance is right on slivers too.
    """
    a = corners[:, 0]
    ab, ac, ap = corners[:, 1] - a, corners[:, 2] - a, points - a
    normal = np.cross(ab, ac)
    square = np.einsum("kx,kx->k", normal, normal)
    safe = np.where(square > 0, square, 1.0)
    at_b = np.einsum("kx,kx->k", np.cross(ap, ac), normal) / safe
    at_c = np.einsum("kx,kx->k", np.cross(ab, ap), normal) / safe
    weights = np.stack([1 - at_b - at_c, at_b, at_c], axis=1)
    outside = (weights < 0).any(axis=1) | (square == 0)
    foot = np.einsum("kc,kcx->kx", weights, corners)
    distance = np.linalg.norm(points - foot, axis=1)
    distance[outside] = np.inf
    rest = np.flatnonzero(outside)
    for corner in range(3):
        following = (corner + 1) % 3
        start = corners[rest, corner]
        side = corners[rest, following] - start
        length2 = np.einsum("kx,kx->k", side, side)
        reach = np.einsum("kx,kx->k", points[rest] - start, side)
        along = np.clip(reach / np.where(length2 > 0, length2, 1.0), 0.0, 1.0)
        off = np.linalg.norm(points[rest] - start - along[:, None] * side, axis=1)
        better = off < distance[rest]
        chosen = rest[better]
        distance[chosen] = off[better]
        weights[chosen] = 0.0
        weights[chosen, corner] = 1.0 - along[better]
        weights[chosen, following] = along[better]
    return weights, distance
