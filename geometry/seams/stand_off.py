"""The line that stands off another by a distance over the surface."""

from itertools import pairwise
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.errors import GeometryError
from geometry.polyline import lengths_along, points_along
from geometry.seams.course import Course, course_of, distance_to_line, turnings
from geometry.seams.ground import SeamGround

Side = Literal["left", "right"]

_STEP_MM = 1.0  # of the walk away from the line, over which the surface's bend is followed
_SAMPLE_MM = 1.5  # along the line
_FAN_RAD = 0.1  # at a corner seen from outside, walks go out at least so close to each other
_SHORT = 1e-3  # of a step: a walk on the surface's edge that falls short by more would leave it
_SAG_MM = 0.15  # points returned lie closer where the line leaves a straight one by more
_SHARP_RAD = 0.35  # a corner sharper than this stays a point of the line
_NEARER = 0.01  # of the distance: a place nearer than this to another part of the line is dropped


class NothingStandsOffError(GeometryError):
    """No place of the surface lies beside the line at the distance asked.

    Attributes
    ----------
    distance_mm : float
    """

    def __init__(self, distance_mm: float) -> None:
        self.distance_mm = distance_mm
        super().__init__(f"nothing lies {distance_mm:.1f} mm beside the line")


def stood_off(
    ground: SeamGround,
    line: FloatArray,
    distance_mm: float,
    side: Side,
    *,
    closed: bool = False,
    spacing_mm: float = 6.0,
) -> FloatArray:
    """Return a line beside another, everywhere as far off over the surface.

    Parameters
    ----------
    ground : SeamGround
    line : (k, 3) float, mm
        On the surface or near it, joined straight; closed when it ends where it begins, too.
    distance_mm : float
        6 to 12 mm keep a weld's heat off a crisp line (common practice, no source).
    side : str
        Seen from outside, looking along the line.
    closed : bool
        Whether the last point is joined to the first.
    spacing_mm : float
        Of the points returned, about.

    Returns
    -------
    (j, 3) float, mm
        In the line's direction; a closed one does not repeat its first. Where the line turns more
        tightly than the distance, what would loop is left out; where the surface ends, it ends.

    Raises
    ------
    NothingStandsOffError
    """
    if not distance_mm > 0.0:
        raise ValueError("a distance of 0 or below")
    line = np.asarray(line, np.float64)
    closed = closed or (len(line) > 2 and bool((line[0] == line[-1]).all()))
    course = _sampled(ground, line, closed)
    starts, ways = _walks(course, 1.0 if side == "left" else -1.0)
    places, arrived = _walked(ground, starts, ways, distance_mm)
    ring = np.concatenate([course.points, course.points[:1]]) if closed else course.points
    own = np.linalg.norm(places - starts, axis=1)
    kept = arrived & (distance_to_line(places, ring) > own - _NEARER * distance_mm)
    places, closed = _longest_run(places, kept, closed, 2.0 * distance_mm)
    if len(places) < 2:
        raise NothingStandsOffError(distance_mm)
    spaced = _spaced(places, closed, spacing_mm)
    return ground.nearest(spaced).points.copy()


def _spaced(places: FloatArray, closed: bool, spacing_mm: float) -> FloatArray:
    """Return a line at even places between its sharp corners; a ring without its first again."""
    whole = np.concatenate([places, places[:1]]) if closed else places
    steps = np.diff(whole, axis=0)
    steps /= np.maximum(np.linalg.norm(steps, axis=1, keepdims=True), 1e-300)
    turn = np.arccos(np.clip((steps[1:] * steps[:-1]).sum(axis=1), -1.0, 1.0))
    gone = lengths_along(whole)
    stops = [0.0, *gone[1:-1][turn > _SHARP_RAD].tolist(), float(gone[-1])]
    at = [0.0]
    for start, end in pairwise(stops):
        count = max(1, round((end - start) / spacing_mm))
        at += np.linspace(start, end, count + 1)[1:].tolist()
    while True:  # closer where it bends
        places = points_along(whole, np.array(at))
        halfway = [(one + other) / 2.0 for one, other in pairwise(at)]
        middles = points_along(whole, np.array(halfway))
        sag = np.linalg.norm(middles - (places[1:] + places[:-1]) / 2.0, axis=1)
        if not (sag > _SAG_MM).any():
            return places[:-1] if closed else places
        at = sorted([*at, *(each for each, far in zip(halfway, sag > _SAG_MM, strict=True) if far)])


