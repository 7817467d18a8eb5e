"""Threaded bosses on the tank: what is turned, and the hole in the skin it goes into."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.mesh import TriMesh
from geometry.tank.seat import seat_on
from geometry.tank.threads import Thread, thread_named

BossKind = Literal["tap", "vent", "mount"]

LEAST_WALL_MM = 4.0
"""Metal left round a thread in aluminium: common practice, no source."""


@dataclass(frozen=True)
class BossSpec:
    """What is wanted of a boss.

    Attributes
    ----------
    name : str
        "main tap", "left vent", ...
    thread : str
        By its name in the table.
    x_mm, y_mm : float
        Ahead and left, tank axes.
    kind : "tap", "vent" or "mount"
        Fuel runs out of taps alone.
    below : bool
        On the bottom; else on top.
    wall_mm : float
        Metal left round the thread.
    spigot_mm : float
        How much smaller the part is that goes into the skin, on the radius: the shoulder it is
        welded round.
    standpipe_mm : float or None
        Over the floor, for a tap with a reserve.
    """

    name: str
    thread: str
    x_mm: float
    y_mm: float
    kind: BossKind = "tap"
    below: bool = True
    wall_mm: float = LEAST_WALL_MM
    spigot_mm: float = 2.0
    standpipe_mm: float | None = None


@dataclass(frozen=True, eq=False)
class BossSet:
    """A boss as it comes to sit.

    Attributes
    ----------
    spec : BossSpec
    thread : Thread
    outside_mm : float
        Across the boss.
    hole_mm : float
        Across the hole in the skin.
    centre : (3,) float, mm
        On the skin's outside, tank axes.
    axis : (3,) float
        Out of the tank.
    outline : (k, 3) float, mm
        Of the hole on the skin.
    tilt_rad : float
        Between its axis and the tank's upright: what the maker files the boss to.
    """

    spec: BossSpec
    thread: Thread
    outside_mm: float
    hole_mm: float
    centre: FloatArray
    axis: FloatArray
    outline: FloatArray
    tilt_rad: float

    def __post_init__(self) -> None:
        for array in (self.centre, self.axis, self.outline):
            locked(array)


def boss_set(closed: TriMesh, spec: BossSpec) -> BossSet:
    """Return a boss set on the closed outside of a tank.

    Parameters
    ----------
    closed : TriMesh
        The outside with its caps, tank axes, mm.
    spec : BossSpec

    Raises
    ------
    NoThreadError
    SeatOffTankError
    """
    thread = thread_named(spec.thread)
    outside = thread.major_mm + 2.0 * spec.wall_mm
    hole = max(outside - 2.0 * spec.spigot_mm, thread.major_mm)
    seat = seat_on(closed, spec.name, spec.x_mm, spec.y_mm, outside, below=spec.below)
    upright = -seat.axis[2] if spec.below else seat.axis[2]
    return BossSet(
        spec=spec,
        thread=thread,
        outside_mm=outside,
        hole_mm=hole,
        centre=seat.centre.copy(),
        axis=seat.axis.copy(),
        outline=seat.circle(hole),
        tilt_rad=float(np.arccos(np.clip(upright, -1.0, 1.0))),
    )
