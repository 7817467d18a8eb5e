"""Splitting long edges of a net at their middles, all at once."""

from dataclasses import replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.surface.net import (
    Edges,
    Net,
    columns_of,
    edges_of,
    lengths_between,
    line_of,
    with_lines,
)

TOO_LONG = 4.0 / 3.0
"""Times the size wanted: splitting above and collapsing below 4/5 is the pair that settles."""


def with_long_edges_split(net: Net, *, split_lines: bool = True) -> Net:
    """Return the net with every edge longer than 4/3 of the size wanted split in two."""
    edges = edges_of(net.faces)
    ends = edges.ends
    length = lengths_between(columns_of(net.vertices), ends[:, 0], ends[:, 1])
    marked = length > TOO_LONG * net.size[ends].mean(axis=1)
    line = line_of(net, ends)
    if not split_lines:
        marked &= line < 0
    return _split(net, edges, marked, line) if marked.any() else net


def _split(net: Net, edges: Edges, marked: BoolArray, line: IntArray) -> Net:
    n = len(net.vertices)
    middle_of_edge = np.full(len(edges.ends), -1, np.int64)
    middle_of_edge[marked] = n + np.arange(int(marked.sum()))
    ends = edges.ends[marked]
    middles = net.vertices[ends].mean(axis=1)
    normals = net.normals[ends].sum(axis=1)
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    vertices = np.concatenate([net.vertices, middles])
    faces, parent = split_at(net.faces, middle_of_edge[edges.of_side], vertices)
    grown = replace(
        net,
        vertices=vertices,
        faces=faces,
        normals=np.concatenate([net.normals, normals]),
        size=np.concatenate([net.size, net.size[ends].mean(axis=1)]),
        kind=np.concatenate([net.kind, (line[marked] >= 0).astype(np.int64)]),
        came_from=np.concatenate([net.came_from, np.full(len(ends), -1, np.int64)]),
        guessed=net.guessed[parent],
    )
    cut = (line >= 0) & marked
    kept = (line >= 0) & ~marked
    new = middle_of_edge[cut]
    halves = [np.stack([edges.ends[cut, side], new], axis=1) for side in (0, 1)]
    return with_lines(
        grown,
        np.concatenate([edges.ends[kept], *halves]),
        np.concatenate([line[kept], line[cut], line[cut]]),
    )


def split_at(faces: IntArray, middle: IntArray, vertices: FloatArray) -> tuple[IntArray, IntArray]:
    """Return the faces cut at the (m, 3) middles of sides (-1: not cut), and their parents."""
    count = (middle >= 0).sum(axis=1)
    none, one, two, three = (np.flatnonzero(count == k) for k in range(4))
    parts = [faces[none]]
    f, s = _rolled(faces[one], middle[one], np.argmax(middle[one] >= 0, axis=1))
    parts += [np.stack([f[:, 0], s[:, 0], f[:, 2]], 1), np.stack([s[:, 0], f[:, 1], f[:, 2]], 1)]
    f, s = _rolled(faces[two], middle[two], np.argmax(middle[two] < 0, axis=1))
    a, b, c, p, q = f[:, 0], f[:, 1], f[:, 2], s[:, 1], s[:, 2]
    across = np.linalg.norm(vertices[a] - vertices[p], axis=1)
    short = across <= np.linalg.norm(vertices[b] - vertices[q], axis=1)
    parts += [
        np.stack([c, q, p], 1),
        np.stack([a, b, np.where(short, p, q)], 1),
        np.stack([np.where(short, a, b), p, q], 1),
    ]
    f, s = faces[three], middle[three]
    parts += [np.stack([f[:, k], s[:, k], s[:, k - 1]], 1) for k in range(3)] + [s]
    return np.concatenate(parts), np.concatenate([none, one, one, *[two] * 3, *[three] * 4])


def _rolled(faces: IntArray, middle: IntArray, first: IntArray) -> tuple[IntArray, IntArray]:
    """Return both tables with each row turned so that side `first` comes first."""
    columns = (first[:, None] + np.arange(3)) % 3
    return np.take_along_axis(faces, columns, 1), np.take_along_axis(middle, columns, 1)
