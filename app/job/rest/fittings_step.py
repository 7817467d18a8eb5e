"""Fittings: filler, bosses, the old filler's patch, set on the skin."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from app.job.choices import Closing, FittingsChoice, JobState, SeamLine
from app.job.making import FittingCut, FittingCuts, Reader, Step, step_besides
from app.job.rest.fuel_step import old_filler
from app.job.rest.stood import StoodTank
from app.units import counted
from geometry.arrays import FloatArray
from geometry.mesh import NearestPoint
from geometry.progress import Report
from geometry.surface import Opening, opening_within
from geometry.tank import (
    BossSet,
    FillerSet,
    FillerSpec,
    SeatOffTankError,
    boss_set,
    capped,
    filler_set,
    patch_blank_mm,
    seat_on,
)

_SAME_PLACE_MM = 1.0
_ON_SKIN_MM = 1.0


@dataclass(frozen=True)
class DrawnSeams:
    """Seams as drawn, in file coordinates, and what a unit of the file is in mm."""

    seams: tuple[SeamLine, ...]
    mm_per_unit: float


@dataclass(frozen=True, eq=False)
class OldFiller:
    """A filler hole the new filler leaves open: to be blanked.

    Attributes
    ----------
    opening : Opening
        Tank axes.
    crown_mm : float
        How high the skin that is to close it stands over its edge.
    patch_mm : float
        Across the disc the patch is beaten from.
    moved_mm : float
        From its centre to the new one.
    runs_in : bool
        Whether the new hole runs into it, so that no patch lies between them.
    """

    opening: Opening
    crown_mm: float
    patch_mm: float
    moved_mm: float
    runs_in: bool


@dataclass(frozen=True, eq=False)
class Fitted:
    """What is fitted, where it sits.

    Attributes
    ----------
    filler : FillerSet or None
    old : OldFiller or None
    bosses : tuple of BossSet
    cuts : FittingCuts
        The same on the surface as the panels are cut from it.
    guessed : tuple of str
        Those that stand on skin nobody scanned, at least in part.
    on_caps : tuple of str
        Those that stand on what closes an open edge: no panel carries their holes.
    """

    filler: FillerSet | None
    old: OldFiller | None
    bosses: tuple[BossSet, ...]
    cuts: FittingCuts
    guessed: tuple[str, ...]
    on_caps: tuple[str, ...] = ()


def fittings_step(
    stood: StoodTank,
    choice: FittingsChoice,
    closing: Closing,
    metal_mm: float,
    seams: DrawnSeams,
    *,
    report: Report,
) -> Fitted:
    """Return filler and bosses set on the skin, and what the old filler hole needs.

    Raises
    ------
    OpenTankError
        A boss stands on the bottom and the bottom is open.
    """
    report(0.0, "filler")
    filler = old = None
    if choice.filler is not None:
        lines = _seam_lines(seams, stood)
        filler = filler_set(stood.outside, choice.filler, metal_mm=metal_mm, seams=lines)
        old = _old(stood, choice.filler)
    report(0.5, "bosses")
    bosses: tuple[BossSet, ...] = ()
    if choice.bosses:
        closed = capped(stood.outside, {} if closing == "not said" else {0: closing})
        bosses = tuple(boss_set(closed, boss) for boss in choice.bosses)
    report(1.0, "fitted")
    guessed, on_caps = _unsure(stood, filler, bosses)
    return Fitted(filler, old, bosses, _cuts(stood, filler, bosses), guessed, on_caps)


def _unsure(
    stood: StoodTank, filler: FillerSet | None, bosses: tuple[BossSet, ...]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what stands on skin that was filled by guess, and what on a cap over an open edge.

    On guessed skin is what has its outermost line run over it; on a cap what has no skin anywhere
    along that line.
    """
    lines = [] if filler is None else [("filler", filler.lines[-1].points)]
    lines += [(boss.spec.name, boss.outline) for boss in bosses]
    if not lines:
        return (), ()
    nearest = NearestPoint(stood.outside)
    found = [(name, nearest.find(points)) for name, points in lines]
    guessed = tuple(
        name
        for name, near in found
        if (stood.filled[near.faces] & (near.distances < _ON_SKIN_MM)).any()
    )
    return guessed, tuple(name for name, near in found if near.distances.min() >= _ON_SKIN_MM)


def _cuts(stood: StoodTank, filler: FillerSet | None, bosses: tuple[BossSet, ...]) -> FittingCuts:
    """Return the fittings' holes in the surface's own axes."""
    from_tank = stood.axes.from_tank
    cuts = [FittingCut(opening_within(from_tank(boss.outline)), ()) for boss in bosses]
    if filler is not None:
        hole, *round_it = (from_tank(line.points) for line in filler.lines)
        cuts.insert(0, FittingCut(opening_within(hole), tuple(round_it)))
    scanned = None if filler is None else old_filler(stood)
    if scanned is None:
        return FittingCuts(tuple(cuts), None)
    blanked = from_tank(stood.openings[scanned].centre[None])[0]
    return FittingCuts(tuple(cuts), blanked)


def _old(stood: StoodTank, filler: FillerSpec) -> OldFiller | None:
    """Return the scanned filler where the new one does not take its very place."""
    number = old_filler(stood)
    if number is None:
        return None
    opening = stood.openings[number]
    moved = float(np.linalg.norm(opening.centre[:2] - [filler.x_mm, filler.y_mm]))
    if moved <= _SAME_PLACE_MM and filler.cut_mm >= opening.diameter_mm - _SAME_PLACE_MM:
        return None
    crown = 0.0
    try:
        x, y = (float(value) for value in opening.centre[:2])
        seat = seat_on(stood.outside, "old filler", x, y, opening.diameter_mm)
        rim = (seat.circle(opening.diameter_mm) - seat.centre) @ seat.axis
        crown = max(0.0, -float(rim.mean()))
    except SeatOffTankError:  # it was left open: nothing stands in it to measure
        crown = 0.0
    runs_in = moved < (opening.diameter_mm + filler.reach_mm) / 2.0
    patch = patch_blank_mm(opening.diameter_mm, crown)
    return OldFiller(opening, crown, patch, moved, runs_in)


def _seam_lines(drawn: DrawnSeams, stood: StoodTank) -> tuple[tuple[str, FloatArray], ...]:
    """Return the seams in tank axes, straight from point to point as drawn."""
    found = []
    for seam in drawn.seams:
        points = (*seam.points, seam.points[0]) if seam.closed else seam.points
        found.append((seam.name, stood.axes.to_tank(np.array(points) * drawn.mm_per_unit)))
    return tuple(found)


def _line(found: Fitted, state: JobState, show: str) -> str:
    filler = "filler set, " if found.filler is not None else ""
    return filler + counted(len(found.bosses), "fitting")


def fittings_row(read: Reader) -> Step:
    """Return the row of the table of steps."""

    def inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
        stood, choice, size = read(state, "Stood"), state.rest.fittings, read(state, "Size")
        if stood is None or choice is None or size is None:
            return None
        capacity = state.rest.capacity
        closing = "not said" if capacity is None else capacity.closing
        drawn = DrawnSeams(state.seams, size.mm_per_unit)
        return (stood, choice, closing, state.metal.thickness_mm, drawn)

    does = "Set filler, taps and vents on the skin."
    return step_besides("Fittings", does, inputs=inputs, function=fittings_step, line=_line)
