"""The shortest walk along edges between two places of a mesh."""

import heapq
from collections.abc import Mapping

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.errors import GeometryError

_FIRST_WINDOW = 1.2  # times the straight distance: on most tanks the walk is no longer
_FEW_VERTICES = 150
_LEAST_COST = 1e-300  # a sparse graph takes 0 for no link


class NoPathError(GeometryError):
    """Two points lie on pieces of surface that do not hang together.

    Attributes
    ----------
    start, end : (3,) float, mm
    """

    def __init__(self, start: FloatArray, end: FloatArray) -> None:
        self.start, self.end = start, end
        super().__init__("no path over the surface joins the two points")


class EdgeWalker:
    """Shortest edge walks on one mesh; searches only where a walk as short could run."""

    def __init__(self, vertices: FloatArray, edges: IntArray) -> None:
        self._vertices = vertices
        length = np.linalg.norm(vertices[edges[:, 0]] - vertices[edges[:, 1]], axis=1)
        length = np.maximum(length, _LEAST_COST)
        both = np.concatenate([edges, edges[:, ::-1]])
        self._graph: csr_array = coo_array(
            (np.tile(length, 2), (both[:, 0], both[:, 1])), shape=(len(vertices), len(vertices))
        ).tocsr()
        self._tree = cKDTree(vertices)
        self._longest_edge = float(length.max(initial=0.0))

    def walk(
        self,
        start: FloatArray,
        end: FloatArray,
        from_start: Mapping[int, float],
        to_end: Mapping[int, float],
    ) -> tuple[float, list[int]]:
        """Return the length and the vertices of the shortest walk.

        Parameters
        ----------
        start, end : (3,) float, mm
        from_start, to_end : vertex to length, mm
            The vertices the walk may begin and finish with, and how far the ends lie from them.

        Raises
        ------
        NoPathError
            No edges join them.
        """
        near = self._near_walk(from_start, to_end)
        if near is not None:
            return near
        straight = float(np.linalg.norm(end - start))
        bound = _FIRST_WINDOW * straight + 4 * self._longest_edge
        while True:
            window = self._window(start, end, bound)
            length, vertices = self._search(window, from_start, to_end)
            if length <= bound * (1 + 1e-9):
                return length, vertices
            if np.isfinite(length):
                bound = length
            elif len(window) == len(self._vertices):
                raise NoPathError(start, end)
            else:
                bound = 2 * bound

    def _near_walk(
        self, from_start: Mapping[int, float], to_end: Mapping[int, float]
    ) -> tuple[float, list[int]] | None:
        """Return the shortest walk where the ends are a few edges apart, None where they are not.

        Looking about vertex by vertex is quicker then than setting a search up.
        """
        starts, ends, links = self._graph.indptr, self._graph.indices, self._graph.data
        waiting = [(cost, vertex, -1) for vertex, cost in from_start.items()]
        heapq.heapify(waiting)
        before: dict[int, int] = {}
        best, last = np.inf, -1
        while waiting and len(before) < _FEW_VERTICES:
            length, vertex, came_from = heapq.heappop(waiting)
            if length >= best:
                break
            if vertex in before:
                continue
            before[vertex] = came_from
            if vertex in to_end and length + to_end[vertex] < best:
                best, last = length + to_end[vertex], vertex
            row = slice(starts.item(vertex), starts.item(vertex + 1))
            for beside, link in zip(ends[row].tolist(), links[row].tolist(), strict=True):
                if beside not in before:
                    heapq.heappush(waiting, (length + link, beside, vertex))
        else:
            return None
        walk = []
        while last >= 0:
            walk.append(last)
            last = before[last]
        return best, walk[::-1]

    def _window(self, start: FloatArray, end: FloatArray, bound: float) -> IntArray:
        """Return the vertices from which both ends together are no farther than the bound."""
        ball = self._tree.query_ball_point((start + end) / 2, bound / 2 * (1 + 1e-9))
        inside = np.sort(np.array(ball, np.int64))
        place = self._vertices[inside]
        both = np.linalg.norm(place - start, axis=1) + np.linalg.norm(place - end, axis=1)
        return np.asarray(inside[both <= bound * (1 + 1e-9)])

    def _search(
        self, window: IntArray, from_start: Mapping[int, float], to_end: Mapping[int, float]
    ) -> tuple[float, list[int]]:
        """Return the shortest walk inside the window, infinitely long if there is none."""
        count = len(window)
        within = self._graph[window][:, window].tocoo()
        row, col, data = [within.row], [within.col], [within.data]
        for at, links in ((count, from_start), (count + 1, to_end)):
            ends = np.fromiter(links, np.int64)
            place = np.searchsorted(window, ends)
            known = (place < count) & (window[np.minimum(place, count - 1)] == ends)
            cost = np.maximum(np.fromiter(links.values(), np.float64)[known], _LEAST_COST)
            end_node = np.full(int(known.sum()), at)
            row.append(end_node if at == count else place[known])
            col.append(place[known] if at == count else end_node)
            data.append(cost)
        graph = coo_array(
            (np.concatenate(data), (np.concatenate(row), np.concatenate(col))),
            shape=(count + 2, count + 2),
        ).tocsr()
        distance, before = dijkstra(graph, indices=np.array([count]), return_predecessors=True)
        if not np.isfinite(distance[0, count + 1]):
            return np.inf, []
        walk, at = [], int(before[0, count + 1])
        while at != count:
            walk.append(int(window[at]))
            at = int(before[0, at])
        return float(distance[0, count + 1]), walk[::-1]
