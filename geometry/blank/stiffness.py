"""The stiffness of a whole panel: one sparse matrix, its pattern and elimination order made once.

How stiff each face is belongs to `elements`.
"""

from functools import cached_property

import numpy as np
from scipy.sparse import bsr_array, csc_array, csr_array
from scipy.sparse.linalg import LinearOperator, SuperLU, cg, splu

from geometry.arrays import FloatArray, IntArray
from geometry.blank.elements import Elements, FaceStiffness
from geometry.blank.ordering import nested_dissection
from geometry.mesh import edge_table

DRIFT = 1e-11
"""Part of the mean diagonal added to it: nothing else stops the blank from drifting and turning."""


class Stiffness:
    """One panel's stiffness at one layout.

    Attributes
    ----------
    matrix : (2n, 2n) sparse, by rows
        In the solver's order, a vertex's two rows together.
    own : (n, 2, 2) float
        The blocks of each vertex with itself, in that order.
    """

    def __init__(self, matrix: csr_array, own: FloatArray, of_vertex: IntArray) -> None:
        self.matrix, self.own, self._of_vertex = matrix, own, of_vertex

    def factorised(self) -> "Factors":
        """Return its factors."""
        rows = self.matrix
        by_column = csc_array((rows.data, rows.indices, rows.indptr), shape=rows.shape)  # symmetric
        factors = splu(
            by_column,
            permc_spec="NATURAL",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True, "Equil": False},
        )
        return Factors(factors, self._of_vertex)

    def solve_near(
        self, loads: FloatArray, factors: "Factors", *, tolerance: float, max_rounds: int
    ) -> FloatArray | None:
        """Return how the vertices move under loads, by the factors of a stiffness much like it.

        None where the two are too far apart: the load left is more than the tolerance times the
        load after so many rounds of conjugate gradients.
        """
        movement, short = cg(
            self.matrix,
            factors.in_order(loads),
            rtol=tolerance,
            maxiter=max_rounds,
            M=LinearOperator(self.matrix.shape, matvec=factors.solve_in_order, dtype=np.float64),
        )
        return None if short else np.asarray(movement)[self._of_vertex]


class Factors:
    """A stiffness taken apart once, so that loads can be answered with movements many times."""

    def __init__(self, factors: SuperLU, of_vertex: IntArray) -> None:
        self._factors, self._of_vertex = factors, of_vertex

    def solve(self, loads: FloatArray) -> FloatArray:
        """Return (n, 2) or (n, 2, k), mm: how the vertices move under nodal loads so shaped."""
        movement: FloatArray = self.solve_in_order(self.in_order(loads))[self._of_vertex]
        return movement

    def in_order(self, loads: FloatArray) -> FloatArray:
        """Return (2n,) or (2n, k): (n, 2) or (n, 2, k) loads in elimination order."""
        right = np.empty((self._of_vertex.size, *loads.shape[2:]))
        right[self._of_vertex] = loads
        return right

    def solve_in_order(self, right: FloatArray) -> FloatArray:
        """Return the movements in elimination order."""
        return np.asarray(self._factors.solve(right))


