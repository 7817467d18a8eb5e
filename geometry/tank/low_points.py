"""Where fuel gathers, and what of it no tap lets out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import FloatArray, IntArray, locked
from geometry.errors import GeometryError
from geometry.mesh import face_areas, face_middles
from geometry.tank.basins import Basin, Basins, held_below
from geometry.tank.depth import ASIDE_MM, Depths
from geometry.tank.fuel_space import FuelSpace
from geometry.tank.runs import Runs
from geometry.tank.stance import Stance

_LEVEL_WITHIN_MM, _WAVY_WITHIN_MM = 0.2, 2.0
_LEVEL_SLOPE = 0.005


class TapOutsideError(GeometryError):
    """A tap, stick or crossover where the tank has no floor.

    Attributes
    ----------
    name : str
    place : (3,) float, mm
        Tank axes.
    away_mm : float
        To the nearest place of the space, in plan.
    """

    def __init__(self, name: str, place: FloatArray, away_mm: float) -> None:
        self.name, self.place, self.away_mm = name, place, away_mm
        super().__init__(f"{name} lies {away_mm:.1f} mm outside")


@dataclass(frozen=True, eq=False)
class LowPoint:
    """One place towards which fuel runs from all round.

    Attributes
    ----------
    place : (3,) float, mm
        Tank axes; the middle of the floor where that is level.
    holds_mm3 : float
        What gathers there before it runs over to another one; all the space holds where there is
        no other.
    runs_over_mm : float
        How deep that is; inf where there is no other.
    """

    place: FloatArray
    holds_mm3: float
    runs_over_mm: float

    def __post_init__(self) -> None:
        locked(self.place)


@dataclass(frozen=True, eq=False)
class Trapped:
    """One pool no tap lets out.

    Attributes
    ----------
    place : (3,) float, mm
        Its lowest, tank axes.
    volume_mm3 : float
    sides_mm : two floats
        From its right end to its left one, as far as vertices lie in it.
    """

    place: FloatArray
    volume_mm3: float
    sides_mm: tuple[float, float]

    def __post_init__(self) -> None:
        locked(self.place)


def low_points(
    space: FuelSpace, stance: Stance, *, least_depth_mm: float = 2.0, least_mm3: float = 5000.0
) -> tuple[LowPoint, ...]:
    """Return where fuel gathers in a stance, the largest pool first.

    Parameters
    ----------
    space : FuelSpace
    stance : Stance
    least_depth_mm, least_mm3 : float
        Shallower or smaller hollows count with the ones they run over to.
    """
    depths = Depths(space.mesh, stance)
    basins = Basins(Runs(depths), least_depth_mm)
    found = []
    for basin in (low for whole in basins.whole for low in _lows(whole, depths, least_mm3)):
        floor = _middle_of_floor(depths, basin.within, basin.foot) @ stance.frame
        held = held_below(basin, depths, basin.spills_at)
        found.append(LowPoint(floor, held, basin.spills_at - float(depths.heights[basin.foot])))
    return tuple(sorted(found, key=lambda point: -point.holds_mm3))


def _lows(basin: Basin, depths: Depths, least_mm3: float) -> tuple[Basin, ...]:
    """Return the basins worth telling: a small one counts with the one it runs over to."""
    if not basin.parts:
        return (basin,)
    large = [part for part in basin.parts if held_below(part, depths, part.spills_at) >= least_mm3]
    if not large:
        return (replace(basin, parts=()),)
    lows = tuple(low for part in large for low in _lows(part, depths, least_mm3))
    if len(lows) == 1:
        return (replace(basin, foot=lows[0].foot, parts=()),)
    return lows


def trapped(
    space: FuelSpace,
    stance: Stance,
    taps: Sequence[FloatArray],
    *,
    crossovers: Sequence[tuple[FloatArray, FloatArray]] = (),
    least_mm3: float = 100.0,
) -> tuple[Trapped, ...]:
    """Return what stays when all taps have run dry, the largest pool first.

    Parameters
    ----------
    space : FuelSpace
    stance : Stance
    taps : sequence of (3,) float, mm
        Where fuel enters each tap, in the space, tank axes (`tap_place` puts one on the floor).
    crossovers : sequence of two (3,) places
        Ends of tubes that join two places below.
    least_mm3 : float
        Smaller pools are not told.

    Raises
    ------
    TapOutsideError
    """
    depths = Depths(space.mesh, stance)
    frame = stance.frame
    runs = Runs(depths, tuple((frame @ one, frame @ other) for one, other in crossovers))
    outlets = [frame @ np.asarray(tap) for tap in taps]
    for tap, outlet in zip(taps, outlets, strict=True):
        if runs.under(outlet) is None:
            raise TapOutsideError("tap", np.asarray(tap), 0.0)
    levels = np.minimum(runs.spill_to(outlets), depths.highest)
    pools = pools_to(runs, levels)
    held = pools.volumes(depths, levels)
    across = space.mesh.vertices[:, 1][space.mesh.faces]
    wet = (depths.heights < levels)[space.mesh.faces]
    found = []
    for number in np.flatnonzero(held >= max(least_mm3, 1e-9)).tolist():
        there = across[wet & (pools.of_face == number)[:, None]]
        sides = (float(there.min()), float(there.max()))
        place = space.mesh.vertices[pools.feet[number]].copy()
        found.append(Trapped(place, float(held[number]), sides))
    return tuple(sorted(found, key=lambda each: -each.volume_mm3))


@dataclass(frozen=True, eq=False)
class Pools:
    """Which faces lie in which pool.

    Attributes
    ----------
    feet : (k,) int
        The lowest vertex of each pool.
    of_face : (m,) int
        The pool each face lies in, -1 where it is dry.
    """

    feet: IntArray
    of_face: IntArray

    def __post_init__(self) -> None:
        locked(self.feet)
        locked(self.of_face)

    def volumes(self, depths: Depths, levels: FloatArray) -> FloatArray:
        """Return what each pool holds below the levels of its vertices, mm3.

        Parameters
        ----------
        depths : Depths
        levels : (n,) float
            Those of a pool are equal; none higher than when the pools were told apart.
        """
        wet = depths.heights < levels
        by_face = depths.below(np.where(wet, levels, -np.inf)[depths.faces].max(axis=1))
        in_pool = self.of_face >= 0
        held = np.bincount(self.of_face[in_pool], by_face[in_pool], minlength=len(self.feet))
        return np.asarray(held, np.float64)


def pools_to(runs: Runs, levels: FloatArray) -> Pools:
    """Return the pools that stand where each vertex has a level of its own to which it is wet.

    Parameters
    ----------
    runs : Runs
    levels : (n,) float
    """
    depths = runs.depths
    wet = depths.heights < levels
    label = _pools_of_wet(runs.ties, wet)
    rising = np.flatnonzero(wet)[np.argsort(depths.heights[wet], kind="stable")]
    labels, first = np.unique(label[rising], return_index=True)
    pool = np.full(label.max(initial=0) + 1, -1)
    pool[labels] = np.arange(len(labels))
    of_face = np.where(wet[depths.faces], pool[label][depths.faces], -1).max(axis=1)
    return Pools(rising[first], of_face)


def _middle_of_floor(depths: Depths, within: IntArray, foot: int) -> FloatArray:
    """Return the middle of what lies as low as the foot, where that is floor; else the foot.

    A floor that is level but for the waviness of its edges counts as one.
    """
    for within_mm in (_WAVY_WITHIN_MM, _LEVEL_WITHIN_MM):
        floor = np.zeros(len(depths.points), bool)
        floor[within] = True
        floor &= depths.heights <= depths.heights[foot] + within_mm
        faces = np.flatnonzero(floor[depths.faces].all(axis=1))
        area = face_areas(depths.points, depths.faces[faces])
        if area.sum() <= 0.0:
            continue
        middles = face_middles(depths.points, depths.faces[faces])
        if within_mm == _LEVEL_WITHIN_MM or _is_level(middles, area):
            return _on_floor(depths, middles, area, faces)
    return np.asarray(depths.points[foot])


def _is_level(middles: FloatArray, area: FloatArray) -> bool:
    """Return whether the best plane through a floor is level."""
    weight = np.sqrt(area)
    middle = (area[:, None] * middles).sum(axis=0) / area.sum()
    off = (middles - middle) * weight[:, None]
    slope = np.linalg.lstsq(off[:, :2], off[:, 2], rcond=None)[0]
    return bool(np.linalg.norm(slope) <= _LEVEL_SLOPE)


def _on_floor(depths: Depths, middles: FloatArray, area: FloatArray, faces: IntArray) -> FloatArray:
    """Return the place of a floor's faces under or nearest to their common middle."""
    middle = (area[:, None] * middles).sum(axis=0) / area.sum()
    away = np.linalg.norm((middles - middle)[:, :2], axis=1)
    heights, hit = depths.uprights.hits(middle[:2] + ASIDE_MM)
    on = np.isin(hit, faces)
    if on.any():
        return np.array([*middle[:2], heights[on][0]])
    return np.asarray(middles[np.argmin(away)])


def _pools_of_wet(ties: IntArray, wet: np.ndarray) -> IntArray:
    """Return for each vertex which pool it is in; pools run along ties below their level."""
    within = ties[wet[ties].all(axis=1)]
    count = len(wet)
    graph = coo_array((np.ones(len(within)), within.T), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], np.int64)
