"""A mesh parted into small cells, and the coarse mesh whose vertices are the cells' middles.

Middles are vertices of the mesh about one coarse edge apart, those on rims first; every vertex
belongs to the middle it has the shortest edge walk to, so that a cell hangs together. Where three
cells meet in a face there is a coarse face: the dual of the cells.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh, edge_table, part_of_mesh
from geometry.mesh import non_manifold_vertices as pinched_vertices
from geometry.progress import Report, silent

_LEAST_GAP = 0.6  # of the coarse edge: middles nearer together than this are thinned out
_MANY_TIMES = 16
_LEAST_LENGTH = 1e-300  # a sparse graph takes 0 for no link


@dataclass(frozen=True, eq=False)
class MeshEdges:
    """What walks over a mesh need: its edges as a graph, its rims and its pieces.

    Attributes
    ----------
    graph : (n, n) sparse
        Edge lengths, mm, both ways.
    rim_key : (r,) int
        Edges of one face, sorted, as smaller vertex times n plus larger.
    piece_of_vertex : (n,) int
    longest_at : (n,) float, mm
        The longest edge at a vertex.
    """

    graph: csr_array
    rim_key: IntArray
    piece_of_vertex: IntArray
    longest_at: FloatArray


def mesh_edges(mesh: TriMesh) -> MeshEdges:
    """Return the edges of a mesh with what walks need."""
    count = len(mesh.vertices)
    start, end = mesh.faces.ravel(), np.roll(mesh.faces, -1, axis=1).ravel()
    key = np.minimum(start, end) * count + np.maximum(start, end)
    key.sort()
    first = np.flatnonzero(np.diff(key, prepend=-1))
    faces_there = np.diff(first, append=len(key))
    key = key[first]
    low, high = np.divmod(key, count)
    length = np.linalg.norm(mesh.vertices[low] - mesh.vertices[high], axis=1)
    length = np.maximum(length, _LEAST_LENGTH)
    low, high = low.astype(np.int32), high.astype(np.int32)
    both = (np.concatenate([low, high]), np.concatenate([high, low]))
    graph: csr_array = coo_array((np.tile(length, 2), both), shape=(count, count)).tocsr()
    _, piece = connected_components(graph, directed=False)
    longest = np.zeros(count)
    held = np.flatnonzero(np.diff(graph.indptr))
    longest[held] = np.maximum.reduceat(graph.data, graph.indptr[held])
    return MeshEdges(graph, key[faces_there == 1], piece.astype(np.int64), longest)


@dataclass(frozen=True, eq=False)
class Cells:
    """The cells of a mesh.

    Attributes
    ----------
    middle : (c,) int
        The mesh vertex each cell is grown from.
    cell_of_vertex : (n,) int
        -1 for a vertex of no face.
    radius : (c,) float, mm
        No corner of a face of the cell lies farther from its middle.
    coarse : TriMesh
        A vertex for every cell; manifold; it may leave out cells of small or narrow places.
    beside : (c, c) sparse
        Which cells lie next to each other, with how far apart their middles are.
    """

    middle: IntArray
    cell_of_vertex: IntArray
    radius: FloatArray
    coarse: TriMesh
    beside: csr_array
    _face_order: IntArray
    _face_start: IntArray
    _vertex_order: IntArray
    _vertex_start: IntArray

    def faces_of(self, cells: IntArray) -> IntArray:
        """Return the faces with a corner in one of the cells, sorted."""
        found = _rows_of(self._face_order, self._face_start, cells)
        total = len(self._face_order) // 3
        if _MANY_TIMES * len(found) < total:
            return np.unique(found)
        wanted = np.zeros(total, bool)
        wanted[found] = True
        return np.flatnonzero(wanted)

    def vertices_of(self, cells: IntArray) -> IntArray:
        """Return the vertices of the cells, cell after cell in the order asked."""
        return _rows_of(self._vertex_order, self._vertex_start, cells)

    def vertex_counts(self, cells: IntArray) -> IntArray:
        """Return how many vertices each of the cells has."""
        return np.asarray(self._vertex_start[cells + 1] - self._vertex_start[cells])

    def widened(self, cells: IntArray, rings: int) -> IntArray:
        """Return the cells and those within so many steps of them."""
        inside = np.zeros(len(self.middle), bool)
        inside[cells] = True
        for _ in range(rings):
            inside |= (self.beside @ inside.astype(np.float64)) > 0
        return np.flatnonzero(inside)


def cells_of(
    mesh: TriMesh, edges: MeshEdges, coarse_edge_mm: float, *, report: Report = silent
) -> Cells:
    """Return the mesh in cells about one coarse edge across."""
    report(0.0, "cells")
    middle = _middles(mesh, edges, coarse_edge_mm)
    report(0.2, "cells")
    _, _, nearest = dijkstra(edges.graph, indices=middle, min_only=True, return_predecessors=True)
    report(0.7, "cells")
    rank = np.full(len(mesh.vertices) + 1, -1, np.int64)
    rank[middle] = np.arange(len(middle))
    cell = rank[np.where(nearest >= 0, nearest, len(mesh.vertices))]
    cells = _with_index(mesh, middle, cell, edges)
    report(1.0, "cells")
    return cells


def part_of(mesh: TriMesh, faces: IntArray) -> tuple[TriMesh, IntArray]:
    """Return some faces as a mesh of their own and its vertices' numbers in the whole, ascending.

    `part_of_mesh`, quick also for a few faces of very many.
    """
    if _MANY_TIMES * faces.size > len(mesh.vertices):
        return part_of_mesh(mesh, faces)
    used, corner = np.unique(mesh.faces[faces], return_inverse=True)
    return TriMesh(mesh.vertices[used], corner.reshape(-1, 3)), used


def _middles(mesh: TriMesh, edges: MeshEdges, coarse_edge_mm: float) -> IntArray:
    """Return vertices about one coarse edge apart, on every piece, rims first."""
    count = len(mesh.vertices)
    on_rim = np.zeros(count, bool)
    on_rim[np.concatenate(np.divmod(edges.rim_key, count))] = True
    used = np.zeros(count, bool)
    used[mesh.faces.ravel()] = True
    rim = _one_a_box(mesh.vertices, edges.piece_of_vertex, np.flatnonzero(on_rim), coarse_edge_mm)
    inner = _one_a_box(
        mesh.vertices, edges.piece_of_vertex, np.flatnonzero(used & ~on_rim), coarse_edge_mm
    )
    first = np.concatenate([rim, inner])
    pairs = cKDTree(mesh.vertices[first]).query_pairs(
        _LEAST_GAP * coarse_edge_mm, output_type="ndarray"
    )
    piece = edges.piece_of_vertex[first]
    pairs = pairs[piece[pairs[:, 0]] == piece[pairs[:, 1]]]
    kept = np.ones(len(first), bool)
    for low, high in pairs[np.lexsort(pairs.T)].tolist():
        if kept[low] and kept[high]:
            kept[high] = False
    return np.asarray(first[kept])


def _one_a_box(vertices: FloatArray, piece: IntArray, among: IntArray, side_mm: float) -> IntArray:
    """Return the vertex nearest to the middle of every box of a grid, piece by piece."""
    if not len(among):
        return among
    place = vertices[among] / side_mm
    box = np.floor(place - place.min(axis=0)).astype(np.int64)
    off = ((place - place.min(axis=0) - box - 0.5) ** 2).sum(axis=1)
    span = box.max(axis=0) + 1
    key = ((piece[among] * span[0] + box[:, 0]) * span[1] + box[:, 1]) * span[2] + box[:, 2]
    order = np.lexsort((off, key))
    first = np.diff(key[order], prepend=-1) > 0
    return np.asarray(among[order[first]])


def _with_index(mesh: TriMesh, middle: IntArray, cell: IntArray, edges: MeshEdges) -> Cells:
    """Return the cells with their faces, vertices and neighbours looked up."""
    corner_cell = cell[mesh.faces]
    used = np.flatnonzero(cell >= 0)
    off = np.linalg.norm(mesh.vertices[used] - mesh.vertices[middle[cell[used]]], axis=1)
    off += edges.longest_at[used]
    radius = np.zeros(len(middle))
    np.maximum.at(radius, cell[used], off)
    coarse = _dual(mesh.vertices[middle], corner_cell)
    of_side = corner_cell.ravel()
    face_order = np.argsort(of_side, kind="stable")
    vertex_order = np.argsort(cell, kind="stable")
    bounds = np.arange(len(middle) + 1)
    one = np.repeat(cell, np.diff(edges.graph.indptr))
    other = cell[edges.graph.indices]
    apart = np.flatnonzero(one != other)
    key = np.unique(one[apart] * len(middle) + other[apart])
    one, other = np.divmod(key, len(middle))
    gap = np.linalg.norm(mesh.vertices[middle[one]] - mesh.vertices[middle[other]], axis=1)
    size = (len(middle), len(middle))
    beside: csr_array = coo_array(
        (np.maximum(gap, _LEAST_LENGTH), (one, other)), shape=size
    ).tocsr()
    return Cells(
        middle,
        cell,
        radius * (1 + 1e-12),
        coarse,
        beside,
        (face_order // 3).astype(np.int32),
        np.searchsorted(of_side[face_order], bounds),
        vertex_order.astype(np.int32),
        np.searchsorted(cell[vertex_order], bounds),
    )


def _dual(middles: FloatArray, corner_cell: IntArray) -> TriMesh:
    """Return the coarse mesh, without faces at which it would not be manifold."""
    a, b, c = corner_cell.T
    faces = corner_cell[(a != b) & (b != c) & (c != a)]
    _, first = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    faces = faces[np.sort(first)]
    for _ in range(20):
        bad = _unsound(faces, len(middles))
        if not bad.any():
            break
        faces = faces[~bad]
    return TriMesh(middles, faces)


def _unsound(faces: IntArray, count: int) -> BoolArray:
    """Return which faces meet at edges of three or more or turned wrongly, or pinched vertices."""
    table = edge_table(faces)
    forward = np.bincount(
        table.edge_of_side.ravel(), table.side_runs_forward.ravel(), len(table.edges)
    )
    wrong = (table.face_count > 2) | ((table.face_count == 2) & (forward != 1))
    bad = wrong[table.edge_of_side].any(axis=1)
    if not bad.any():
        pinched = np.zeros(count, bool)
        pinched[pinched_vertices(faces, count, table)] = True
        bad = pinched[faces].any(axis=1)
    return np.asarray(bad)


def _rows_of(order: IntArray, start: IntArray, rows: IntArray) -> IntArray:
    """Return what stands in the rows of a packed table, one after another."""
    size = start[rows + 1] - start[rows]
    shift = np.repeat(start[rows] - np.concatenate([[0], np.cumsum(size)[:-1]]), size)
    return np.asarray(order[np.arange(int(size.sum())) + shift], np.int64)
