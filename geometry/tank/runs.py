"""How a liquid runs together in a closed space: over which height one place reaches another.

Below any level the space falls into pools. They are followed on its skin: two places are in one
pool once the skin between them lies below the level. Where skin hangs down into the liquid (a
recess, a tunnel's closed end) its lowest place is tied to the skin straight below it. What ties all
places together at the least heights is a tree (the least spanning tree of the edges by their
higher ends), and the height over which one place reaches another is the highest on the way.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import edge_table
from geometry.tank.depth import ASIDE_MM, Depths


@dataclass(frozen=True, eq=False)
class Link:
    """Two vertices tied at a height, besides the skin's own edges."""

    one: int
    other: int
    height: float


class Runs:
    """One stance of a space: the tree of how it runs together, the set-up kept.

    Parameters
    ----------
    depths : Depths
    crossovers : sequence of (place, place)
        (3,) places in level axes that a tube joins.
    """

    def __init__(
        self, depths: Depths, crossovers: tuple[tuple[FloatArray, FloatArray], ...] = ()
    ) -> None:
        self.depths = depths
        edges = edge_table(depths.faces).edges
        self.lowest = _lowest_places(edges, depths.heights)
        links = [*self._hanging(), *(self._tube(*each) for each in crossovers)]
        ends = np.array([[each.one, each.other] for each in links], np.int64).reshape(-1, 2)
        self.ties = np.concatenate([edges, ends])
        at_edges = depths.heights[edges].max(axis=1)
        self._over = np.concatenate([at_edges, [each.height for each in links]])

    def under(self, place: FloatArray) -> tuple[int, float] | None:
        """Return the face straight below a place in the space and its height; None outside.

        Parameters
        ----------
        place : (3,) float
            Level axes.
        """
        at = place[:2] + ASIDE_MM
        heights, faces = self.depths.uprights.hits(at)
        below = int(np.searchsorted(heights, place[2], side="right"))
        if below % 2 == 0:
            return None
        return int(faces[below - 1]), float(heights[below - 1])

    @cached_property
    def tree(self) -> tuple[IntArray, FloatArray]:
        """(n - 1, 2) Ties of the tree and their heights, rising."""
        return _least_tree(self.ties, self._over, len(self.depths.points))

    def spill_to(self, outlets: list[FloatArray]) -> FloatArray:
        """Return for each vertex the least height over which it reaches an outlet.

        Parameters
        ----------
        outlets : list of (3,) float
            In the space, level axes. A place no outlet can be reached from: inf.
        """
        count = len(self.depths.points)
        ties, over = [self.ties], [self._over]
        for outlet in outlets:
            found = self.under(outlet)
            if found is None:
                continue
            corners = self.depths.faces[found[0]]
            ties.append(np.column_stack([corners, np.full(3, count)]))
            over.append(np.maximum(self.depths.heights[corners], outlet[2]))
        ends, heights = _least_tree(np.concatenate(ties), np.concatenate(over), count + 1)
        return _over_to_root(ends, heights, count)

    def _hanging(self) -> list[Link]:
        """Return links from lowest places of skin that hangs in the liquid to what is below."""
        links = []
        for vertex in self.lowest.tolist():
            place = self.depths.points[vertex] - [0.0, 0.0, 1e-6]
            found = self.under(place)
            if found is not None:
                height = float(self.depths.heights[vertex])
                links.append(Link(vertex, self._foot(found[0]), height))
        return links

    def _tube(self, one: FloatArray, other: FloatArray) -> Link:
        ends = [self.under(place) for place in (one, other)]
        feet = [self._foot(each[0]) if each else int(self.lowest[0]) for each in ends]
        return Link(feet[0], feet[1], float(max(one[2], other[2])))

    def _foot(self, face: int) -> int:
        corners = self.depths.faces[face]
        return int(corners[np.argmin(self.depths.heights[corners])])


def _lowest_places(edges: IntArray, heights: FloatArray) -> IntArray:
    """Return vertices from which the skin runs down nowhere; one of each level patch."""
    order = np.lexsort((np.arange(len(heights)), heights))
    rank = np.empty(len(heights), np.int64)
    rank[order] = np.arange(len(heights))
    lower = np.zeros(len(heights), bool)
    first_higher = rank[edges[:, 0]] > rank[edges[:, 1]]
    lower[np.where(first_higher, edges[:, 0], edges[:, 1])] = True
    return np.flatnonzero(~lower)


def _least_tree(ties: IntArray, over: FloatArray, count: int) -> tuple[IntArray, FloatArray]:
    """Return the least spanning tree's ties and heights, rising; ranks stand in for heights."""
    order = np.argsort(over, kind="stable")
    low, high = ties[order].min(axis=1), ties[order].max(axis=1)
    _, first = np.unique(low * count + high, return_index=True)  # of two ties the lower
    first.sort()
    rank = np.arange(1.0, len(first) + 1.0)
    graph = coo_array((rank, (low[first], high[first])), shape=(count, count))
    tree = minimum_spanning_tree(graph.tocsr()).tocoo()
    kept = np.sort(tree.data.astype(np.int64)) - 1
    at = order[first[kept]]
    return ties[at], over[at]


def _over_to_root(ends: IntArray, heights: FloatArray, root: int) -> FloatArray:
    """Return for each vertex the highest tie on its way to the root; inf where there is no way."""
    one, other = ends.T
    graph = coo_array((np.arange(1.0, len(ends) + 1.0), (one, other)), shape=(root + 1, root + 1))
    both = (graph + graph.T).tocsr()
    order, before = breadth_first_order(both, root, directed=False)
    tie = np.asarray(both[order[1:], before[order[1:]]]).ravel().astype(np.int64) - 1
    over = np.full(root + 1, np.inf)
    over[root] = -np.inf
    for vertex, parent, height in zip(
        order[1:].tolist(), before[order[1:]].tolist(), heights[tie].tolist(), strict=True
    ):
        over[vertex] = max(over[parent], height)
    return over[:root]
