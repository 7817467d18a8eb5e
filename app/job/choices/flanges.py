"""What is decided of flanges: along which lines, how wide, turned how far."""

import math
from dataclasses import dataclass
from typing import Literal

FlangeLipRule = Literal["ask", "cut off", "keep"]
FlangeTo = Literal["inside", "outside"]
FlangeLie = Literal["turned", "level"]
FlangePanelSide = Literal["left", "right"]

RIM = "rim"
ON_LINE = "line "


@dataclass(frozen=True)
class FlangeChoice:
    """A flange along one line. What the shop sets begins as common practice, no source.

    Attributes
    ----------
    edge : str
        What it runs along: "rim", the tank's open edge; "line 2", a locked line; or a seam's name.
    side : "left" or "right"
        On which side of a seam or a line, as it is drawn and seen from outside, the panel lies
        that the flange is part of.
    width_mm : float
        Finished, from the outside of the bend.
    lies : "turned" or "level"
        Turned by the angle everywhere, or by what it takes to lie level.
    turn_rad : float
        Out of the panel's face, where it is turned by an angle.
    to : "inside" or "outside"
        Of the tank.
    root_radius_mm : float
        Inside radius of its bend.
    pitch_mm : float
        From station to station.
    calm_mm : float
        Over how far to either side the line is looked at, at least: of a ragged edge shorter waves
        are no shape. 0: as little as the scan's scatter asks.
    lip : "ask", "cut off" or "keep"
        What of a lip that is in the scan already: cut off at its root line, the flange new from
        there; or kept as part of the panel, nothing added.
    """

    edge: str = RIM
    side: FlangePanelSide = "left"
    width_mm: float = 12.7
    lies: FlangeLie = "turned"
    turn_rad: float = math.pi / 2.0
    to: FlangeTo = "inside"
    root_radius_mm: float = 1.6
    pitch_mm: float = 50.0
    lip: FlangeLipRule = "ask"
    calm_mm: float = 0.0


@dataclass(frozen=True)
class FlangesChoice:
    """All flanges of a job.

    Attributes
    ----------
    runs : tuple of FlangeChoice
    """

    runs: tuple[FlangeChoice, ...] = (FlangeChoice(),)


def flange_words(choice: FlangeChoice) -> str:
    """Return what a flange runs along, in words.

    >>> flange_words(FlangeChoice()), flange_words(FlangeChoice("tail"))
    ('the open edge', 'seam tail')
    """
    if choice.edge == RIM:
        return "the open edge"
    return choice.edge if choice.edge.startswith(ON_LINE) else f"seam {choice.edge}"
