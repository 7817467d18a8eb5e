"""Moving a surface inward by a distance, mitred where it is creased."""

from dataclasses import replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import NearestPoint, TriMesh, corner_angles, face_normals
from geometry.surface.net import Net, agreement

_LONGEST_MITRE = 3.0
_FLAT_SHARE = 0.02
_PUSHES = 40
_CLEAR_WITHIN = 0.01
_RINGS = 2
_FOLDED = 0.5


def offset_inward(mesh: TriMesh, distance_mm: float) -> FloatArray:
    """Return the (n, 3) vertices moved inward so that every face's plane moves by the distance.

    Where faces at a vertex are all but level it moves along their mean normal; at a crease to the
    mitre of the planes moved; at a corner to where three meet. It moves at most three times the
    distance. Triangles may fold over where a crease is rounder inside than the distance allows.

    >>> flat = TriMesh([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2]])
    >>> offset_inward(flat, 0.8)[:, 2].tolist()
    [-0.8, -0.8, -0.8]
    """
    return np.asarray(mesh.vertices - distance_mm * mitres(mesh.vertices, mesh.faces))


def mitres(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return (n, 3) vectors whose component along each face's normal around is 1, nearly.

    Least squares over the faces, by their angle at the vertex; directions in which the normals
    hardly differ (under 2 % of their square) do not count.
    """
    normals = face_normals(vertices, faces)
    weight = corner_angles(vertices, faces)
    n = len(vertices)
    sums = np.zeros((n, 3))
    squares = np.zeros((n, 3, 3))
    for corner in range(3):
        at, w = faces[:, corner], weight[:, corner]
        for i in range(3):
            sums[:, i] += np.bincount(at, w * normals[:, i], minlength=n)
            for j in range(i, 3):
                part = np.bincount(at, w * normals[:, i] * normals[:, j], minlength=n)
                squares[:, i, j] += part
                if j > i:
                    squares[:, j, i] += part
    value, axes = np.linalg.eigh(squares)
    counts = value > _FLAT_SHARE * np.maximum(value[:, 2:], 1e-300)
    along = np.einsum("kij,ki->kj", axes, sums)
    share = np.divide(along, value, out=np.zeros_like(along), where=counts)
    out = np.einsum("kij,kj->ki", axes, share)
    length = np.linalg.norm(out, axis=1, keepdims=True)
    return np.asarray(out * np.minimum(1.0, _LONGEST_MITRE / np.maximum(length, 1e-300)))


def without_offset_folds(net: Net, outside: FloatArray, distance_mm: float) -> Net:
    """Return an offset net with folded places pushed in until they clear the skin all around.

    Where the crease's radius is less than the distance, its two sides have crossed: the vertices
    between go down to the mitre, where they lie close together, to be drawn together after.

    Parameters
    ----------
    net : Net
        Vertices already moved inward; normals of the outside.
    outside : (n, 3) float, mm
        Where they were.
    """
    folded = _folded(net, outside)
    if not folded.any():
        return net
    near = np.zeros(len(outside), bool)
    near[net.faces[folded]] = True
    for _ in range(_RINGS):
        near[net.faces[near[net.faces].any(axis=1)]] = True
    moving = np.flatnonzero(near)
    skin = NearestPoint(TriMesh(outside, net.faces))
    place = outside[moving] - distance_mm * net.normals[moving]
    for _ in range(_PUSHES):
        found = skin.find(place)
        close = found.distances < (1.0 - _CLEAR_WITHIN) * distance_mm
        if not close.any():
            break
        away = (place - found.points)[close] / np.maximum(found.distances[close], 1e-12)[:, None]
        place[close] = found.points[close] + distance_mm * away
    vertices = net.vertices.copy()
    vertices[moving] = place
    return replace(net, vertices=vertices)


def _folded(net: Net, outside: FloatArray) -> BoolArray:
    """Return (m,) whether a face now looks the other way from how it did outside."""
    normals = face_normals(outside, net.faces)
    at_corners = np.zeros_like(outside)
    for corner in range(3):
        np.add.at(at_corners, net.faces[:, corner], normals)
    return np.asarray(
        (agreement(net.vertices, at_corners, net.faces) < _FOLDED)
        | ((face_normals(net.vertices, net.faces) * normals).sum(axis=1) < _FOLDED)
    )
