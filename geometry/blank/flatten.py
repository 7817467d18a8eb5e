"""From a formed panel to its blank: the two doors, `flatten` for one call, `Flattener` for many."""

from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.blank.approach import Approach, approach
from geometry.blank.earlier import Earlier
from geometry.blank.elements import Elements
from geometry.blank.flat_panel import FlatPanel, laid_along
from geometry.blank.kind import check_disk
from geometry.blank.minimise import MAX_ITERATIONS, Minimum, minimise
from geometry.blank.orientation import folded_or_flat
from geometry.blank.soundness import overlap, unsound_faces
from geometry.blank.start import capped, fold_free_start, is_unfolded
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.two_levels import TwoLevels
from geometry.blank.work import Work, density
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, rims
from geometry.progress import Report, part_of, silent

COLLAPSED = 0.5
"""Blank area over panel area below which the blank has collapsed (least work towards nothing)."""

BIAS_STEP = 0.1
"""By how much a bias is raised at a time while the blank stays sound."""

STEP_ITERATIONS = 30
"""Newton steps after which a raised bias counts as not sound; sound ones take under a dozen."""

FAR = 2.0
"""Largest log stretch of a start from which the asked work is not tried straight away."""

HARDENING_STEPS = (0.75, 0.5, 0.35, 0.25)

KINDER_WAYS = (
    (Work("von_mises", "formed"),),
    (Work("hencky", "formed"), Work("von_mises", "formed")),
)
"""Works by way of which a deep panel is laid flat where going straight down stalls."""


class CollapsedBlankError(GeometryError):
    """The least work runs away towards a blank of no size: the panel is too deep for one piece.

    Attributes
    ----------
    formed_area, blank_area : float, mm2
    place : (3,) float, mm
        The middle, on the panel, of the face that loses most of its metal.
    """

    def __init__(self, formed_area: float, blank_area: float, place: FloatArray) -> None:
        self.formed_area, self.blank_area, self.place = formed_area, blank_area, place
        super().__init__(f"blank {blank_area:.0f} mm2 for a panel of {formed_area:.0f} mm2")


