"""The pieces of a scan: area, middle and box of each, a million faces at a time."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.mesh import TriMesh
from geometry.scan.pairing import partners, piece_of_each_face

_FACES_AT_ONCE = 1_000_000
_FACES_IN_CACHE = 8192


@dataclass(frozen=True, eq=False)
class Piece:
    """One connected piece, in the unit of its mesh.

    Attributes
    ----------
    triangles : int
    area : float
    centre : (3,) float
        Of its area; a shell's lies off it.
    size : (3,) float
        Of the box around it.
    point : (3,) float
        A place on it, by which it can be named: the middle of its face nearest to the centre.
    """

    triangles: int
    area: float
    centre: FloatArray
    size: FloatArray
    point: FloatArray


@dataclass(frozen=True, eq=False)
class PieceMeasures:
    """Measures of p pieces, in the unit of their vertices.

    Attributes
    ----------
    triangles : (p,) int
    area : (p,) float
    centre : (p, 3) float
        Weighted by area.
    low, high : (p, 3) float
        Opposite corners of the box around each.
    face : (p,) int
        The face of each nearest to its centre.
    point : (p, 3) float
        Its middle.
    """

    triangles: IntArray
    area: FloatArray
    centre: FloatArray
    low: FloatArray
    high: FloatArray
    face: IntArray
    point: FloatArray

    def piece(self, which: int) -> Piece:
        """Return one of the pieces."""
        return Piece(
            int(self.triangles[which]),
            float(self.area[which]),
            locked(self.centre[which].copy()),
            locked(self.high[which] - self.low[which]),
            locked(self.point[which].copy()),
        )


def pieces_of(mesh: TriMesh) -> tuple[Piece, ...]:
    """Return the pieces of a sound mesh, largest area first.

    >>> mesh = TriMesh(np.array([[0.0, 0, 0], [2, 0, 0], [0, 2, 0]]), np.array([[0, 1, 2]]))
    >>> [(piece.triangles, piece.area) for piece in pieces_of(mesh)]
    [(1, 2.0)]
    """
    return pieces_and_faces(mesh)[0]


def pieces_and_faces(mesh: TriMesh) -> tuple[tuple[Piece, ...], IntArray]:
    """Return the pieces of a sound mesh, largest area first, and (m,) which each face is in."""
    label = piece_of_each_face(partners(mesh.faces))
    return by_area(piece_measures(mesh.vertices, mesh.faces, label), label)


def by_area(measures: PieceMeasures, label: IntArray) -> tuple[tuple[Piece, ...], IntArray]:
    """Return measured pieces, largest area first, and (m,) which each face is in."""
    order = np.argsort(-measures.area, kind="stable")
    rank = np.empty(len(order), np.int64)
    rank[order] = np.arange(len(order))
    return tuple(measures.piece(int(at)) for at in order), locked(rank[label])


def piece_measures(vertices: FloatArray, faces: IntArray, piece: IntArray) -> PieceMeasures:
    """Return the measures of pieces, given the piece of each face; no vertex is in two pieces.

    >>> square = np.array([[0.0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0]])
    >>> found = piece_measures(square, np.array([[0, 1, 2], [0, 2, 3]]), np.array([0, 0]))
    >>> found.area.tolist(), found.centre.tolist()
    ([4.0], [[1.0, 1.0, 0.0]])
    """
    count = int(piece.max(initial=-1)) + 1
    area, moment = np.zeros(count), np.zeros((count, 3))
    piece_of_vertex = np.full(len(vertices), -1, np.int64)
    for start in range(0, len(faces), _FACES_AT_ONCE):
        part = slice(start, start + _FACES_AT_ONCE)
        at = piece[part]
        piece_of_vertex[faces[part]] = at[:, None]
        own, middle = _areas_and_middles(vertices, faces[part])
        area += np.bincount(at, own, count)
        for axis in range(3):
            moment[:, axis] += np.bincount(at, own * middle[:, axis], count)
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    used = np.flatnonzero(piece_of_vertex >= 0)
    for axis in range(3):
        np.minimum.at(low[:, axis], piece_of_vertex[used], vertices[used, axis])
        np.maximum.at(high[:, axis], piece_of_vertex[used], vertices[used, axis])
    centre = np.divide(moment, area[:, None], out=np.zeros((count, 3)), where=area[:, None] > 0)
    face = _nearest_faces(vertices, faces, piece, centre)
    point = vertices[faces[face]].mean(axis=1)
    return PieceMeasures(np.bincount(piece, minlength=count), area, centre, low, high, face, point)


def _areas_and_middles(vertices: FloatArray, faces: IntArray) -> tuple[FloatArray, FloatArray]:
    area, middle = np.empty(len(faces)), np.empty((len(faces), 3))
    for start in range(0, len(faces), _FACES_IN_CACHE):
        part = slice(start, start + _FACES_IN_CACHE)
        a, b, c = (vertices[faces[part, corner]] for corner in range(3))
        vectors = np.cross(b - a, c - a)
        area[part] = np.sqrt(np.einsum("ij,ij->i", vectors, vectors)) / 2.0
        middle[part] = (a + b + c) / 3.0
    return area, middle


def _nearest_faces(
    vertices: FloatArray, faces: IntArray, piece: IntArray, centre: FloatArray
) -> IntArray:
    """Return for each piece its face whose middle lies nearest to a place."""
    squared = np.empty(len(faces))
    for start in range(0, len(faces), _FACES_IN_CACHE):
        part = slice(start, start + _FACES_IN_CACHE)
        a, b, c = (vertices[faces[part, corner]] for corner in range(3))
        away = (a + b + c) / 3.0 - centre[piece[part]]
        squared[part] = np.einsum("ij,ij->i", away, away)
    least = np.full(len(centre), np.inf)
    np.minimum.at(least, piece, squared)
    rows = np.flatnonzero(squared == least[piece])
    found = np.zeros(len(centre), np.int64)
    found[piece[rows[::-1]]] = rows[::-1]
    return found
