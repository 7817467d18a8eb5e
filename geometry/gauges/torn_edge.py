"""`TornPlace`: where a scanned edge leaves its own course on one hand only.

A scanner throws single points of an edge out, or loses some; what was lost is closed by guess. A
shape the tank has shows on both hands: a place is called torn where only one of them has it. Which
of the two is true, the tank or the scan, nobody can tell but who has the tank.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.polyline import lengths_along

_REACH_MM = 25.0
"""How far to either side the course is looked at: a shape of the tank is rarely shorter."""

_ROUNDS = 12
_LEAST_SCATTER_MM = 0.05
_LET_GO = 2.0
_LEAST_OFF_MM = 0.6
_SCATTERS = 6.0
_TO_SIGMA = 1.4826
"""Standard deviation over the median of the size, of the normal distribution: 1 / 0.6745."""

_LIKE_SHARE = 0.5
_BESIDE_MM = 15.0


@dataclass(frozen=True, eq=False)
class TornPlace:
    """A place where one hand's edge leaves its course and the other's does not.

    Attributes
    ----------
    hand : "left" or "right"
    at : (3,) float, mm
        Where it is furthest off.
    off_mm : float
        How far, square to its course.
    over_mm : float
        Along how much of the edge.
    points : (j,) int
        Which of the hand's points, in order.
    guessed : bool
        Whether the scan has a gap there, closed by guess.
    """

    hand: Literal["left", "right"]
    at: FloatArray
    off_mm: float
    over_mm: float
    points: IntArray
    guessed: bool = False

    def __post_init__(self) -> None:
        locked(self.at)
        locked(self.points)


def torn_places(left: FloatArray, right: FloatArray) -> tuple[TornPlace, ...]:
    """Return where either hand of an edge is torn, left ones first, each from the rear.

    Parameters
    ----------
    left, right : (k, 3) float, mm
        In tank axes, from the rear ahead.
    """
    over = np.array([1.0, -1.0, 1.0])
    found = (off_course(left), off_course(right))
    return (
        *_torn("left", left, found[0], right * over, found[1]),
        *_torn("right", right, found[1], left * over, found[0]),
    )


def off_course(line: FloatArray) -> FloatArray:
    """Return how far every point of a line is off its course, square to it, (k,) mm.

    The course is the parabola through the points within 25 mm along the line, fitted over and over
    with points weighted by 1 / (1 + (off / 2 scatters) squared): what stands off says little.

    Parameters
    ----------
    line : (k, 3) float, mm

    Source: own derivation.

    >>> line = np.column_stack([np.arange(60.0), np.zeros(60), np.zeros(60)])
    >>> line[30, 1] = 3.0
    >>> off_course(line)[[10, 30]].round(2).tolist()
    [0.0, 3.0]
    """
    along = lengths_along(line)
    return np.array([_off_at(line, along, at) for at in range(len(line))])


def without_torn(line: FloatArray, torn: tuple[TornPlace, ...]) -> FloatArray:
    """Return a line of one hand, its torn places left out and so bridged straight."""
    kept = np.ones(len(line), bool)
    for place in torn:
        kept[place.points] = False
    return line[kept]


def _off_at(line: FloatArray, along: FloatArray, at: int) -> float:
    near = np.abs(along - along[at]) <= _REACH_MM
    if near.sum() < 5:
        return 0.0
    points = line[near]
    chord = points[-1] - points[0]
    # Not by length run: what is thrown out would lengthen it, and shift all others.
    t = (points - line[at]) @ chord / max(float(chord @ chord), 1e-12)
    powers = np.stack([np.ones_like(t), t, t * t], axis=1)
    weights = np.ones(len(t))
    for _ in range(_ROUNDS):
        course, *_rest = np.linalg.lstsq(
            powers * weights[:, None], points * weights[:, None], rcond=None
        )
        off = np.linalg.norm(points - powers @ course, axis=1)
        scatter = max(_TO_SIGMA * float(np.median(off)), _LEAST_SCATTER_MM)
        weights = np.sqrt(1.0 / (1.0 + (off / (_LET_GO * scatter)) ** 2))
    way = course[1] / max(float(np.linalg.norm(course[1])), 1e-12)
    gap = line[at] - course[0]
    return float(np.linalg.norm(gap - (gap @ way) * way))


def _torn(
    hand: Literal["left", "right"],
    line: FloatArray,
    off: FloatArray,
    other: FloatArray,
    other_off: FloatArray,
) -> list[TornPlace]:
    """Return the torn places of one hand; the other hand's line is turned over already."""
    if len(line) < 5:
        return []
    limit = max(_LEAST_OFF_MM, _SCATTERS * _TO_SIGMA * float(np.median(off)))
    along = lengths_along(line)
    found = []
    for run in _runs(off > limit):
        most = int(run[off[run].argmax()])
        beside = np.linalg.norm(other - line[most], axis=1) <= _BESIDE_MM
        if other_off[beside].max(initial=0.0) > _LIKE_SHARE * off[most]:
            continue
        first, last = max(int(run[0]) - 1, 0), min(int(run[-1]) + 1, len(line) - 1)
        over = float(along[last] - along[first])
        found.append(TornPlace(hand, line[most].copy(), float(off[most]), over, run))
    return found


def _runs(chosen: BoolArray) -> list[IntArray]:
    """Return the runs of chosen points."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], chosen, [False]]).astype(int)))
    return [np.arange(start, stop) for start, stop in ends.reshape(-1, 2).tolist()]
