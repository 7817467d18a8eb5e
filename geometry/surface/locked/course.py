"""The course of a line over a surface: evenly spaced stations with frames, and places beside it."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray

_PASSES = 3
_BEYOND_ENDS = 0.5


@dataclass(frozen=True, eq=False)
class Course:
    """A line as stations a step apart.

    Attributes
    ----------
    places : (k, 3) float, mm
        A closed one does not repeat its first.
    ahead, aside, up : (k, 3) float
        Unit directions along the line, across it (to the right seen from outside, walking ahead
        with up overhead) and out of the surface.
    step_mm : float
    closed : bool
    """

    places: FloatArray
    ahead: FloatArray
    aside: FloatArray
    up: FloatArray
    step_mm: float
    closed: bool

    @property
    def length_mm(self) -> float:
        """Of the line, the way back to the start of a closed one counted."""
        return self.step_mm * (len(self.places) - (not self.closed))


@dataclass(frozen=True, eq=False)
class Beside:
    """Where places lie, seen from a course laid straight.

    Attributes
    ----------
    which : (j,) int
        The places within reach of the course and not past its ends.
    station : (j,) float
        The station each is abreast of; between stations a fraction.
    across, height : (j,) float, mm
        Along `aside` and `up` there.
    """

    which: IntArray
    station: FloatArray
    across: FloatArray
    height: FloatArray


def course_along(
    line: FloatArray, up_at: cKDTree, normals: FloatArray, *, step_mm: float, closed: bool
) -> Course:
    """Return the course of a polyline, evenly spaced, with frames.

    Parameters
    ----------
    line : (j, 3) float, mm
        A closed one repeats its first point.
    up_at, normals : tree of (n, 3) points, (n, 3) float
        Where out of the surface is.
    """
    run = np.linalg.norm(np.diff(line, axis=0), axis=1)
    at = np.concatenate([[0.0], np.cumsum(run)])
    pieces = max(3, round(float(at[-1]) / step_mm))
    wanted = np.linspace(0.0, at[-1], pieces + 1)[: pieces if closed else pieces + 1]
    places = np.stack([np.interp(wanted, at, line[:, axis]) for axis in range(3)], axis=1)
    near = np.asarray(up_at.query(places, k=min(12, len(normals)))[1]).reshape(len(places), -1)
    up = smoothed_along(normals[near].mean(axis=1), 2.0, closed=closed)
    return framed(places, up, float(at[-1]) / pieces, closed=closed)


def framed(places: FloatArray, up: FloatArray, step_mm: float, *, closed: bool) -> Course:
    """Return a course through places, with frames that have `up` overhead."""
    padded = np.concatenate([places[-1:], places, places[:1]]) if closed else places
    ahead = np.gradient(padded, axis=0, edge_order=2)
    ahead = _unit(ahead[1:-1] if closed else ahead)
    overhead = _unit(up - (up * ahead).sum(axis=1, keepdims=True) * ahead)
    return Course(places, ahead, np.cross(ahead, overhead), overhead, step_mm, closed)


def moved(course: Course, across: FloatArray, height: FloatArray, up: FloatArray) -> Course:
    """Return the course with its stations moved across and up, and another way overhead."""
    places = course.places + across[:, None] * course.aside + height[:, None] * course.up
    return framed(places, up, course.step_mm, closed=course.closed)


def smoothed_along(values: FloatArray, stations: float, *, closed: bool) -> FloatArray:
    """Return values at stations averaged over some stations each way (standard deviation)."""
    if closed:
        return np.asarray(gaussian_filter1d(values, stations, axis=0, mode="wrap"))
    one = np.ones(len(values))
    total = gaussian_filter1d(values, stations, axis=0, mode="constant")
    counted = gaussian_filter1d(one, stations, mode="constant")
    return np.asarray(total / counted.reshape(-1, *[1] * (values.ndim - 1)))


def beside(course: Course, points: FloatArray, reach_mm: float) -> Beside:
    """Return where those of (n, 3) points within reach of a course lie beside it."""
    distance, nearest = cKDTree(course.places).query(
        points, distance_upper_bound=reach_mm + course.step_mm
    )
    which = np.flatnonzero(np.isfinite(distance))
    here = points[which]
    station = np.asarray(nearest, np.float64)[which]
    last = len(course.places) - 1
    for _ in range(_PASSES):
        foot, ahead, _, _ = _between(course, station)
        station = station + ((here - foot) * ahead).sum(axis=1) / course.step_mm
        if course.closed:
            station %= last + 1
        else:
            station = np.clip(station, -1.0, last + 1.0)
    inside = np.ones(len(which), bool)
    if not course.closed:
        inside = (station > -_BEYOND_ENDS) & (station < last + _BEYOND_ENDS)
        station = np.clip(station, 0.0, last)
    foot, _, aside, up = _between(course, station)
    across, height = ((here - foot) * aside).sum(axis=1), ((here - foot) * up).sum(axis=1)
    inside &= np.hypot(across, height) < reach_mm
    return Beside(which[inside], station[inside], across[inside], height[inside])


def place_at(
    course: Course, station: FloatArray, across: FloatArray, height: FloatArray
) -> FloatArray:
    """Return the (j, 3) places beside the course."""
    foot, _, aside, up = _between(course, station)
    return np.asarray(foot + across[:, None] * aside + height[:, None] * up)


def direction_at(
    course: Course, station: FloatArray, across: FloatArray, height: FloatArray
) -> FloatArray:
    """Return (j, 3) unit directions from what they are across and up."""
    _, _, aside, up = _between(course, station)
    return _unit(across[:, None] * aside + height[:, None] * up)


def pair_of_stations(course: Course, station: FloatArray) -> tuple[IntArray, IntArray, FloatArray]:
    """Return the stations before and after, and how far from the first to the second."""
    count = len(course.places)
    low = np.floor(station).astype(np.int64)
    if course.closed:
        return low % count, (low + 1) % count, station - low
    low = np.clip(low, 0, count - 2)
    return low, low + 1, station - low


def _between(
    course: Course, station: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return places and frames between stations (past the ends: drawn out straight)."""
    low, high, share = pair_of_stations(course, station)
    weight = share[:, None]

    def mixed(values: FloatArray) -> FloatArray:
        return np.asarray((1.0 - weight) * values[low] + weight * values[high])

    ahead, aside, up = (_unit(mixed(way)) for way in (course.ahead, course.aside, course.up))
    return mixed(course.places), ahead, aside, up


def _unit(vectors: FloatArray) -> FloatArray:
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.asarray(vectors / np.maximum(length, 1e-300))
