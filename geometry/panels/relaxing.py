"""After the cut: turning diagonals beside the seams so that no triangle is a needle."""

from dataclasses import replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import edge_table, face_normals
from geometry.panels.growing import Growing

_LEVEL = 0.94
"""Cosine of the bend across a diagonal up to which it may be turned (about 20 degrees)."""


_NO_NEEDLE = 0.03
"""Least shape (twice the area over the sum of squared sides; 0.29 for an even triangle) to make."""


def with_better_diagonals(grown: Growing, *, rounds: int = 4) -> Growing:
    """Return the surface with diagonals turned where that makes the worse triangle better.

    Only beside seams, never a seam or rim edge, never across a bend. Diagonals turned in one round
    share no face. A turned face counts as part of the parent of the face it was.
    """
    near = np.zeros(len(grown.vertices), bool)
    for seam in grown.seams:
        near[seam.vertices] = True
    held = grown.line_edges()
    span = len(grown.vertices)
    held_keys = held @ np.array([span, 1])
    faces = grown.faces.copy()
    for _ in range(rounds):
        table = edge_table(faces)
        inner = (table.face_count == 2) & near[table.edges].any(axis=1)
        inner &= ~np.isin(table.edges @ np.array([span, 1]), held_keys)
        edges, sides = table.edges[inner], table.faces_of_edge[inner]
        one, other = _across(faces[sides[:, 0]], edges), _across(faces[sides[:, 1]], edges)
        gain = _gain(grown.vertices, edges, one, other)
        turned = np.sort(np.stack([one, other], axis=1), axis=1) @ np.array([span, 1])
        gain[np.isin(turned, table.edges @ np.array([span, 1]))] = -1.0
        normals = face_normals(grown.vertices, faces)
        gain[(normals[sides[:, 0]] * normals[sides[:, 1]]).sum(axis=1) < _LEVEL] = -1.0
        chosen = _independent(gain, sides, turned, len(faces))
        if not len(chosen):
            break
        _turn(faces, edges[chosen], sides[chosen], one[chosen], other[chosen])
    return replace(grown, faces=faces)


def _across(faces: IntArray, edges: IntArray) -> IntArray:
    """Return the corner of each face that is not on its edge."""
    return np.asarray(faces.sum(axis=1) - edges.sum(axis=1))


def _gain(vertices: FloatArray, edges: IntArray, one: IntArray, other: IntArray) -> FloatArray:
    """Return by how much the smallest angle's shape measure grows when the diagonal is turned."""
    a, b = edges[:, 0], edges[:, 1]
    before = np.minimum(_shape(vertices, a, b, one), _shape(vertices, b, a, other))
    after = np.minimum(_shape(vertices, one, other, a), _shape(vertices, other, one, b))
    straight = _convex(vertices, a, b, one, other)
    return np.where(straight & (after > _NO_NEEDLE), after - before, -1.0)


def _shape(vertices: FloatArray, a: IntArray, b: IntArray, c: IntArray) -> FloatArray:
    p, q, r = vertices[a], vertices[b], vertices[c]
    area = np.linalg.norm(np.cross(q - p, r - p), axis=1)
    sides = ((q - p) ** 2).sum(1) + ((r - q) ** 2).sum(1) + ((p - r) ** 2).sum(1)
    return np.asarray(area / np.maximum(sides, 1e-300))


def _convex(
    vertices: FloatArray, a: IntArray, b: IntArray, one: IntArray, other: IntArray
) -> BoolArray:
    """Return whether the two triangles make a convex quadrilateral: both new ones face alike."""
    n1 = np.cross(vertices[other] - vertices[one], vertices[a] - vertices[one])
    n2 = np.cross(vertices[one] - vertices[other], vertices[b] - vertices[other])
    return np.asarray((n1 * n2).sum(axis=1) > 0.0, bool)


def _independent(gain: FloatArray, sides: IntArray, turned: IntArray, face_count: int) -> IntArray:
    """Return turns worth making, best first, no two of which share a face or a new diagonal."""
    taken = np.zeros(face_count, bool)
    made: set[int] = set()
    chosen = []
    for k in np.argsort(-gain, kind="stable").tolist():
        if gain[k] <= 1e-3:
            break
        if not taken[sides[k]].any() and int(turned[k]) not in made:
            made.add(int(turned[k]))
            taken[sides[k]] = True
            chosen.append(k)
    return np.array(chosen, np.int64)


def _turn(
    faces: IntArray, edges: IntArray, sides: IntArray, one: IntArray, other: IntArray
) -> None:
    """Give each pair of faces the other diagonal, keeping which way they face."""
    first = faces[sides[:, 0]]
    at = np.argmax(first == one[:, None], axis=1)
    row = np.arange(len(first))
    u, v = first[row, (at + 1) % 3], first[row, (at + 2) % 3]
    faces[sides[:, 0]] = np.stack([one, u, other], axis=1)
    faces[sides[:, 1]] = np.stack([other, v, one], axis=1)
