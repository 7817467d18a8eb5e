"""The model band: how far the net line moves with how the metal is taken to be worked.

Nobody knows which strain measure, weight and hardening a shaper's hands amount to. The blank is
asked again for each, from the layout at hand, and what the net line spans is the band.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.blank.bands.net_line import NetLine
from geometry.blank.coarse import coarse_panel
from geometry.blank.elements import Elements
from geometry.blank.flat_panel import FlatPanel
from geometry.blank.flatten import COLLAPSED
from geometry.blank.minimise import minimise
from geometry.blank.orientation import folded_or_flat
from geometry.blank.soundness import unsound_faces
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.work import Measure, Weight, Work, density
from geometry.mesh import TriMesh, rims
from geometry.progress import Report, part_of, silent

MEASURES: tuple[Measure, ...] = ("von_mises", "hencky")
WEIGHTS: tuple[Weight, ...] = ("blank", "formed")
HARDENINGS = (0.5, 0.25)
"""Below 1, with the blank weight: half-hard and soft sheet. Common practice, no source."""

GOAL = 1e-6
"""Residual at which a choice is settled: its net line then stands within some 1e-4 mm."""

MAX_ITERATIONS = 40

ENOUGH = 6000
"""Faces above which a panel is told by fewer."""

ODD_SHARE = 1e-3
"""Part of the area of few triangles that may be unsound: one at a corner may be where the whole
panel's finer ones are not."""


@dataclass(frozen=True, eq=False)
class ModelBand:
    """What the net line spans over the choices of work.

    Attributes
    ----------
    offsets : (c, k) float, mm
        How far outside the net line at hand each other choice's lies, at each rim vertex.
    choices : (c) tuple of Work
        Those that were found, besides the one at hand.
    left_out : tuple of Work
        Those with no sound blank.
    """

    offsets: FloatArray
    choices: tuple[Work, ...]
    left_out: tuple[Work, ...]

    @property
    def inward(self) -> FloatArray:
        """Return (k,), mm: how far inside the net line at hand the others reach; 0 or more."""
        reach: FloatArray = np.max(-self.offsets, axis=0, initial=0.0)
        return reach

    @property
    def outward(self) -> FloatArray:
        """Return (k,), mm: how far outside the net line at hand the others reach; 0 or more."""
        reach: FloatArray = np.max(self.offsets, axis=0, initial=0.0)
        return reach

    @property
    def reach_mm(self) -> float:
        """Return the farthest that any of them lies from the net line at hand."""
        return float(max(self.inward.max(), self.outward.max()))


def model_band(flat: FlatPanel, *, report: Report = silent) -> ModelBand:
    """Return how far the net line moves over strain measure, weight and hardening; bias is held.

    A panel of many triangles is worked through by a ninth of them: only differences between
    choices are wanted, and the largest comes out about a quarter too large at most (measured: a
    tenth on a dome, 0.01 mm of 1.08 on the sample's top, 0.08 and 0.19 of 0.72 beside
    corners of its sides).

    Parameters
    ----------
    flat : FlatPanel
        Converged.
    report : Report

    Raises
    ------
    ValueError
        The blank at hand is not converged.
    """
    check_converged(flat)
    told = _told(report)
    told(0.0, "")
    stand_in = _of_few(flat) or _Choosing(flat.faces, flat.vertices, flat.flat_vertices, flat.rim)
    works = tuple(other_choices(flat.work))
    found: list[Work] = []
    left_out: list[Work] = []
    offsets = np.empty((len(works), len(flat.rim)))
    line = NetLine.of(flat.flat_vertices, flat.rim)
    for index, work in enumerate(works):
        share = part_of(told, index / len(works), (index + 1) / len(works))
        moved = stand_in.movements(work, share)
        if moved is None:
            left_out.append(work)
            continue
        arc, at = line.arc_mm, line.arc_mm[stand_in.place]
        along = [np.interp(arc, at, axis, period=line.length_mm) for axis in moved.T]
        offsets[len(found)] = line.offsets(line.points + np.stack(along, axis=1))
        found.append(work)
    told(1.0, "")
    return ModelBand(locked(offsets[: len(found)]), tuple(found), tuple(left_out))