def _sampled(ground: SeamGround, line: FloatArray, closed: bool) -> Course:
    """Return the line at close, even places laid on the surface."""
    if closed and not (line[0] == line[-1]).all():
        line = np.concatenate([line, line[:1]])
    total = float(lengths_along(line)[-1])
    if not total > 0.0:
        raise NothingStandsOffError(0.0)
    places = ground.nearest(_spaced(line[:-1] if closed else line, closed, _SAMPLE_MM)).points
    return course_of(ground, places, closed=closed)


def _walks(course: Course, sign: float) -> tuple[FloatArray, FloatArray]:
    """Return from where and which way to walk: square to the line, fanned out round corners."""
    turn = turnings(course.points, course.normals, closed=course.closed)
    if not course.closed:
        turn = np.concatenate([[0.0], turn, [0.0]])
    starts, ways = [], []
    for point, normal, left, angle in zip(
        course.points, course.normals, sign * course.left, turn, strict=True
    ):
        spread = float(angle) if angle * sign < 0.0 else 0.0  # turning away opens a gap
        count = int(abs(spread) / _FAN_RAD) + 1
        shares = np.linspace(-0.5, 0.5, count) if count > 1 else np.zeros(1)
        ahead = np.cross(normal, left)
        for share in shares * spread:
            starts.append(point)
            ways.append(np.cos(share) * left + np.sin(share) * ahead)
    return np.array(starts), np.array(ways)


def _walked(
    ground: SeamGround, starts: FloatArray, ways: FloatArray, distance_mm: float
) -> tuple[FloatArray, BoolArray]:
    """Return where straight walks over the surface end, and which of them went all the way.

    Each step goes ahead in the tangent plane and down to the surface; the way ahead is what the
    step was, laid into the next tangent plane.
    """
    at, ways = starts.copy(), ways.copy()
    gone, stuck = np.zeros(len(at)), np.zeros(len(at), bool)
    most = 4 + 3 * int(np.ceil(distance_mm / _STEP_MM))
    for _ in range(most):
        left = distance_mm - gone
        walking = np.flatnonzero((left > 1e-6 * distance_mm) & ~stuck)
        if not len(walking):
            break
        step = np.minimum(left[walking], _STEP_MM)[:, None]
        normals = ground.normals(at[walking])
        way = ways[walking] - (ways[walking] * normals).sum(axis=1, keepdims=True) * normals
        way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-300)
        aim = at[walking] + step * way
        near = ground.nearest(aim)
        there = near.points
        won = np.linalg.norm(there - at[walking], axis=1)
        short = np.abs(((aim - there) * way).sum(axis=1)) > _SHORT * step[:, 0]
        stuck[walking] = ground.is_on_rim(near) & short
        ways[walking] = np.where(stuck[walking][:, None], way, there - at[walking])
        gone[walking] += won
        at[walking] = there
    return at, np.asarray(gone > (1.0 - 1e-3) * distance_mm)


def _longest_run(
    places: FloatArray, kept: BoolArray, closed: bool, jump_mm: float
) -> tuple[FloatArray, bool]:
    """Return the longest run of the places kept, and whether it still closes.

    Runs are parted where a long piece is missing. Where a loop was left out, the lines before and
    after it are led to where they cross.
    """
    at = np.flatnonzero(kept)
    if not len(at):
        return np.empty((0, 3)), False
    if closed:
        gaps = np.linalg.norm(places[np.roll(at, -1)] - places[at], axis=1)
        at = np.roll(at, -int(gaps.argmax()) - 1)
        closed = bool(gaps.max() <= jump_mm)
    runs: list[list[FloatArray]] = [[]]
    for here, after in zip(at.tolist(), np.roll(at, -1).tolist(), strict=True):
        runs[-1].append(places[here])
        if after == (here + 1) % len(places) or (after == at[0] and not closed):
            continue
        if np.linalg.norm(places[after] - places[here]) > jump_mm:
            runs.append([])
            continue
        into = places[here] - places[here - 1]
        back = places[after] - places[(after + 1) % len(places)]
        crossing = _crossing(places[here], into, places[after], back)
        if crossing is not None and np.linalg.norm(crossing - places[here]) < jump_mm:
            runs[-1].append(crossing)
    lines = [np.array(run).reshape(-1, 3) for run in runs]
    return max(lines, key=lambda run: float(lengths_along(run)[-1])), closed


def _crossing(
    one: FloatArray, into: FloatArray, other: FloatArray, back: FloatArray
) -> FloatArray | None:
    """Return where two straight lines come nearest ahead of both their starts, None if nowhere."""
    ahead = np.stack([into, -back], axis=1)
    shares, _, rank, _ = np.linalg.lstsq(ahead, other - one, rcond=1e-3)
    if rank < 2 or (shares < 0.0).any():
        return None
    return np.asarray((one + shares[0] * into + other + shares[1] * back) / 2.0)
