"""Where the least-work search of a large panel begins: its few triangles are laid flat first."""

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.blank.coarse import CoarsePanel, coarse_panel
from geometry.blank.elements import Elements
from geometry.blank.minimise import minimise
from geometry.blank.start import NoFoldFreeStartError, capped, fold_free_start, is_unfolded
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.two_levels import TwoLevels
from geometry.blank.work import Work
from geometry.mesh import TriMesh, rims

FEW = 3000
"""Triangles up to which a panel is laid flat without the help of a coarser one."""

ROUGH_GOAL = 1e-4
"""Residual at which the few triangles lie well enough."""

ROUGH_ITERATIONS = 30


class Approach:
    """A panel's few triangles, laid flat for one work after another.

    Parameters
    ----------
    mesh : TriMesh
        The panel.
    elements : Elements
        Its own.
    coarse : CoarsePanel
        Its few triangles.
    rim : (k,) int
        The outer rim of those.

    Attributes
    ----------
    levels : TwoLevels
        For descending from here.
    """

    def __init__(
        self, mesh: TriMesh, elements: Elements, coarse: CoarsePanel, rim: IntArray
    ) -> None:
        self._mesh, self._coarse, self._rim = mesh, coarse, rim
        self._loops = rims(mesh)
        self.levels = TwoLevels(elements, coarse)
        self._elements = self.levels.few_elements
        self._solver = StiffnessSolver(self._elements, coarse.mesh.vertices)
        self._deeper = approach(coarse.mesh, self._elements, rim)
        self._laid: FloatArray | None = None

    def start(self, work: Work) -> FloatArray | None:
        """Return (n, 2), mm: a layout near the least work, no face folded, or None."""
        few = self._few_laid(work)
        return (
            None if few is None else self._unfolded(self._coarse.carried(self._mesh.vertices, few))
        )

    def moved(self, flat_vertices: FloatArray, work: Work) -> FloatArray | None:
        """Return the last work's blank moved as the few triangles move for another work, or None.

        Parameters
        ----------
        flat_vertices : (n, 2) float, mm
            The blank for the work asked for last.
        work : Work
            The next, of hardening 1.
        """
        before = self._laid
        few = self._few_laid(work)
        if before is None or few is None:
            return None
        return self._unfolded(
            flat_vertices + self._coarse.carried(self._mesh.vertices, few - before)
        )

    def _unfolded(self, flat: FloatArray) -> FloatArray | None:
        return flat if is_unfolded(flat, self._mesh.faces, self._loops) else None

    def _few_laid(self, work: Work) -> FloatArray | None:
        """Return the few triangles' blank, from the last one's or from the bottom up."""
        small = self._coarse.mesh
        start = self._laid
        if start is None and self._deeper is not None:
            start = self._deeper.start(work)
        if start is None:
            try:
                start = fold_free_start(capped(small, self._rim), self._rim)[0]
            except NoFoldFreeStartError:
                return None
        rough = minimise(
            self._elements,
            work,
            start[: len(small.vertices)],
            self._solver,
            levels=None if self._deeper is None else self._deeper.levels,
            max_iterations=ROUGH_ITERATIONS,
            goal=ROUGH_GOAL,
        )
        self._laid = rough.flat_vertices
        return self._laid


def approach(mesh: TriMesh, elements: Elements, rim: IntArray) -> Approach | None:
    """Return the way to begin on a panel by few triangles, or None where it has few or none fit.

    Parameters
    ----------
    mesh : TriMesh
        One disk, or one with holes left open.
    elements : Elements
        Its own.
    rim : (k,) int
        Its outer rim.
    """
    coarse = coarse_panel(mesh) if len(mesh.faces) > FEW else None
    if coarse is None:
        return None
    on_rim = np.zeros(len(mesh.vertices), bool)
    on_rim[rim] = True
    for loop in rims(coarse.mesh):
        if on_rim[coarse.sites[loop]].all():
            return Approach(mesh, elements, coarse, loop)
    return None
