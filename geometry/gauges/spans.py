"""Tapes between two things found on the tank: character lines, their corners, edges of round holes.

Ends lie where a slip along their line changes little: that is worked out for every place tried.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.datum import Allowance
from geometry.gauges.faults import line_faults
from geometry.gauges.feature_curves import STEP_MM, FeatureCurve
from geometry.gauges.tape_value import (
    MISPLACED_MM,
    SLIP_SHARE,
    Feature,
    Reading,
    TapePlace,
    TapeValue,
    TapeWay,
)
from geometry.gauges.taped_skin import TapedSkin, spread_of
from geometry.gauges.tight_tape import over_hangs_on_rim, tape_over
from geometry.polyline import line_length

_OFF_MIDDLE_MM = 10.0
"""What lies nearer to the centre plane is on neither side."""

SHORTEST_MM = 80.0
"""A shorter tape proves too little."""

_TRIED_MM = 24.0
"""A tape is tried at places so far apart along a line."""

_SLIP = round(MISPLACED_MM / STEP_MM)

_CORNER_SLIP_MM = 0.5
"""How far off a tape is held at a corner. Own choice."""

BESIDE_MM = 0.5
"""How far beside an edge a tape along it lies: it reads so much less for each radian it turns."""

IN_THE_WAY_MM = 1.0
"""A straight tape that runs deeper than this inside the tank's convex outline has metal in its way,
unless it bridges a hollow, which the outline bridges too."""

OVER_MM = 0.3
"""A tape over the skin that is longer than the straight by less is the straight itself."""


Slips = tuple[tuple[int, int], ...]


@dataclass(frozen=True, eq=False)
class Span:
    """Where a tape between two curves starts and ends.

    Attributes
    ----------
    start, end : FeatureCurve
    at : (int, int)
        Which of their points.
    reading : "greatest", "least" or "as marked"
    slips : tuple of tuples of (int, int)
        Where it may be held instead without anybody noticing, for each slip that may happen by
        itself.
    """

    start: FeatureCurve
    end: FeatureCurve
    at: tuple[int, int]
    reading: Reading
    slips: tuple[Slips, ...]

    def ends(self, at: tuple[int, int] | None = None) -> FloatArray:
        """Return (2, 3) both ends, ahead, left and up; those after a slip if asked."""
        i, j = self.at if at is None else at
        return np.stack([self.start.points[i], self.end.points[j]])

    def straight_mm(self, at: tuple[int, int]) -> float:
        """Return how far apart the ends are, held at some of the curves' points."""
        return line_length(self.ends(at))

    def slack(self, line: FloatArray) -> float:
        """Return how much the ends' places across their edges change the length of a tape."""
        leaving = (line[1] - line[0], line[-2] - line[-1])
        curves = (self.start, self.end)
        changes = [
            curve.slack[at] @ way / np.linalg.norm(way)
            for curve, at, way in zip(curves, self.at, leaving, strict=True)
        ]
        return float(np.linalg.norm(changes))

    @property
    def is_at_corners(self) -> bool:
        """Whether both ends are corners."""
        return not self.slips


def span_values(
    skin: TapedSkin, allowed: Allowance, *, with_marked: bool = True
) -> Iterator[TapeValue]:
    """Yield every tape between two features that keeps to what was scanned and minds no slip.

    Parameters
    ----------
    skin : TapedSkin
    allowed : Allowance
    with_marked : bool
        Those too that find no place of their own when swung, told by how far ahead and up.
    """
    for span in _spans(skin.curves):
        if span.reading == "as marked" and not with_marked:
            continue
        ends = span.ends()
        straight = line_length(ends)
        if straight < SHORTEST_MM or not all(_end_is_clear(skin, span)):
            continue
        moved = _moved(span, ends, span.straight_mm)
        limit = allowed.off_mm(straight)
        if moved <= SLIP_SHARE * limit:
            way, deep = straight_way(skin, ends)
            on_hole = "hole" in (span.start.on, span.end.on)
            if way == "straight" or (not on_hole and deep <= IN_THE_WAY_MM):
                yield value_of(skin, span, way, ends, (limit, moved))
        if moved <= 2.0 * limit:
            yield from _over(skin, span, allowed)


def straight_way(skin: TapedSkin, ends: FloatArray) -> tuple[TapeWay, float]:
    """Return how a straight is taken, and how far inside the convex outline its deeper end lies."""
    run = ends[1] - ends[0]
    deep = skin.depth(ends[0] + np.array([0.0, 0.5, 1.0])[:, None] * run)
    deeper = float(max(deep[0], deep[2]))
    if deep.max() <= IN_THE_WAY_MM:
        deep = skin.depth(ends[0] + np.linspace(0.0, 1.0, 25)[:, None] * run)
    return "straight" if deep.max() <= IN_THE_WAY_MM else "callipers", deeper


