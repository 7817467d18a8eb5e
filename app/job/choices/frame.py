"""What is decided of the frame a tank stands on: its bodies, the steering, what room is wanted."""

import math
from dataclasses import dataclass, field
from typing import Literal

from app.job.choices.seat import TankSpot
from geometry.datum import Point3

BodyKind = Literal["tube", "bolt", "rubber", "coil", "cable", "fork leg", "bar", "other"]
BodyForm = Literal["round", "block"]
ScanUnit = Literal["mm", "cm", "m", "in"]


@dataclass(frozen=True)
class FrameBody:
    """One simple body, in tank axes.

    Attributes
    ----------
    name : str
    kind : str
        Fork legs and bars turn with the steering; a rubber is meant to touch.
    form : "round" or "block"
        A bar of one diameter with flat ends; or a block, level across.
    start, end : TankSpot
        Middles of its ends.
    across_mm : float
        Diameter, or width.
    height_mm : float
        Of a block.
    both_hands : bool
        Whether the same stands on the other hand.
    """

    name: str = "top tube"
    kind: BodyKind = "tube"
    form: BodyForm = "round"
    start: TankSpot = field(default_factory=TankSpot)
    end: TankSpot = field(default_factory=TankSpot)
    across_mm: float = 0.0
    height_mm: float = 0.0
    both_hands: bool = False

    @property
    def turns(self) -> bool:
        """Whether it turns with the bars."""
        return self.kind in ("fork leg", "bar")


@dataclass(frozen=True)
class SteeringChoice:
    """The steering axis by two places on it, and the lock.

    Attributes
    ----------
    foot, top : TankSpot
    lock_rad : float
        From straight ahead to either side. Measure it on the machine.
    """

    foot: TankSpot
    top: TankSpot
    lock_rad: float = math.radians(35.0)


@dataclass(frozen=True)
class PlacedSpot:
    """A place known on a second scan and on the tank.

    Attributes
    ----------
    scan : point
        In that scan's own numbers.
    tank : TankSpot
        Where it belongs.
    """

    scan: Point3
    tank: TankSpot


@dataclass(frozen=True)
class SecondScan:
    """A scan of what a tank stands on; the scan itself is `JobState.frame_scan`.

    Attributes
    ----------
    path : str
        The name of its file; of one the job does not keep, where it is read from whenever gaps are
        measured.
    unit : "mm", "cm", "m" or "in"
        What a coordinate of it means.
    places : tuple of PlacedSpot
        Three or more; none where it was scanned in the same axes as the tank.
    """

    path: str
    unit: ScanUnit = "mm"
    places: tuple[PlacedSpot, ...] = ()


@dataclass(frozen=True)
class FrameFitChoice:
    """What a tank is held against. The limits are the shop's: common practice, no source.

    Attributes
    ----------
    bodies : tuple of FrameBody
    steering : SteeringChoice or None
    second : SecondScan or None
    at_lock_mm : float
        Wanted between the tank and what turns with the steering.
    over_tube_mm : float
        Wanted over a frame tube.
    beside_mm : float
        Wanted beside bolts, coil, cables and whatever else.
    least_mm : float
        Under this it is too near, whatever it is.
    squash_mm : float
        How far a rubber may be pressed.
    """

    bodies: tuple[FrameBody, ...] = ()
    steering: SteeringChoice | None = None
    second: SecondScan | None = None
    at_lock_mm: float = 10.0
    over_tube_mm: float = 8.0
    beside_mm: float = 6.0
    least_mm: float = 3.0
    squash_mm: float = 2.0
