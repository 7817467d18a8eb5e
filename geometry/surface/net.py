"""`Net`: triangles on their way to being even, with what each step of evening must respect.

The steps (`split`, `collapse`, `flip`, `relax`) take a net and give back another.
"""

from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import ordered

FREE, ON_LINE, FIXED = 0, 1, 2
"""What a vertex may do: go anywhere on the surface, only along its line, nothing."""


@dataclass(frozen=True, eq=False)
class Net:
    """Triangles being evened: a manifold, oriented net over a surface.

    Attributes
    ----------
    vertices : (n, 3) float, mm
    faces : (m, 3) int
    normals : (n, 3) float
        Of the surface the net lies on, at its vertices.
    size : (n,) float, mm
        Edge length wanted at each vertex.
    kind : (n,) int
        `FREE`, `ON_LINE` or `FIXED`.
    line_edges : (k, 2) int
        Edges that lie on a line (a rim or an edge to be kept), smaller vertex first, sorted.
    line_of_edge : (k,) int
        Which line each belongs to.
    came_from : (n,) int
        The vertex of the first net this one was, or -1.
    guessed : (m,) bool
        A mark that faces hand on to what they are split into.
    """

    vertices: FloatArray
    faces: IntArray
    normals: FloatArray
    size: FloatArray
    kind: IntArray
    line_edges: IntArray
    line_of_edge: IntArray
    came_from: IntArray
    guessed: BoolArray


@dataclass(frozen=True, eq=False)
class Edges:
    """Edges of a manifold net.

    Attributes
    ----------
    ends : (e, 2) int
        Smaller vertex first, sorted.
    faces : (e, 2) int
        The face that runs the edge from `ends[0]` to `ends[1]` and the other one; -1 if absent.
    opposite : (e, 2) int
        The third vertex of each; -1 if absent.
    of_side : (m, 3) int
        The edge that side k of a face (corner k to corner k + 1) is.
    """

    ends: IntArray
    faces: IntArray
    opposite: IntArray
    of_side: IntArray

    @property
    def is_rim(self) -> BoolArray:
        """(e,) whether only one face lies there."""
        return np.asarray((self.faces[:, 0] < 0) | (self.faces[:, 1] < 0))


def edges_of(faces: IntArray) -> Edges:
    """Return the edges of (m, 3) manifold, oriented faces."""
    corners = np.ascontiguousarray(faces.T)
    following = corners[[1, 2, 0]]
    span = int(faces.max(initial=0)) + 1
    key = np.minimum(corners, following)
    key *= span
    key += np.maximum(corners, following)
    in_order, side = ordered(key.T.ravel())
    is_first = np.ones(len(side), bool)
    np.not_equal(in_order[1:], in_order[:-1], out=is_first[1:])
    edge = np.cumsum(is_first)
    edge -= 1
    of_side = np.empty(len(side), np.int64)
    of_side[side] = edge
    unique = in_order[is_first]
    low = unique // span
    ends = np.stack([low, unique - low * span], axis=1)
    runs_forward = (corners < following).T.ravel()
    side_of_slot = np.full(2 * len(unique), -1, np.int64)
    side_of_slot[2 * edge + ~runs_forward[side]] = side
    third = np.append(corners[[2, 0, 1]].T.ravel(), -1)  # the last for sides that are absent
    face_pair = side_of_slot // 3
    opposite = third[side_of_slot]
    return Edges(ends, face_pair.reshape(-1, 2), opposite.reshape(-1, 2), of_side.reshape(-1, 3))


def line_of(net: Net, ends: IntArray) -> IntArray:
    """Return the line each (k, 2) edge, smaller vertex first, lies on; -1 for none."""
    span = len(net.vertices) + 1
    known = net.line_edges[:, 0] * span + net.line_edges[:, 1]
    if not len(known):
        return np.full(len(ends), -1, np.int64)
    wanted = ends[:, 0] * span + ends[:, 1]
    place = np.minimum(np.searchsorted(known, wanted), len(known) - 1)
    return np.where(known[place] == wanted, net.line_of_edge[place], -1)


def with_lines(net: Net, edges: IntArray, line_of_edge: IntArray) -> Net:
    """Return the net with other line edges, put into order."""
    ends = np.sort(edges, axis=1).reshape(-1, 2)
    order = np.lexsort((ends[:, 1], ends[:, 0]))
    return replace(net, line_edges=ends[order], line_of_edge=line_of_edge[order])


def compacted(net: Net) -> Net:
    """Return the net without vertices that no face uses."""
    used = np.zeros(len(net.vertices), bool)
    used[net.faces] = True
    if used.all():
        return net
    index = np.cumsum(used) - 1
    kept = used[net.line_edges].all(axis=1)
    slim = replace(
        net,
        vertices=net.vertices[used],
        faces=index[net.faces],
        normals=net.normals[used],
        size=net.size[used],
        kind=net.kind[used],
        came_from=net.came_from[used],
    )
    return with_lines(slim, index[net.line_edges[kept]], net.line_of_edge[kept])


