"""One run of a line, from corner to corner, as few arcs or cubics, and how near they run to it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from geometry.arrays import FloatArray, IntArray, locked
from geometry.pattern.curve import Curve
from geometry.pattern.curve_course import Course, course_along
from geometry.pattern.curve_spans import Span, SpanFit, one_arc, one_cubic, two_arcs

Outline = Literal["arcs", "splines"]

_BAND = 0.6
"""How much of the tolerance calming the line may take at most."""

_MARGIN = 0.95
_MEASURED = 1.0 / 200.0
"""Curves are measured along chords that leave them by this part of the tolerance."""


@dataclass(frozen=True, eq=False)
class FittedRun:
    """A run of a line as a curve.

    Attributes
    ----------
    curve : Curve
    off_points : (k,) float, mm
        How far each point of the run is from the curve.
    off_chords : (k - 1,) or, of a loop, (k,) float, mm
        How far the curve is from each chord of the run, apart from what chords from point to
        point leave a curve by in any case: the chord squared times the curvature over eight.
    """

    curve: Curve
    off_points: FloatArray
    off_chords: FloatArray


def fitted_run(
    points: FloatArray, *, is_loop: bool, kind: Outline, tolerance_mm: float
) -> FittedRun:
    """Return a run of points (k, 2) as a curve; a loop's first point is not repeated."""
    run = np.concatenate([points, points[:1]]) if is_loop else points
    course = course_along(run, closed=is_loop, most_mm=_BAND * tolerance_mm)
    spans = _spans(course, kind, _MARGIN * tolerance_mm)
    joints = [span.joints for span in spans]
    curve = Curve(
        locked(np.concatenate(joints if is_loop else [*joints, points[-1:]])),
        locked(np.concatenate([span.bulges for span in spans])),
        locked(np.concatenate([span.controls for span in spans])),
        is_loop,
    )
    return FittedRun(curve, *_off(curve, points, _MEASURED * tolerance_mm))


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


def _off(curve: Curve, points: FloatArray, chords_mm: float) -> tuple[FloatArray, FloatArray]:
    """Return how far each point is from the curve, and the curve from each chord less its sag."""
    off_points, _ = _nearest(points, curve.sampled(chords_mm), closed=curve.closed)
    distances, chord = _nearest(curve.sampled(20.0 * chords_mm), points, closed=curve.closed)
    sag = _sag(points, closed=curve.closed)
    off_chords = np.zeros(len(sag))
    np.maximum.at(off_chords, chord, distances - sag[chord])
    return off_points, off_chords


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


def _sag(points: FloatArray, *, closed: bool) -> FloatArray:
    """Return by how much a smooth line leaves each chord of points; a run's ends turn nothing.

    By the curvature both ends of the chord show, their harmonic mean, or most points around: one
    kink is no curvature.
    """
    ahead = np.roll(points, -1, axis=0) - points
    into = np.roll(ahead, 1, axis=0)
    chord = np.hypot(*ahead.T)
    turn = np.arctan2(into[:, 0] * ahead[:, 1] - into[:, 1] * ahead[:, 0], (into * ahead).sum(1))
    if not closed:
        turn[[0, -1]] = 0.0
    bend = turn * 2.0 / (chord + np.roll(chord, 1))
    beyond = np.roll(bend, -1)
    alike = bend * beyond > 0.0
    both = np.where(alike, 2.0 * bend * beyond / np.where(alike, np.abs(bend + beyond), 1.0), 0.0)
    around = np.abs(np.median([np.roll(bend, shift) for shift in range(-3, 4)], axis=0))
    sag = chord**2 / 8.0 * np.maximum(both, np.minimum(around, np.roll(around, -1)))
    return np.asarray(sag if closed else sag[:-1])
