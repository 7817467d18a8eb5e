"""Layouts with the rim on a circle: no face can fold but by rounding, whatever the weights.

Where the numbers run out of digits (a tube drawn so deep that its closed end shrinks to a point)
weights are changed until they no longer do.
"""

from collections.abc import Iterator

import numpy as np
from scipy.sparse import csc_array, csr_array
from scipy.sparse.linalg import splu

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank.stretch import rest_frames, shape_gradients, singular_values
from geometry.mesh import TriMesh, corner_angles, edge_lengths

LEAST_STEP = 0.05
"""Least part of the mean step between rim vertices on the circle, so that no two coincide."""

STRETCH_LIMIT = 1e12
"""Stretches beyond this are counted as this: a face may have shrunk to nothing."""


class ConvexRim:
    """A disk's set-up for such layouts: rim on a circle by length, pattern and order made once.

    Parameters
    ----------
    mesh : TriMesh
        One disk without holes.
    rim : (k,) int
    order : (n,) int
        In which vertices are eliminated.
    """

    def __init__(self, mesh: TriMesh, rim: IntArray, order: IntArray) -> None:
        self._mesh, self._rim = mesh, rim
        self._inner = _inner_in_order(len(mesh.vertices), rim, order)
        self._circle = _on_circle(mesh, rim)
        a, b, c = mesh.faces.T
        self._from = np.concatenate([a, b, b, c, c, a])
        self._to = np.concatenate([b, a, c, b, a, c])

    def even(self) -> FloatArray:
        """Return (n, 2): every inner vertex at the mean of its neighbours. Source: [tutte1963]."""
        return self.weighted(np.ones(len(self._from)))

    def mean_value(self) -> FloatArray:
        """Return (n, 2): angles kept better, still no fold. Source: [floater2003]."""
        return self.weighted(self._mean_value_weights())

    def weighted(self, weights: FloatArray) -> FloatArray:
        """Return (n, 2): every inner vertex at a weighted mean of its neighbours.

        Parameters
        ----------
        weights : (6 m,) float
            Of each side of each face, seen from either end; all above 0. Source: [floater1997].
        """
        flat = np.zeros((len(self._mesh.vertices), 2))
        flat[self._rim] = self._circle
        return self._with_means(flat, self._inner, weights)

    def mended(self, flat: FloatArray, folded: BoolArray, rings: int) -> FloatArray:
        """Return a layout with folded faces combed out: what lies round them laid anew.

        Parameters
        ----------
        flat : (n, 2) float
        folded : (m,) bool
        rings : int
            How many rings of vertices round the folded faces are moved; the rim stays.

        It need not succeed: the edge of what is moved is not convex.
        """
        faces = self._mesh.faces
        moved = np.zeros(len(flat), bool)
        moved[faces[folded]] = True
        for _ in range(rings):
            moved[faces[moved[faces].any(axis=1)]] = True
        return self._with_means(flat, self._inner[moved[self._inner]], self._mean_value_weights())

    def _with_means(self, flat: FloatArray, moved: IntArray, weights: FloatArray) -> FloatArray:
        """Return the layout with the moved vertices at means of their neighbours, others kept."""
        n, placed = len(flat), flat.copy()
        if not len(moved):
            return placed
        total = np.bincount(self._from, weights=weights, minlength=n)
        pulls = csr_array((weights / total[self._from], (self._from, self._to)), shape=(n, n))[
            moved
        ]
        kept = np.ones(n, bool)
        kept[moved] = False
        matrix = csc_array(-pulls[:, moved])
        matrix.setdiag(1.0)
        factors = splu(
            matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
        placed[moved] = factors.solve(np.asarray(pulls[:, kept] @ flat[kept]))
        return placed

    def evened(self) -> Iterator[FloatArray]:
        """Yield layouts without end, each with less stretch where the one before had most.

        A vertex in a stretched place pulls its neighbours less, so that it gets more room; the
        weights stay above 0. Source: [yoshizawa2004].
        """
        weights = self._mean_value_weights()
        while True:
            flat = self.weighted(weights)
            yield flat
            weights = weights / self.stretch_at_vertices(flat)[self._to]
            weights = weights / np.bincount(self._from, weights=weights)[self._from]

    def _mean_value_weights(self) -> FloatArray:
        mesh = self._mesh
        tangent = np.tan(corner_angles(mesh.vertices, mesh.faces) / 2.0)  # (m, 3)
        a, b, c = mesh.faces.T
        ab, bc, ca = (
            edge_lengths(mesh.vertices, np.stack(p, axis=1)) for p in ((a, b), (b, c), (c, a))
        )
        ta, tb, tc = tangent.T
        return np.concatenate([ta / ab, tb / ab, tb / bc, tc / bc, tc / ca, ta / ca])

    def stretch_at_vertices(self, flat: FloatArray) -> FloatArray:
        """Return (n,): the root mean square stretch, formed over flat, round every vertex."""
        mesh = self._mesh
        frames = rest_frames(mesh.vertices, mesh.faces)
        areas = frames[:, 0, 0] * frames[:, 1, 1] / 2.0
        maps = np.matmul(flat[mesh.faces].transpose(0, 2, 1), shape_gradients(frames))
        shrink = np.clip(singular_values(maps), 1.0 / STRETCH_LIMIT, None)
        square = (1.0 / shrink**2).sum(axis=1) / 2.0
        at, n = mesh.faces.ravel(), len(mesh.vertices)
        total = np.bincount(at, weights=np.repeat(areas * square, 3), minlength=n)
        return np.sqrt(total / np.bincount(at, weights=np.repeat(areas, 3), minlength=n))


def _inner_in_order(count: int, rim: IntArray, order: IntArray) -> IntArray:
    inner: BoolArray = np.ones(count, bool)
    inner[rim] = False
    return order[inner[order]]


def _on_circle(mesh: TriMesh, rim: IntArray) -> FloatArray:
    """Return (k, 2): the rim's places on the unit circle, by length."""
    length = edge_lengths(mesh.vertices, np.stack([rim, np.roll(rim, -1)], axis=1))
    length = np.maximum(length, LEAST_STEP * length.mean())
    angle = 2.0 * np.pi * np.concatenate([[0.0], np.cumsum(length)[:-1]]) / length.sum()
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)
