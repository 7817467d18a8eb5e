"""A short loop round a handle: where a surface with a tunnel through it has to be looked at."""

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra, minimum_spanning_tree

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import EdgeTable, TriMesh, edge_lengths, edge_table, rims


def loop_round_a_handle(mesh: TriMesh) -> IntArray:
    """Return the vertices of a short loop round or along a handle: cutting it parts nothing.

    Parameters
    ----------
    mesh : TriMesh
        One oriented piece with at least one handle; rims count as closed.

    Of all edges that neither a tree of shortest ways nor a tree across the other edges uses, the
    one that closes the shortest loop through the tree. Source: [erickson2005].
    """
    closed = _rims_closed(mesh)
    table = edge_table(closed.faces)
    a, b = table.edges.T
    n, lengths = len(closed.vertices), edge_lengths(closed.vertices, table.edges)
    graph = csr_array((lengths, (a, b)), shape=(n, n))
    root = mesh.faces[0, :1]
    reach, before = dijkstra(graph, directed=False, indices=root, return_predecessors=True)
    reach, ways = reach[0], np.asarray(before[0], np.int64)
    loop = reach[a] + lengths + reach[b]
    open_edges = np.flatnonzero((ways[a] != b) & (ways[b] != a))
    left = _left_by_a_tree_across(table, open_edges, loop, len(closed.faces))
    shortest = left[int(np.argmin(loop[left]))]
    return _joined_ways(ways, int(a[shortest]), int(b[shortest]), len(mesh.vertices))


def _left_by_a_tree_across(
    table: EdgeTable, open_edges: IntArray, loop: FloatArray, face_count: int
) -> IntArray:
    """Return the open edges left over by a tree of faces, which takes the longest loops first."""
    order = open_edges[np.argsort(-loop[open_edges], kind="stable")]
    pair = np.sort(table.faces_of_edge[order], axis=1)
    _, first = np.unique(pair @ np.array([face_count, 1]), return_index=True)
    one, two = pair[first].T
    rank = csr_array((1.0 + first, (one, two)), shape=(face_count, face_count))
    used = np.asarray(minimum_spanning_tree(rank).data, np.int64) - 1
    return np.delete(order, used)


def _rims_closed(mesh: TriMesh) -> TriMesh:
    """Return the mesh with every rim closed by a fan to a new vertex in its middle."""
    vertices, faces = [mesh.vertices], [mesh.faces]
    for count, loop in enumerate(rims(mesh), start=len(mesh.vertices)):
        vertices.append(mesh.vertices[loop].mean(axis=0)[None])
        faces.append(np.stack([np.roll(loop, -1), loop, np.full(len(loop), count)], axis=1))
    return TriMesh(np.concatenate(vertices), np.concatenate(faces))


def _joined_ways(before: IntArray, one: int, two: int, count: int) -> IntArray:
    """Return the vertices below `count` on two ways back to the root, less what they share."""
    ways = []
    for vertex in (one, two):
        way = [vertex]
        while before[way[-1]] >= 0:
            way.append(int(before[way[-1]]))
        ways.append(way)
    shared = set(ways[0]) & set(ways[1])
    meeting = next(vertex for vertex in ways[0] if vertex in shared)
    one_way, other_way = ([v for v in way if v not in shared] for way in ways)
    loop = [*one_way, meeting, *reversed(other_way)]
    return np.array([v for v in loop if v < count], np.int64)
