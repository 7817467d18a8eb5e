"""A tank that is partly filled: in which basins the fuel stands, how high, over which outlets."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.mesh import part_of_mesh, section
from geometry.tank.basins import Basin, Basins, held_below, wet_below
from geometry.tank.depth import Depths
from geometry.tank.fuel_space import FuelSpace
from geometry.tank.low_points import TapOutsideError
from geometry.tank.runs import Runs
from geometry.tank.stance import LEVEL, Stance

_NOTHING_MM3 = 1.0
"""A cubic millimetre more or less is nobody's concern."""

_ON_LEVEL_MM = 1e-6


class MoreThanItHoldsError(GeometryError):
    """More fuel than the tank has room for, or none.

    Attributes
    ----------
    volume_mm3, holds_mm3 : float
    """

    def __init__(self, volume_mm3: float, holds_mm3: float) -> None:
        self.volume_mm3, self.holds_mm3 = volume_mm3, holds_mm3
        super().__init__(f"{volume_mm3:.0f} mm3, of {holds_mm3:.0f}")


@dataclass(frozen=True, eq=False)
class StandingPool:
    """Fuel that stands at one level.

    Attributes
    ----------
    volume_mm3 : float
    level_mm : float
        Its surface over the tank's origin, straight up in the stance.
    lowest : (3,) float, mm
        Where it is deepest, tank axes.
    deep_mm : float
        There.
    shores : tuple of (k, 3) float, mm
        The lines in which its surface meets the metal, tank axes, the longest first.
    """

    volume_mm3: float
    level_mm: float
    lowest: FloatArray
    deep_mm: float
    shores: tuple[FloatArray, ...]

    def __post_init__(self) -> None:
        for array in (self.lowest, *self.shores):
            locked(array)

    @property
    def reach(self) -> FloatArray:
        """(2, 2) Rear and front end of its surface ahead, then right and left end, mm."""
        points = np.concatenate(self.shores) if self.shores else self.lowest[None]
        return np.stack([points[:, :2].min(axis=0), points[:, :2].max(axis=0)], axis=1)


@dataclass(frozen=True, eq=False)
class FuelStanding:
    """How a part filling stands in one stance.

    Attributes
    ----------
    stance : Stance
    volume_mm3 : float
    pools : tuple of StandingPool
        The largest first.
    over_outlets_mm : tuple of float
        By how much the fuel stands over each outlet, straight up; below nothing where the outlet
        is dry.
    """

    stance: Stance
    volume_mm3: float
    pools: tuple[StandingPool, ...]
    over_outlets_mm: tuple[float, ...]


def fuel_standing(
    space: FuelSpace,
    volume_mm3: float,
    stance: Stance,
    *,
    outlets: Sequence[FloatArray] = (),
    crossovers: Sequence[tuple[FloatArray, FloatArray]] = (),
    least_depth_mm: float = 2.0,
) -> FuelStanding:
    """Return how a part filling stands once the tank is leant.

    It is taken to be filled on the level to one height, on either side of a tunnel alike, and then
    leant: each part of it drains to the basin below it, a basin that is full runs over to its
    neighbour, and two that are full stand at one level. What a crossover joins is one basin over
    the higher of the tube's ends.

    Parameters
    ----------
    space : FuelSpace
    volume_mm3 : float
    stance : Stance
    outlets : sequence of (3,) float, mm
        In the space, tank axes, as `off_floor` gives them.
    crossovers : sequence of two (3,) places
        In the space, tank axes.
    least_depth_mm : float
        Shallower hollows are the skin's own waviness.

    Raises
    ------
    MoreThanItHoldsError
    TapOutsideError

    Source: own derivation: filling, spilling and merging along the tree of `Runs`.
    """
    if not 0.0 < volume_mm3 <= space.volume_mm3:
        raise MoreThanItHoldsError(volume_mm3, space.volume_mm3)
    depths = Depths(space.mesh, stance)
    frame = stance.frame
    tubes = tuple((frame @ one, frame @ other) for one, other in crossovers)
    basins = Basins(Runs(depths, tubes), least_depth_mm)
    poured = _poured(space, volume_mm3, basins)
    held = [each for whole in basins.whole for each in _settled(whole, poured, depths)[0]]
    levels = [(basin, _level(basin, there, depths)) for basin, there in held]
    pools = [
        _pool(space, basin, there, level, depths)
        for (basin, there), (_, level) in zip(held, levels, strict=True)
        if there >= _NOTHING_MM3
    ]
    return FuelStanding(
        stance=stance,
        volume_mm3=volume_mm3,
        pools=tuple(sorted(pools, key=lambda pool: -pool.volume_mm3)),
        over_outlets_mm=tuple(_over(frame @ outlet, basins, levels) for outlet in outlets),
    )


