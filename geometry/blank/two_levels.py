"""Loads on a panel of many triangles answered with the help of the few that stand for it.

What differs from triangle to triangle is evened out where it is; what reaches across the panel is
answered by the few triangles. Together they stand in for the factors of the panel's stiffness,
which cost more than all else. Source: two-grid cycles after [brandt1977], with the few triangles'
own stiffness, as the inside of conjugate gradients.
"""

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.linalg import LinearOperator, cg

from geometry.arrays import FloatArray
from geometry.blank.coarse import CoarsePanel
from geometry.blank.elements import Elements, FaceStiffness, face_stiffness
from geometry.blank.stiffness import Factors, Stiffness, StiffnessSolver
from geometry.blank.work import Work, density

ROUNDS = 30
"""Rounds of conjugate gradients after which the few triangles are no help."""

HIGHEST = 3.0
"""No movement of the vertices is stiffer than this many times its vertices' own stiffness: a
triangle has three corners, and three pulls together are at most three times their squares."""

DRIFT_OF_FEW = 1e-6
"""Holds the few triangles where they are: loads gathered from many turn them a little, which the
loads themselves do not."""

LOWEST = HIGHEST / 8.0
"""What is softer than this is left to the few triangles, whose edges are three times as long."""


class TwoLevels:
    """A panel and the few triangles that stand for it.

    Parameters
    ----------
    elements : Elements
        Of the panel.
    coarse : CoarsePanel
        The few triangles.

    Attributes
    ----------
    few_elements : Elements
        Of the few triangles.
    """

    def __init__(self, elements: Elements, coarse: CoarsePanel) -> None:
        self._sites = coarse.sites
        self._carrying = coarse.carrying  # (n, c)
        self._gathering = csr_array(coarse.carrying.T)
        self._many = StiffnessSolver(elements, None)
        self.few_elements = Elements.of(coarse.mesh)
        self._few = StiffnessSolver(self.few_elements, coarse.mesh.vertices, drift=DRIFT_OF_FEW)

    def factors_of_few(self, work: Work, flat_vertices: FloatArray) -> Factors | None:
        """Return the factors of the few triangles' stiffness at a panel's layout.

        None where that layout folds them.
        """
        strained = self.few_elements.strained(flat_vertices[self._sites])
        if not (strained.s[:, 1] > 0.0).all():
            return None
        faces = face_stiffness(self.few_elements, strained, density(work, strained.s))
        return self._few.factorised(faces)

    def movement(
        self, faces: FaceStiffness, loads: FloatArray, few: Factors, *, tolerance: float
    ) -> FloatArray | None:
        """Return (n, 2), mm: how the vertices move under loads, or None if it cannot be found so.

        Parameters
        ----------
        faces : FaceStiffness
            Of the panel's faces.
        loads : (n, 2) float
        few : Factors
            Of the few triangles, at this layout or one near it.
        tolerance : float
            Part of the load that may be left.
        """
        stiffness = self._many.assembled(faces)
        soft: FloatArray = np.linalg.inv(stiffness.own).astype(np.float64, copy=False)  # (n, 2, 2)
        cycle = LinearOperator(
            stiffness.matrix.shape,
            matvec=lambda load: self._cycle(stiffness, soft, few, load),
            dtype=np.float64,
        )
        moved, short = cg(stiffness.matrix, loads.ravel(), rtol=tolerance, maxiter=ROUNDS, M=cycle)
        return None if short else np.asarray(moved).reshape(-1, 2)

    def _cycle(
        self, stiffness: Stiffness, soft: FloatArray, few: Factors, load: FloatArray
    ) -> FloatArray:
        """Return about the movement under a load: even out, answer across, even out again."""
        moved = _evened(stiffness, soft, load)
        left = (load - stiffness.matrix @ moved).reshape(-1, 2)
        moved = moved + (self._carrying @ few.solve(self._gathering @ left)).ravel()
        moved += _evened(stiffness, soft, load - stiffness.matrix @ moved)
        return np.asarray(moved)


def _evened(stiffness: Stiffness, soft: FloatArray, load: FloatArray) -> FloatArray:
    """Return a movement that answers what of a load differs from vertex to vertex.

    Two steps of Chebyshev's, best for stiffness between `LOWEST` and `HIGHEST` of a vertex's own.
    """
    middle, reach = (HIGHEST + LOWEST) / 2.0, (HIGHEST - LOWEST) / 2.0
    ratio = middle / reach
    first = _each(soft, load) / middle
    left = load - stiffness.matrix @ first
    rate = 1.0 / (2.0 * ratio - 1.0 / ratio)
    second = rate / ratio * first + (2.0 * rate / reach) * _each(soft, left)
    return first + second


def _each(soft: FloatArray, load: FloatArray) -> FloatArray:
    """Return (2n,): every vertex's own answer to its own load."""
    x, y = load[0::2], load[1::2]
    moved = np.empty_like(load)
    moved[0::2] = soft[:, 0, 0] * x + soft[:, 0, 1] * y
    moved[1::2] = soft[:, 1, 0] * x + soft[:, 1, 1] * y
    return moved
