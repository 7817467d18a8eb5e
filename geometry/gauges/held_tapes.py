"""Tapes between places held by hand: corners, edges on the centre line, marks set out from these.

Straight, over the skin, and along an edge from one place found by finger to the next.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from geometry.arrays import FloatArray
from geometry.datum import Allowance
from geometry.gauges.faults import line_faults, set_out_faults
from geometry.gauges.feature_curves import STEP_MM, FeatureCurve
from geometry.gauges.holds import Hold, are_partners
from geometry.gauges.spans import (
    BESIDE_MM,
    OVER_MM,
    SHORTEST_MM,
    Span,
    straight_way,
    turning,
    value_of,
)
from geometry.gauges.tape_value import (
    MISPLACED_MM,
    SLIP_SHARE,
    TapePlace,
    TapeValue,
    TapeWay,
    limit_for,
)
from geometry.gauges.taped_skin import TapedSkin, spread_of
from geometry.gauges.tight_tape import over_hangs_on_rim, tape_over
from geometry.polyline import line_length

_BARE_EDGE_MM = 0.3
"""How far beside the metal's own edge, or a crisp line, a tape along it lies."""

_SHORTEST_EDGE_MM = 120.0
"""A shorter edge is better taken straight. Own choice."""

_NICK_MM = 8.0
"""So much of an edge may be filled by guess: straight on from side to side of a nick."""

_MIRROR_MM = 6.0
_REACHED_MM = 12.0
"""Callipers reach places so far inside the tank's convex outline: the edge of a lip turned in."""


def held_values(
    skin: TapedSkin, holds: Sequence[Hold], marks: Sequence[Hold], allowed: Allowance
) -> Iterator[TapeValue]:
    """Yield straights and tapes over the skin between any two places."""
    for one, other in combinations([*holds, *marks], 2):
        length = float(np.linalg.norm(other.point - one.point))
        if length < SHORTEST_MM or _are_set_out_alike(one, other):
            continue
        ends = np.stack([one.point, other.point])
        moved, limit = _moved(one, other, ends), allowed.off_mm(length)
        is_sure = moved <= SLIP_SHARE * limit
        may_be_over = moved <= 2.0 * limit and _is_mirrored(one, other)
        if not (is_sure or may_be_over):
            continue
        way = _straight_way(skin, one, other)
        if is_sure and way is not None:
            yield _value(skin, (one, other), way, ends, (limit, 0.0))
        if may_be_over and way != "straight":
            yield from _over(skin, one, other, allowed)


def _are_set_out_alike(one: Hold, other: Hold) -> bool:
    """Return whether both were set out on one side: the setting out is taped again, no more."""
    is_set_out = one.set_out is not None and other.set_out is not None
    return is_set_out and float(one.point[1] * other.point[1]) > 0.0


def _prove_an_edge(one: Hold, other: Hold) -> bool:
    """Return whether a length along an edge between two places is worth taping."""
    if one.set_out is None and other.set_out is None:
        return True
    return are_partners(one, other)


def _is_mirrored(one: Hold, other: Hold) -> bool:
    """Return whether a tape over the skin runs square across, or along the centre line."""
    gap = np.abs(one.point * [1.0, -1.0, 1.0] - other.point)
    across = gap[0] < _MIRROR_MM and gap[1] < 2.0 * _MIRROR_MM and gap[2] < _MIRROR_MM
    return bool(across or max(abs(one.point[1]), abs(other.point[1])) < _MIRROR_MM)


def _straight_way(skin: TapedSkin, one: Hold, other: Hold) -> TapeWay | None:
    """Return how a straight is taken; None where not even callipers reach its ends.

    From place to place of the edge the metal ends in nothing is in the way.
    """
    if all(hold.curve is not None and hold.curve.on == "rim" for hold in (one, other)):
        return "straight"
    way, deep = straight_way(skin, np.stack([one.point, other.point]))
    on_hole = "hole" in (one.place.on, other.place.on)
    return way if way == "straight" or (deep < _REACHED_MM and not on_hole) else None


def _over(skin: TapedSkin, one: Hold, other: Hold, allowed: Allowance) -> Iterator[TapeValue]:
    ends = np.stack([one.point, other.point])
    outward = skin.normal_at(ends).sum(axis=0)
    tape = tape_over(skin, ends, outward)
    if tape is None or tape.length < line_length(ends) + OVER_MM:
        return
    limit = allowed.off_mm(tape.length)
    if _moved(one, other, tape.line) > SLIP_SHARE * limit or not skin.is_clear(tape.line):
        return
    if not over_hangs_on_rim(skin, tape, ends, outward):
        yield _value(skin, (one, other), "over", tape.line, (limit, 0.0))


