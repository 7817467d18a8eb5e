"""`fitted_curve`: few arcs or cubics that run along a line of points within a tolerance."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely

from geometry.arrays import FloatArray, IntArray, locked
from geometry.pattern.curve import Curve, straight_curve
from geometry.pattern.curve_course import Course, course_along, found_corners
from geometry.pattern.curve_spans import Span, SpanFit, one_arc, one_cubic, two_arcs

Outline = Literal["arcs", "splines"]

_BAND = 0.6
"""How much of the tolerance calming the line may take; the rest is for its pieces."""

_MARGIN = 0.95
_MOST_TRIES = 6
_MEASURED = 1.0 / 200.0
"""Curves are measured along chords that leave them by this part of the tolerance."""


@dataclass(frozen=True, eq=False)
class FittedCurve:
    """A curve that runs along a line of points.

    Attributes
    ----------
    curve : Curve
    largest_off_mm : float
        The farthest any point is from the curve or the curve from the line, apart from what
        chords from point to point leave a curve by in any case.
    corners : (c,) int
        Which joints are corners; the tangent runs on at all others.
    """

    curve: Curve
    largest_off_mm: float
    corners: IntArray


def fitted_curve(
    points: FloatArray,
    *,
    closed: bool,
    kind: Outline,
    tolerance_mm: float = 0.02,
    corners: IntArray | None = None,
) -> FittedCurve:
    """Return a curve along a line of points, its corners kept exactly.

    Parameters
    ----------
    points : (k, 2) float, mm
        A closed line's first is not repeated.
    closed : bool
    kind : "arcs" or "splines"
        Arcs and straight pieces, or cubics.
    tolerance_mm : float
    corners : (c,) int, optional
        Points at which the tangent may break, beside those at which the line turns sharply.

    Raises
    ------
    ValueError
        Points are not finite.

    >>> turned = np.arange(400) * np.pi / 200.0
    >>> ring = 150.0 * np.stack([np.cos(turned), np.sin(turned)], axis=1)
    >>> fit = fitted_curve(ring, closed=True, kind="arcs")
    >>> len(fit.curve.points) < 8, abs(fit.curve.length - 300.0 * np.pi) < 0.01
    (True, True)
    """
    if not np.isfinite(points).all():
        raise ValueError("points of a line are not finite")
    distinct, new_index = _distinct(points, closed=closed)
    if len(distinct) < 3:
        return FittedCurve(straight_curve(distinct, closed=False), 0.0, np.arange(len(distinct)))
    given = np.empty(0, np.int64) if corners is None else new_index[corners]
    breaks = np.union1d(given, found_corners(distinct, closed=closed))
    if not closed:
        breaks = np.union1d(breaks, [0, len(distinct) - 1])
    kept: dict[tuple[int, int], list[Span]] = {}
    for left in reversed(range(_MOST_TRIES)):
        curve, at_corners = _fit(
            distinct, breaks, kept, closed=closed, kind=kind, tolerance_mm=tolerance_mm
        )
        of_points, of_chords = _off(curve, distinct, breaks, _MEASURED * tolerance_mm)
        bad = np.flatnonzero(of_chords > tolerance_mm)
        missed = np.setdiff1d(np.flatnonzero(of_points > tolerance_mm), breaks)
        if left == 0 or not len(bad) + len(missed):
            break
        # No smooth line runs within the tolerance there: these points are corners too.
        breaks = np.unique(np.concatenate([breaks, missed, bad, (bad + 1) % len(distinct)]))
    return FittedCurve(curve, float(max(of_points.max(), of_chords.max())), locked(at_corners))


def _distinct(points: FloatArray, *, closed: bool) -> tuple[FloatArray, IntArray]:
    """Return points without those equal to the one before, and where each has gone."""
    moved = (np.diff(points, axis=0) != 0.0).any(axis=1)
    kept = np.concatenate([[True], moved])
    new_index = np.cumsum(kept) - 1
    distinct = points[kept]
    if closed and len(distinct) > 1 and np.array_equal(distinct[0], distinct[-1]):
        distinct = distinct[:-1]
    return distinct, np.asarray(new_index % len(distinct))


def _fit(
    points: FloatArray,
    breaks: IntArray,
    kept: dict[tuple[int, int], list[Span]],
    *,
    closed: bool,
    kind: Outline,
    tolerance_mm: float,
) -> tuple[Curve, IntArray]:
    """Return the curve and which of its joints are corners; runs fitted before are kept."""
    spans: list[Span] = []
    at_corners = []
    count = 0
    for run in _runs(len(points), breaks, closed=closed):
        if len(breaks):
            at_corners.append(count)
        ends = (int(run[0]), int(run[-1]))
        if ends not in kept:
            is_loop = closed and not len(breaks)
            course = course_along(points[run], closed=is_loop, most_mm=_BAND * tolerance_mm)
            kept[ends] = _spans(course, kind, _MARGIN * tolerance_mm)
        for span in kept[ends]:
            spans.append(span)
            count += len(span.joints)
    joints = np.concatenate([span.joints for span in spans])
    if not closed:
        joints = np.concatenate([joints, points[-1:]])
        at_corners.append(count)
    curve = Curve(
        locked(joints),
        locked(np.concatenate([span.bulges for span in spans])),
        locked(np.concatenate([span.controls for span in spans])),
        closed,
    )
    return curve, np.array(at_corners, np.int64)


def _runs(count: int, breaks: IntArray, *, closed: bool) -> list[IntArray]:
    """Return the points of each run from corner to corner, both ends among them."""
    if not closed:
        return [np.arange(a, b + 1) for a, b in pairwise(breaks.tolist())]
    if not len(breaks):
        return [np.append(np.arange(count), 0)]
    ends = np.append(breaks[1:], breaks[0] + count)
    return [np.arange(a, b + 1) % count for a, b in zip(breaks, ends, strict=True)]


def _spans(course: Course, kind: Outline, allowed_mm: float) -> list[Span]:
    """Return spans one after the other, each as long as it may be."""
    spans: list[Span] = []
    last = len(course.nodes) - 1
    at, tangent, guess = 0, course.tangents[0], 8
    fits: Sequence[SpanFit] = (one_arc, two_arcs) if kind == "arcs" else (one_cubic,)
    while at < last:
        reaches = [
            _farthest(course, at, tangent, fit, allowed_mm=allowed_mm, guess=guess) for fit in fits
        ]
        end, span = reaches[-1]
        if kind == "arcs" and 2 * (reaches[0][0] - at) >= end - at and reaches[0][1] is not None:
            end, span = reaches[0]
        if span is None:  # nothing holds: go straight to the next node
            end = at + 1
            step = course.nodes[end] - course.nodes[at]
            way = step / np.linalg.norm(step)
            span = Span(course.nodes[at][None], np.zeros(1), np.full((1, 2, 2), np.nan), way)
        elif kind == "splines":
            span = _settled(course, at, end, tangent) or span
        guess = max(1, end - at)
        spans.append(span)
        at, tangent = end, span.end_tangent
    return spans


def _settled(course: Course, at: int, end: int, tangent: FloatArray) -> Span | None:
    """Return a cubic brought as near as it comes, not only within the tolerance."""
    tried = one_cubic(course, at, end, tangent, 0.0)
    return None if tried is None else tried[0]


def _farthest(
    course: Course, at: int, tangent: FloatArray, fit: SpanFit, *, allowed_mm: float, guess: int
) -> tuple[int, Span | None]:
    """Return the farthest node a span reaches within the tolerance, and the span."""
    last = len(course.nodes) - 1
    good, found = at, None
    bad = last + 1
    step = guess
    while bad - good > 1:
        if bad > last:
            to = min(good + step, last)
            step *= 2
        else:
            to = (good + bad) // 2
        tried = fit(course, at, to, tangent, allowed_mm)
        if tried is not None and tried[1] <= allowed_mm:
            good, found = to, tried[0]
        else:
            bad = to
    return good, found


def _off(
    curve: Curve, points: FloatArray, breaks: IntArray, chords_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Return how far each point is from the curve, and the curve from each chord of the line.

    Of the latter what the chords from point to point leave a curve by is taken off: the chord
    squared times the curvature there over eight.
    """
    line = curve.sampled(chords_mm)
    of_points, _ = _nearest(points, line, closed=curve.closed)
    distances, chord = _nearest(curve.sampled(20.0 * chords_mm), points, closed=curve.closed)
    sag = _sag(points, breaks, closed=curve.closed)
    of_chords = np.zeros(len(sag))
    np.maximum.at(of_chords, chord, distances - sag[chord])
    return of_points, of_chords


