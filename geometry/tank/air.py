"""Air that stays in a tank while it is filled: pockets that reach neither filler nor vent."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.mesh import TriMesh
from geometry.tank.depth import Depths
from geometry.tank.fuel_space import FuelSpace
from geometry.tank.low_points import TapOutsideError, pools_to
from geometry.tank.runs import Runs
from geometry.tank.stance import Stance

# What stands a tank on its head.
_OVER = np.array([1.0, 1.0, -1.0])


@dataclass(frozen=True, eq=False)
class AirPocket:
    """Air that stays in one place.

    Attributes
    ----------
    place : (3,) float, mm
        Its highest, tank axes: where a vent would let it out.
    volume_mm3 : float
    ventable_mm3 : float
        What of it a vent there would let out; the rest lies over the filler's lowest edge, where
        fuel runs out before it rises.
    """

    place: FloatArray
    volume_mm3: float
    ventable_mm3: float

    def __post_init__(self) -> None:
        locked(self.place)


def air_left(
    space: FuelSpace,
    stance: Stance,
    filler_edge: FloatArray,
    *,
    vents: Sequence[FloatArray] = (),
    least_mm3: float = 100.0,
) -> tuple[AirPocket, ...]:
    """Return the air that stays when fuel stands at the filler's lowest edge, the largest first.

    Air rises as fuel runs down: what stays is what would be trapped were the tank stood on its
    head with the filler and the vents for taps.

    Parameters
    ----------
    space : FuelSpace
    stance : Stance
    filler_edge : (k, 3) float, mm
        Along the edge of the filler's hole, in the space just under its roof, tank axes.
    vents : sequence of (3,) float, mm
        Where air enters each vent, in the space, tank axes.
    least_mm3 : float
        Smaller pockets are not told.

    Raises
    ------
    TapOutsideError
        A vent or the filler lies where there is no room.

    Source: own derivation, the mirror image of `trapped`.
    """
    up = stance.up
    lowest = filler_edge[np.argmin(filler_edge @ up)]
    turned = TriMesh(space.mesh.vertices * _OVER, space.mesh.faces[:, ::-1])
    depths = Depths(turned, Stance(stance.name, -stance.lean_left_rad, -stance.nose_up_rad))
    runs = Runs(depths)
    outlets = [depths.stance.frame @ (np.asarray(place) * _OVER) for place in (lowest, *vents)]
    names = ["filler", *("vent" for _ in vents)]
    for name, place, outlet in zip(names, (lowest, *vents), outlets, strict=True):
        if runs.under(outlet) is None:
            raise TapOutsideError(name, np.asarray(place), 0.0)
    brim = np.full(len(depths.heights), -float(lowest @ up))
    levels = np.maximum(np.minimum(runs.spill_to(outlets), depths.highest), brim)
    pools = pools_to(runs, levels)
    stays, over_brim = pools.volumes(depths, levels), pools.volumes(depths, brim)
    found = [
        AirPocket(space.mesh.vertices[foot].copy(), float(all_of), float(all_of - least))
        for foot, all_of, least in zip(pools.feet.tolist(), stays, over_brim, strict=True)
        if all_of >= least_mm3
    ]
    return tuple(sorted(found, key=lambda pocket: -pocket.volume_mm3))