def _leaving(line: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the unit directions in which a tape leaves its two ends."""
    ways = (line[1] - line[0], line[-2] - line[-1])
    first, last = (way / np.linalg.norm(way) for way in ways)
    return first, last


def _moved(one: Hold, other: Hold, line: FloatArray, beside_mm: float = 0.0) -> float:
    first, last = _leaving(line)
    return float(np.linalg.norm([one.moved_mm(first), other.moved_mm(last), beside_mm]))


def _value(
    skin: TapedSkin,
    held: tuple[Hold, Hold],
    way: TapeWay,
    line: FloatArray,
    sure: tuple[float, float],
) -> TapeValue:
    """Return a value; `sure` holds its limit, and what lying beside its edge changes."""
    limit, beside_mm = sure
    leaving = _leaving(line)
    faults = line_faults(skin, line)
    for hold, towards in zip(held, leaving, strict=True):
        faults = faults + set_out_faults(skin, hold, -float(towards @ hold.ways[0]))
    wrong = [h.wrong_mm(each, MISPLACED_MM) for h, each in zip(held, leaving, strict=True)]
    return TapeValue(
        way=way,
        places=(held[0].place, held[1].place),
        reading="as marked",
        line=skin.axes.from_tank(line),
        length_mm=line_length(line),
        limit_mm=limit,
        moved_mm=_moved(*held, line, beside_mm),
        spread=spread_of(line),
        wrong_mm=max(wrong),
        faults=faults,
    )


def edge_values(
    skin: TapedSkin, holds: Sequence[Hold], marks: Sequence[Hold], allowed: Allowance
) -> Iterator[TapeValue]:
    """Yield lengths along lines and the metal's own edge, from place to place on them.

    Of marks only from one to its like on the other side: else a length proves how its end was set
    out. A closed one that turns
    little is taped whole as well.
    """
    places = [*holds, *marks]
    for curve in skin.curves:
        if curve.on == "hole":
            continue
        if curve.closed and not curve.turns:
            yield from _whole(skin, Span(curve, curve, (0, -1), "as marked", ()), allowed)
        on_it = sorted(
            (_nearest_on(curve.points, hold), k)
            for k, hold in enumerate(places)
            if np.linalg.norm(curve.points - hold.point, axis=1).min() < STEP_MM
        )
        pairs = [
            pair
            for pair in combinations(on_it, 2)
            if _prove_an_edge(places[pair[0][1]], places[pair[1][1]])
        ]
        if curve.closed:
            pairs += [(b, a) for a, b in pairs]
        for (start, one), (end, other) in pairs:
            if _passes_corner(curve, start, end):
                continue
            course = _between(curve.points, start, end)
            yield from _along(skin, curve, (places[one], places[other]), course, allowed)


def _nearest_on(points: FloatArray, hold: Hold) -> int:
    return int(np.linalg.norm(points - hold.point, axis=1).argmin())


def _passes_corner(curve: FeatureCurve, start: int, end: int) -> bool:
    """Return whether an edge turns a corner between two of its points."""
    count = len(curve.points)
    run = (end - start) % count
    return any(3 < (at - start) % count < run - 3 for at in curve.turns)


def _between(points: FloatArray, start: int, end: int) -> FloatArray:
    if start <= end:
        return points[start : end + 1]
    return np.concatenate([points[start:], points[: end + 1]])


def _along(
    skin: TapedSkin,
    curve: FeatureCurve,
    held: tuple[Hold, Hold],
    course: FloatArray,
    allowed: Allowance,
) -> Iterator[TapeValue]:
    line = np.concatenate([held[0].point[None], course[1:-1], held[1].point[None]])
    length = line_length(line)
    if length < _SHORTEST_EDGE_MM:
        return
    beside = _BARE_EDGE_MM * turning(line)
    limit = limit_for(allowed, length, _moved(*held, line, beside))
    if limit is not None and skin.is_clear(line, bridged_mm=_NICK_MM):
        middle = line[len(line) // 2]
        along = TapePlace(
            curve.on,
            curve.number,
            skin.axes.from_tank(middle[None])[0],
            middle.copy(),
            which=curve.which,
        )
        yield replace(_value(skin, held, "edge", line, (limit, beside)), along=along)


def _whole(skin: TapedSkin, span: Span, allowed: Allowance) -> Iterator[TapeValue]:
    points = span.start.points
    line = np.concatenate([points, points[:1]])
    length = line_length(line)
    limit = allowed.off_mm(length)
    moved = float(np.hypot(BESIDE_MM * turning(line), 0.5))
    if length >= SHORTEST_MM and moved <= SLIP_SHARE * limit and skin.is_clear(line):
        yield value_of(skin, span, "edge", line, (limit, moved))
