"""A strip of faces laid flat, the tightest line through it, and the strips beside it.

The faces a line runs through are unfolded into the plane one after another. The shortest line
inside the unfolded strip bends only at vertices of its border; where the far side of such a
vertex holds less than half a turn, the strip passes it on the wrong side.

Points of the plane are complex numbers; seen along the strip, a portal (the edge between two
faces) has a left and a right end.
"""

import cmath
from collections import deque
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from geometry.arrays import FloatArray
from geometry.mesh.face_net import FaceNet

ComplexArray = npt.NDArray[np.complex128]

_STRAIGHT_RAD = 1e-9  # a bend sharper than this on its far side is worth going round
_TOUCH = 1e-7  # of an edge's length: a crossing nearer to a vertex than this counts as at it
_TOUCH_RAD = 2e-7  # unless going to the vertex would bend the line by more than this


@dataclass(frozen=True, eq=False)
class Unfolded:
    """A strip of n + 1 faces in the plane with its n portals.

    Attributes
    ----------
    left, right : n vertices
        Ends of each portal.
    left_place, right_place : n complex, mm
    start, end : complex, mm
        Where the line begins (before the first portal) and ends (after the last).
    """

    left: list[int]
    right: list[int]
    left_place: list[complex]
    right_place: list[complex]
    start: complex
    end: complex


@dataclass(frozen=True)
class Bend:
    """A vertex the line touches, at portals `first` to `last`, which all end in it."""

    vertex: int
    on_left: bool
    first: int
    last: int
    place: complex


def unfolded(net: FaceNet, strip: list[int], start: FloatArray, end: FloatArray) -> Unfolded:
    """Lay the strip flat, its first portal's left end at the origin."""
    faces = np.array(strip)
    count = len(faces) - 1
    rows = np.arange(count)
    corners = net.faces[faces]
    side = (net.across[faces[:-1]] == faces[1:, None]).argmax(axis=1)
    right, left = corners[rows, side], corners[rows, (side + 1) % 3]
    entry = (corners[1:] == left[:, None]).argmax(axis=1)
    beyond = corners[rows + 1, (entry + 2) % 3]
    target = np.concatenate([net.vertices[beyond[:-1]], np.reshape(end, (1, 3))])
    step = _from_portal(net.vertices[left], net.vertices[right], target)
    back = _from_portal(
        net.vertices[left[:1]], net.vertices[right[:1]], np.reshape(start, (1, 3))
    ).conj()
    keeps_left = (left[1:] == left[:-1]).tolist()
    at_left, at_right = 0j, complex(np.linalg.norm(net.vertices[right[0]] - net.vertices[left[0]]))
    first = at_right * complex(back[0])
    left_place, right_place = [at_left], [at_right]
    steps = step.tolist()
    for keep, z in zip(keeps_left, steps[:-1], strict=True):
        new = at_left + (at_right - at_left) * z
        if keep:
            at_right = new
        else:
            at_left = new
        left_place.append(at_left)
        right_place.append(at_right)
    last = at_left + (at_right - at_left) * steps[-1]
    return Unfolded(left.tolist(), right.tolist(), left_place, right_place, first, last)


def _from_portal(left: FloatArray, right: FloatArray, target: FloatArray) -> ComplexArray:
    """Return targets ahead of portals as multiples of the portal's own complex vector."""
    across, reach = right - left, target - left
    square = np.maximum(np.einsum("kx,kx->k", across, across), 1e-300)
    along = np.einsum("kx,kx->k", across, reach)
    off = np.linalg.norm(np.cross(across, reach), axis=1)
    return np.asarray((along + 1j * off) / square)


def tight_bends(flat: Unfolded) -> list[Bend]:
    """Return the bends of the shortest line inside an unfolded strip, in order.

    The funnel of Lee and Preparata (1984, cited from memory): the places reached by straight sight
    from the last sure bend lie between two inward-bent chains; each portal adds one end to one.
    """
    place = [flat.start]
    born: list[tuple[int, bool]] = [(-1, True)]  # portal and side that added each place
    before = [-1]
    apex = 0
    chains: dict[bool, deque[int]] = {True: deque(), False: deque()}

    def add(new: complex, portal: int, on_left: bool) -> None:
        nonlocal apex
        own, other = chains[on_left], chains[not on_left]
        sign = 1.0 if on_left else -1.0
        index = len(place)
        place.append(new)
        born.append((portal, on_left))
        while (
            own and sign * _turn(place[own[-2] if len(own) > 1 else apex], place[own[-1]], new) <= 0
        ):
            own.pop()
        if not own:
            while other and sign * _turn(place[apex], place[other[0]], new) < 0:
                apex = other.popleft()
        before.append(own[-1] if own else apex)
        own.append(index)

    count = len(flat.left)
    for portal in range(count):
        if portal == 0 or flat.left[portal] != flat.left[portal - 1]:
            add(flat.left_place[portal], portal, True)
        if portal == 0 or flat.right[portal] != flat.right[portal - 1]:
            add(flat.right_place[portal], portal, False)
    add(flat.end, count, True)
    line = []
    at = before[-1]
    while at > 0:
        line.append(_bend(flat, *born[at]))
        at = before[at]
    return line[::-1]


def _turn(a: complex, b: complex, c: complex) -> float:
    """Return twice the area of a, b, c: positive for a left turn."""
    return ((b - a).conjugate() * (c - a)).imag


