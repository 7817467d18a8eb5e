"""`SweepPlace`: a stretch of a station's outline as long as a sweep, that one arc lies along."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from geometry.arrays import FloatArray, locked
from geometry.gauges.laid_arc import WIDEST_TURN_RAD
from geometry.pattern import best_arc
from geometry.polyline import lengths_along, points_along

SHORTER = (1.0, 2.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0)
"""Lengths of sweeps, as shares of the usual one: where the long one does not fit, a shorter."""

_ROUND_SHARE = 0.8
"""A stretch's own best arc leaves a gap of no more of the limit; the rest is for gathering radii.
"""

_STEP_MM = 1.5
_SAME_MM = 1e-9
_NEAR_MM = 0.1
_LEAST_RUN_MM = 2.0

Side = Literal["left", "right"]


@dataclass(frozen=True, eq=False)
class SweepPlace:
    """A stretch of a station's outline.

    Attributes
    ----------
    station : int
        Its number.
    hand : "left" or "right"
    line : (k, 2) float, mm
        On the station's board, the outside to its left.
    from_mm, to_mm : float
        Where it begins and ends along the outline, from the centre line at the top outward.
    curvature : float, 1/mm
        Of its best arc: above 0 crowned, below 0 hollow, seen from outside.
    chord_mm : float
        Of the board it is as long as.
    not_scanned : bool
        Whether part of it was filled by guess.
    """

    station: int
    hand: Side
    line: FloatArray
    from_mm: float
    to_mm: float
    curvature: float
    chord_mm: float
    not_scanned: bool

    def __post_init__(self) -> None:
        locked(self.line)


@dataclass(frozen=True)
class NoSweep:
    """How much of a station's outline no sweep lies along, on one hand.

    Attributes
    ----------
    station : int
    hand : "left" or "right"
    length_mm : float
    """

    station: int
    hand: Side
    length_mm: float


def sweep_places_of(
    half: FloatArray,
    station: int,
    hand: Side,
    filled: Sequence[FloatArray],
    *,
    chord_mm: float,
    limit_mm: float,
) -> tuple[tuple[SweepPlace, ...], NoSweep | None]:
    """Return the stretches of half an outline that one arc lies along, and what none does.

    From the centre line outward, end to end, each as long as the longest board that fits there.

    Parameters
    ----------
    half : (k, 2) float, mm
        As `StationSection.half` gives it: the outside to its left.
    station : int
    hand : "left" or "right"
    filled : sequence of (j, 2) float, mm
        Stretches nobody scanned.
    chord_mm : float
        Of the longest board.
    limit_mm : float
        The widest gap under a board.
    """
    outward = half if hand == "right" else half[::-1].copy()
    gone = lengths_along(outward)
    found: list[SweepPlace] = []
    at = 0.0
    walk = Walk(outward, gone, hand)
    while at < gone[-1]:
        taken = _longest(walk, at, chord_mm, limit_mm)
        if taken is None:
            at += _STEP_MM
            continue
        line, end, chord, curvature = taken
        not_scanned = _is_filled(line, filled)
        found.append(SweepPlace(station, hand, line, at, end, curvature, chord, not_scanned))
        at = end
    missing = float(gone[-1]) - sum(each.to_mm - each.from_mm for each in found)
    return tuple(found), NoSweep(station, hand, missing) if missing > _STEP_MM else None


@dataclass(frozen=True, eq=False)
class Walk:
    """An outline that is walked along.

    Attributes
    ----------
    outward : (k, 2) float, mm
    gone : (k,) float, mm
        How far each point lies along it.
    hand : "left" or "right"
        On which hand its outside lies to the right or, on the right hand, to the left.
    """

    outward: FloatArray
    gone: FloatArray
    hand: Side

    def part(self, start: float, chord_mm: float) -> tuple[FloatArray, float] | None:
        """Return the stretch of a chord from a place on, outside to its left, and where it ends.

        None where the outline ends before.
        """
        first = points_along(self.outward, np.array([start]))[0]
        after = int(np.searchsorted(self.gone, start, side="right"))
        apart = np.linalg.norm(self.outward[after:] - first, axis=1)
        beyond = np.flatnonzero(apart >= chord_mm)
        if not len(beyond):
            return None
        last = after + int(beyond[0])
        before = first if last == after else self.outward[last - 1]
        end = _on_circle(before, self.outward[last], first, chord_mm)
        ended = (start if last == after else float(self.gone[last - 1])) + float(
            np.hypot(*(end - before))
        )
        line = close_points(np.concatenate([first[None], self.outward[after:last], end[None]]))
        return (line if self.hand == "right" else line[::-1].copy()), ended

    def rest(self, start: float) -> FloatArray:
        """Return the line from a place on to its end, as it is walked."""
        first = points_along(self.outward, np.array([start]))
        after = int(np.searchsorted(self.gone, start, side="right"))
        return close_points(np.concatenate([first, self.outward[after:]]))


def _on_circle(
    before: FloatArray, after: FloatArray, centre: FloatArray, radius: float
) -> FloatArray:
    """Return where a step leaves a circle it begins within."""
    step, away = after - before, before - centre
    a, b, c = float(step @ step), float(away @ step), float(away @ away) - radius**2
    return np.asarray(before + (-b + np.sqrt(max(b * b - a * c, 0.0))) / a * step)


def close_points(line: FloatArray) -> FloatArray:
    """Return a line with points put between those further apart than 1.5 mm."""
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    line = line[np.concatenate([[True], steps > _SAME_MM])]
    steps = steps[steps > _SAME_MM]
    counts = np.maximum(np.ceil(steps / _STEP_MM), 1.0).astype(int)
    piece = np.repeat(np.arange(len(counts)), counts)
    part = (np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[piece]
    filled = line[piece] + part[:, None] * (line[piece + 1] - line[piece])
    return np.concatenate([filled, line[-1:]])


def _longest(
    walk: Walk, at: float, chord_mm: float, limit_mm: float
) -> tuple[FloatArray, float, float, float] | None:
    """Return the longest stretch from a place that one arc lies along: line, end, chord, bend."""
    for share in SHORTER:
        part = walk.part(at, share * chord_mm)
        if part is None:
            continue
        line, end = part
        curvature, off = best_arc(line)
        bent = abs(curvature) * share * chord_mm / 2.0 <= np.sin(WIDEST_TURN_RAD)
        if bent and 2.0 * off <= _ROUND_SHARE * limit_mm:
            return line, end, share * chord_mm, curvature
    return None


def _is_filled(line: FloatArray, filled: Sequence[FloatArray]) -> bool:
    """Return whether a stretch runs along what nobody scanned."""
    if not filled:
        return False
    near = shapely.union_all([shapely.LineString(run) for run in filled]).buffer(_NEAR_MM)
    met = shapely.intersection(shapely.LineString(line), near)
    return bool(shapely.length(met) >= _LEAST_RUN_MM)