def _nearest(points: FloatArray, line: FloatArray, *, closed: bool) -> tuple[FloatArray, IntArray]:
    """Return how far points are from a line, and from which of its chords."""
    ends = np.roll(line, -1, axis=0) if closed else line[1:]
    starts = line if closed else line[:-1]
    chords = shapely.linestrings(np.stack([starts, ends], axis=1))
    tree = shapely.STRtree(np.asarray(chords, object))
    found, distances = tree.query_nearest(
        shapely.points(points), all_matches=False, return_distance=True
    )
    return np.asarray(distances), np.asarray(found[1], np.int64)


def _sag(points: FloatArray, breaks: IntArray, *, closed: bool) -> FloatArray:
    """Return by how much a smooth line through points leaves each chord; corners turn nothing."""
    ahead = np.roll(points, -1, axis=0) - points
    into = np.roll(ahead, 1, axis=0)
    chord = np.hypot(*ahead.T)
    turn = np.arctan2(into[:, 0] * ahead[:, 1] - into[:, 1] * ahead[:, 0], (into * ahead).sum(1))
    turn[breaks] = 0.0
    bend = turn * 2.0 / (chord + np.roll(chord, 1))
    around = np.mean([np.roll(bend, shift) for shift in range(-3, 4)], axis=0)
    bend = np.maximum(np.abs(bend), np.abs(around))
    sag = chord**2 / 8.0 * np.maximum(bend, np.roll(bend, -1))
    return np.asarray(sag if closed else sag[:-1])
