"""Exact lines inside corridors cut out of a large mesh, and the proof that no walk is shorter.

A line that is tight inside its corridor and touches the corridor's border nowhere is tight on
the whole mesh. One that touches it is sought again in a wider corridor. A search along edges then
looks for a walk shorter than the line anywhere on the mesh; if there is one, a corridor about that
walk holds a line at least as short.
"""

from dataclasses import replace

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import (
    NonManifoldError,
    NoPathError,
    PathFinder,
    SurfacePath,
    SurfacePoint,
    TriMesh,
)
from geometry.seams.cells import Cells, MeshEdges, part_of

_FIRST_RINGS = 3
_AT_CORNER = 1e-6  # as in `PathFinder`: weights below this put an end on the edge or at the vertex
_GAIN = 1e-4  # of the length: less from one corridor to the next and they get wider
_SHORTER = 1e-9  # of the length: what rounding may do to a sum of edges
_LEAST_COST = 1e-300


class Corridors:
    """Corridors of one mesh."""

    def __init__(self, mesh: TriMesh, edges: MeshEdges, cells: Cells) -> None:
        self._mesh, self._edges, self._cells = mesh, edges, cells
        self._face_count = np.bincount(mesh.faces.ravel(), minlength=len(mesh.vertices)).astype(
            np.int32
        )
        self._middles = mesh.vertices[cells.middle]

    def shortest(self, start: SurfacePoint, end: SurfacePoint, cells: IntArray) -> SurfacePath:
        """Return a locally shortest line, never longer than the shortest walk along edges.

        Parameters
        ----------
        start, end : SurfacePoint
        cells : (j,) int
            Where the line may be expected.

        Raises
        ------
        NoPathError
            The ends lie on different pieces.
        """
        path = self.tightest(start, end, cells)
        while True:
            walk = self._shorter_walk(start, end, path.length)
            if not len(walk):
                return path
            cells = np.unique(self._cells.cell_of_vertex[walk])
            path = self.tightest(start, end, cells)

    def tightest(self, start: SurfacePoint, end: SurfacePoint, cells: IntArray) -> SurfacePath:
        """Return a locally shortest line, no longer than any walk inside a corridor about cells.

        A line that touches the corridor's border is drawn tight again in a corridor about itself.
        """
        rings, line, length = _FIRST_RINGS, None, np.inf
        while True:
            wide = self._cells.widened(cells, rings)
            everything = len(wide) == len(self._middles)
            faces = self._cells.faces_of(wide)
            part, vertex_of_part = part_of(self._mesh, faces)
            along = None if line is None else _on_part(line, faces, vertex_of_part)
            try:
                path = PathFinder(part).path(
                    _within(faces, start), _within(faces, end), along=along
                )
            except (NoPathError, NonManifoldError):
                if everything:
                    raise
                rings *= 2
                continue
            line = _on_whole(path, faces, vertex_of_part)
            if everything or not self._touches_border(path, part, vertex_of_part):
                return line
            if path.length > (1.0 - _GAIN) * length:
                rings *= 2
            length = path.length
            cells = np.unique(self._cells.cell_of_vertex[self._mesh.faces[line.faces]])

    def _touches_border(self, path: SurfacePath, part: TriMesh, vertex_of_part: IntArray) -> bool:
        """Return whether a path runs through a vertex some of whose faces were left out."""
        through = path.vertex[path.vertex >= 0]
        if not len(through):
            return False
        here = np.bincount(part.faces.ravel(), minlength=len(part.vertices))
        return bool((here[through] < self._face_count[vertex_of_part[through]]).any())

    def _shorter_walk(self, start: SurfacePoint, end: SurfacePoint, length: float) -> IntArray:
        """Return the vertices of a walk along edges shorter than a length; empty if there is none.

        The straight distance to the end bounds what is left of a walk from below, so that only
        vertices from which the end might be reached in time are looked at.
        """
        first, from_start = self._links(start)
        last, to_end = self._links(end)
        room = length - float(np.linalg.norm(last - first))
        window = self._window(first, last, length)
        if room <= 0 or not len(window):
            return np.empty(0, np.int64)
        graph = self._aimed_graph(window, first, last, (from_start, to_end))
        count = len(window)
        limit = max(room - _SHORTER * length, 0.0)
        gone, before = dijkstra(graph, indices=[count], return_predecessors=True, limit=limit)
        if not np.isfinite(gone[0, count + 1]):
            return np.empty(0, np.int64)
        walk = [int(before[0, count + 1])]
        while walk[-1] != count:
            walk.append(int(before[0, walk[-1]]))
        return np.asarray(window[walk[-2::-1]])

    def _aimed_graph(
        self,
        window: IntArray,
        first: FloatArray,
        last: FloatArray,
        links: tuple[dict[int, float], dict[int, float]],
    ) -> csr_array:
        """Return the edges of a window with both ends, each edge as long as it leads astray.

        That is its length less what it brings nearer to the end; the sum over a walk is the walk's
        length less the straight distance. Start and end come after the window's vertices.
        """
        count = len(window)
        within = self._edges.graph[window][:, window].tocoo()
        left = np.linalg.norm(self._mesh.vertices[window] - last, axis=1)
        left = np.append(left, [np.linalg.norm(last - first), 0.0])
        row, col, data = [within.row], [within.col], [within.data]
        for at, reach in zip((count, count + 1), links, strict=True):
            ends = np.fromiter(reach, np.int64)
            place = np.minimum(np.searchsorted(window, ends), count - 1)
            known = window[place] == ends
            place, node = place[known], np.full(int(known.sum()), at)
            row.append(node if at == count else place)
            col.append(place if at == count else node)
            data.append(np.fromiter(reach.values(), np.float64)[known])
        rows, cols = np.concatenate(row), np.concatenate(col)
        cost = np.maximum(np.concatenate(data) + left[cols] - left[rows], _LEAST_COST)
        return coo_array((cost, (rows, cols)), shape=(count + 2, count + 2)).tocsr()

    def _window(self, first: FloatArray, last: FloatArray, length: float) -> IntArray:
        """Return the vertices from which both ends together are within a length, sorted."""
        gap = np.linalg.norm(self._middles - first, axis=1)
        gap += np.linalg.norm(self._middles - last, axis=1)
        near = self._cells.vertices_of(np.flatnonzero(gap - 2 * self._cells.radius <= length))
        both = np.linalg.norm(self._mesh.vertices[near] - first, axis=1)
        both += np.linalg.norm(self._mesh.vertices[near] - last, axis=1)
        return np.sort(near[both <= length])

    def _links(self, place: SurfacePoint) -> tuple[FloatArray, dict[int, float]]:
        """Return a place and the vertices a walk may begin with, with how far they are."""
        corners = self._mesh.faces[place.face]
        weights = np.where(place.barycentric > _AT_CORNER, place.barycentric, 0.0)
        weights = weights / weights.sum()
        point = weights @ self._mesh.vertices[corners]
        bearing = corners[weights > 0]
        if len(bearing) == 1:
            return point, {int(bearing[0]): _LEAST_COST}
        if len(bearing) == 2:
            near = self._cells.faces_of(np.unique(self._cells.cell_of_vertex[bearing]))
            shared = np.isin(self._mesh.faces[near], bearing).sum(axis=1) == 2
            corners = np.unique(self._mesh.faces[near[shared]])
        gap = np.linalg.norm(self._mesh.vertices[corners] - point, axis=1)
        return point, dict(zip(corners.tolist(), gap.tolist(), strict=True))


def _within(faces: IntArray, place: SurfacePoint) -> SurfacePoint:
    """Return a place of the whole mesh on the part made of some sorted faces."""
    at = int(np.searchsorted(faces, place.face))
    return SurfacePoint(at, place.barycentric)


def _on_part(path: SurfacePath, faces: IntArray, vertex_of_part: IntArray) -> SurfacePath:
    """Return a path over the whole mesh as one over a part that holds it."""
    vertex = np.where(path.vertex >= 0, np.searchsorted(vertex_of_part, path.vertex), -1)
    edge = np.where(path.edge >= 0, np.searchsorted(vertex_of_part, path.edge), -1)
    on_part = np.searchsorted(faces, path.faces)
    return replace(path, faces=on_part, vertex=vertex, edge=edge)


def _on_whole(path: SurfacePath, faces: IntArray, vertex_of_part: IntArray) -> SurfacePath:
    """Return a path over a part as one over the whole mesh."""
    vertex = np.where(path.vertex >= 0, vertex_of_part[path.vertex], -1)
    edge = np.where(path.edge >= 0, vertex_of_part[path.edge], -1)
    return SurfacePath(
        path.points, faces[path.faces], path.length, vertex, edge, path.along, path.corners
    )
