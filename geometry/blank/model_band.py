"""The model band: how far the net line moves with how the metal is taken to be worked.

Nobody knows which strain measure, weight and hardening a shaper's hands amount to. The blank is
asked again for each, from the layout at hand, and what the net line spans is the band.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.blank.elements import Elements
from geometry.blank.flat_panel import FlatPanel
from geometry.blank.flatten import COLLAPSED
from geometry.blank.minimise import minimise
from geometry.blank.net_line import NetLine
from geometry.blank.soundness import unsound_faces
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.work import Measure, Weight, Work, density
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent

MEASURES: tuple[Measure, ...] = ("von_mises", "hencky")
WEIGHTS: tuple[Weight, ...] = ("blank", "formed")
HARDENINGS = (0.5, 0.25)
"""Below 1, with the blank weight: half-hard and soft sheet. Common practice, no source."""

GOAL = 1e-6
"""Residual at which a choice is settled: its net line then stands within some 1e-4 mm."""

MAX_ITERATIONS = 40


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
    elements = Elements.of(TriMesh(flat.vertices, flat.faces))
    solver = StiffnessSolver(elements, flat.flat_vertices)
    line = NetLine.of(flat.flat_vertices, flat.rim)
    works = tuple(other_choices(flat.work))
    found: list[Work] = []
    left_out: list[Work] = []
    offsets = np.empty((len(works), len(flat.rim)))
    start = flat.flat_vertices
    for index, work in enumerate(works):
        share = part_of(report, index / len(works), (index + 1) / len(works))
        begin = start if work.hardening < 1.0 else flat.flat_vertices
        layout = _settled(elements, work, begin, solver, share)
        if layout is None:
            left_out.append(work)
            continue
        start = layout if work.hardening < 1.0 else start
        offsets[len(found)] = line.offsets(layout[flat.rim])
        found.append(work)
    report(1.0, "how sure the size is")
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


def _settled(
    elements: Elements, work: Work, start: FloatArray, solver: StiffnessSolver, report: Report
) -> FloatArray | None:
    """Return the least-work layout, or None where it is not found, unsound or collapsed."""

    def told(done: float, stage: str) -> None:
        report(done, "how sure the size is")

    best = minimise(
        elements,
        work,
        start,
        solver,
        max_iterations=MAX_ITERATIONS,
        goal=GOAL,
        report=told,
    )
    stretches = elements.strained(best.flat_vertices).s
    blank_area = float(elements.areas @ stretches.prod(axis=1))
    collapsed = blank_area < COLLAPSED * float(elements.areas.sum())
    if not best.converged or collapsed:
        return None
    if unsound_faces(stretches, density(work, stretches)).any():
        return None
    return best.flat_vertices
