"""`GaugeWishes`: which gauges of a tank are made, and how."""

from dataclasses import dataclass
from typing import Literal

from geometry.gauges.checking_frame import FrameSizes
from geometry.gauges.template import Kind
from geometry.gauges.turned_over import USUAL_LIMIT_MM

SideLine = Literal["widest", "crisp", "none"]
BottomFrom = Literal["each", "left", "right"]
"""Which hand's edge the boards of the bottom edge are made from; "each": from their own."""


@dataclass(frozen=True)
class GaugeWishes:
    """Which gauges are made.

    Attributes
    ----------
    spacing_mm : float
    asked_mm : tuple of float
        The maker's own stations, back from the front end.
    only_asked : bool
    kind : "female" or "male"
    in_halves : bool
        Left and right apart, which come off sideways; otherwise whole, on and off from above or
        below.
    limit_mm : float
        Up to which difference one board turned over serves for the other hand.
    board_mm : float
        How wide female boards are beyond the outline.
    profile : bool
        Whether the bottom profile is made.
    bottom_from : "each", "left" or "right"
        Of which hand the boards of the bottom edge are made, for both hands.
    side_line : "widest", "crisp" or "none"
    frame : FrameSizes or None
    """

    spacing_mm: float = 75.0
    asked_mm: tuple[float, ...] = ()
    only_asked: bool = False
    kind: Kind = "female"
    in_halves: bool = True
    limit_mm: float = USUAL_LIMIT_MM
    board_mm: float = 40.0
    profile: bool = True
    bottom_from: BottomFrom = "each"
    side_line: SideLine = "widest"
    frame: FrameSizes | None = None