def other_choices(work: Work) -> Iterator[Work]:
    """Yield the choices a work is compared with, each hardening after the next higher one.

    >>> [w.hardening for w in other_choices(Work("hencky", "blank", bias=0.3))]
    [1.0, 1.0, 1.0, 0.5, 0.25]
    """
    even = [
        replace(work, measure=measure, weight=weight, hardening=1.0)
        for measure in MEASURES
        for weight in WEIGHTS
    ]
    harder = [replace(work, weight="blank", hardening=n) for n in HARDENINGS]
    yield from (other for other in (*even, *harder) if other != work)


def check_converged(flat: FlatPanel) -> None:
    """Raise ValueError where a blank is not converged, and so has no size to be sure of."""
    if not flat.converged:
        raise ValueError("a blank that is not converged has no size to be sure of")


def _told(report: Report) -> Report:
    """Return a report whose stage is always this one."""

    def told(done: float, stage: str) -> None:
        report(done, "how sure the size is")

    return told


class _Choosing:
    """A panel, or few triangles in its place, laid out at least work, to be asked other works.

    Attributes
    ----------
    place : (c,) int
        Which of the panel's rim vertices those of this rim are.
    """

    def __init__(
        self,
        faces: IntArray,
        vertices: FloatArray,
        flat_vertices: FloatArray,
        rim: IntArray,
        place: IntArray | None = None,
    ) -> None:
        self._elements = Elements.of(TriMesh(vertices, faces))
        self._solver = StiffnessSolver(self._elements, flat_vertices)
        self._flat = self._harder = flat_vertices
        self._rim = rim
        self._may_be_unsound = (
            0.0 if place is None else ODD_SHARE * float(self._elements.areas.sum())
        )
        self.place = np.arange(len(rim)) if place is None else place

    def settle(self, work: Work) -> bool:
        """Take the least-work layout as the one at hand; False where there is none."""
        layout = self._settled(work, self._flat, silent)
        if layout is None:
            return False
        self._flat = self._harder = layout
        return True

    def movements(self, work: Work, report: Report) -> FloatArray | None:
        """Return (c, 2), mm, where another work moves the rim, or None where it has no layout."""
        hard = work.hardening < 1.0
        layout = self._settled(work, self._harder if hard else self._flat, report)
        if layout is None:
            return None
        if hard:
            self._harder = layout
        return np.asarray(layout[self._rim] - self._flat[self._rim])

    def _settled(self, work: Work, start: FloatArray, report: Report) -> FloatArray | None:
        """Return the least-work layout, or None where it is not found, unsound or collapsed."""
        best = minimise(
            self._elements,
            work,
            start,
            self._solver,
            max_iterations=MAX_ITERATIONS,
            goal=GOAL,
            report=report,
        )
        stretches = self._elements.strained(best.flat_vertices).s
        blank_area = float(self._elements.areas @ stretches.prod(axis=1))
        collapsed = blank_area < COLLAPSED * float(self._elements.areas.sum())
        if not best.converged or collapsed:
            return None
        unsound = unsound_faces(stretches, density(work, stretches))
        if float(self._elements.areas[unsound].sum()) > self._may_be_unsound:
            return None
        return best.flat_vertices


def _of_few(flat: FlatPanel) -> _Choosing | None:
    """Return a panel of many triangles told by few, settled; None where that cannot be."""
    if len(flat.faces) <= ENOUGH:
        return None
    coarse = coarse_panel(TriMesh(flat.vertices, flat.faces))
    if coarse is None:
        return None
    start, faces = flat.flat_vertices[coarse.sites], coarse.mesh.faces
    if folded_or_flat(start, faces).any():
        return None
    place_of_vertex = np.full(len(flat.vertices), -1)
    place_of_vertex[flat.rim] = np.arange(len(flat.rim))
    for rim in rims(coarse.mesh):
        place = place_of_vertex[coarse.sites[rim]]
        if (place >= 0).all():
            few = _Choosing(faces, coarse.mesh.vertices, start, rim, place)
            return few if few.settle(flat.work) else None
    return None
