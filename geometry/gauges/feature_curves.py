"""What tapes are held to, as curves: character lines, edges of round holes, the metal's edge."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.fitting import running_parabolas
from geometry.gauges.tape_value import Feature, Which
from geometry.polyline import in_pieces, line_length
from geometry.surface import Opening

STEP_MM = 1.0
"""Lines and holes are looked at in steps of this."""

_CALM_MM = 12.0
"""Tips are averaged over so much of a line: one by one they scatter with the scan's noise."""

_RAGGED_OVER_MM = 40.0

_SOFT_END_MM = 12.0
"""So much at the end of a line nobody finds on the tank: it fades out there."""

_CORNER_MM = 8.0
"""A line that ends so near to another meets it at a corner."""

_RIM_CORNER_MM = 16.0
"""A line that ends so near to a corner of the rim runs out there: lines fade before a rim."""

_RUN = 12
"""A line runs at its end as its last so many steps do."""

_LEG = (3, 17)
"""The legs of a corner in a rim are laid through places so many steps from it."""

_LEAST_TURN_RAD = np.deg2rad(50.0)
_LEG_OFF_MM = 0.4
_LEG_SHARE = 0.65
_CORNER_OFF_MM = 1.5
"""A rim has a corner where it turns by so much, between legs so straight, nicks
in a third of them aside, that meet so near to it:
the turn of a soft one lies well inside the place where its legs meet. Own choice."""


@dataclass(frozen=True, eq=False)
class FeatureCurve:
    """What an end of a tape can be held to: a character line, a round hole's edge, or the rim.

    Attributes
    ----------
    on : "line", "hole" or "rim"
    number : int
        As given, from 0; -1 for the rim.
    points : (k, 3) float, mm
        Evenly apart, ahead, left and up; a closed one does not repeat its first.
    slack : (k, 3) float, mm
        How far, and which way, an end of a tape lies off across it without anybody noticing: a
        round edge is found less surely than a sharp one.
    closed : bool
    corners : (bool, bool)
        Of an open line: whether it begins, and ends, at a corner, where it meets another.
    turns : tuple of int
        Of a closed one: which of its points are corners.
    which : str
        Which of the tank's it is, by where it runs.
    """

    on: Feature
    number: int
    points: FloatArray
    slack: FloatArray
    closed: bool
    corners: tuple[bool, bool] = (False, False)
    turns: tuple[int, ...] = ()
    which: Which = ""

    @property
    def corner_points(self) -> tuple[int, ...]:
        """Which of its points are corners."""
        if self.closed:
            return self.turns
        ends = (0, len(self.points) - 1)
        return tuple(at for at, is_one in zip(ends, self.corners, strict=True) if is_one)


def which_curve(points: FloatArray, size: FloatArray) -> Which:
    """Return which of the tank's curves one is: ahead, left and up, and the tank's size, mm."""
    low, high = points.min(axis=0), points.max(axis=0)
    if low[1] > 0.0 or high[1] < 0.0:
        return "left" if low[1] > 0.0 else "right"
    ahead, up = float(np.median(points[:, 0])), float(np.median(points[:, 2]))
    if high[0] < 0.3 * size[0]:
        return "rear"
    if low[0] > 0.7 * size[0]:
        return "front"
    if up < 0.3 * size[2]:
        return "bottom"
    return "top" if up > 0.6 * size[2] else ("rear" if ahead < 0.5 * size[0] else "front")


def _at_rim(course: FloatArray, rim: FeatureCurve | None) -> FloatArray | None:
    """Return where a line, drawn on beyond its first point, runs out at the rim; None without.

    At a corner of the rim, where there is one; otherwise where it comes nearest to the rim.
    """
    if rim is None:
        return None
    away = np.linalg.norm(rim.points - course[0], axis=1)
    if away.min() > _RIM_CORNER_MM:
        return None
    for at in rim.turns:
        if away[at] < _RIM_CORNER_MM:
            return np.asarray(rim.points[at])
    way = course[0] - course[min(_RUN, len(course) - 1)]
    way = way / np.linalg.norm(way)
    arm = rim.points - course[0]
    ahead = arm @ way
    beside = np.linalg.norm(arm - np.outer(ahead, way), axis=1)
    beside[(ahead < -2.0) | (ahead > _RIM_CORNER_MM)] = np.inf
    at = int(beside.argmin())
    is_met = beside[at] < _CORNER_OFF_MM and abs(float(tangent_of(rim.points, at) @ way)) < 0.7
    return np.asarray(course[0] + max(float(ahead[at]), 0.0) * way) if is_met else None


