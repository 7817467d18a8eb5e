"""Which way a shortest line goes, roughly: the shortest walk over cells in long strides."""

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra

from geometry.arrays import FloatArray, IntArray
from geometry.seams.cells import Cells

_STRIDE = 3  # steps from cell to cell that one stride may take: many ways to go, so few detours
_LEAST_LENGTH = 1e-300


class Routes:
    """Walks over the cells of a mesh.

    A stride from one cell's middle to another's is as long as a circle's arc that leaves both in
    the planes their normals show. With cells up to three steps off to choose from, a walk is hardly
    ever a hundredth longer than the shortest line, and so goes the same way round things; over
    edges alone it would be up to an eighth longer, depending on how they lie.

    Parameters
    ----------
    cells : Cells
    middles, normals : (c, 3) float
        Of the cells.
    """

    def __init__(self, cells: Cells, middles: FloatArray, normals: FloatArray) -> None:
        step = cells.beside.astype(bool).astype(np.int32)
        reach, power = step, step
        for _ in range(_STRIDE - 1):
            power = ((power @ step) > 0).astype(np.int32)
            reach = reach + power
        pairs = coo_array(reach)
        one, other = pairs.row, pairs.col
        apart = one != other
        one, other = one[apart], other[apart]
        chord = np.linalg.norm(middles[one] - middles[other], axis=1)
        half = np.arccos(np.clip((normals[one] * normals[other]).sum(axis=1), -1.0, 1.0)) / 2.0
        arc = chord / np.maximum(np.sinc(half / np.pi), 1e-3)
        size = (len(middles), len(middles))
        self._graph: csr_array = coo_array(
            (np.maximum(arc, _LEAST_LENGTH), (one, other)), shape=size
        ).tocsr()

    def walk(self, start: int, end: int) -> IntArray:
        """Return cells that lead from one to another, up to three steps apart; none if none do."""
        distance, before = dijkstra(self._graph, indices=[start], return_predecessors=True)
        if not np.isfinite(distance[0, end]):
            return np.empty(0, np.int64)
        walk = [end]
        while walk[-1] != start:
            walk.append(int(before[0, walk[-1]]))
        return np.array(walk[::-1], np.int64)
