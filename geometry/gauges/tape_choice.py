"""Which of many tapes to lay: the few that together pin the tank's size and shape best.

The tapes chosen make the volume of faults they could all miss as small as it can be made, one tape
at a time: the determinant criterion of experiment design, so long, sure tapes lying in different
directions come first.
"""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import FloatArray
from geometry.gauges.faults import FAULTS
from geometry.gauges.tape_value import TapeValue, TapeWay

MOST_OF_A_WAY: dict[TapeWay, int] = {
    "round": 4,
    "straight": 3,
    "over": 4,
    "callipers": 3,
    "edge": 3,
}
"""A table of one kind only would prove one thing only. Own choice."""

LEAST_OF_A_WAY: dict[TapeWay, int] = {"round": 3, "edge": 2, "over": 2}
"""Where there are so many they come first: what a maker tapes most readily. Own choice."""

_AS_MARKED = 1.5
"""Swung till it reads most or least, a tape finds its own place; one to be marked is so much less
sure. Own choice."""

_APART_MM = 45.0
"""Two tapes of one way lie at least so far apart on average. Own choice."""

_PAIRED = 1.25
_MIRRORED_MM = 12.0
"""A tape like one taken, on the other side, counts so much more: both are read side by side. Own
choice."""

_LAID_ALONG: set[TapeWay] = {"straight", "edge"}
"""Along a straight edge both are one tape."""

_BESIDE_MM = 15.0
"""Two tapes of one way more than half of which lie so near are the same tape. Own choice."""

_KNOWN_BEFORE = 0.02
"""What is known before the first tape: next to nothing, beside faults of the sizes in `faults`."""


def chosen(values: Sequence[TapeValue], count: int) -> tuple[TapeValue, ...]:
    """Return up to so many values, no two of them nearly the same tape, best first."""
    wanted: list[TapeWay | None] = [
        way for way, least in LEAST_OF_A_WAY.items() for _ in range(least)
    ]
    wanted += [None] * count
    left = list(values)
    taken: list[TapeValue] = []
    known = _KNOWN_BEFORE * np.eye(len(FAULTS))
    for way in wanted:
        offered = [value for value in left if way in (None, value.way)]
        if not offered or len(taken) == count:
            continue
        worth = [
            _gain(known, value) * (_PAIRED if any(_is_pair(value, t) for t in taken) else 1.0)
            for value in offered
        ]
        best = offered[int(np.argmax(worth))]
        taken.append(best)
        told = _told(best)
        known = known + np.outer(told, told)
        full = sum(value.way == best.way for value in taken) >= MOST_OF_A_WAY[best.way]
        left = [value for value in left if not _is_out(value, best, full=full)]
    return tuple(taken)


def _is_out(value: TapeValue, taken: TapeValue, *, full: bool) -> bool:
    """Return whether a value is no longer to be had: like the one taken, or one too many."""
    if value.way != taken.way:
        is_beside = {value.way, taken.way} <= _LAID_ALONG and _runs_along(value, taken)
        return bool(is_beside)
    return full or _apart(value, taken) < _APART_MM or _runs_along(value, taken)


def _told(value: TapeValue) -> FloatArray:
    """Return (8,) what a tape says of each fault of the tank, over how sure it is."""
    doubt = float(np.hypot(value.limit_mm / 2.0, value.moved_mm))
    doubt *= 1.0 if _finds_itself(value) else _AS_MARKED
    return np.asarray(value.faults / doubt)


def _finds_itself(value: TapeValue) -> bool:
    """Return whether nothing has to be set out for a tape: corners, or swung till it finds it."""
    if any(place.set_out is not None for place in value.places):
        return False
    found = {place.on for place in value.places} <= {"corner", "hole"}
    return found or value.way == "edge" or value.reading != "as marked"


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


def _is_pair(one: TapeValue, other: TapeValue) -> bool:
    """Return whether two tapes of one way lie mirrored: on the left as on the right."""
    if one.way != other.way or one.way in ("round", "edge"):
        return False
    first, second = (np.array([p.tank for p in value.places]) for value in (one, other))
    mirrored = first * [1.0, -1.0, 1.0]
    gaps = (np.abs(mirrored - second), np.abs(mirrored[::-1] - second))
    return bool(min(float(gap.max()) for gap in gaps) < _MIRRORED_MM)


def _runs_along(one: TapeValue, other: TapeValue) -> bool:
    """Return whether more than half of a tape lies beside the other."""
    gaps = np.linalg.norm(_tenths(one)[:, None] - _tenths(other), axis=2)
    return bool(min(np.median(gaps.min(axis=0)), np.median(gaps.min(axis=1))) < _BESIDE_MM)


def _tenths(value: TapeValue) -> FloatArray:
    run = np.linalg.norm(np.diff(value.line, axis=0), axis=1).cumsum()
    along = np.concatenate([[0.0], run])
    places = np.linspace(0.0, along[-1], 21)
    return np.stack([np.interp(places, along, value.line[:, k]) for k in range(3)], axis=1)
