"""`fitted_curve`: few arcs or cubics that run along a line of points within a tolerance."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.pattern.curve import Curve, straight_curve
from geometry.pattern.curve_course import found_corners
from geometry.pattern.curve_runs import FittedRun, Outline, fitted_run

_MOST_TRIES = 6


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
    kept: dict[tuple[int, int], FittedRun] = {}
    for left in reversed(range(_MOST_TRIES)):
        runs = _runs(len(distinct), breaks, closed=closed)
        for run in runs:
            ends = (int(run[0]), int(run[-1]))
            if ends not in kept:
                kept[ends] = fitted_run(
                    distinct[run], is_loop=not len(breaks), kind=kind, tolerance_mm=tolerance_mm
                )
        fits = [kept[int(run[0]), int(run[-1])] for run in runs]
        more = [_missed(run, fit, tolerance_mm) for run, fit in zip(runs, fits, strict=True)]
        if left == 0 or not sum(len(missed) for missed in more):
            break
        # No smooth line runs within the tolerance there: these points are corners too; and in
        # the end all points of such a run, so that it is drawn straight from point to point.
        if left == 1:
            more = [run for run, missed in zip(runs, more, strict=True) if len(missed)]
        breaks = np.union1d(breaks, np.concatenate(more))
    return _joined(fits, closed=closed)


def _distinct(points: FloatArray, *, closed: bool) -> tuple[FloatArray, IntArray]:
    """Return points without those equal to the one before, and where each has gone."""
    moved = (np.diff(points, axis=0) != 0.0).any(axis=1)
    kept = np.concatenate([[True], moved])
    new_index = np.cumsum(kept) - 1
    distinct = points[kept]
    if closed and len(distinct) > 1 and np.array_equal(distinct[0], distinct[-1]):
        distinct = distinct[:-1]
    return distinct, np.asarray(new_index % len(distinct))


def _missed(run: IntArray, fit: FittedRun, tolerance_mm: float) -> IntArray:
    """Return the points of a run, by their numbers, at which its curve is too far off."""
    chords = np.flatnonzero(fit.off_chords > tolerance_mm)
    points = np.flatnonzero(fit.off_points > tolerance_mm)
    chosen = np.concatenate([points, chords, chords + 1]) % len(run)
    return np.asarray(run[np.unique(chosen)])


def _joined(fits: Sequence[FittedRun], *, closed: bool) -> FittedCurve:
    """Return the runs as one curve."""
    off = max(float(max(fit.off_points.max(), fit.off_chords.max())) for fit in fits)
    if fits[0].curve.closed:
        return FittedCurve(fits[0].curve, off, locked(np.empty(0, np.int64)))
    curves = [fit.curve for fit in fits]
    joints = [curve.points[:-1] for curve in curves]
    corners = np.cumsum([0, *(len(part) for part in joints)])
    if not closed:
        joints.append(curves[-1].points[-1:])
    curve = Curve(
        locked(np.concatenate(joints)),
        locked(np.concatenate([part.bulges for part in curves])),
        locked(np.concatenate([part.controls for part in curves])),
        closed,
    )
    return FittedCurve(curve, off, locked(corners[:-1] if closed else corners))


def _runs(count: int, breaks: IntArray, *, closed: bool) -> list[IntArray]:
    """Return the points of each run from corner to corner, both ends among them."""
    if not closed:
        return [np.arange(a, b + 1) for a, b in pairwise(breaks.tolist())]
    if not len(breaks):
        return [np.arange(count)]
    ends = np.append(breaks[1:], breaks[0] + count)
    return [np.arange(a, b + 1) % count for a, b in zip(breaks, ends, strict=True)]
