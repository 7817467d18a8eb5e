"""Break-ups proposed for a job, as break-ups the maker can keep, and what they cost."""

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from app.job.choices import BreakUp, Directions, JobState, PanelName, SeamLine
from app.job.making import JudgedBy, judged_step, seen_marks
from app.job.steps import directions_of, judged_by, made
from geometry.arrays import FloatArray
from geometry.breakups import BreakUpFigures, Choice, Study, proposals
from geometry.datum import Datum, Point3, point3
from geometry.gauges import TankAxes, tank_axes
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent
from geometry.surface import CoarseSurface

PIECES = (2, 3, 4, 5, 6)


@dataclass(frozen=True, eq=False)
class Proposed:
    """What was proposed for a job.

    Attributes
    ----------
    study : Study
        In mm of the scan's axes.
    breakups : tuple of BreakUp
        One for each choice, in file coordinates.
    figures : tuple of BreakUpFigures
        Of each, cut and laid flat anew on the coarse surface.
    axes : TankAxes
        Those the study went by.
    """

    study: Study
    breakups: tuple[BreakUp, ...]
    figures: tuple[BreakUpFigures, ...]
    axes: TankAxes


@dataclass(frozen=True, eq=False)
class ToPropose:
    """What proposals are made from: plain values and results, so that a worker can make them.

    Attributes
    ----------
    coarse : CoarseSurface
    axes : TankAxes
    has_plane : bool
        Whether the tank is known to be alike on both sides of the middle of its axes.
    mm_per_unit : float
    by : JudgedBy
    """

    coarse: CoarseSurface
    axes: TankAxes
    has_plane: bool
    mm_per_unit: float
    by: JudgedBy


def to_propose(state: JobState) -> ToPropose | None:
    """Return what proposals for a job are made from; None while its surface is not laid."""
    coarse: CoarseSurface | None = made(state, "Coarse")
    size = made(state, "Size")
    if coarse is None or size is None:
        return None
    axes, has_plane = _standing(state, TriMesh(coarse.outside, coarse.mesh.faces))
    by = judged_by(state)
    if axes.named:
        by = replace(by, directions=Directions(point3(axes.axes[0]), point3(axes.axes[2])))
    return ToPropose(coarse, axes, has_plane, size.mm_per_unit, by)


def proposed(
    asked: ToPropose,
    pieces: Sequence[int] = PIECES,
    executor: Executor | None = None,
    *,
    report: Report = silent,
) -> Proposed:
    """Return break-ups worth a look; see `geometry.breakups.proposals`.

    Raises
    ------
    PieceCountError, StudySurfaceError
    """
    study = proposals(
        asked.coarse,
        asked.axes,
        plane=asked.has_plane,
        pieces=pieces,
        trim_mm=asked.by.trim_mm,
        executor=executor,
        report=part_of(report, 0.0, 0.95),
    )
    breakups = tuple(breakup_of(choice, asked.mm_per_unit) for choice in study.choices)
    figures = []
    for done, each in enumerate(breakups):
        report(0.95 + 0.05 * done / len(breakups), "tell what the choices cost")
        figures.append(
            judged_step(asked.coarse, asked.mm_per_unit, each.seams, each.panel_names, asked.by)
        )
    report(1.0, "tell what the choices cost")
    return Proposed(study, breakups, tuple(figures), asked.axes)


def breakup_of(choice: Choice, mm_per_unit: float) -> BreakUp:
    """Return a choice as a break-up to be kept, in file coordinates."""
    seams = tuple(
        SeamLine(
            seam.name,
            tuple(_point(place, mm_per_unit) for place in seam.points),
            seam.closed,
            mirror_of=twin,
        )
        for seam, twin in zip(choice.seams, choice.mirror_of, strict=True)
    )
    names = tuple(PanelName(name, _point(inside, mm_per_unit)) for name, inside in choice.panels)
    return BreakUp(choice.name, seams, names)


def _point(place: FloatArray, mm_per_unit: float) -> Point3:
    return point3(place / mm_per_unit)


def _standing(state: JobState, outside: TriMesh) -> tuple[TankAxes, bool]:
    """Return the tank's axes, and whether its centre plane is one of symmetry.

    A datum serves as it stands, guesses and all: which end is which hangs on nothing but what is
    seen of a seam, and that is told.
    """
    datum: Datum | None = made(state, "Datum")
    if datum is not None:
        axes = TankAxes(np.asarray(datum.origin), np.asarray(datum.axes), named=True)
        return axes, not datum.plane.weak
    directions = directions_of(state)
    front, up = (
        None if way is None else np.array(way, np.float64)
        for way in (directions.front, directions.top)
    )
    return tank_axes(outside, front, up), False


def judged_breakup(
    ground: ToPropose, breakup: BreakUp, *, report: Report = silent
) -> BreakUpFigures:
    """Return what a break-up costs, judged on the coarse surface; its own notes say what is seen.

    Raises
    ------
    SeamError, NoPathError, PanelPointError
        As the cut does.
    """
    by = replace(ground.by, marks=seen_marks(breakup.notes))
    return judged_step(
        ground.coarse, ground.mm_per_unit, breakup.seams, breakup.panel_names, by, report=report
    )