def value_of(
    skin: TapedSkin, span: Span, way: TapeWay, line: FloatArray, sure: tuple[float, float]
) -> TapeValue:
    """Return a value; `sure` holds how far it may be off, and how far it moves."""
    limit, moved = sure
    places = tuple(
        _place(skin, curve, at) for curve, at in zip((span.start, span.end), span.at, strict=True)
    )
    return TapeValue(
        way=way,
        places=(places[0], places[1]),
        reading=span.reading,
        line=skin.axes.from_tank(line),
        length_mm=line_length(line),
        limit_mm=limit,
        moved_mm=moved,
        spread=spread_of(line),
        wrong_mm=moved,
        faults=line_faults(skin, line),
    )


def _place(skin: TapedSkin, curve: FeatureCurve, at: int) -> TapePlace:
    point = curve.points[at].copy()
    on: Feature = curve.on
    last = at in (-1, len(curve.points) - 1)
    if not curve.closed and ((at == 0 and curve.corners[0]) or (last and curve.corners[1])):
        on = "corner"
    where = skin.axes.from_tank(point[None])[0]
    if on != "hole":
        return TapePlace(on, curve.number, where, point, which=curve.which)
    beside = point - curve.points.mean(axis=0)
    return TapePlace(on, curve.number, where, point, beside / np.linalg.norm(beside))


def _over(skin: TapedSkin, span: Span, allowed: Allowance) -> Iterator[TapeValue]:
    """Yield the tape over the skin, on the outer side of the straight between its ends."""
    ends = span.ends()
    outward = skin.normal_at(ends).sum(axis=0)
    tape = tape_over(skin, ends, outward)
    if tape is None or tape.length < line_length(ends) + OVER_MM:
        return
    spare = (span.start.on == "hole", span.end.on == "hole")
    if not skin.is_clear(tape.line, spare) or over_hangs_on_rim(skin, tape, ends, outward):
        return
    limit = allowed.off_mm(tape.length)

    def slipped(slip: tuple[int, int]) -> float:
        other = tape_over(skin, span.ends(slip), outward)
        return np.inf if other is None else other.length

    moved = _moved(span, tape.line, slipped)
    if moved <= SLIP_SHARE * limit:
        yield value_of(skin, span, "over", tape.line, (limit, moved))


def _end_is_clear(skin: TapedSkin, span: Span) -> Iterator[bool]:
    for point, curve in zip(span.ends(), (span.start, span.end), strict=True):
        yield curve.on == "hole" or skin.is_clear(np.stack([point, point]))


def _moved(span: Span, line: FloatArray, slipped: Callable[[tuple[int, int]], float]) -> float:
    """Return how much all that may slip together changes a tape, each slip taken at its worst."""
    length = line_length(line)
    worst = [max(abs(slipped(slip) - length) for slip in slips) for slips in span.slips if slips]
    corner = _CORNER_SLIP_MM if span.is_at_corners else 0.0
    return float(np.linalg.norm([*worst, span.slack(line), corner]))


def turning(line: FloatArray) -> float:
    """Return by how much a line turns over its length, rad, its scatter smoothed out."""
    steps = line[10:] - line[:-10] if len(line) > 20 else np.diff(line, axis=0)
    ways = steps / np.linalg.norm(steps, axis=1)[:, None]
    cosines = np.einsum("ij,ij->i", ways[10:], ways[:-10])[::10] if len(ways) > 20 else np.ones(1)
    return float(np.arccos(np.clip(cosines, -1.0, 1.0)).sum())


def _spans(curves: tuple[FeatureCurve, ...]) -> Iterator[Span]:
    """Yield spans worth a look between every two curves, and across each."""
    for first, one in enumerate(curves):
        for other in curves[first:]:
            apart = _distances(one.points, other.points)
            if other is one:
                yield from _across(one, one)
            elif _face_each_other(one, other):
                yield from _across(one, other)
            else:
                yield from _nearest(one, other, apart)
                yield from _nearest(other, one, apart.T)
                yield from _least(one, other, apart)


def _distances(one: FloatArray, other: FloatArray) -> FloatArray:
    square = (one**2).sum(axis=1)[:, None] + (other**2).sum(axis=1) - 2.0 * one @ other.T
    return np.asarray(np.sqrt(np.maximum(square, 0.0)))


