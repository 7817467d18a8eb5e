"""Which of many tapes to lay: the few that together pin the tank's size and shape best.

A tape reads a stretch of the scan by its length times how it lies. The tapes chosen make the volume
of stretches they could all miss as small as it can be made, one tape at a time: the determinant
criterion of experiment design, so long, sure tapes lying in different directions come first.
"""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import FloatArray
from geometry.gauges.tape_value import TapeValue, TapeWay

MOST_OF_A_WAY: dict[TapeWay, int] = {
    "round": 4,
    "straight": 4,
    "over": 5,
    "callipers": 2,
    "edge": 4,
}
"""A table of one kind only would prove one thing only. Own choice."""

LEAST_OF_A_WAY: dict[TapeWay, int] = {"round": 3, "straight": 2}
"""Where there are so many they come first: what a maker tapes most readily. Own choice."""

_AS_MARKED = 1.5
"""Swung till it reads most or least, a tape finds its own place; one to be marked is so much less
sure. Own choice."""

_APART_MM = 45.0
"""Two tapes of one way lie at least so far apart on average. Own choice."""

_KNOWN_BEFORE = 1.0
"""What is known before the first tape: next to nothing."""


def chosen(values: Sequence[TapeValue], count: int) -> tuple[TapeValue, ...]:
    """Return up to so many values, no two of them nearly the same tape, best first."""
    wanted: list[TapeWay | None] = [
        way for way, least in LEAST_OF_A_WAY.items() for _ in range(least)
    ]
    wanted += [None] * count
    left = list(values)
    taken: list[TapeValue] = []
    known = _KNOWN_BEFORE * np.eye(6)
    for way in wanted:
        offered = [value for value in left if way in (None, value.way)]
        if not offered or len(taken) == count:
            continue
        best = offered[int(np.argmax([_gain(known, value) for value in offered]))]
        taken.append(best)
        told = _told(best)
        known = known + np.outer(told, told)
        full = sum(value.way == best.way for value in taken) >= MOST_OF_A_WAY[best.way]
        left = [value for value in left if not _is_out(value, best, full=full)]
    return tuple(taken)


def _is_out(value: TapeValue, taken: TapeValue, *, full: bool) -> bool:
    """Return whether a value is no longer to be had: like the one taken, or one too many."""
    if value.way != taken.way:
        return False
    return full or _apart(value, taken) < _APART_MM


def _told(value: TapeValue) -> FloatArray:
    """Return (6,) what a tape says of each stretch and shear, over how sure it is."""
    spread = value.spread
    ways = [
        spread[0, 0],
        spread[1, 1],
        spread[2, 2],
        *(np.sqrt(2.0) * spread[i, j] for i, j in ((0, 1), (0, 2), (1, 2))),
    ]
    doubt = float(np.hypot(value.limit_mm / 2.0, value.moved_mm))
    doubt *= _AS_MARKED if value.reading == "as marked" else 1.0
    return value.length_mm / doubt * np.array(ways)


def _gain(known: FloatArray, value: TapeValue) -> float:
    """Return by how much a tape would shrink the stretches that could be missed."""
    told = _told(value)
    return float(np.log1p(told @ np.linalg.solve(known, told)))


def _apart(one: TapeValue, other: TapeValue) -> float:
    """Return how far apart two tapes lie, on average along them, whichever way they run."""
    first, second = (_tenths(value) for value in (one, other))
    if one.way == "round":
        gaps = np.linalg.norm(first[:, None] - second, axis=2)
        return float((gaps.min(axis=0).mean() + gaps.min(axis=1).mean()) / 2.0)
    there = np.linalg.norm(first - second, axis=1).mean()
    back = np.linalg.norm(first - second[::-1], axis=1).mean()
    return float(min(there, back))


def _tenths(value: TapeValue) -> FloatArray:
    run = np.linalg.norm(np.diff(value.line, axis=0), axis=1).cumsum()
    along = np.concatenate([[0.0], run])
    places = np.linspace(0.0, along[-1], 21)
    return np.stack([np.interp(places, along, value.line[:, k]) for k in range(3)], axis=1)