class Flattener:
    """A panel's set-up kept, so that another choice of work starts from the last layout.

    Parameters
    ----------
    mesh : TriMesh
        One disk: one piece, one rim, no handle.
    open_holes : bool
        Holes in the skin are let stand: no metal there, and nothing holds their edges.
    near : Flattener, optional
        Of a panel nearly the same, a seam moved by little: the search goes on from its last layout
        where that carries over without a fold. The blank is the same but for rounding.
    report : Report

    Raises
    ------
    NotADiskError, NonManifoldError, NoAreaError
    """

    def __init__(
        self,
        mesh: TriMesh,
        *,
        open_holes: bool = False,
        near: "Flattener | None" = None,
        report: Report = silent,
    ) -> None:
        self.mesh = mesh
        self.rim = check_disk(mesh, open_holes=open_holes)
        report(0.0, "laying the panel out roughly")
        self.elements = Elements.of(mesh)
        self._loops = (self.rim, *(rims(mesh)[1:] if open_holes else ()))
        self._earlier: FloatArray | None = None  # another panel's, carried over
        self._borrowed: TwoLevels | None = None
        if near is not None:
            self._go_on_from(near)
        self._last: FloatArray | None = None  # the last layout that stood
        self._solver: StiffnessSolver | None = None

    def flatten(self, work: Work | None = None, *, report: Report = silent) -> FlatPanel:
        """Return the blank of least work.

        Parameters
        ----------
        work : Work, optional
            Default: von Mises strain, blank weight, hardening 1, no bias.
        report : Report

        Raises
        ------
        CollapsedBlankError
        """
        work = Work() if work is None else work
        best, iterations = self._descend(work, report)
        flat = self._answer(work, best, iterations)
        if flat.converged:
            self._last = best.flat_vertices
        return flat

    def flatten_as_far(self, work: Work, *, report: Report = silent) -> FlatPanel:
        """Return the blank for the asked bias or as near to it as blanks stay sound.

        A bias pulls the sheet apart where one principal strain passes through nothing and the
        other is large: the work then has no stable least there, and the blank is unsound. From no
        bias on it is raised by `BIAS_STEP` at a time while the blank stays sound; the answer's
        `work` tells what was reached. Where no blank is sound it is the one without bias.

        Raises
        ------
        CollapsedBlankError
        """
        steps = int(np.ceil(abs(work.bias) / BIAS_STEP - 1e-9))
        flat = self.flatten(replace(work, bias=0.0), report=part_of(report, 0.0, 0.4))
        for step in range(1, steps + 1) if flat.converged else ():
            size = float(np.copysign(min(step * BIAS_STEP, abs(work.bias)), work.bias))
            share = part_of(report, 0.4 + 0.6 * (step - 1) / steps, 0.4 + 0.6 * step / steps)
            further = self._one_step_further(replace(work, bias=round(size, 12)), share)
            if further is None:
                break
            flat = further
        report(1.0, "finding the least work")
        return flat

    def twin(self) -> "Flattener":
        """Return another with the same set-up, standing where this one stands.

        What is asked of the one does not change where the other starts from.
        """
        other = copy(self)
        if self._borrowed is not None:
            other._borrowed = copy(self._borrowed)
        elif self._approach is not None:
            other._approach = self._approach.twin()
        return other

    def _one_step_further(self, work: Work, report: Report) -> FlatPanel | None:
        """Return the sound blank for a work near the last one's, or None."""
        first = replace(work, hardening=1.0)
        works = [first] if work.hardening == 1.0 else [first, work]
        best, spent = self._follow(self._near(first), works, report, max_iterations=STEP_ITERATIONS)
        if not best.converged:
            return None
        flat = self._answer(work, best, spent)
        if not flat.converged:
            return None
        self._last = best.flat_vertices
        return flat

    def _descend(self, work: Work, report: Report) -> tuple[Minimum, int]:
        """Go straight down; where that stalls (a deep panel), by way of kinder works."""
        first = replace(work, hardening=1.0)
        harder = [replace(work, hardening=n) for n in HARDENING_STEPS if n > work.hardening]
        harder += [work] if work.hardening < 1.0 else []
        report(0.0, "laying the panel out roughly")
        start = self._near(first)
        best: Minimum | None = None
        spent = 0
        if self._log_stretch(start) < FAR:
            best, spent = self._follow(start, [first, *harder], part_of(report, 0.2, 0.7))
        if best is None or not best.converged:
            kinder, before = self._kinder(part_of(report, 0.7, 0.85))
            share = part_of(report, 0.85, 1.0)
            best, more = self._follow(kinder.flat_vertices, [first, *harder], share)
            spent += before + more
        self._check_not_collapsed(best.flat_vertices)
        report(1.0, "finding the least work")
        return best, spent

    def _kinder(self, report: Report) -> tuple[Minimum, int]:
        """Return the layout for the first of the kinder ways that settles, else for the last.

        Weighed by formed area no face can be crushed to nothing. Plain strain stands fewer
        depths than strain with the thickness counted, but is reached from farther away.
        """
        safe, spent = self._fold_free(), 0
        if self._levels is not None:
            self._levels.kept = None
        for index, way in enumerate(KINDER_WAYS):
            share = part_of(report, index / len(KINDER_WAYS), (index + 1) / len(KINDER_WAYS))
            best, more = self._follow(safe, way, share)
            spent += more
            if best.converged:
                break
        return best, spent

    def _near(self, work: Work) -> FloatArray:
        """Return the best layout known to begin from."""
        if self._last is not None:
            return self._last
        if self._earlier is not None:
            return self._earlier
        start = None if self._approach is None else self._approach.start(work)
        return self._fold_free() if start is None else start

    def _go_on_from(self, near: "Flattener") -> None:
        """Take over another panel's layout and its few triangles, if they serve this one."""
        if near._last is None or len(np.unique(near.mesh.faces)) < len(near.mesh.vertices):
            return
        earlier = Earlier(near.mesh, self.mesh)
        flat = earlier.carried_over(near._last)
        if not is_unfolded(flat, self.mesh.faces, self._loops):
            return
        self._earlier = flat
        coarse = None if near._levels is None else earlier.stood_for(near._levels.coarse)
        if near._levels is not None and coarse is not None:
            self._borrowed = near._levels.lent(self.elements, coarse, near._last)

    @property
    def _levels(self) -> TwoLevels | None:
        if self._borrowed is not None:
            return self._borrowed
        return None if self._approach is None else self._approach.levels

    @cached_property
    def _approach(self) -> Approach | None:
        return approach(self.mesh, self.elements, self._loops)

    def _fold_free(self) -> FloatArray:
        """Return the start that cannot fold."""
        start, _ = fold_free_start(capped(self.mesh, self.rim), self.rim)
        return start[: len(self.mesh.vertices)]

    def _follow(
        self,
        flat: FloatArray,
        works: Sequence[Work],
        report: Report,
        *,
        max_iterations: int = MAX_ITERATIONS,
    ) -> tuple[Minimum, int]:
        """Minimise one work after another, each from where the last ended."""
        if self._solver is None:
            self._solver = StiffnessSolver(self.elements, flat)
        levels = self._levels
        spent = 0
        for index, work in enumerate(works):
            share = part_of(report, index / len(works), (index + 1) / len(works))
            best = minimise(
                self.elements,
                work,
                flat,
                self._solver,
                max_iterations=max_iterations,
                levels=levels,
                report=share,
            )
            flat, spent = best.flat_vertices, spent + best.iterations
        return best, spent

    def _log_stretch(self, flat: FloatArray) -> float:
        return float(np.abs(np.log(self.elements.strained(flat).s)).max())

    def _check_not_collapsed(self, flat: FloatArray) -> None:
        formed = float(self.elements.areas.sum())
        left = self.elements.strained(flat).s.prod(axis=1)  # metal, part of the formed area
        blank = float(self.elements.areas @ left)
        if blank < COLLAPSED * formed:
            place = self.mesh.vertices[self.mesh.faces[int(np.argmin(left))]].mean(axis=0)
            raise CollapsedBlankError(formed, blank, place)

    def _answer(self, work: Work, best: Minimum, iterations: int) -> FlatPanel:
        flat_over_formed = self.elements.strained(best.flat_vertices).s
        unsound = unsound_faces(flat_over_formed, density(work, flat_over_formed))
        overlap_area, place = overlap(best.flat_vertices, self.mesh.faces, self._loops)
        return FlatPanel(
            vertices=self.mesh.vertices,
            faces=self.mesh.faces,
            flat_vertices=locked(best.flat_vertices.copy()),
            stretches=locked(1.0 / flat_over_formed[:, ::-1]),
            thickness=locked(flat_over_formed.prod(axis=1)),
            rim=locked(self.rim),
            work=work,
            energy=best.energy,
            converged=best.converged and not unsound.any(),
            residual=best.residual,
            iterations=iterations,
            inverted=int(folded_or_flat(best.flat_vertices, self.mesh.faces).sum()),
            unsound=locked(unsound),
            overlap_area=overlap_area,
            overlap_place=place,
        )


def flatten(
    mesh: TriMesh,
    work: Work | None = None,
    *,
    open_holes: bool = False,
    report: Report = silent,
) -> FlatPanel:
    """Return the least-work blank of a panel; see `Flattener`.

    >>> square = TriMesh([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], [[0, 1, 2], [0, 2, 3]])
    >>> round(flatten(square).blank_area, 12)
    1.0
    """
    flattener = Flattener(mesh, open_holes=open_holes, report=part_of(report, 0.0, 0.1))
    return laid_along(flattener.flatten(work, report=part_of(report, 0.1, 1.0)))
