"""What a tape is asked to prove on the original: where it lies, what it should read, how surely."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked

TapeWay = Literal["round", "straight", "callipers", "over", "edge"]
Feature = Literal["line", "hole", "corner", "skin"]
Reading = Literal["greatest", "least", "as marked"]

MISPLACED_MM = 3.0
"""How far off a tape is held without anybody noticing, along what it is held to. Own choice."""

MISTURNED_RAD = np.deg2rad(1.0)
"""How far a tape right round is turned off its way without anybody noticing. Own choice."""


SLIP_SHARE = 0.8
"""A slip nobody notices may use up so much of a tape's limit, no more. Own choice."""


@dataclass(frozen=True, eq=False)
class TapePlace:
    """Where an end of a tape is held, or where a tape right round crosses the middle of the tank.

    Attributes
    ----------
    on : "line", "hole", "corner" or "skin"
        A character line, the edge of a round hole, the corner where two lines meet, or no mark.
    number : int
        Of the line or hole, as they were given, from 0; of a corner its line's; -1 on the skin.
    point : (3,) float, mm
        On the mesh's outside.
    tank : (3,) float, mm
        The same ahead of the rear end, left of the middle, above the foot.
    beside : (3,) float
        On the edge of a hole: which side of it, ahead, left and up, from its middle; length 1.
        Nought elsewhere.
    """

    on: Feature
    number: int
    point: FloatArray
    tank: FloatArray
    beside: FloatArray = field(default_factory=lambda: np.zeros(3))

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
    """

    way: TapeWay
    places: tuple[TapePlace, TapePlace]
    reading: Reading
    line: FloatArray
    length_mm: float
    limit_mm: float
    moved_mm: float
    spread: FloatArray

    def __post_init__(self) -> None:
        locked(self.line)
        locked(self.spread)


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
    """

    values: tuple[TapeValue, ...]
    asked: int
    shares: FloatArray
    is_named: bool

    def __post_init__(self) -> None:
        locked(self.shares)