Columns = tuple[FloatArray, FloatArray, FloatArray]
"""Vectors as their x, y and z apart: sums over many of them are then done in one go each."""


def columns_of(vectors: FloatArray) -> Columns:
    """Return (n, 3) vectors as three arrays."""
    x, y, z = np.ascontiguousarray(vectors.T)
    return x, y, z


def dot_columns(one: Columns, other: Columns) -> FloatArray:
    """Return the scalar products of vectors given as columns."""
    return np.asarray(one[0] * other[0] + one[1] * other[1] + one[2] * other[2])


def lengths_between(places: Columns, start: IntArray, end: IntArray) -> FloatArray:
    """Return how far apart pairs of places are."""
    x, y, z = (axis[end] - axis[start] for axis in places)
    return np.asarray(np.sqrt(x * x + y * y + z * z))


def _area_columns(vertices: FloatArray, faces: IntArray) -> Columns:
    a, b, c = np.ascontiguousarray(faces.T)
    u, v = [], []
    for place in columns_of(vertices):
        at = place[a]
        u.append(place[b] - at)
        v.append(place[c] - at)
    return (
        u[1] * v[2] - u[2] * v[1],
        u[2] * v[0] - u[0] * v[2],
        u[0] * v[1] - u[1] * v[0],
    )


def area_vectors(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return (m, 3) normals of faces, as long as twice their area."""
    return np.stack(_area_columns(vertices, faces), axis=1)


def agreement(vertices: FloatArray, normals: FloatArray, faces: IntArray) -> FloatArray:
    """Return the cosine between each face's normal and the mean of its corners' normals.

    Zero for a face without area; negative for one folded over.
    """
    a, b, c = np.ascontiguousarray(faces.T)
    flat = _area_columns(vertices, faces)
    x, y, z = (axis[a] + axis[b] + axis[c] for axis in columns_of(normals))
    wanted = (x, y, z)
    scale = np.sqrt(dot_columns(flat, flat) * dot_columns(wanted, wanted))
    dot = dot_columns(flat, wanted)
    return np.asarray(np.divide(dot, scale, out=np.zeros_like(dot), where=scale > 0))


def evenness(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return (m,) how even each triangle is: 1 for equal sides, 0 for none of its area left.

    4 sqrt(3) area / (sum of squared sides).

    >>> corners = np.array([[0.0, 0, 0], [2, 0, 0], [1, 3**0.5, 0]])
    >>> round(float(evenness(corners, np.array([[0, 1, 2]]))[0]), 12)
    1.0
    """
    flat = _area_columns(vertices, faces)
    area = np.sqrt(dot_columns(flat, flat)) / 2.0
    a, b, c = np.ascontiguousarray(faces.T)
    squares = np.zeros(len(faces))
    for place in columns_of(vertices):
        at_a, at_b, at_c = place[a], place[b], place[c]
        squares += (at_b - at_a) ** 2 + (at_c - at_b) ** 2 + (at_a - at_c) ** 2
    even = np.divide(4.0 * np.sqrt(3.0) * area, squares, out=np.zeros_like(area), where=squares > 0)
    return np.asarray(even)


def neighbours(faces: IntArray, vertex_count: int) -> tuple[IntArray, IntArray]:
    """Return the ring of every vertex: `starts` (n + 1,) into `ring`."""
    ends = edges_of(faces).ends
    return rings(ends, vertex_count)


def rings(ends: IntArray, vertex_count: int) -> tuple[IntArray, IntArray]:
    """Return the vertices joined to every vertex by (e, 2) edges: `starts` (n + 1,), `ring`."""
    here = np.concatenate([ends[:, 0], ends[:, 1]])
    there = np.concatenate([ends[:, 1], ends[:, 0]])
    order = ordered(here)[1]
    starts = np.zeros(vertex_count + 1, np.int64)
    np.cumsum(np.bincount(here, minlength=vertex_count), out=starts[1:])
    return starts, there[order]


def expanded(starts: IntArray, items: IntArray, rows: IntArray) -> tuple[IntArray, IntArray]:
    """Return all items of some rows of a ragged table, and which of `rows` each belongs to.

    >>> expanded(np.array([0, 2, 3]), np.array([7, 8, 9]), np.array([1, 0]))
    (array([9, 7, 8]), array([0, 1, 1]))
    """
    count = starts[rows + 1] - starts[rows]
    owner = np.repeat(np.arange(len(rows)), count)
    offset = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    return items[np.repeat(starts[rows], count) + offset], owner