class StiffnessSolver:
    """The sparse matrix of one panel: pattern and elimination order made once, numbers often.

    Parameters
    ----------
    elements : Elements
    layout : (n, 2) or (n, 3) float or None
        Places by which the panel is halved for the order of elimination; None keeps the vertices
        in their own order: good for multiplying, not for factors.
    drift : float
        Part of the mean diagonal added to the diagonal.

    Attributes
    ----------
    kept : Factors or None
        The last ones made in a descent; they may serve its next step.
    """

    def __init__(
        self, elements: Elements, layout: FloatArray | None, *, drift: float = DRIFT
    ) -> None:
        self._elements, self._layout, self._drift = elements, layout, drift
        self.kept: Factors | None = None

    @cached_property
    def _pattern(self) -> "_Pattern":
        return _Pattern(self._elements, self._layout)

    def assembled(self, faces: FaceStiffness) -> Stiffness:
        """Return the sum of the faces' stiffness."""
        pattern, n = self._pattern, self._elements.vertex_count
        at_vertex, along_edge = _sums(self._elements, pattern, faces)
        e = along_edge.shape[1]
        blocks = np.empty((n + 2 * e, 2, 2))
        blocks[:n] = at_vertex[[0, 1, 1, 2]].T.reshape(n, 2, 2)
        blocks[n : n + e] = along_edge.T.reshape(e, 2, 2)
        blocks[n + e :] = blocks[n : n + e].transpose(0, 2, 1)
        drift = self._drift * float(at_vertex[[0, 2]].mean())
        blocks[:n, 0, 0] += drift
        blocks[:n, 1, 1] += drift
        values = blocks.ravel()[pattern.source]
        whole = csr_array((values, pattern.indices, pattern.starts), shape=(2 * n, 2 * n))
        return Stiffness(whole, blocks[pattern.order], pattern.of_vertex)

    def factorised(self, faces: FaceStiffness) -> Factors:
        """Return the factors of the sum of the faces' stiffness."""
        return self.assembled(faces).factorised()


class _Pattern:
    """Where every vertex and edge of a panel stands in its matrix."""

    def __init__(self, elements: Elements, layout: FloatArray | None) -> None:
        n = elements.vertex_count
        table = edge_table(elements.faces)
        self.order = (
            np.arange(n) if layout is None else nested_dissection(layout, table.edges)
        )  # vertex by place
        place = np.empty(n, np.int64)
        place[self.order] = np.arange(n)
        self.of_vertex = 2 * place[:, None] + np.arange(2)  # (n, 2)
        self.edge_of_side = np.ascontiguousarray(table.edge_of_side.T)  # (3, m)
        self.forward = np.ascontiguousarray(table.side_runs_forward.T)
        self.edge_count = len(table.edges)
        one, two = place[table.edges.T]
        rows = np.concatenate([place, one, two])
        columns = np.concatenate([place, two, one])
        numbers = csr_array((np.arange(1, len(rows) + 1), (rows, columns)), shape=(n, n))
        numbers.sort_indices()
        # Blocks of vertices, of edges, and of edges the other way; four numbers each.
        fours = 4 * numbers.data[:, None, None] + np.array([[-4, -3], [-2, -1]])
        entries = csr_array(
            bsr_array((fours, numbers.indices, numbers.indptr), shape=(2 * n, 2 * n))
        )
        self.source = entries.data  # entry of the matrix -> number within the blocks
        self.indices, self.starts = entries.indices, entries.indptr


def _sums(
    elements: Elements, pattern: _Pattern, faces: FaceStiffness
) -> tuple[FloatArray, FloatArray]:
    """Return the sums (3, n) at the vertices and (4, e) along the edges, lower vertex first."""
    k22, k33, k23 = faces.second, faces.third, faces.across
    k21 = -(k22[[0, 1, 1, 2]] + k23)  # second with first, by row
    k31 = -(k33[[0, 1, 1, 2]] + k23[[0, 2, 1, 3]])
    k11 = -(k21 + k31)[[0, 1, 3]]
    sides = (k21[[0, 2, 1, 3]], k23, k31)  # first-second, second-third, third-first
    edges = np.zeros((4, pattern.edge_count))
    for k, back in enumerate((0, 2, 1, 3)):
        values = np.stack(
            [
                np.where(pattern.forward[side], sides[side][k], sides[side][back])
                for side in range(3)
            ]
        )
        edges[k] = np.bincount(
            pattern.edge_of_side.ravel(), values.ravel(), minlength=pattern.edge_count
        )
    at = [elements.nodal_sum(np.stack([k11[k], k22[k], k33[k]])) for k in range(3)]
    return np.stack(at), edges
