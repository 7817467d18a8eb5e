"""Where the least-work search of a large panel begins: its few triangles are laid flat first."""

from collections.abc import Sequence
from copy import copy

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.blank.coarse import CoarsePanel, coarse_panel
from geometry.blank.elements import Elements
from geometry.blank.minimise import minimise
from geometry.blank.start import NoFoldFreeStartError, capped, fold_free_start, is_unfolded
from geometry.blank.two_levels import TwoLevels
from geometry.blank.work import Work
from geometry.mesh import TriMesh, rims

FEW = 3000
"""Triangles up to which a panel is laid flat without the help of a coarser one."""

ROUGH_GOAL = 1e-4
"""Residual at which the few triangles lie well enough."""

ROUGH_ITERATIONS = 30


class Approach:
    """A panel's few triangles, laid flat first.

    Parameters
    ----------
    mesh : TriMesh
        The panel.
    elements : Elements
        Its own.
    coarse : CoarsePanel
        Its few triangles.
    loops : sequence of (k,) int
        Its rims, the outer one first.
    few_loops : sequence of (k,) int
        Those of its few triangles, the outer one first.

    Attributes
    ----------
    levels : TwoLevels
        For descending from here.
    """

    def __init__(
        self,
        mesh: TriMesh,
        elements: Elements,
        coarse: CoarsePanel,
        loops: Sequence[IntArray],
        few_loops: Sequence[IntArray],
    ) -> None:
        self._mesh, self._coarse = mesh, coarse
        self._loops, self._rim = loops, few_loops[0]
        self.levels = TwoLevels(elements, coarse)
        self._elements = self.levels.few_elements
        self._deeper = approach(coarse.mesh, self._elements, few_loops)

    def start(self, work: Work) -> FloatArray | None:
        """Return (n, 2), mm: a layout near the least work, no face folded, or None."""
        self.levels.kept = None  # an answer's last digits must not hang on what was asked before
        few = self._few_laid(work)
        if few is None:
            return None
        flat = self._coarse.carried(self._mesh.vertices, few)
        return flat if is_unfolded(flat, self._mesh.faces, self._loops) else None

    def twin(self) -> "Approach":
        """Return another whose levels keep their own factors."""
        other = copy(self)
        other.levels = copy(self.levels)
        return other

    def _few_laid(self, work: Work) -> FloatArray | None:
        """Return the few triangles' blank, from the bottom up."""
        small = self._coarse.mesh
        start = None if self._deeper is None else self._deeper.start(work)
        if start is None:
            try:
                start = fold_free_start(capped(small, self._rim), self._rim)[0]
            except NoFoldFreeStartError:
                return None
        rough = minimise(
            self._elements,
            work,
            start[: len(small.vertices)],
            self.levels.few_solver,
            levels=None if self._deeper is None else self._deeper.levels,
            max_iterations=ROUGH_ITERATIONS,
            goal=ROUGH_GOAL,
        )
        self.levels.kept = self.levels.few_solver.kept  # its last factors serve the panel too
        return rough.flat_vertices


def approach(mesh: TriMesh, elements: Elements, loops: Sequence[IntArray]) -> Approach | None:
    """Return the way to begin on a panel by few triangles, or None where it has few or none fit.

    Parameters
    ----------
    mesh : TriMesh
        One disk, or one with holes left open.
    elements : Elements
        Its own.
    loops : sequence of (k,) int
        Its rims, the outer one first.
    """
    coarse = coarse_panel(mesh) if len(mesh.faces) > FEW else None
    if coarse is None:
        return None
    on_rim = np.zeros(len(mesh.vertices), bool)
    on_rim[loops[0]] = True
    few_loops = rims(coarse.mesh)
    outer = [loop for loop in few_loops if on_rim[coarse.sites[loop]].all()]
    if not outer:
        return None
    few_loops = (outer[0], *(loop for loop in few_loops if loop is not outer[0]))
    return Approach(mesh, elements, coarse, loops, few_loops)
