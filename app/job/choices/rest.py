"""What is decided of a tank besides its panels: gauges, and whatever else is made for it.

Plain values all of them, so that the job file keeps them by their own names (`plain_json`). What
nobody decided is None, and not made.
"""

from dataclasses import dataclass
from typing import Literal

from app.job.choices.flanges import FlangesChoice
from app.job.choices.frame import FrameFitChoice
from app.job.choices.fuel import CapacityChoice, FittingsChoice
from app.job.choices.seat import SeatChoice
from geometry.tank import TunnelSpec

GaugeKind = Literal["female", "male"]
GaugeFace = Literal["usual", "outside", "inside"]
GaugeBottomFrom = Literal["each", "left", "right"]
GaugeSideLine = Literal["widest", "crisp", "none"]


@dataclass(frozen=True)
class FrameChoice:
    """The checking frame: slotted boards that stand up. Common practice, no source.

    Attributes
    ----------
    sheet_mm : float
        Thickness of its boards.
    play_mm : float
        How much wider slots are.
    foot_mm : float
        How far its foot lies under the tank's lowest place.
    beside_mm : tuple of float
        Boards along the tank beside the one on the centre line, so far to either hand.
    """

    sheet_mm: float = 6.0
    play_mm: float = 0.2
    foot_mm: float = 20.0
    beside_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class SweepChoice:
    """The sweeps: boards of known radius. Common practice, no source.

    Attributes
    ----------
    chord_mm : float
        How long the long ones are, straight across; tight ones are shorter.
    gap_mm : float
        The widest gap under a board where it serves: the closer, the more boards.
    radii_mm : tuple of float
        The maker's own radii; none to take them from the tank.
    """

    chord_mm: float = 150.0
    gap_mm: float = 0.25
    radii_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class GaugeChoice:
    """Which gauges are made. What the shop sets begins as common practice, no source.

    Attributes
    ----------
    spacing_mm : float
        From station to station where the tank bends little.
    stations_mm : tuple of float
        Further stations of the maker's, back from the front end.
    kind : "female" or "male"
        Female ones are laid over the outside, male ones into the inside.
    only_stations : bool
        Whether the maker's own stations are all.
    face : "usual", "outside" or "inside"
        Which face of the new sheet they touch; usually a female one its outside, a male one its
        inside, less the full thickness.
    in_halves : bool
        Left and right apart, rather than one board across.
    turn_over_mm : float
        Up to which difference a board turned over serves for the other hand.
    board_mm : float
        How wide a female board is beyond the outline.
    profile : bool
        Whether the bottom profile is made.
    bottom_from : "each", "left" or "right"
        Of which hand's edge its boards are made: each of its own, or both of the better one.
    side_line : "widest", "crisp" or "none"
        Which line templates along the side follow.
    frame : FrameChoice or None
        The checking frame; None while none is wanted.
    sweeps : SweepChoice or None
        The sweeps; None while none are wanted.
    """

    spacing_mm: float = 75.0
    stations_mm: tuple[float, ...] = ()
    kind: GaugeKind = "female"
    only_stations: bool = False
    face: GaugeFace = "usual"
    in_halves: bool = True
    turn_over_mm: float = 2.0
    board_mm: float = 40.0
    profile: bool = True
    bottom_from: GaugeBottomFrom = "each"
    side_line: GaugeSideLine = "widest"
    frame: FrameChoice | None = None
    sweeps: SweepChoice | None = None


@dataclass(frozen=True)
class RestOfTank:
    """Everything decided of a tank besides its panels.

    Attributes
    ----------
    gauges : GaugeChoice or None
        None while nothing is decided of them: then none are made.
    capacity : CapacityChoice or None
    fittings : FittingsChoice or None
    flanges : FlangesChoice or None
    tunnel : TunnelSpec or None
    seat : SeatChoice or None
    frame_fit : FrameFitChoice or None
    """

    gauges: GaugeChoice | None = None
    capacity: CapacityChoice | None = None
    fittings: FittingsChoice | None = None
    flanges: FlangesChoice | None = None
    tunnel: TunnelSpec | None = None
    seat: SeatChoice | None = None
    frame_fit: FrameFitChoice | None = None