def tangent_of(points: FloatArray, at: int) -> FloatArray:
    """Return the unit direction a closed curve runs in at one of its points."""
    way = points[(at + 6) % len(points)] - points[at - 6]
    return np.asarray(way / np.linalg.norm(way))


def rim_course(loop: FloatArray) -> tuple[FloatArray, tuple[int, ...]]:
    """Return the calmed course of a rim, closed without repeating its first, and its corners.

    Parameters
    ----------
    loop : (k, 3) float, mm
        The rim's points in order, the first not repeated.
    """
    course = evenly(np.concatenate([loop, loop[:1]]), STEP_MM)[:-1]
    corners = _rim_corners(course)
    if not corners:
        return calmed(np.concatenate([course, course[:1]]), True)[:-1], ()
    first = corners[0][0]
    turned = np.roll(course, -first, axis=0)
    at = [(k - first) % len(course) for k, _ in corners] + [len(course)]
    turned = np.concatenate([turned, turned[:1]])
    meets = [place for _, place in corners] + [corners[0][1]]
    pieces: list[FloatArray] = []
    turns: list[int] = []
    for k in range(len(corners)):
        piece = calmed(turned[at[k] : at[k + 1] + 1], False).copy()
        piece[0], piece[-1] = meets[k], meets[k + 1]
        turns.append(sum(len(each) for each in pieces))
        pieces.append(_without_jog(piece)[:-1])
    return np.concatenate(pieces), tuple(turns)


def _without_jog(piece: FloatArray) -> FloatArray:
    """Return a piece between corners, evenly, its places beside the corners left out."""
    if len(piece) < 12:
        return piece
    return evenly(np.concatenate([piece[:1], piece[4:-4], piece[-1:]]), STEP_MM)


def _rim_corners(course: FloatArray) -> list[tuple[int, FloatArray]]:
    """Return at which places a rim has a sharp corner, and where exactly its legs meet."""
    near, far = _LEG
    if len(course) < 4 * far:
        return []
    after = np.roll(course, -far, axis=0) - np.roll(course, -near, axis=0)
    before = np.roll(course, near, axis=0) - np.roll(course, far, axis=0)
    cosine = np.einsum("ij,ij->i", after, before)
    cosine /= np.maximum(np.linalg.norm(after, axis=1) * np.linalg.norm(before, axis=1), 1e-9)
    turn = np.arccos(np.clip(cosine, -1.0, 1.0))
    found: list[tuple[int, FloatArray]] = []
    order: IntArray = np.argsort(-turn, kind="stable")
    for at in order[turn[order] > _LEAST_TURN_RAD]:
        if _is_near(int(at), found, len(course)):
            continue
        meets = _legs_meet(course, int(at))
        if meets is None:
            continue
        nearest = int(np.linalg.norm(course - meets, axis=1).argmin())
        if not _is_near(nearest, found, len(course)):
            found.append((nearest, meets))
    return sorted(found, key=lambda each: each[0])


def _is_near(at: int, found: list[tuple[int, FloatArray]], count: int) -> bool:
    """Return whether a place of a closed course lies within a leg of a corner found."""
    gaps = [abs(at - k) for k, _ in found]
    return min((min(gap, count - gap) for gap in gaps), default=_LEG[1]) < _LEG[1]


