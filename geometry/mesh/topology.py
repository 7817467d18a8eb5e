"""How faces hang together: edges, rims, pieces, orientation, kind of surface."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.errors import GeometryError
from geometry.mesh.measure import edge_lengths
from geometry.mesh.ordered import ordered
from geometry.mesh.tri_mesh import TriMesh


class NonManifoldError(GeometryError):
    """More than two faces meet at an edge, or fans of faces touch at a bare vertex.

    Attributes
    ----------
    edges : (k, 2) int
        Edges with three or more faces, as vertex pairs.
    vertices : (k,) int
        Vertices at which separate fans touch.
    points : (k, 3) float, mm
        Where they are: edge middles, then vertices.
    """

    def __init__(self, edges: IntArray, vertices: IntArray, points: FloatArray) -> None:
        self.edges, self.vertices, self.points = edges, vertices, points
        super().__init__(f"{len(edges)} non-manifold edges, {len(vertices)} non-manifold vertices")


class NotOrientableError(GeometryError):
    """Faces cannot all face the same way out: the surface is one-sided.

    Attributes
    ----------
    edges : (k, 2) int
        Edges across which faces still disagree after turning as many as can be turned.
    points : (k, 3) float, mm
        Middles of those edges.
    """

    def __init__(self, edges: IntArray, points: FloatArray) -> None:
        self.edges, self.points = edges, points
        super().__init__(f"the surface is one-sided at {len(edges)} edges")


@dataclass(frozen=True, eq=False)
class EdgeTable:
    """Every edge once, with its faces. Side k of a face runs from corner k to corner k + 1.

    Attributes
    ----------
    edges : (e, 2) int
        Vertex pairs, smaller first, sorted.
    edge_of_side : (m, 3) int
        Which edge side k of each face is.
    side_runs_forward : (m, 3) bool
        Whether the side runs from the edge's smaller vertex to its larger.
    face_count : (e,) int
        How many faces meet there.
    faces_of_edge : (e, 2) int
        Two of its faces; -1 where there is none.
    """

    edges: IntArray
    edge_of_side: IntArray
    side_runs_forward: BoolArray
    face_count: IntArray
    faces_of_edge: IntArray


def edge_table(faces: IntArray) -> EdgeTable:
    """Return the edges of (m, 3) faces and what meets at them.

    >>> edge_table(np.array([[0, 1, 2], [2, 1, 3]])).face_count.tolist()
    [1, 1, 2, 1, 1]
    """
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    span = int(faces.max()) + 1 if faces.size else 1
    in_order, order = ordered(np.minimum(start, end) * span + np.maximum(start, end))  # by edge
    is_first = np.ones(len(order), bool)
    np.not_equal(in_order[1:], in_order[:-1], out=is_first[1:])
    first = np.flatnonzero(is_first)
    edge_of_side = np.empty(len(order), np.int64)
    edge_of_side[order] = np.cumsum(is_first) - 1
    count = np.diff(first, append=len(order))
    faces_of_edge = np.full((len(first), 2), -1, np.int64)
    faces_of_edge[:, 0] = order[first] // 3
    shared = np.flatnonzero(count >= 2)
    faces_of_edge[shared, 1] = order[first[shared] + 1] // 3
    return EdgeTable(
        np.stack(np.divmod(in_order[first], span), axis=1),
        edge_of_side.reshape(-1, 3),
        (start < end).reshape(-1, 3),
        count,
        faces_of_edge,
    )


def typical_edge_length(mesh: TriMesh) -> float:
    """Return the median length of a mesh's edges, each counted once.

    >>> square = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    >>> typical_edge_length(TriMesh(square, np.array([[0, 1, 2], [0, 2, 3]])))
    1.0
    """
    return float(np.median(edge_lengths(mesh.vertices, edge_table(mesh.faces).edges)))


def non_manifold_edges(faces: IntArray, table: EdgeTable | None = None) -> IntArray:
    """Return the (k, 2) edges at which three or more faces meet.

    Here and below `table` is the faces' edge table where one is at hand.
    """
    table = edge_table(faces) if table is None else table
    return table.edges[table.face_count > 2]


def non_manifold_vertices(
    faces: IntArray, vertex_count: int, table: EdgeTable | None = None
) -> IntArray:
    """Return the vertices at which fans of faces touch without sharing an edge.

    Corners of faces are joined where their faces share an edge at that vertex; a sound vertex has
    one group of corners.
    """
    table = edge_table(faces) if table is None else table
    inner = np.flatnonzero(table.face_count >= 2)
    side_order = ordered(table.edge_of_side.ravel())[1]
    ends = np.cumsum(table.face_count)
    first = side_order[(ends - table.face_count)[inner]]
    rows: list[IntArray] = []
    cols: list[IntArray] = []
    for step in range(1, int(table.face_count.max(initial=1))):
        has = table.face_count[inner] > step
        other = side_order[(ends - table.face_count)[inner[has]] + step]
        base = first[has]
        rows += [base, _next_side(base)]
        same = faces.ravel()[base] == faces.ravel()[other]
        cols += [np.where(same, other, _next_side(other)), np.where(same, _next_side(other), other)]
    corner_count = faces.size
    row = np.concatenate([*rows, np.empty(0, np.int64)])
    col = np.concatenate([*cols, np.empty(0, np.int64)])
    graph = coo_array((np.ones(len(row)), (row, col)), shape=(corner_count, corner_count))
    _, group = connected_components(graph, directed=False)
    vertex_of_group = np.empty(int(group.max(initial=-1)) + 1, np.int64)
    vertex_of_group[group] = faces.ravel()
    return np.flatnonzero(np.bincount(vertex_of_group, minlength=vertex_count) > 1)


def _next_side(side: IntArray) -> IntArray:
    return side - side % 3 + (side % 3 + 1) % 3


def check_manifold(mesh: TriMesh, table: EdgeTable | None = None) -> None:
    """Raise `NonManifoldError` unless every edge has one or two faces and every vertex one fan."""
    table = edge_table(mesh.faces) if table is None else table
    edges = non_manifold_edges(mesh.faces, table)
    vertices = non_manifold_vertices(mesh.faces, len(mesh.vertices), table)
    if len(edges) or len(vertices):
        points = np.concatenate([mesh.vertices[edges].mean(axis=1), mesh.vertices[vertices]])
        raise NonManifoldError(edges, vertices, points)


def is_oriented(faces: IntArray) -> bool:
    """Return whether neighbouring faces run their shared edge in opposite directions."""
    return not len(_clashing_edges(edge_table(faces)))


def _clashing_edges(table: EdgeTable) -> IntArray:
    sense = np.where(table.side_runs_forward, 1, -1)
    total = np.bincount(
        table.edge_of_side.ravel(), weights=sense.ravel(), minlength=len(table.edges)
    )
    return np.flatnonzero((table.face_count == 2) & (total != 0))


def oriented_faces(mesh: TriMesh) -> IntArray:
    """Return the (m, 3) faces, turned where needed so that each piece faces one way.

    The first face of each piece keeps its direction.

    Raises
    ------
    NotOrientableError
        A piece is one-sided (a Moebius strip).
    """
    table = edge_table(mesh.faces)
    if not len(_clashing_edges(table)):
        return mesh.faces
    inner = np.flatnonzero(table.face_count == 2)
    pair = table.faces_of_edge[inner]
    clash = np.zeros(len(table.edges), bool)
    clash[_clashing_edges(table)] = True
    turn = _turn_of_face(len(mesh.faces), pair, clash[inner])
    faces = mesh.faces.copy()
    faces[turn] = faces[turn][:, ::-1]
    left = edge_table(faces)
    wrong = _clashing_edges(left)
    if len(wrong):
        edges = left.edges[wrong]
        raise NotOrientableError(edges, mesh.vertices[edges].mean(axis=1))
    return faces


def _turn_of_face(face_count: int, pair: IntArray, clash: BoolArray) -> BoolArray:
    """Turn every face that disagrees with its piece's first face, walking breadth first.

    All pieces hang on one root beside the faces, so that one walk serves them all; then each face
    takes the turns of its forebears together, twice as many generations a round.
    """
    key = np.sort(pair, axis=1) @ np.array([face_count, 1])
    key, where = np.unique(key, return_index=True)
    row, col, clash = pair[where, 0], pair[where, 1], clash[where]
    graph = coo_array((np.ones(len(row)), (row, col)), shape=(face_count, face_count))
    _, label = connected_components(graph, directed=False)
    firsts = np.unique(label, return_index=True)[1]
    row = np.concatenate([row, np.full(len(firsts), face_count)])
    col = np.concatenate([col, firsts])
    hung = coo_array((np.ones(len(row)), (row, col)), shape=(face_count + 1, face_count + 1))
    _, before = breadth_first_order(hung.tocsr(), face_count, directed=False)
    parent = np.append(before[:face_count], face_count).astype(np.int64)
    turn = np.zeros(face_count + 1, bool)
    deeper = np.flatnonzero(parent[:face_count] < face_count)
    step = np.stack([deeper, parent[deeper]], axis=1)
    step_key = np.sort(step, axis=1) @ np.array([face_count, 1])
    turn[deeper] = clash[np.searchsorted(key, step_key)]
    while (parent < face_count).any():
        turn ^= turn[parent]
        parent = parent[parent]
    return turn[:face_count]


def rims(mesh: TriMesh, table: EdgeTable | None = None) -> tuple[IntArray, ...]:
    """Return every rim as a loop of vertices, longest first, the surface on its left.

    Seen from outside, an outer rim runs counter-clockwise and a hole's rim clockwise. The last
    vertex is not the first one again.

    Raises
    ------
    NonManifoldError
        Two rims touch at a vertex, or faces disagree about which side is out.
    """
    table = edge_table(mesh.faces) if table is None else table
    side = np.flatnonzero(table.face_count[table.edge_of_side.ravel()] == 1)
    start = mesh.faces.ravel()[side]
    end = mesh.faces.ravel()[_next_side(side)]
    leaving, arriving = (np.bincount(side, minlength=len(mesh.vertices)) for side in (start, end))
    touching = np.flatnonzero((leaving > 1) | (leaving != arriving))
    if len(touching):
        raise NonManifoldError(np.empty((0, 2), np.int64), touching, mesh.vertices[touching])
    following = dict(zip(start.tolist(), end.tolist(), strict=True))
    loops: list[IntArray] = []
    while following:
        first, at = following.popitem()
        loop = [first]
        while at != first:
            loop.append(at)
            at = following.pop(at)
        smallest = int(np.argmin(loop))
        loops.append(np.array(loop[smallest:] + loop[:smallest], np.int64))
    return tuple(sorted(loops, key=lambda loop: -loop_length(mesh.vertices, loop)))


def loop_length(vertices: FloatArray, loop: IntArray) -> float:
    """Return the length of a closed loop of vertices, mm."""
    points = vertices[loop]
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def piece_of_face(faces: IntArray, table: EdgeTable | None = None) -> IntArray:
    """Return (m,) labels of edge-connected pieces, 0 for the piece with most faces, and so on."""
    table = edge_table(faces) if table is None else table
    pairs = table.faces_of_edge[table.face_count >= 2]
    crowded = np.flatnonzero(table.face_count[table.edge_of_side.ravel()] > 2)
    firsts = table.faces_of_edge[table.edge_of_side.ravel()[crowded], 0]
    row = np.concatenate([pairs[:, 0], firsts]).astype(np.int32)
    col = np.concatenate([pairs[:, 1], crowded // 3]).astype(np.int32)
    graph = coo_array((np.ones(len(row), np.int8), (row, col)), shape=(len(faces), len(faces)))
    count, label = connected_components(graph, directed=False)
    rank = np.empty(count, np.int64)
    rank[np.argsort(-np.bincount(label, minlength=count), kind="stable")] = np.arange(count)
    return rank[label]


def part_of_mesh(mesh: TriMesh, faces: IntArray) -> tuple[TriMesh, IntArray]:
    """Return some faces as a mesh of their own.

    Parameters
    ----------
    mesh : TriMesh
    faces : (k,) int
        Which faces, in the order wanted.

    Returns
    -------
    TriMesh
        Only the vertices in use, in their old order.
    (j,) int
        `vertex_of_part_vertex`, an index into `mesh.vertices`.
    """
    corners = mesh.faces[faces]
    is_used = np.zeros(len(mesh.vertices), bool)
    is_used[corners] = True
    used = np.flatnonzero(is_used)
    part_vertex = np.cumsum(is_used) - 1
    return TriMesh(mesh.vertices[used], part_vertex[corners]), used


def euler_characteristic(faces: IntArray, table: EdgeTable | None = None) -> int:
    """Return vertices - edges + faces, counting only vertices in use.

    >>> euler_characteristic(np.array([[0, 1, 2]]))
    1
    """
    table = edge_table(faces) if table is None else table
    return len(np.unique(faces)) - len(table.edges) + len(faces)


def handles(mesh: TriMesh, table: EdgeTable | None = None) -> int:
    """Return how many handles (tunnels through it) one connected, oriented piece has."""
    table = edge_table(mesh.faces) if table is None else table
    return (2 - euler_characteristic(mesh.faces, table) - len(rims(mesh, table))) // 2


def is_disk(mesh: TriMesh) -> bool:
    """Return whether the mesh is one piece with one rim and no handle."""
    if len(mesh.faces) == 0 or piece_of_face(mesh.faces).max() > 0:
        return False
    return len(rims(mesh)) == 1 and euler_characteristic(mesh.faces) == 1
