"""What is decided of what a tank holds, and of the fittings on it."""

import math
from dataclasses import dataclass
from typing import Literal

from geometry.tank import BossSpec, FillerSpec, PlainTunnel

Closing = Literal["not said", "flat", "ruled"]
LeanSide = Literal["left", "right"]


@dataclass(frozen=True)
class PartFill:
    """Some fuel in the tank, and how it is leant with it.

    Attributes
    ----------
    litres : float
    lean_rad : float
    lean_to : "left" or "right"
    nose_up_rad : float
        Below nothing, nose down.
    """

    litres: float = 3.0
    lean_rad: float = 0.0
    lean_to: LeanSide = "left"
    nose_up_rad: float = 0.0


@dataclass(frozen=True)
class CapacityChoice:
    """What the room inside is counted from, and in which stances fuel is looked for.

    Attributes
    ----------
    closing : str
        How open edges of the skin are closed. Nothing is closed unasked.
    tunnel : PlainTunnel or None
        Taken off; None where the scan holds it, or there is none.
    baffles_cm3 : float
        Metal of the baffles and whatever else stands inside.
    lean_rad : float
        On the side stand. Common practice, no source: 10 to 15 degrees.
    lean_to : "left" or "right"
    nose_rad : float
        Nose up and nose down, on a slope.
    crossover : bool
        Whether a tube joins the two lowest places below the tunnel.
    stick_x_mm, stick_y_mm : float or None
        Where the dip stick stands, ahead and left; under the filler where nobody said.
    laid_tunnel : bool
        Whether the tunnel laid out at Tunnel is taken off instead of one by its measures.
    part : PartFill or None
        A part filling to be looked at; None where nobody asks.
    """

    closing: Closing = "not said"
    tunnel: PlainTunnel | None = None
    baffles_cm3: float = 0.0
    lean_rad: float = math.radians(12.0)
    lean_to: LeanSide = "left"
    nose_rad: float = math.radians(10.0)
    crossover: bool = False
    stick_x_mm: float | None = None
    stick_y_mm: float | None = None
    laid_tunnel: bool = False
    part: PartFill | None = None


@dataclass(frozen=True)
class FittingsChoice:
    """What is fitted to the tank.

    Attributes
    ----------
    filler : FillerSpec or None
        Where it is moved or given another seat; None where it stays as scanned.
    bosses : tuple of BossSpec
        Taps, vents, mounts.
    """

    filler: FillerSpec | None = None
    bosses: tuple[BossSpec, ...] = ()