Held = list[tuple[Basin, float]]
"""Basins none of which is a part of another, and what stands in each, mm3."""


def _poured(space: FuelSpace, volume: float, basins: Basins) -> dict[int, float]:
    """Return by foot what drains to each single basin of what stood on the level at one height."""
    singles = [single.foot for whole in basins.whole for single in whole.singles]
    if len(singles) == 1:
        return {singles[0]: volume}
    level = Depths(space.mesh, LEVEL)
    columns = level.below(np.full(len(level.faces), level.level_of(volume)))
    depths = basins.runs.depths
    deepest = np.argmin(depths.heights[depths.faces], axis=1)
    corner = depths.faces[np.arange(len(deepest)), deepest]
    drains = basins.foot_of_vertex[corner]
    share = volume / columns.sum()  # the level is found to a millionth of a millimetre
    return {foot: share * float(columns[drains == foot].sum()) for foot in singles}


def _settled(basin: Basin, poured: dict[int, float], depths: Depths) -> tuple[Held, float]:
    """Return what stands in a basin's parts, or in all of it, and what runs over its edge."""
    room = held_below(basin, depths, basin.spills_at)
    if not basin.parts:
        there = poured[basin.foot]
        return [(basin, min(there, room))], max(0.0, there - room)
    one, other = basin.parts
    (held_one, spill_one), (held_other, spill_other) = (
        _settled(part, poured, depths) for part in (one, other)
    )
    if spill_one > 0.0 and spill_other == 0.0:
        more = {**poured, other.foot: poured[other.foot] + spill_one}
        held_other, spill_other = _settled(other, more, depths)
    elif spill_other > 0.0 and spill_one == 0.0:
        more = {**poured, one.foot: poured[one.foot] + spill_other}
        held_one, spill_one = _settled(one, more, depths)
    if spill_one == 0.0 or spill_other == 0.0:
        return held_one + held_other, 0.0
    there = sum(poured[single.foot] for single in basin.singles)
    return [(basin, min(there, room))], max(0.0, there - room)


def _level(basin: Basin, held: float, depths: Depths) -> float:
    """Return how high a volume stands in a basin, to a millionth of a millimetre."""
    low, high = float(depths.heights[basin.foot]), min(basin.spills_at, depths.highest)
    while high - low > _ON_LEVEL_MM:
        middle = (low + high) / 2.0
        low, high = (middle, high) if held_below(basin, depths, middle) < held else (low, middle)
    return (low + high) / 2.0


def _over(outlet: FloatArray, basins: Basins, levels: Sequence[tuple[Basin, float]]) -> float:
    """Return by how much fuel stands over an outlet, level axes."""
    depths = basins.runs.depths
    found = basins.runs.under(outlet)
    if found is None:
        raise TapOutsideError("outlet", depths.stance.frame.T @ outlet, 0.0)
    corners = depths.faces[found[0]]
    foot = int(basins.foot_of_vertex[corners[np.argmin(depths.heights[corners])]])
    (level,) = (
        level for basin, level in levels if any(each.foot == foot for each in basin.singles)
    )
    return level - float(outlet[2])


def _pool(
    space: FuelSpace, basin: Basin, held: float, level: float, depths: Depths
) -> StandingPool:
    wet = wet_below(basin, depths, level)
    part, _ = part_of_mesh(space.mesh, np.flatnonzero(wet[space.mesh.faces].any(axis=1)))
    up = depths.stance.up
    return StandingPool(
        volume_mm3=held,
        level_mm=level,
        lowest=space.mesh.vertices[basin.foot].copy(),
        deep_mm=level - float(depths.heights[basin.foot]),
        shores=section(part, level * up, up),
    )
