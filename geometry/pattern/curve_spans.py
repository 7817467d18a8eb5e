"""One span of a curve from node to node of a calm course: an arc, two arcs or a cubic."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import FloatArray
from geometry.pattern.curve import no_controls
from geometry.pattern.curve_course import Course

_MOST_BULGE = 0.75
"""No arc of a fit turns by more than 147 degrees."""

_STRAIGHT_MM = 1e-7
"""An arc that rises by less over its chord is drawn straight."""

_COMPLEX = np.array([1.0, 1.0j])
_ROUNDS = 5
_GAIN = 0.8


@dataclass(frozen=True, eq=False)
class Span:
    """The pieces from one node to a later one.

    Attributes
    ----------
    joints : (p, 2) float, mm
        Where each piece starts.
    bulges : (p,) float
    controls : (p, 2, 2) float, mm
        As those of a `Curve`.
    end_tangent : (2,) float
    """

    joints: FloatArray
    bulges: FloatArray
    controls: FloatArray
    end_tangent: FloatArray


class SpanFit(Protocol):
    """Fits a span from node a, run into along a tangent, to node b."""

    def __call__(
        self, course: Course, a: int, b: int, tangent: FloatArray, tolerance_mm: float
    ) -> tuple[Span, float] | None:
        """Return the span and by how much it leaves the places; None where there is none."""


def one_arc(
    course: Course, a: int, b: int, tangent: FloatArray, tolerance_mm: float
) -> tuple[Span, float] | None:
    """Return an arc from node a, along a tangent, to node b.

    It must run on nearly as the calm line does at b, unless that is a corner.
    """
    start, end = course.nodes[a], course.nodes[b]
    chord = end - start
    length = float(np.hypot(*chord))
    lean = _angle(tangent, chord)
    bulge = float(np.tan(lean / 2.0))
    if abs(bulge) > _MOST_BULGE:
        return None
    after = _turned(tangent, 2.0 * lean)
    is_end = b == len(course.nodes) - 1
    if is_end and course.closed:
        if abs(_angle(after, course.tangents[b])) > 1e-9:
            return None
    elif not is_end and abs(_angle(after, course.tangents[b])) > 1.3 * tolerance_mm / length:
        return None
    bulge = _plain(bulge, length)
    off = _off_arc(_between(course, a, b), start, tangent, bulge, length)
    span = Span(start[None], np.array([bulge]), no_controls(1), after)
    return span, float(off.max(initial=0.0))


def two_arcs(
    course: Course, a: int, b: int, tangent: FloatArray, tolerance_mm: float
) -> tuple[Span, float] | None:
    """Return two arcs from node a to node b that keep the tangents there and share one between.

    Of the many such pairs the one whose two tangent legs are equally long, d: with u, w the
    tangents and v the chord, |v - d (u + w)| = 2 d.

    Source: [bolton1975]; the formula is our own working of it.
    """
    start, end = course.nodes[a], course.nodes[b]
    u, w, v = tangent, course.tangents[b], end - start
    leg = _leg(u, w, v)
    if leg is None:
        return None
    first, last = start + leg * u, end - leg * w
    middle = (first + last) / 2.0
    across = (last - first) / (2.0 * leg)
    places = _between(course, a, b)
    beyond = (places - middle) @ across > 0.0
    pieces = []
    off = 0.0
    for begin, finish, way, near in (
        (start, middle, u, places[~beyond]),
        (middle, end, across, places[beyond]),
    ):
        length = float(np.hypot(*(finish - begin)))
        bulge = float(np.tan(_angle(way, finish - begin) / 2.0))
        if abs(bulge) > _MOST_BULGE:
            return None
        pieces.append(_plain(bulge, length))
        off = max(off, float(_off_arc(near, begin, way, pieces[-1], length).max(initial=0.0)))
    return Span(np.stack([start, middle]), np.array(pieces), no_controls(2), w), off


def one_cubic(
    course: Course, a: int, b: int, tangent: FloatArray, tolerance_mm: float
) -> tuple[Span, float] | None:
    """Return the cubic from node a to node b that keeps the tangents and lies nearest the places.

    Source: [schneider1990] for the handles as the two unknowns; here they are corrected by what
    places are off square to the cubic, after each has been moved to where it is nearest.
    """
    start, end = course.nodes[a], course.nodes[b]
    u, w = tangent, course.tangents[b]
    leg = _leg(u, w, end - start)
    if leg is None:
        return None
    places = _between(course, a, b)
    steps = np.cumsum(np.hypot(*np.diff(np.concatenate([start[None], places]), axis=0).T))
    t = steps / max(float(steps[-1]), 1e-300)
    best: tuple[FloatArray, float] | None = None
    handles = np.array([leg, leg]) * 4.0 / 3.0  # those of an arc
    for _ in range(_ROUNDS):
        corners = np.stack([start, start + handles[0] * u, end - handles[1] * w, end])
        t, off, gap, normal = _nearest_on(corners, places, t)
        gains = best is None or off < _GAIN * best[1]
        if best is None or off < best[1]:
            best = (corners, off)
        if off <= tolerance_mm or not gains:
            break
        handles = handles + _correction(t, gap, normal, u, w)
        if handles.min() <= 0.0 or handles.sum() > steps[-1]:  # it would turn back on itself
            break
    if best is None:
        return None
    return Span(start[None], np.zeros(1), best[0][None, 1:3], w), best[1]


def _correction(
    t: FloatArray, gap: FloatArray, normal: FloatArray, u: FloatArray, w: FloatArray
) -> FloatArray:
    """Return by how much to lengthen the two handles, so that gaps (p,) along normals close."""
    rows = np.stack(
        [3.0 * t * (1.0 - t) ** 2 * (normal @ u), -3.0 * t**2 * (1.0 - t) * (normal @ w)], axis=1
    )
    square = rows.T @ rows
    square += 1e-9 * np.trace(square) * np.eye(2) + 1e-300 * np.eye(2)
    return np.asarray(np.linalg.solve(square, -rows.T @ gap))


def _nearest_on(
    corners: FloatArray, places: FloatArray, t: FloatArray
) -> tuple[FloatArray, float, FloatArray, FloatArray]:
    """Return where on a cubic places are nearest, by Newton steps from t, and how far off.

    The farthest off comes second, then each place's gap along the normal (p, 2) there.
    """
    a, b, c, d = _powers(corners @ _COMPLEX)
    wanted = places @ _COMPLEX
    for _ in range(2):
        gap = ((a * t + b) * t + c) * t + d - wanted
        speed = (3.0 * a * t + 2.0 * b) * t + c
        bend = 6.0 * a * t + 2.0 * b
        slope = (gap * speed.conj()).real
        steep = (speed * speed.conj()).real + (gap * bend.conj()).real
        t = np.clip(t - slope / np.where(steep > 0.0, steep, np.inf), 0.0, 1.0)
    gap = ((a * t + b) * t + c) * t + d - wanted
    speed = (3.0 * a * t + 2.0 * b) * t + c
    normal = 1j * speed / np.maximum(np.abs(speed), 1e-300)
    return (
        t,
        float(np.abs(gap).max()),
        (gap * normal.conj()).real,
        normal.view(float).reshape(-1, 2),
    )


def _powers(corners: NDArray[np.complex128]) -> tuple[complex, ...]:
    """Return the coefficients of a cubic, of the third power first."""
    start, one, two, end = corners.tolist()
    third = end - start + 3.0 * (one - two)
    return third, 3.0 * (start - 2.0 * one + two), 3.0 * (one - start), start


def _leg(u: FloatArray, w: FloatArray, v: FloatArray) -> float | None:
    """Return how long the legs of two arcs along u and w over a chord v are, if they are sound."""
    straight_on = float(v @ (u + w))
    root = np.sqrt(straight_on**2 + 2.0 * (1.0 - float(u @ w)) * float(v @ v))
    leg = float(v @ v) / max(straight_on + root, 1e-300)
    return leg if 0.0 < leg < float(np.hypot(*v)) else None


def _between(course: Course, a: int, b: int) -> FloatArray:
    """Return the places from node a to node b, those at the nodes among them."""
    return course.places[course.first[a] : course.first[b] + 1]


def _off_arc(
    places: FloatArray, start: FloatArray, tangent: FloatArray, bulge: float, chord: float
) -> FloatArray:
    """Return how far places are from the circle of an arc, flat or not.

    With x from the start, n to the left and curvature k: the distance is
    g / (1 + sqrt(1 + k g)), g = k x^2 - 2 n x; own derivation, nothing cancels as k goes to 0.
    """
    curvature = 4.0 * bulge / (chord * (1.0 + bulge**2))
    x = places - start
    rise = x[:, 1] * tangent[0] - x[:, 0] * tangent[1]
    g = curvature * (x * x).sum(axis=1) - 2.0 * rise
    return np.asarray(np.abs(g) / (1.0 + np.sqrt(np.maximum(1.0 + curvature * g, 0.0))))


def _plain(bulge: float, chord: float) -> float:
    return 0.0 if abs(bulge) * chord / 2.0 < _STRAIGHT_MM else bulge


def _angle(one: FloatArray, other: FloatArray) -> float:
    """Return the turn from one direction to another, positive to the left."""
    return float(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))


def _turned(way: FloatArray, angle: float) -> FloatArray:
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.array([cosine * way[0] - sine * way[1], sine * way[0] + cosine * way[1]])
