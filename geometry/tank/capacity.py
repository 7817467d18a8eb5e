"""How much a tank holds: to the brim, to the filler, in reserve, and by the dip stick."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.tank.depth import ASIDE_MM, Depths, Uprights, upright_hits
from geometry.tank.fuel_space import FuelSpace
from geometry.tank.low_points import TapOutsideError, trapped
from geometry.tank.stance import LEVEL, Stance

_OFF_FLOOR_MM = 1e-4


class StandpipeTooTallError(GeometryError):
    """A standpipe that would run into the tank's roof.

    Attributes
    ----------
    height_mm, room_mm : float
        Its height over the floor, and the room there.
    """

    def __init__(self, height_mm: float, room_mm: float) -> None:
        self.height_mm, self.room_mm = height_mm, room_mm
        super().__init__(f"standpipe {height_mm:.1f} mm, room {room_mm:.1f} mm")


@dataclass(frozen=True, eq=False)
class DipChart:
    """How much a wetted length of the stick stands for.

    Attributes
    ----------
    foot : (3,) float, mm
        Where the stick stands on the floor, tank axes; it stands square to the tank's level.
    depth_mm : (k,) float
        Wetted length, rising from 0 to the roof.
    volume_mm3 : (k,) float
    """

    foot: FloatArray
    depth_mm: FloatArray
    volume_mm3: FloatArray

    def __post_init__(self) -> None:
        for array in (self.foot, self.depth_mm, self.volume_mm3):
            locked(array)


@dataclass(frozen=True)
class Reserve:
    """What a tap still gives once its standpipe runs dry.

    Attributes
    ----------
    usable_mm3 : float
        Between the standpipe's mouth and the tap's floor, as far as it runs there.
    stranded_mm3 : float
        What the tap never gives, in any place.
    """

    usable_mm3: float
    stranded_mm3: float


def floor_under(space: FuelSpace, x_mm: float, y_mm: float, name: str) -> tuple[FloatArray, float]:
    """Return the place of the tank's floor at some plan measures, and the room over it, mm.

    Parameters
    ----------
    space : FuelSpace
    x_mm, y_mm : float
        Ahead and left, tank axes.
    name : str
        What stands there, for the error.

    Raises
    ------
    TapOutsideError
    """
    at = np.array([x_mm, y_mm])
    heights, _ = upright_hits(space.mesh.vertices, space.mesh.faces, at + ASIDE_MM)
    if len(heights) < 2:
        away = np.linalg.norm(space.mesh.vertices[:, :2] - at, axis=1).min()
        raise TapOutsideError(name, np.array([x_mm, y_mm, 0.0]), float(away))
    return np.array([x_mm, y_mm, heights[0]]), float(heights[1] - heights[0])


def rooms_over(space: FuelSpace, places: FloatArray) -> FloatArray:
    """Return how far it is from the floor up to the first roof over it at many places.

    Parameters
    ----------
    space : FuelSpace
    places : (k, 2) float, mm
        Ahead and left, tank axes.

    Returns
    -------
    (k,) float, mm
        Nothing beside the space.
    """
    uprights = Uprights(space.mesh.vertices, space.mesh.faces)
    found = np.zeros(len(places))
    for at, place in enumerate(places):
        heights, _ = uprights.hits(place + ASIDE_MM)
        if len(heights) >= 2:
            found[at] = heights[1] - heights[0]
    return found


def under_roof(space: FuelSpace, places: FloatArray, deep_mm: float = 0.0) -> FloatArray:
    """Return places in the space straight under its roof; those beside it are left out.

    Parameters
    ----------
    space : FuelSpace
    places : (k, 2) float, mm
        Ahead and left, tank axes.
    deep_mm : float
        How far under the roof; where there is less room, just over what lies below.

    Returns
    -------
    (j, 3) float, mm
        Tank axes.
    """
    uprights = Uprights(space.mesh.vertices, space.mesh.faces)
    found = []
    for place in places:
        heights, _ = uprights.hits(place + ASIDE_MM)
        if len(heights) >= 2:
            deep = min(max(deep_mm, _OFF_FLOOR_MM), float(heights[-1] - heights[-2]) / 2.0)
            found.append([*place, heights[-1] - deep])
    return np.array(found, np.float64).reshape(-1, 3)


def off_floor(place: FloatArray, height_mm: float = 0.0) -> FloatArray:
    """Return a place in the space over one on its floor: just off it, or a standpipe's mouth."""
    return np.asarray(place + [0.0, 0.0, max(height_mm, _OFF_FLOOR_MM)])


def dip_chart(
    space: FuelSpace, x_mm: float, y_mm: float, *, stance: Stance = LEVEL, step_mm: float = 5.0
) -> DipChart:
    """Return how much stands in the tank by the wetted length of a stick.

    All of the space is taken to be filled to one level: legs either side of a tunnel joined below,
    or filled over its roof and not drained since.

    Parameters
    ----------
    space : FuelSpace
    x_mm, y_mm : float
        Where the stick stands, tank axes; it stands along the tank's own upright in any stance.
    stance : Stance
    step_mm : float

    Raises
    ------
    TapOutsideError
    """
    foot, room = floor_under(space, x_mm, y_mm, "dip stick")
    depths = Depths(space.mesh, stance)
    wetted = np.append(np.arange(0.0, room, step_mm), room)
    levels = (foot + wetted[:, None] * [0.0, 0.0, 1.0]) @ stance.up
    return DipChart(foot, wetted, np.array([depths.volume(float(level)) for level in levels]))


def stick_marks(chart: DipChart, volumes_mm3: Sequence[float]) -> tuple[float, ...]:
    """Return the wetted length at which the chart reads each volume, for notches on a stick.

    Between the chart's rows a straight line is drawn; a volume the stick does not reach gives nan.
    """
    found = np.interp(volumes_mm3, chart.volume_mm3, chart.depth_mm, left=np.nan, right=np.nan)
    return tuple(found.tolist())


def reserve_of(
    space: FuelSpace,
    tap: FloatArray,
    standpipe_mm: float,
    *,
    stance: Stance = LEVEL,
    crossovers: Sequence[tuple[FloatArray, FloatArray]] = (),
) -> Reserve:
    """Return what a tap gives after its standpipe has run dry.

    Parameters
    ----------
    space : FuelSpace
    tap : (3,) float, mm
        On the floor, tank axes.
    standpipe_mm : float
        From the floor to its mouth.
    stance : Stance
    crossovers : sequence of two (3,) places

    Raises
    ------
    StandpipeTooTallError
    TapOutsideError
    """
    _, room = floor_under(space, float(tap[0]), float(tap[1]), "tap")
    if not 0.0 <= standpipe_mm < room:
        raise StandpipeTooTallError(standpipe_mm, room)

    def left(height: float) -> float:
        outlets = [off_floor(tap, height)]
        pools = trapped(space, stance, outlets, crossovers=crossovers, least_mm3=0.0)
        return sum(pool.volume_mm3 for pool in pools)

    stranded = left(0.0)
    return Reserve(left(standpipe_mm) - stranded, stranded)


def volume_to(space: FuelSpace, height_mm: float, stance: Stance = LEVEL) -> float:
    """Return mm3 below a height of tank axes at the tank's origin, in a stance."""
    depths = Depths(space.mesh, stance)
    return depths.volume(float(np.array([0.0, 0.0, height_mm]) @ stance.up))
