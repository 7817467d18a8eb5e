"""A drawn line made fair: it turns as evenly in the sheet as it can, hardly moved."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import lsq_linear

from geometry.arrays import FloatArray, locked
from geometry.progress import Report, silent
from geometry.seams.course import Course, course_along, distance_to_line, turnings
from geometry.seams.ground import SeamGround

_MOST_ROUNDS = 25
_SETTLED_MM = 1e-4
_LEAST_STEP = 1e-3
_HOLD = 1e-2
"""How much nearness to the drawn line counts: next to nothing, it only picks one of equals."""


@dataclass(frozen=True, eq=False)
class Faired:
    """A fair line beside a drawn one.

    Attributes
    ----------
    points : (k, 3) float, mm
        On the surface, to be joined over it; ends where they were.
    moved_mm : (k,) float
        From the drawn line.
    bend_before, bend_after : float, 1/mm^3
        Squared change of the curvature in the sheet per mm, summed along the line.
    """

    points: FloatArray
    moved_mm: FloatArray
    bend_before: float
    bend_after: float


def faired(
    ground: SeamGround,
    points: FloatArray,
    *,
    within_mm: float = 2.0,
    closed: bool = False,
    spacing_mm: float = 8.0,
    report: Report = silent,
) -> Faired:
    """Return a line whose curvature in the sheet changes least, near the line drawn.

    Parameters
    ----------
    ground : SeamGround
    points : (k, 3) float, mm
        What the line was drawn through.
    within_mm : float
        No place of the line moves farther.
    closed : bool
        A closed line has no ends to hold.
    spacing_mm : float
        Of the points returned; the points drawn through stay points of the line.

    The line at places p moves sideways in the surface by u: the turning at place i changes by
    (u[i+1] - u[i]) / l[i] - (u[i] - u[i-1]) / l[i-1], l being the lengths between them. Least
    squares with bounds on u, the turnings measured anew on the surface each round. Own derivation.

    Source: [moreton1992] for least change of curvature as the measure of a fair line.
    """
    if not within_mm > 0.0:
        raise ValueError("a line that may not move cannot be made fair")
    path = ground.exact(points, closed=closed)
    course = course_along(ground, path, spacing_mm)
    least = 4 if not course.closed else 5
    count = len(course.points)
    u, moved, bound = np.zeros(count), np.zeros(count), np.full(count, within_mm * (1.0 - 1e-6))
    places, bend = course.points, _bend(course.points, course)
    first = bend
    for round_ in range(_MOST_ROUNDS if count >= least else 0):
        report(round_ / _MOST_ROUNDS, "fairing")
        goal, step = _next(course, places, u, bound), 1.0
        while step > _LEAST_STEP:
            tried = np.clip(u + step * (goal - u), -bound, bound)
            there = _moved(ground, course, tried)
            off = distance_to_line(there, path.points)
            far = off > within_mm  # across a rough place the surface leads farther off than asked
            bound[far] = np.abs(tried[far]) * 0.999 * within_mm / off[far]
            new = _bend(there, course)
            if new < bend and not far.any():
                break
            step /= 1.1 if far.any() else 2.0
        else:
            break
        settled = float(np.abs(tried - u).max()) < _SETTLED_MM
        u, places, moved, bend = tried, there, off, new
        if settled:
            break
    report(1.0, "fairing")
    return Faired(locked(places.copy()), locked(moved), first, bend)


def _moved(ground: SeamGround, course: Course, u: FloatArray) -> FloatArray:
    """Return the places moved to the left, on the surface; ends exactly where they were."""
    places = ground.nearest(course.points + u[:, None] * course.left).points.copy()
    still = u == 0.0
    places[still] = course.points[still]
    return places


def _lengths(places: FloatArray, closed: bool) -> FloatArray:
    after = np.roll(places, -1, axis=0) if closed else places[1:]
    return np.asarray(np.linalg.norm(after - (places if closed else places[:-1]), axis=1))


def _changes(places: FloatArray, course: Course) -> FloatArray:
    """Return the change of curvature from place to place over the root of the length between."""
    length = _lengths(places, course.closed)
    turn = turnings(places, course.normals, closed=course.closed)
    if course.closed:
        curvature = turn / ((length + np.roll(length, 1)) / 2.0)
        return np.asarray((np.roll(curvature, -1) - curvature) / np.sqrt(length))
    curvature = turn / ((length[1:] + length[:-1]) / 2.0)
    return np.asarray(np.diff(curvature) / np.sqrt(length[1:-1]))


def _bend(places: FloatArray, course: Course) -> float:
    return float((_changes(places, course) ** 2).sum())


def _next(course: Course, places: FloatArray, u: FloatArray, bound: FloatArray) -> FloatArray:
    """Return the moves that would even out the curvature best if they acted as they do when small.

    The hold to the drawn line weighs as a bend over `_HOLD` of the whole line's length would.
    """
    length = _lengths(places, course.closed)
    count = len(places)
    change = _change_by_moves(length, count, course.closed)
    hold = _HOLD / float(length.sum()) ** 3 * np.sqrt(float(length.mean()))
    rows = np.concatenate([change, hold * np.eye(count)])
    aims = np.concatenate([change @ u - _changes(places, course), np.zeros(count)])
    free = np.ones(count, bool)
    if not course.closed:
        free[[0, -1]] = False
    goal = np.zeros(count)
    scale = np.linalg.norm(rows[:, free], axis=0).max()
    found = lsq_linear(
        rows[:, free] / scale, aims / scale, bounds=(-bound[free], bound[free]), tol=1e-12
    )
    goal[free] = found.x
    return goal


def _change_by_moves(length: FloatArray, count: int, closed: bool) -> FloatArray:
    """Return the matrix from moves to the changes of `_changes`."""
    eye = np.eye(count)
    if closed:
        slope = (np.roll(eye, -1, axis=0) - eye) / length[:, None]
        turn = slope - np.roll(slope, 1, axis=0)
        curvature = turn / ((length + np.roll(length, 1)) / 2.0)[:, None]
        return np.asarray((np.roll(curvature, -1, axis=0) - curvature) / np.sqrt(length)[:, None])
    slope = np.diff(eye, axis=0) / length[:, None]
    curvature = np.diff(slope, axis=0) / ((length[1:] + length[:-1]) / 2.0)[:, None]
    return np.asarray(np.diff(curvature, axis=0) / np.sqrt(length[1:-1])[:, None])
