"""What sheet a job takes, and which of its panels a leak test pushes on hardest."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.job.choices import JobState
from app.job.files import Metals, metal_or_none
from app.job.making import Panels
from app.job.rest import Fitted, TunnelLaid
from app.job.steps import made, panel_names
from geometry.gauges import pressure_load
from geometry.metal import METALS, BlankUse, SheetUse, blank_use, sheet_use
from geometry.pattern import Pattern


@dataclass(frozen=True, eq=False)
class _Piece:
    """A flat piece and the sheet it is cut from; of what is round, its outline is the square."""

    use: BlankUse
    alloy: str
    thickness_mm: float


def sheets_of_job(state: JobState, metals: Metals | None = None) -> tuple[SheetUse, ...]:
    """Return what everything made so far takes, sheet by sheet, the tank's own sheet first.

    Panels, the tunnel's nets and step plates, the disc of the filler's recess and that of the
    patch over the old hole; templates are card. What is of a metal not known is left out: nobody
    can say what it weighs.

    Parameters
    ----------
    state : JobState
    metals : mapping of name to SheetMetal, optional
        The maker's own among them; those known from the start if not given.
    """
    known = METALS if metals is None else metals
    sheets: dict[tuple[str, float], list[BlankUse]] = {_own(state): []}
    for piece in (*_panels(state), *_of_tunnel(state), *_of_fittings(state)):
        sheets.setdefault((piece.alloy, piece.thickness_mm), []).append(piece.use)
    return tuple(
        sheet_use(metal, thickness, uses)
        for (alloy, thickness), uses in sheets.items()
        if uses and (metal := metal_or_none(alloy, known)) is not None
    )


def pieces_besides(state: JobState) -> tuple[BlankUse, ...]:
    """Return the flat pieces laid out besides the panels, of whatever sheet."""
    return tuple(piece.use for piece in (*_of_tunnel(state), *_of_fittings(state)))


def _own(state: JobState) -> tuple[str, float]:
    return state.metal.alloy, state.metal.thickness_mm


def _panels(state: JobState) -> Iterator[_Piece]:
    for panel in panel_names(state):
        pattern: Pattern | None = made(state, "Paper", panel)
        if pattern is not None:
            outline = pattern.net if pattern.trim is None else pattern.trim
            yield _Piece(blank_use(panel, outline), *_own(state))


def _of_tunnel(state: JobState) -> Iterator[_Piece]:
    laid: TunnelLaid | None = made(state, "Tunnel")
    if laid is None:
        return
    sheet = laid.tunnel.sheet
    nets = [(f"{piece.name} net", piece.outline) for piece in laid.tunnel.pieces]
    for name, outline in (*nets, *((plate.name, plate.outline) for plate in laid.tunnel.plates)):
        yield _Piece(blank_use(name, outline), sheet.name, sheet.thickness_mm)


def _of_fittings(state: JobState) -> Iterator[_Piece]:
    fitted: Fitted | None = made(state, "Fittings")
    if fitted is None:
        return
    filler, old = fitted.filler, fitted.old
    if filler is not None and filler.recess is not None:
        yield _Piece(_disc("filler recess blank", filler.recess.blank_mm), *_own(state))
    if old is not None and not old.runs_in:
        yield _Piece(_disc("old filler patch", old.patch_mm), *_own(state))


def _disc(name: str, across_mm: float) -> BlankUse:
    return BlankUse(name, np.pi * across_mm**2 / 4.0, across_mm, across_mm)


def largest_face_of(state: JobState, pressure_kpa: float) -> tuple[str, float] | None:
    """Return the panel on which pressure pushes hardest and with how many newtons; None without."""
    cut: Panels | None = made(state, "Seams")
    if cut is None or not cut.panels:
        return None
    loads = [
        (pressure_load(panel.outside, panel.mesh.faces, pressure_kpa), panel.name)
        for panel in cut.panels
    ]
    load, name = max(loads)
    return name, load