def _neighbours(curve: FeatureCurve, at: int) -> list[int]:
    """Return the places a slip away, both ways; fewer at an end."""
    count = len(curve.points)
    if curve.closed:
        return [(at - _SLIP) % count, (at + _SLIP) % count]
    return [k for k in (at - _SLIP, at + _SLIP) if 0 <= k < count]


def _nearest(one: FeatureCurve, other: FeatureCurve, apart: FloatArray) -> Iterator[Span]:
    """Yield spans from places along one curve to where the other is nearest."""
    least = apart.min(axis=1)
    step = round(_TRIED_MM / STEP_MM)
    tried: dict[int, Reading] = dict.fromkeys(range(step // 2, len(least), step), "as marked")
    tried |= {int(i): "greatest" for i in np.flatnonzero(_peaks(least, one.closed))}
    tried |= {int(i): "least" for i in np.flatnonzero(_peaks(-least, one.closed))}
    for i, reading in sorted(tried.items()):
        j = int(apart[i].argmin())
        near = _neighbours(one, i)
        beside = _neighbours(other, j)
        is_least = len(beside) == 2 and bool(np.isfinite(apart[i, beside]).all())
        if not is_least or len(near) < 2:
            continue
        slips: tuple[Slips, ...] = (tuple((k, int(apart[k].argmin())) for k in near),)
        if other.on == "hole":  # a tape hooked over a round edge slips along it as well
            slips += (tuple((i, k) for k in beside),)
        yield Span(one, other, (i, j), reading, slips)


def _peaks(values: FloatArray, closed: bool) -> BoolArray:
    """Return where values are greater than all within a few slips, one for each peak."""
    reach = 4 * _SLIP
    best = np.isfinite(values)
    for shift in range(1, reach + 1):
        after, before = np.roll(values, -shift), np.roll(values, shift)
        if not closed:
            after[-shift:] = before[:shift] = np.inf
        best &= (values >= after) & (values > before)
    return best


def _least(one: FeatureCurve, other: FeatureCurve, apart: FloatArray) -> Iterator[Span]:
    """Yield where two curves come nearest to each other, slips of both ends told."""
    i, j = (int(k) for k in np.unravel_index(int(apart.argmin()), apart.shape))
    ends = [
        not curve.closed and at in (0, len(curve.points) - 1)
        for curve, at in ((one, i), (other, j))
    ]
    if not any(ends):
        yield Span(one, other, (i, j), "least", _each_end(one, other, (i, j)))


def _each_end(one: FeatureCurve, other: FeatureCurve, at: tuple[int, int]) -> tuple[Slips, Slips]:
    i, j = at
    return (
        tuple((k, j) for k in _neighbours(one, i)),
        tuple((i, k) for k in _neighbours(other, j)),
    )


def _face_each_other(one: FeatureCurve, other: FeatureCurve) -> bool:
    """Return whether two lines run along the two sides of the tank."""
    first, second = (curve.points[:, 1] for curve in (one, other))
    if np.median(first) < 0.0:
        first, second = second, first
    return bool((first > _OFF_MIDDLE_MM).all() and (second < -_OFF_MIDDLE_MM).all())


def _across(one: FeatureCurve, other: FeatureCurve) -> Iterator[Span]:
    """Yield spans square across the tank: between lines along its sides, or across one line."""
    if one is other and one.on == "hole":
        return
    left, right = one.points, other.points
    there = np.hypot(left[:, None, 0] - right[:, 0], left[:, None, 2] - right[:, 2])
    if one is not other:  # lines of the two sides need not stand equally high
        there = np.abs(left[:, None, 0] - right[:, 0])
    facing = (left[:, None, 1] > _OFF_MIDDLE_MM) & (right[:, 1] < -_OFF_MIDDLE_MM)
    facing |= (left[:, None, 1] < -_OFF_MIDDLE_MM) & (right[:, 1] > _OFF_MIDDLE_MM)
    there[~facing] = np.inf
    if one is other:  # once is enough
        there[left[:, 1] < 0.0] = np.inf
    partner, off = there.argmin(axis=1), there.min(axis=1)
    width = np.linalg.norm(left - right[partner], axis=1)
    width[off > 2.0 * STEP_MM] = np.nan
    step = round(_TRIED_MM / STEP_MM)
    tried: dict[int, Reading] = dict.fromkeys(range(step // 2, len(width), step), "as marked")
    tried |= {int(i): "greatest" for i in np.flatnonzero(_peaks(width, one.closed))}
    for i, reading in sorted(tried.items()):
        at = (i, int(partner[i]))
        if np.isfinite(width[i]):
            yield Span(one, other, at, reading, _each_end(one, other, at))