def _leg_line(leg: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """Return a place and the way of a corner's leg, nicks left out; None where it is bent."""
    kept = leg
    for _ in range(4):
        middle = kept.mean(axis=0)
        _, _, ways = np.linalg.svd(kept - middle)
        arm = leg - middle
        off = np.linalg.norm(arm - np.outer(arm @ ways[0], ways[0]), axis=1)
        kept = leg[off <= np.quantile(off, _LEG_SHARE)]
    worst = float(np.sort(off)[int(_LEG_SHARE * len(off)) - 1])
    return (middle, ways[0]) if worst < _LEG_OFF_MM else None


def _legs_meet(course: FloatArray, at: int) -> FloatArray | None:
    """Return where the two legs of a corner meet; None where they are bent or pass each other."""
    near, far = _LEG
    steps = np.arange(near, far + 1)
    lines = []
    for sign in (-1, 1):
        line = _leg_line(course[(at + sign * steps) % len(course)])
        if line is None:
            return None
        lines.append(line)
    (a, u), (b, v) = lines
    between, cosine = b - a, float(u @ v)
    square = 1.0 - cosine**2
    if square < 0.3:
        return None
    one = a + (between @ u - (between @ v) * cosine) / square * u
    other = b + ((between @ u) * cosine - between @ v) / square * v
    meets = (one + other) / 2.0
    near_by = course[(at + np.arange(-near, near + 1)) % len(course)]
    off = float(np.linalg.norm(near_by - meets, axis=1).min())
    return (
        np.asarray(meets) if max(off, float(np.linalg.norm(one - other))) < _CORNER_OFF_MM else None
    )


def found_part(
    number: int, courses: Sequence[FloatArray], closed: bool, rim: FeatureCurve | None
) -> tuple[FloatArray, tuple[bool, bool]]:
    """Return what a tape finds of a line: to its corners, where it has them; no faded ends."""
    course = courses[number]
    if closed:
        return course, (False, False)
    others = [other for k, other in enumerate(courses) if k != number]
    soft = int(_SOFT_END_MM / STEP_MM)
    points, corners = course, []
    for at in (0, -1):
        corner = _at_rim(course if at == 0 else course[::-1], rim)
        if corner is None:
            corner = _corner(course if at == 0 else course[::-1], others)
        corners.append(corner is not None)
        if corner is None:
            points = points[soft:] if at == 0 else points[:-soft]
        else:
            points = np.insert(points, 0 if at == 0 else len(points), corner, axis=0)
    return evenly(points, STEP_MM) if len(points) > 1 else points, (corners[0], corners[1])


def _corner(course: FloatArray, others: Sequence[FloatArray]) -> FloatArray | None:
    """Return where a line, drawn on beyond its first point, meets another; None without one near.

    Both are drawn on as straight as they run there: lines fade out before a corner.
    """
    gaps = [np.linalg.norm(other - course[0], axis=1) for other in others]
    if min((gap.min() for gap in gaps), default=np.inf) > _CORNER_MM:
        return None
    nearest = int(np.argmin([gap.min() for gap in gaps]))
    at = int(gaps[nearest].argmin())
    one = course[0] - course[min(_RUN, len(course) - 1)]
    low, high = max(at - _RUN, 0), min(at + _RUN, len(others[nearest]) - 1)
    other = others[nearest][high] - others[nearest][low]
    one, other = one / np.linalg.norm(one), other / np.linalg.norm(other)
    square = 1.0 - float(one @ other) ** 2
    if square < 0.1:  # they run on into each other: one line, no corner
        return None
    between = others[nearest][at] - course[0]
    along = (between @ one - (between @ other) * (one @ other)) / square
    beside = ((between @ one) * (one @ other) - between @ other) / square
    meets = (course[0] + along * one + others[nearest][at] + beside * other) / 2.0
    return np.asarray(meets) if abs(along) < 2.0 * _CORNER_MM else None


def circle_of(hole: Opening) -> FloatArray:
    """Return the hole's edge as the circle nearest to it, counter-clockwise from outside."""
    normal = hole.normal / np.linalg.norm(hole.normal)
    across = np.cross(normal, np.eye(3)[int(np.abs(normal).argmin())])
    across /= np.linalg.norm(across)
    count = max(24, round(np.pi * hole.diameter_mm / STEP_MM))
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)[:, None]
    radius = hole.diameter_mm / 2.0
    ring = np.cos(turn) * across + np.sin(turn) * np.cross(normal, across)
    return np.asarray(hole.centre + radius * ring)


def calmed(points: FloatArray, closed: bool) -> FloatArray:
    """Return a line fitted by parabolas over a few millimetres along it: no bend is cut short."""
    step = float(np.linalg.norm(np.diff(points, axis=0), axis=1).mean())
    width = max(5, 2 * round(_CALM_MM / step / 2.0) + 1)
    if len(points) <= 2 * width:
        return points
    if not closed:
        return running_parabolas(points, width, closed=False)
    calm = running_parabolas(points[:-1], width, closed=True)
    return np.concatenate([calm, calm[:1]])


def raggedness(loop: FloatArray) -> float:
    """Return how far a closed rim strays from parabolas over 40 mm of it; of ten places the ninth.

    Places near corners stray as well, but they are few.
    """
    course = evenly(np.concatenate([loop, loop[:1]]), STEP_MM)[:-1]
    width = 2 * round(_RAGGED_OVER_MM / STEP_MM / 2.0) + 1
    if len(course) <= width:
        return float("inf")
    straight = running_parabolas(course, width, closed=True)
    return float(np.quantile(np.linalg.norm(course - straight, axis=1), 0.9))


def evenly(line: FloatArray, step_mm: float) -> FloatArray:
    """Return points evenly along a line, about a step apart, its ends among them.

    >>> evenly(np.array([[0.0, 0, 0], [2, 0, 0], [2, 1, 0]]), 1.0).tolist()
    [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0], [2.0, 1.0, 0.0]]
    """
    return in_pieces(line, max(1, round(line_length(line) / step_mm)))
