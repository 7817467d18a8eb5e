"""Break-ups as they come out of the cut: how long their seams are, which panels lock."""

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial

from geometry.arrays import FloatArray
from geometry.breakups.drawn import Board, DrawnSeam, drawn_seams, panel_places
from geometry.breakups.lift_out import lift_out
from geometry.breakups.refine import Refined
from geometry.breakups.study_ground import StudyGround
from geometry.breakups.tasks import done_all
from geometry.mesh import NoPathError
from geometry.panels import PanelPointError, Seam, SeamError, Surface, cut_along, panels
from geometry.polyline import line_length
from geometry.progress import Report

Facts = tuple[int, float, float, bool]
"""Pieces, worst shrink below nothing, weld, whether any panel is locked in its form: the less of
each the better."""


@dataclass(frozen=True, eq=False)
class Shown:
    """A break-up that is to be shown, as it is drawn and cut."""

    refined: Refined
    seams: tuple[DrawnSeam, ...]
    panels: tuple[tuple[str, FloatArray], ...]
    cut: "AsCut"

    @property
    def lifts_out(self) -> bool:
        """Whether no panel is locked in its form."""
        return not self.cut.held

    @property
    def facts(self) -> Facts:
        """What it is held against others by."""
        found = self.refined.found
        return found.pieces, -found.shrink, self.cut.weld, not self.lifts_out


@dataclass(frozen=True)
class AsCut:
    """How long all seams are, mm, which panels lock in their forms, and by how much, mm2."""

    weld: float
    held: tuple[str, ...]
    locked: float


def cut_for_real(
    ground: StudyGround,
    board: Board,
    surface: Surface,
    several: Sequence[Refined],
    executor: Executor | None,
    *,
    report: Report,
) -> list[Shown]:
    """Return the break-ups that can be cut along their seams as drawn."""
    drawn = [drawn_seams(ground, board, each.found) for each in several]
    places = [panel_places(ground, board, each.found) for each in several]
    items = [
        (tuple(d.seam for d in those), named) for those, named in zip(drawn, places, strict=True)
    ]
    cuts = done_all(partial(_as_cut, surface), items, executor, report, "cut the choices")
    return [
        Shown(each, those, named, cut)
        for each, those, named, cut in zip(several, drawn, places, cuts, strict=True)
        if cut is not None
    ]


def _as_cut(
    surface: Surface, item: tuple[tuple[Seam, ...], tuple[tuple[str, FloatArray], ...]]
) -> AsCut | None:
    """Return seams as cut, or None where they do not part the surface as meant."""
    seams, named = item
    try:
        cut = cut_along(surface, seams)
        parts = panels(cut, named)
    except (SeamError, NoPathError, PanelPointError):
        return None
    if len(parts) != len(named):
        return None
    runs = [cut.outside[run] for path in cut.seam_paths for run in cut.joints(path)]
    weld = sum(line_length(run) for run in runs)
    lifts = [lift_out(panel.outside, panel.mesh.faces) for panel in parts]
    held = tuple(p.name for p, lift in zip(parts, lifts, strict=True) if not lift.is_free)
    return AsCut(weld, held, sum(lift.locked_area_mm2 for lift in lifts))
