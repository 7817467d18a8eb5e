"""Loads on a panel of many triangles answered with the help of the few that stand for it.

What differs from triangle to triangle is evened out where it is; what reaches across the panel is
answered by the few triangles. Together they stand in for the factors of the panel's stiffness,
which cost more than all else. Source: two-grid cycles after [brandt1977], with the few triangles'
own stiffness, as the inside of conjugate gradients.
"""

from dataclasses import dataclass
from itertools import count

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.linalg import LinearOperator, cg

from geometry.arrays import FloatArray
from geometry.blank.coarse import CoarsePanel
from geometry.blank.elements import Elements, FaceStiffness, face_stiffness
from geometry.blank.stiffness import Factors, StiffnessSolver
from geometry.blank.work import Work, density

SingleArray = np.ndarray[tuple[int, ...], np.dtype[np.float32]]
"""Numbers of half the usual length."""

ROUNDS = 30
"""Rounds of conjugate gradients after which the few triangles are no help."""

HIGHEST = 3.0
"""No movement of the vertices is stiffer than this many times its vertices' own stiffness: a
triangle has three corners, and three pulls together are at most three times their squares."""

DRIFT_OF_FEW = 1e-6
"""Holds the few triangles where they are: loads gathered from many turn them a little, which the
loads themselves do not."""

LOWEST = HIGHEST / 15.0
"""What is softer than this is left to the few triangles, whose edges are three times as long."""

EVENINGS = 3
"""Steps of evening out before the few triangles answer, and again after."""


WORN_ROUNDS, WORN_RATE = 1.0, 2.2
"""Rounds, and more of them for every tenth of what is left, above which factors are worn out."""


class TwoLevels:
    """A panel and the few triangles that stand for it.

    Parameters
    ----------
    elements : Elements
        Of the panel.
    coarse : CoarsePanel
        The few triangles.
    lying : (c, 2) float, optional, mm
        Where these lie on the blank, if they were made for another panel and borrowed.

    Attributes
    ----------
    coarse : CoarsePanel
    few_elements : Elements
        Of the few triangles.
    few_solver : StiffnessSolver
        Theirs.
    kept : Factors or None
        Of the few triangles' stiffness, the last ones made: they serve layouts near theirs.
    """

    def __init__(
        self, elements: Elements, coarse: CoarsePanel, lying: FloatArray | None = None
    ) -> None:
        self.coarse, self._lying = coarse, lying
        self._carrying = coarse.carrying  # (n, c)
        self._gathering = csr_array(coarse.carrying.T)
        self._many = StiffnessSolver(elements, None)
        self.few_elements = Elements.of(coarse.mesh)
        self.kept: Factors | None = None
        self.few_solver = StiffnessSolver(
            self.few_elements, coarse.mesh.vertices, drift=DRIFT_OF_FEW
        )

    def factors_of_few(self, work: Work, flat_vertices: FloatArray) -> Factors | None:
        """Return the factors of the few triangles' stiffness at a panel's layout.

        None where that layout folds them.
        """
        strained = self.few_elements.strained(self.few_at(flat_vertices))
        if not (strained.s[:, 1] > 0.0).all():
            return None
        faces = face_stiffness(self.few_elements, strained, density(work, strained.s))
        return self.few_solver.factorised(faces)

    def few_at(self, flat_vertices: FloatArray) -> FloatArray:
        """Return (c, 2), mm: where the few triangles lie at a panel's layout."""
        return flat_vertices[self.coarse.sites] if self._lying is None else self._lying

    def lent(
        self, elements: Elements, coarse: CoarsePanel, flat_vertices: FloatArray
    ) -> "TwoLevels":
        """Return the few triangles standing for a panel much like this one, at its layout.

        Parameters
        ----------
        elements : Elements
            Of the other panel.
        coarse : CoarsePanel
            The same few triangles as they stand for that.
        flat_vertices : (n, 2) float, mm
            The layout of this one.
        """
        other = TwoLevels(elements, coarse, self.few_at(flat_vertices))
        other.kept = self.kept
        return other

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
        whole = stiffness.matrix
        halves = csr_array(
            (whole.data.astype(np.float32), whole.indices, whole.indptr), whole.shape
        )
        evening = _Evening(halves, _inverses(stiffness.own).astype(np.float32))
        cycle = LinearOperator(
            whole.shape,
            matvec=lambda load: self._cycle(evening, few, load.astype(np.float32)),
            dtype=np.float64,
        )
        rounds = count(1)
        moved, short = cg(
            whole,
            loads.ravel(),
            rtol=tolerance,
            maxiter=ROUNDS,
            M=cycle,
            callback=lambda _: self._wear(few, next(rounds), tolerance),
        )
        return None if short else np.asarray(moved).reshape(-1, 2)

    def _wear(self, few: Factors, rounds: int, tolerance: float) -> None:
        """Give factors up for the next load once they took more rounds than they are worth."""
        if self.kept is few and rounds > WORN_ROUNDS - WORN_RATE * np.log10(tolerance):
            self.kept = None

    def _cycle(self, evening: "_Evening", few: Factors, load: SingleArray) -> FloatArray:
        """Return about the movement under a load: even out, answer across, even out again."""
        moved = evening.moved(load)
        left = (load - evening.matrix @ moved).reshape(-1, 2)
        across = self._carrying @ few.solve(self._gathering @ left)
        moved = moved + across.ravel().astype(np.float32)
        moved += evening.moved(load - evening.matrix @ moved)
        return moved.astype(np.float64)


@dataclass(frozen=True, eq=False)
class _Evening:
    """What evens out from vertex to vertex, in numbers of half the length: it only has to be near.

    Attributes
    ----------
    matrix : (2n, 2n) sparse
        The stiffness.
    soft : (n, 2, 2) float
        Every vertex's own softness.
    """

    matrix: csr_array
    soft: SingleArray

    def moved(self, load: SingleArray) -> SingleArray:
        """Return a movement that answers what of a load differs from vertex to vertex.

        Chebyshev's steps, best for stiffness between `LOWEST` and `HIGHEST` of a vertex's own.
        """
        middle, reach = (HIGHEST + LOWEST) / 2.0, (HIGHEST - LOWEST) / 2.0
        rate = reach / middle
        step = _each(self.soft, load) / np.float32(middle)
        moved = step
        for _ in range(EVENINGS - 1):
            faster = 1.0 / (2.0 * middle / reach - rate)
            left = _each(self.soft, load - self.matrix @ moved)
            step = np.float32(faster * rate) * step + np.float32(2.0 * faster / reach) * left
            moved, rate = moved + step, faster
        return moved


def _inverses(blocks: FloatArray) -> FloatArray:
    """Return the inverses of (n, 2, 2) symmetric blocks."""
    xx, xy, yy = blocks[:, 0, 0], blocks[:, 0, 1], blocks[:, 1, 1]
    scale = 1.0 / (xx * yy - xy * xy)
    inverse = np.empty_like(blocks)
    inverse[:, 0, 0], inverse[:, 1, 1] = scale * yy, scale * xx
    inverse[:, 0, 1] = inverse[:, 1, 0] = -scale * xy
    return inverse


def _each(soft: SingleArray, load: SingleArray) -> SingleArray:
    """Return (2n,): every vertex's own answer to its own load."""
    x, y = load[0::2], load[1::2]
    moved = np.empty_like(load)
    moved[0::2] = soft[:, 0, 0] * x + soft[:, 0, 1] * y
    moved[1::2] = soft[:, 1, 0] * x + soft[:, 1, 1] * y
    return moved
