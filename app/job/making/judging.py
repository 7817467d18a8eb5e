"""What splitting the tank costs: judged at once on a coarse surface, then of the blanks themselves.

Set-ups are kept where the tasks run, so that a moved seam is judged from what was there before.
"""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256

import numpy as np

from app.job.choices import Directions, PanelName, SeamLine, SeamNote
from app.job.making.results import Blank, Panels, Surface
from geometry.blank import Work
from geometry.breakups import (
    Advice,
    BreakUpFigures,
    Draft,
    SeamAdviser,
    SeenMark,
    Sight,
    figures_of_cut,
    panel_figures,
    sight_of,
)
from geometry.datum import Point3
from geometry.gauges import tank_axes
from geometry.mesh import TriMesh
from geometry.panels import Seam
from geometry.progress import Report, silent
from geometry.surface import CoarseSurface, coarsened

_MOST_DRAFTS = 3
_DRAFTS: OrderedDict[bytes, Draft] = OrderedDict()
_ADVISERS: OrderedDict[bytes, SeamAdviser] = OrderedDict()


@dataclass(frozen=True)
class JudgedBy:
    """What figures hang on beside seams and surface.

    Attributes
    ----------
    directions : Directions
        Where the tank's front and top are: what is seen of a seam hangs on it.
    marks : tuple of (seam, "seen" or "hidden")
        What the maker says of whole seams.
    sheet_mm, trim_mm : float
    work : Work
        How panels are made that have no choice of their own.
    """

    directions: Directions
    marks: tuple[tuple[str, SeenMark], ...]
    sheet_mm: float
    trim_mm: float
    work: Work


def coarse_step(surface: Surface, *, report: Report = silent) -> CoarseSurface:
    """Return the surface break-ups are judged on while they are drawn."""
    return coarsened(surface.working, report=report)


def judged_step(
    coarse: CoarseSurface,
    mm_per_unit: float,
    seams: tuple[SeamLine, ...],
    names: tuple[PanelName, ...],
    by: JudgedBy,
    *,
    report: Report = silent,
) -> BreakUpFigures:
    """Return what a break-up costs, judged on the coarse surface."""
    draft = _draft(coarse, by)
    return draft.judged(
        seams_in_mm(seams, mm_per_unit),
        named=[(name.name, np.array(name.inside) * mm_per_unit) for name in names],
        marks=dict(by.marks),
        report=report,
    )


def advice_step(
    coarse: CoarseSurface,
    mm_per_unit: float,
    seams: tuple[SeamLine, ...],
    crisp: tuple[tuple[Point3, ...], ...],
    *,
    report: Report = silent,
) -> tuple[Advice, ...]:
    """Return what there is to say of seams as they are drawn.

    Parameters
    ----------
    coarse : CoarseSurface
    mm_per_unit : float
    seams : tuple of SeamLine
    crisp : tuple of tuple of points
        Lines to keep off, in file coordinates.
    report : Report
    """
    report(0.0, "look the seams over")
    lines = [np.array(line, np.float64) * mm_per_unit for line in crisp]
    told = b"".join(line.tobytes() for line in lines)
    name = sha256(coarse.outside.tobytes() + coarse.mesh.faces.tobytes() + told).digest()
    if name not in _ADVISERS:
        _ADVISERS[name] = SeamAdviser(coarse, lines=lines)
    _ADVISERS.move_to_end(name)
    while len(_ADVISERS) > _MOST_DRAFTS:
        _ADVISERS.popitem(last=False)
    report(0.5, "look the seams over")
    return _ADVISERS[name].advice(seams_in_mm(seams, mm_per_unit))


def costs_step(
    cut: Panels,
    blanks: tuple[Blank, ...],
    by: JudgedBy,
    *,
    report: Report = silent,
) -> BreakUpFigures:
    """Return what the break-up costs as it is laid flat."""
    found = []
    for done, (panel, blank) in enumerate(zip(cut.panels, blanks, strict=True)):
        report(done / len(blanks), "tell what it costs")
        figures = panel_figures(
            panel.name, blank.flat, panel.outside, sheet_mm=by.sheet_mm, trim_mm=by.trim_mm
        )
        found.append(figures)
    report(1.0, "tell what it costs")
    sight = sight_from(TriMesh(cut.cut.outside, cut.cut.mesh.faces), by.directions)
    return BreakUpFigures(tuple(found), figures_of_cut(cut.cut, sight, dict(by.marks)))


def sight_from(outside: TriMesh, directions: Directions) -> Sight | None:
    """Return where nobody looks on the tank; None while nobody has said which way it stands."""
    if directions.front is None or directions.top is None:
        return None
    front, up = (np.array(way, np.float64) for way in (directions.front, directions.top))
    return sight_of(outside.vertices, tank_axes(outside, front, up))


def seen_marks(notes: Sequence[SeamNote]) -> tuple[tuple[str, SeenMark], ...]:
    """Return which seams the maker says are seen or hidden.

    >>> seen_marks([SeamNote("top", "seen"), SeamNote("nose", closing=True)])
    (('top', 'seen'),)
    """
    return tuple((note.seam, note.sight) for note in notes if note.sight is not None)


def seams_in_mm(seams: Sequence[SeamLine], mm_per_unit: float) -> list[Seam]:
    """Return seams as they are cut."""
    return [
        Seam(seam.name, np.array(seam.points, np.float64) * mm_per_unit, closed=seam.closed)
        for seam in seams
    ]


def _draft(coarse: CoarseSurface, by: JudgedBy) -> Draft:
    """Return the draft kept of a surface and what figures hang on, or a new one."""
    told = (by.directions, by.sheet_mm, by.trim_mm, by.work)
    key = sha256(coarse.outside.tobytes() + coarse.mesh.faces.tobytes() + repr(told).encode())
    name = key.digest()
    if name not in _DRAFTS:
        outside = TriMesh(coarse.outside, coarse.mesh.faces)
        _DRAFTS[name] = Draft(
            coarse,
            sight=sight_from(outside, by.directions),
            sheet_mm=by.sheet_mm,
            trim_mm=by.trim_mm,
            work=by.work,
        )
    _DRAFTS.move_to_end(name)
    while len(_DRAFTS) > _MOST_DRAFTS:
        _DRAFTS.popitem(last=False)
    return _DRAFTS[name]