def _bend(flat: Unfolded, portal: int, on_left: bool) -> Bend:
    vertices = flat.left if on_left else flat.right
    places = flat.left_place if on_left else flat.right_place
    first = last = portal
    while last + 1 < len(vertices) and vertices[last + 1] == vertices[portal]:
        last += 1
    while first > 0 and vertices[first - 1] == vertices[portal]:
        first -= 1
    return Bend(vertices[portal], on_left, first, last, places[portal])


def line_length(flat: Unfolded, bends: list[Bend]) -> float:
    """Return the length of the line over its bends, mm."""
    places = [flat.start, *(bend.place for bend in bends), flat.end]
    return sum(abs(b - a) for a, b in pairwise(places))


def crossings(flat: Unfolded, bends: list[Bend]) -> FloatArray:
    """Return where the line crosses each portal: 0 at its left end, 1 at its right."""
    left, right = np.array(flat.left_place), np.array(flat.right_place)
    places = np.array([flat.start, *(bend.place for bend in bends), flat.end])
    piece = np.zeros(len(left), np.int64)
    for bend in bends:
        piece[bend.last + 1 :] += 1
    at, ahead = places[piece], places[piece + 1] - places[piece]
    near = (ahead.conj() * (left - at)).imag
    far = (ahead.conj() * (right - at)).imag
    gap = near - far
    along = np.clip(np.divide(near, gap, out=np.full(len(near), 0.5), where=gap != 0), 0.0, 1.0)
    for bend in bends:
        along[bend.first : bend.last + 1] = 0.0 if bend.on_left else 1.0
    return np.asarray(along)


def touched(flat: Unfolded, bends: list[Bend]) -> list[Bend]:
    """Return the vertices the line passes so closely that it may as well go through them."""
    along = crossings(flat, bends)
    taken = np.zeros(len(along), bool)
    for bend in bends:
        taken[bend.first : bend.last + 1] = True
    found: list[Bend] = []
    for portal in np.flatnonzero(~taken & ((along < _TOUCH) | (along > 1 - _TOUCH))).tolist():
        bend = _bend(flat, portal, bool(along[portal] < 0.5))
        if taken[bend.first : bend.last + 1].any():
            continue
        came, goes = _neighbours_on_line(flat, bends, bend)
        if bend.place == came:
            continue  # two vertices in one place: the line is through one of them already
        turn = cmath.phase((goes - bend.place) / (bend.place - came))
        if abs(turn) < _TOUCH_RAD:
            found.append(bend)
            taken[bend.first : bend.last + 1] = True
    return found


def _neighbours_on_line(flat: Unfolded, bends: list[Bend], bend: Bend) -> tuple[complex, complex]:
    if bend in bends:
        at = bends.index(bend)
        before, after = bends[:at], bends[at + 1 :]
    else:
        before = [other for other in bends if other.last < bend.first]
        after = bends[len(before) :]
    came = before[-1].place if before else flat.start
    return came, (after[0].place if after else flat.end)


def far_side_angle(
    net: FaceNet, strip: list[int], flat: Unfolded, bend: Bend, beside: tuple[complex, complex]
) -> float | None:
    """Return the angle at a bend on the side away from the strip; None at a rim.

    `beside` are the points of the line before and after the bend. A vertex in the very place of the
    bend adds no angle.
    """
    total = net.total_angle(bend.vertex, strip[bend.first])
    if total is None:
        return None
    opposite = flat.right_place if bend.on_left else flat.left_place
    spokes = [beside[0], *opposite[bend.first : bend.last + 1], beside[1]]
    spokes = [spoke - bend.place for spoke in spokes if spoke != bend.place]
    swept = sum(cmath.phase(b / a) for a, b in pairwise(spokes))
    return total - (swept if bend.on_left else -swept)


def wrong_sides(
    net: FaceNet, strip: list[int], flat: Unfolded, bends: list[Bend], asked: list[Bend]
) -> list[Bend]:
    """Return those of the bends asked about that are shorter to pass on their far side."""
    found = []
    for bend in asked:
        beside = _neighbours_on_line(flat, bends, bend)
        angle = far_side_angle(net, strip, flat, bend, beside)
        if angle is not None and angle < np.pi - _STRAIGHT_RAD:
            found.append(bend)
    return found


def passed_on_far_side(net: FaceNet, strip: list[int], bends: list[Bend]) -> list[int]:
    """Return the strip that passes the bends on their other side, leaving out those in the way.

    A line through the same vertices still fits the new strip, so its shortest is no longer.
    """
    new: list[int] = []
    done = 0  # faces of the old strip up to here are in
    for bend in bends:
        if bend.first < done:
            continue
        new += strip[done : bend.first]
        into, out_of = strip[bend.first], strip[bend.last + 1]
        fan = net.fan_from(bend.vertex, into, left=not bend.on_left)
        new += fan[: fan.index(out_of) + 1] if out_of != into else [into]
        done = bend.last + 2
    return new + strip[done:]


def without_detours(
    strip: list[int], at_start: frozenset[int], at_end: frozenset[int]
) -> list[int]:
    """Drop steps into a face and straight back, and faces before the start or beyond the end."""
    kept: list[int] = []
    for face in strip:
        if kept and kept[-1] == face:
            continue
        if len(kept) > 1 and kept[-2] == face:
            kept.pop()
            continue
        kept.append(face)
    first = max(index for index, face in enumerate(kept) if face in at_start)
    kept = kept[first:]
    last = min(index for index, face in enumerate(kept) if face in at_end)
    return kept[: last + 1]
