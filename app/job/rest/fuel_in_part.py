"""A tank that is filled, or partly filled: air that stays, how fuel stands, over which outlets."""

from dataclasses import dataclass

import numpy as np

from app.job.choices import PartFill
from geometry.arrays import FloatArray
from geometry.surface import Opening
from geometry.tank import (
    BossSpec,
    FillerSpec,
    FuelSpace,
    FuelStanding,
    Stance,
    TapOutsideError,
    floor_under,
    fuel_standing,
    off_floor,
    under_roof,
)

_LITRE_MM3 = 1e6
_ROUND = 72
_UNDER_ROOF_MM = 1e-3

Tubes = tuple[tuple[FloatArray, FloatArray], ...]
"""Both ends of every crossover."""


@dataclass(frozen=True)
class OutletFound:
    """How fuel stands over an outlet.

    Attributes
    ----------
    name : str
        "main tap", or "main tap on reserve" for the floor beside its standpipe.
    over_mm : float
        Straight up; below nothing where it is dry.
    """

    name: str
    over_mm: float


@dataclass(frozen=True, eq=False)
class PartFound:
    """How a part filling stands.

    Attributes
    ----------
    standing : FuelStanding
    outlets : tuple of OutletFound
    under_filler_mm : float or None
        From the highest surface up to the filler's lowest edge; below nothing where fuel runs out
        there. None where there is no filler.
    is_joined : bool
        Whether a tube joins both sides below.
    """

    standing: FuelStanding
    outlets: tuple[OutletFound, ...]
    under_filler_mm: float | None
    is_joined: bool


def stance_of(part: PartFill) -> Stance:
    """Return how the tank stands with a part filling.

    Raises
    ------
    TooSteepError
    """
    lean = part.lean_rad if part.lean_to == "left" else -part.lean_rad
    return Stance("with some fuel in it", lean_left_rad=lean, nose_up_rad=part.nose_up_rad)


def part_found(
    space: FuelSpace,
    part: PartFill,
    outlets: tuple[tuple[str, FloatArray], ...],
    filler_edge: FloatArray | None,
    tubes: Tubes,
) -> PartFound:
    """Return how a part filling stands, and over which outlets.

    Raises
    ------
    MoreThanItHoldsError
    TooSteepError
    """
    stance = stance_of(part)
    places = [place for _, place in outlets]
    standing = fuel_standing(
        space, part.litres * _LITRE_MM3, stance, outlets=places, crossovers=tubes
    )
    under = None
    if filler_edge is not None:
        brim = float((filler_edge @ stance.up).min())
        under = brim - max(pool.level_mm for pool in standing.pools)
    found = tuple(
        OutletFound(name, over)
        for (name, _), over in zip(outlets, standing.over_outlets_mm, strict=True)
    )
    return PartFound(standing, found, under, bool(tubes))


def filler_edge(
    space: FuelSpace, filler: FillerSpec | None, scanned: Opening | None
) -> FloatArray | None:
    """Return places along the edge of the filler's hole, just under the roof; None of no filler.

    Parameters
    ----------
    space : FuelSpace
        Less the filler's recess.
    filler : FillerSpec or None
        As it is set; the scanned one counts where there is none.
    scanned : Opening or None
        Tank axes.
    """
    if filler is not None:
        angle = 2.0 * np.pi * np.arange(_ROUND) / _ROUND
        ring = np.stack([np.cos(angle), np.sin(angle)], axis=1) * filler.hole_mm / 2.0
        places = np.array([filler.x_mm, filler.y_mm]) + ring
    elif scanned is not None:
        step = max(1, len(scanned.outline) // _ROUND)
        places = scanned.outline[::step, :2]
    else:
        return None
    found = under_roof(space, places, _UNDER_ROOF_MM)
    return found if len(found) else None


def vent_mouths(space: FuelSpace, bosses: tuple[BossSpec, ...]) -> list[FloatArray]:
    """Return where air enters each vent: under the roof, or at the mouth of its pipe from below.

    Raises
    ------
    TapOutsideError
    """
    found = []
    for vent in bosses:
        if vent.kind != "vent":
            continue
        if vent.below:
            floor, _ = floor_under(space, vent.x_mm, vent.y_mm, vent.name)
            found.append(off_floor(floor, vent.standpipe_mm or 0.0))
            continue
        roof = under_roof(space, np.array([[vent.x_mm, vent.y_mm]]), _UNDER_ROOF_MM)
        if not len(roof):
            away = np.linalg.norm(space.mesh.vertices[:, :2] - [vent.x_mm, vent.y_mm], axis=1)
            place = np.array([vent.x_mm, vent.y_mm, 0.0])
            raise TapOutsideError(vent.name, place, float(away.min()))
        found.append(roof[0])
    return found
