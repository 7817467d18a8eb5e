"""What a tape is asked to prove on the original: where it lies, what it should read, how surely."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.datum import Allowance

TapeWay = Literal["round", "straight", "callipers", "over", "edge"]
Feature = Literal["line", "hole", "corner", "rim", "skin"]
SetOutWay = Literal["straight", "over"]
Which = Literal[
    "front", "rear", "left", "right", "top", "bottom",
    "front left", "front right", "rear left", "rear right", "",
]  # fmt: skip
Reading = Literal["greatest", "least", "as marked"]

MISPLACED_MM = 3.0
"""How far off a tape is held without anybody noticing, along what it is held to. Own choice."""

MISTURNED_RAD = np.deg2rad(1.0)
"""How far a tape right round is turned off its way without anybody noticing. Own choice."""


SLIP_SHARE = 0.8
"""A slip nobody notices may use up so much of a tape's limit, no more. Own choice."""


MOST_WIDENED = 2.0
"""So much wider than what is allowed a limit may be where a tape cannot be held surely. Own choice.
"""


def limit_for(allowed: Allowance, length_mm: float, moved_mm: float) -> float | None:
    """Return how far a tape may be off: what is allowed, or more where it cannot be held so surely.

    None where even twice as much would not do.

    >>> limit_for(Allowance(1.0, 0.002), 800.0, 1.0), limit_for(Allowance(1.0, 0.002), 300.0, 1.0)
    (1.6, 1.25)
    """
    usual = allowed.off_mm(length_mm)
    needed = moved_mm / SLIP_SHARE
    return max(usual, needed) if needed <= MOST_WIDENED * usual else None


@dataclass(frozen=True, eq=False)
class SetOut:
    """How a mark is set out on the metal.

    Attributes
    ----------
    place : TapePlace
        Found without a tape: a corner, an edge on the centre line.
    distance_mm : float
        From there to the mark.
    way : "straight" or "over"
        Through the air, or over the skin along the centre line.
    """

    place: "TapePlace"
    distance_mm: float
    way: SetOutWay


@dataclass(frozen=True, eq=False)
class TapePlace:
    """Where an end of a tape is held, or where a tape right round crosses the middle of the tank.

    Attributes
    ----------
    on : "line", "hole", "corner", "rim" or "skin"
        A character line, the edge of a round hole, a corner a finger finds, the edge where the
        metal ends, or the bare skin.
    number : int
        Of the line or hole, as they were given, from 0; of a corner its line's; -1 on rim and skin.
    point : (3,) float, mm
        On the mesh's outside.
    tank : (3,) float, mm
        The same ahead of the rear end, left of the middle, above the foot.
    beside : (3,) float
        On the edge of a hole: which side of it, ahead, left and up, from its middle; length 1.
        Nought elsewhere.
    which : str
        Of a line or rim which it is by where it runs; of a corner where it lies; "" if not told.
    set_out : SetOut or None
        How a mark is set out with a tape first; None where the place is found without.
    """

    on: Feature
    number: int
    point: FloatArray
    tank: FloatArray
    beside: FloatArray = field(default_factory=lambda: np.zeros(3))
    which: Which = ""
    set_out: SetOut | None = None

    def __post_init__(self) -> None:
        locked(self.point)
        locked(self.tank)
        locked(self.beside)


@dataclass(frozen=True, eq=False)
class TapeValue:
    """One length a tape can prove.

    Attributes
    ----------
    way : str
        "round": right round the tank in one plane, pulled tight. "straight": through the air,
        touching at most. "callipers": straight, but metal is in the way: callipers, or two squares.
        "over": on the skin, pulled tight. "edge": along a character line, all of it.
    places : (TapePlace, TapePlace)
        Where it starts and ends; of a tape right round where it crosses the middle of the tank,
        on the side farther up or ahead first; of an edge its ends, which for a closed one are one.
    reading : "greatest", "least" or "as marked"
        Whether the tape is swung till it reads most, or least.
    line : (k, 3) float, mm
        The tape.
    length_mm : float
    limit_mm : float
        How far a tape may be off.
    moved_mm : float
        How much the length changes when the tape is held a little off.
    spread : (3, 3) float
        Mean of u uT along the tape, u its direction ahead, left and up.
    wrong_mm : float
        How much the reading changes when an end is held `MISPLACED_MM` wrong along its edge.
    faults : (8,) float, mm
        How much it reads more for each of `faults.FAULTS`, of the size told there.
    through : TapePlace or None
        Of a tape right round through three marks the third.
    along : TapePlace or None
        Of a tape along an edge a place in its midst, which tells which edge.
    """

    way: TapeWay
    places: tuple[TapePlace, TapePlace]
    reading: Reading
    line: FloatArray
    length_mm: float
    limit_mm: float
    moved_mm: float
    spread: FloatArray
    wrong_mm: float = 0.0
    faults: FloatArray = field(default_factory=lambda: np.zeros(8))
    through: TapePlace | None = None
    along: TapePlace | None = None

    def __post_init__(self) -> None:
        locked(self.line)
        locked(self.spread)
        locked(self.faults)


@dataclass(frozen=True, eq=False)
class TapeTable:
    """The lengths to be taped, in the order they are told.

    Attributes
    ----------
    values : tuple of TapeValue
    asked : int
        How many were wanted; fewer are there where the skin offers no more a tape can prove.
    shares : (3,) float
        How much of all the tape runs lengthwise, across and upright; sum 1.
    is_named : bool
        Whether front and up are known; otherwise the longest way stands for the front.
    size : (3,) float, mm
        Of the skin: length, width and height.
    """

    values: tuple[TapeValue, ...]
    asked: int
    shares: FloatArray
    is_named: bool
    size: FloatArray = field(default_factory=lambda: np.ones(3))

    def __post_init__(self) -> None:
        locked(self.shares)
        locked(self.size)
