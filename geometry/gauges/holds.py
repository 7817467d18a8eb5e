"""Places on a tank a tape is held to by hand: corners, edges on the centre line, scribed marks.

A corner is felt with a finger. The middle of an edge is found with a string along the centre line.
A mark is set out with a tape from one of these and scribed, so that it needs nothing but the metal.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.gauges.feature_curves import FeatureCurve
from geometry.gauges.tape_value import Feature, SetOut, SetOutWay, TapePlace, Which
from geometry.gauges.taped_skin import TapedSkin
from geometry.polyline import line_length

FELT_MM = 0.5
"""How far off a corner is held, or a mark scribed. Own choice."""

STRUCK_MM = 1.5
"""How far beside the middle a centre line struck on the tank lies. Own choice."""

_ALONG_MIDDLE = 0.8
"""An edge that crosses the centre line less squarely is not found by it."""

_SQUARELY = 0.8
"""An arc struck from a place crosses a line at least so steeply where a mark is made."""

_ROUND_MM = 50.0
"""Marks are set out by whole steps of this."""

_MARKS_OF_A_CURVE = 4
_LIKE_MM = 8.0
_LIKED_MM = 60.0
_LEAST_SET_OUT_MM = 45.0


@dataclass(frozen=True, eq=False)
class Hold:
    """A place an end of a tape is held to.

    Attributes
    ----------
    place : TapePlace
    point : (3,) float, mm
        Ahead, left and up.
    ways : (k, 3) float
        Unit directions it may be held off along without leaving what it is held to.
    slips : (k, 3) float, mm
        How far, and which way, it lies off without anybody noticing; each happens by itself.
    is_corner : bool
        A corner is held off any way.
    curve, at : FeatureCurve or None, int
        What it lies on, and which of its points it is.
    set_out : FloatArray or None
        (k, 3) the tape it was set out with, from the place it starts at to here.
    """

    place: TapePlace
    point: FloatArray
    ways: FloatArray
    slips: FloatArray
    is_corner: bool = False
    curve: FeatureCurve | None = None
    at: int = -1
    set_out: FloatArray | None = None

    def moved_mm(self, leaving: FloatArray) -> float:
        """Return how much a tape leaving in a direction, length 1, changes by what is unnoticed."""
        free = FELT_MM if self.is_corner else 0.0
        return float(np.linalg.norm([*(self.slips @ leaving), free]))

    def wrong_mm(self, leaving: FloatArray, off_mm: float) -> float:
        """Return how much it changes when the place is taken so far off along its edge."""
        return float(np.abs(self.ways @ leaving).max(initial=0.0)) * off_mm


def holds_of(skin: TapedSkin) -> tuple[Hold, ...]:
    """Return the places found without a tape: corners, then edges on the centre line."""
    found = [*_corners(skin), *(_middles(skin) if skin.axes.named else ())]
    return tuple(hold for hold in found if skin.is_held_clear(hold.point, hold.curve))


def _corners(skin: TapedSkin) -> list[Hold]:
    found: list[Hold] = []
    for curve in skin.curves:
        for at in curve.corner_points:
            point = curve.points[at]
            known = [np.linalg.norm(hold.point - point) for hold in found]
            if min(known, default=np.inf) < 12.0:
                continue
            before, after = _legs(curve, at)
            place = _place(skin, "corner", curve, point)
            found.append(
                Hold(place, point, np.stack([before, after]), np.zeros((0, 3)), True, curve, at)
            )
    return found


def _legs(curve: FeatureCurve, at: int) -> tuple[FloatArray, FloatArray]:
    """Return unit directions in which a curve leaves one of its points, both ways."""
    count, reach = len(curve.points), 6
    ends = [at - reach, at + reach]
    kept = [k % count if curve.closed else int(np.clip(k, 0, count - 1)) for k in ends]
    legs = []
    for k in kept:
        way = curve.points[k] - curve.points[at]
        size = float(np.linalg.norm(way))
        legs.append(way / size if size > 0.0 else way)
    return legs[0], legs[1]


def tangent_at(curve: FeatureCurve, at: int) -> FloatArray:
    """Return the unit direction a curve runs in at one of its points."""
    before, after = _legs(curve, at)
    way = after - before
    size = float(np.linalg.norm(way))
    return np.asarray(way / size if size > 0.0 else after)


def _middles(skin: TapedSkin) -> list[Hold]:
    found: list[Hold] = []
    for curve in skin.curves:
        if curve.on == "hole":
            continue
        left = curve.points[:, 1]
        after = np.roll(left, -1)
        crossed = np.flatnonzero((left >= 0.0) != (after >= 0.0))
        for at in crossed:
            if not curve.closed and at == len(left) - 1:
                continue
            tangent = tangent_at(curve, int(at))
            if abs(tangent[1]) > _ALONG_MIDDLE:
                found.append(_on_curve(skin, curve, int(at), tangent, STRUCK_MM))
    return [hold for k, hold in enumerate(found) if not _is_known(hold, found[:k])]


def _is_known(hold: Hold, before: list[Hold]) -> bool:
    """Return whether a place lies beside one found before: a line along a rim, say."""
    return any(np.linalg.norm(hold.point - other.point) < 12.0 for other in before)


def _on_curve(
    skin: TapedSkin, curve: FeatureCurve, at: int, tangent: FloatArray, slip_mm: float
) -> Hold:
    point = curve.points[at]
    slips = np.stack([slip_mm * tangent, curve.slack[at]])
    return Hold(_place(skin, curve.on, curve, point), point, tangent[None], slips, False,
                curve, at)  # fmt: skip


def _place(
    skin: TapedSkin,
    on: Feature,
    curve: FeatureCurve,
    point: FloatArray,
    set_out: SetOut | None = None,
) -> TapePlace:
    which: Which = skin.which_of(point) if on == "corner" else curve.which
    return TapePlace(
        on, curve.number, skin.axes.from_tank(point[None])[0], point.copy(), which=which,
        set_out=set_out,
    )  # fmt: skip


def hole_middles(skin: TapedSkin) -> tuple[Hold, ...]:
    """Return the nearest and farthest places of round holes on the centre line: front and rear.

    A tape hooked over the edge there slips along it and reads the same.
    """
    found = []
    for curve in skin.curves:
        if curve.on != "hole" or not skin.axes.named:
            continue
        middle = curve.points.mean(axis=0)
        for at in (int(curve.points[:, 0].argmin()), int(curve.points[:, 0].argmax())):
            point = curve.points[at]
            if abs(point[1]) < STRUCK_MM:
                beside = (point - middle) / np.linalg.norm(point - middle)
                place = TapePlace(
                    "hole", curve.number, skin.axes.from_tank(point[None])[0], point.copy(), beside
                )
                tangent = tangent_at(curve, at)
                found.append(
                    Hold(place, point, tangent[None], curve.slack[at][None], False, curve, at)
                )
    return tuple(found)


def marks_of(skin: TapedSkin, holds: tuple[Hold, ...]) -> tuple[Hold, ...]:
    """Return marks set out straight from corners or edges on the centre line onto lines and rims.

    Those of the left with one like it on the right come first, and that one with it.
    """
    curves = [curve for curve in skin.curves if curve.on != "hole"]
    offered = [[mark for hold in holds for mark in _marks(skin, curve, hold)] for curve in curves]
    if not skin.axes.named:
        return tuple(mark for marks in offered for mark in _spread(marks, []))
    right = [mark for marks in offered for mark in marks if mark.point[1] < 0.0]
    found: list[Hold] = []
    for marks in offered:
        left = [mark for mark in marks if mark.point[1] >= 0.0]
        partners = {id(mark): _partner(mark, right) for mark in left}
        found += _spread(left, [mark for mark in left if partners[id(mark)] is not None])
    taken = [partner for mark in found if (partner := _partner(mark, right)) is not None]
    for curve, marks in zip(curves, offered, strict=True):
        has_pairs = any(mark.curve is curve for mark in taken)
        found += [] if has_pairs else _spread([m for m in marks if m.point[1] < 0.0], [])
    return (*found, *taken)


def are_partners(one: Hold, other: Hold) -> bool:
    """Return whether two marks, one each side, are set out alike."""
    first, second = one.place.set_out, other.place.set_out
    if first is None or second is None or one.place.on != other.place.on:
        return False
    apart = float(np.linalg.norm(one.point * [1.0, -1.0, 1.0] - other.point))
    is_alike = first.distance_mm == second.distance_mm and first.place.on == second.place.on
    return is_alike and apart < _LIKE_MM


def _partner(mark: Hold, right: list[Hold]) -> Hold | None:
    near = [other for other in right if are_partners(mark, other)]
    return min(near, key=lambda other: np.linalg.norm(other.slips[0]), default=None)


def _marks(skin: TapedSkin, curve: FeatureCurve, hold: Hold) -> list[Hold]:
    """Return where arcs of whole steps struck from a place cross a curve squarely."""
    away = np.linalg.norm(curve.points - hold.point, axis=1)
    tangents = np.gradient(curve.points, axis=0)
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    rungs = np.floor(away / _ROUND_MM)
    found = []
    for at in np.flatnonzero(np.diff(rungs) != 0.0):
        radius = _ROUND_MM * max(rungs[at], rungs[at + 1])
        share = (radius - away[at]) / (away[at + 1] - away[at])
        point = curve.points[at] + share * (curve.points[at + 1] - curve.points[at])
        towards = (point - hold.point) / np.linalg.norm(point - hold.point)
        square = float(abs(tangents[at] @ towards))
        is_own_side = hold.point[1] * point[1] > -1.0
        if radius < _LEAST_SET_OUT_MM or square < _SQUARELY or not is_own_side:
            continue
        if not skin.is_held_clear(point, curve):
            continue
        line = np.stack([hold.point, point])
        held = hold.moved_mm(towards)
        slip = float(np.hypot(FELT_MM, held)) / square
        set_out = SetOut(hold.place, float(radius), "straight")
        slips = np.stack([slip * tangents[at], curve.slack[at]])
        place = _place(skin, curve.on, curve, point, set_out)
        found.append(Hold(place, point, tangents[at][None], slips, False, curve, int(at), line))
    return found


def _spread(marks: list[Hold], preferred: list[Hold]) -> list[Hold]:
    """Return a few marks, far apart, the surest of those near together and preferred ones first."""
    liked = {id(mark) for mark in preferred}
    left = sorted(marks, key=lambda m: (id(m) not in liked, np.linalg.norm(m.slips[0])))
    taken: list[Hold] = []
    while left and len(taken) < _MARKS_OF_A_CURVE:
        near = [
            min((np.linalg.norm(m.point - t.point) for t in taken), default=_ROUND_MM) for m in left
        ]
        worth = [
            min(gap, 3.0 * _ROUND_MM) - _doubt(mark) + (_LIKED_MM if id(mark) in liked else 0.0)
            for gap, mark in zip(near, left, strict=True)
        ]
        best = max(range(len(worth)), key=lambda k: worth[k])
        if taken and near[best] < 1.4 * _ROUND_MM:
            left.pop(best)
            continue
        taken.append(left.pop(best))
    return taken


def _doubt(mark: Hold) -> float:
    return 40.0 * float(np.linalg.norm(mark.slips[0]))


def _set_out_mm(mark: Hold) -> float:
    return 0.0 if mark.place.set_out is None else mark.place.set_out.distance_mm


def set_out_on(
    skin: TapedSkin, hold: Hold, line: FloatArray, way: SetOutWay, along: FloatArray
) -> Hold:
    """Return a mark on the bare skin of the centre line, at the end of a tape laid from a place."""
    distance = line_length(line)
    point = line[-1]
    leaving = (line[1] - line[0]) / np.linalg.norm(line[1] - line[0])
    slip = float(np.hypot(FELT_MM, hold.moved_mm(leaving)))
    place = TapePlace(
        "skin", -1, skin.axes.from_tank(point[None])[0], point.copy(),
        set_out=SetOut(hold.place, distance, way),
    )  # fmt: skip
    return Hold(place, point, along[None], (slip * along)[None], set_out=line)
