"""Tapes right round through marks: one on the centre line, and two on the edges of the foot.

Where the tape finds a least way round underneath by itself, as it does on the tank, the one mark
on the centre line does.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from geometry.arrays import FloatArray
from geometry.datum import Allowance
from geometry.gauges.centre_line import Stretch, mark_at, place_on
from geometry.gauges.faults import line_faults, set_out_faults
from geometry.gauges.holds import Hold, are_partners
from geometry.gauges.tape_value import (
    MISPLACED_MM,
    MISTURNED_RAD,
    TapePlace,
    TapeValue,
    limit_for,
)
from geometry.gauges.taped_skin import TapedSkin, spread_of
from geometry.gauges.tight_tape import TightTape, hangs_on_rim, tape_round
from geometry.polyline import line_length

STEP_MM = 50.0
"""Marks are set out by whole steps of this from the nearer edge."""

_SHORTEST_MM = 200.0
_TOUCHED_MM = 1.5
_UPRIGHT = np.cos(np.deg2rad(50.0))
_LEANS_RAD = np.deg2rad(np.arange(-36.0, 37.0, 6.0))
_ACROSS = np.array([0.0, 1.0, 0.0])


def station_values(
    skin: TapedSkin, found: tuple[Stretch, ...], marks: Sequence[Hold], allowed: Allowance
) -> Iterator[TapeValue]:
    """Yield a tape right round at every whole step along the centre line that keeps its limit."""
    pairs = _pairs(skin, marks)
    for stretch in found:
        run = line_length(stretch.line)
        steps = np.arange(STEP_MM, run / 2.0 + 1.0, STEP_MM)
        for place in sorted({*steps.tolist(), *(run - steps).tolist()}):
            mark = mark_at(skin, stretch, place)
            if mark is not None:
                yield from _swung(skin, stretch, mark, place, allowed)
                for pair in pairs:
                    yield from _marked(skin, (mark, *pair), allowed)


def _swung(
    skin: TapedSkin, stretch: Stretch, mark: Hold, run_mm: float, allowed: Allowance
) -> Iterator[TapeValue]:
    along = mark.ways[0]
    lean = _least_lean(skin, mark.point, along)
    if lean is None:
        return
    normal = _leaned(along, lean)
    tape = tape_round(skin, mark.point, normal)
    if tape is None or tape.length < _SHORTEST_MM or not skin.is_clear(tape.line):
        return
    if hangs_on_rim(skin, tape, mark.point, normal):
        return
    beside = [place_on(stretch.line, run_mm + slip) for slip in (MISPLACED_MM, -MISPLACED_MM)]
    slipped = [_length(skin, each, normal) - tape.length for each in beside]
    slope = (slipped[0] - slipped[1]) / float(np.linalg.norm(beside[0] - beside[1]))
    worst = float(np.abs(slipped).max())
    off = float(np.linalg.norm(mark.slips[0])) / MISPLACED_MM * worst
    moved = float(np.hypot(off, _turned(skin, mark.point, normal, tape)))
    limit = limit_for(allowed, tape.length, moved)
    if limit is not None:
        faults = line_faults(skin, tape.line) + set_out_faults(skin, mark, slope)
        yield TapeValue(
            way="round",
            places=(mark.place, _underneath(skin, tape, mark.point)),
            reading="least",
            line=skin.axes.from_tank(tape.line),
            length_mm=tape.length,
            limit_mm=limit,
            moved_mm=moved,
            spread=spread_of(tape.line),
            wrong_mm=worst,
            faults=faults,
        )


def _pairs(skin: TapedSkin, marks: Sequence[Hold]) -> list[tuple[Hold, Hold]]:
    """Return pairs of marks on the outer edges of the foot, one each side, that face each other."""
    low = [
        mark
        for mark in marks
        if mark.place.which == "bottom" and skin.depth(mark.point[None])[0] < _TOUCHED_MM
    ]
    return [
        (one, other)
        for one in low
        for other in low
        if one.point[1] > 0.0 > other.point[1] and are_partners(one, other)
    ]


def _marked(
    skin: TapedSkin, held: tuple[Hold, Hold, Hold], allowed: Allowance
) -> Iterator[TapeValue]:
    """Yield the tape right round through three marks."""
    points = np.stack([hold.point for hold in held])
    normal = _normal(points)
    if abs(float(normal @ held[0].ways[0])) < _UPRIGHT:
        return
    tape = _through(skin, points)
    if tape is None or tape.length < _SHORTEST_MM or not skin.is_clear(tape.line):
        return
    if hangs_on_rim(skin, tape, points[0], normal):
        return
    worst, offs, faults = 0.0, [], line_faults(skin, tape.line)
    for k, hold in enumerate(held):
        changes = []
        for sign in (1.0, -1.0):
            moved = points.copy()
            moved[k] += sign * MISPLACED_MM * hold.ways[0]
            slipped = _through(skin, moved)
            changes.append(np.inf if slipped is None else slipped.length - tape.length)
        worst = max(worst, float(np.abs(changes).max()))
        offs.append(float(np.linalg.norm(hold.slips[0])) / MISPLACED_MM * np.abs(changes).max())
        slope = (changes[0] - changes[1]) / (2.0 * MISPLACED_MM)
        faults = faults + set_out_faults(skin, hold, slope)
    moved_mm = float(np.linalg.norm(offs))
    limit = limit_for(allowed, tape.length, moved_mm)
    if limit is not None and np.isfinite(moved_mm):
        yield TapeValue(
            way="round",
            places=(held[0].place, held[1].place),
            reading="as marked",
            line=skin.axes.from_tank(tape.line),
            length_mm=tape.length,
            limit_mm=limit,
            moved_mm=moved_mm,
            spread=spread_of(tape.line),
            wrong_mm=worst,
            faults=faults,
            through=held[2].place,
        )


def _normal(points: FloatArray) -> FloatArray:
    normal = np.cross(points[1] - points[0], points[2] - points[0])
    return np.asarray(normal / np.linalg.norm(normal))


def _through(skin: TapedSkin, points: FloatArray) -> TightTape | None:
    return tape_round(skin, points[0], _normal(points))


def _leaned(along: FloatArray, lean: float) -> FloatArray:
    """Return the normal of a plane square to the centre plane, leaned from square to the skin."""
    return np.asarray(np.cos(lean) * along + np.sin(lean) * np.cross(_ACROSS, along))


def _length(skin: TapedSkin, point: FloatArray, normal: FloatArray) -> float:
    tape = tape_round(skin, point, normal)
    return np.nan if tape is None else tape.length


def _least_lean(skin: TapedSkin, point: FloatArray, along: FloatArray) -> float | None:
    """Return the lean at which a tape through a mark reads least; None where it finds no least."""
    lengths = np.array([_rough(skin, point, _leaned(along, float(lean))) for lean in _LEANS_RAD])
    if not np.isfinite(lengths).all():
        return None
    best = int(lengths.argmin())
    if best in (0, len(lengths) - 1):
        return None
    near = _LEANS_RAD[best] + np.deg2rad([-3.0, -1.5, 0.0, 1.5, 3.0])
    exact = [_length(skin, point, _leaned(along, float(lean))) for lean in near]
    if not np.isfinite(exact).all():
        return None
    bend, slope, _ = np.polyfit(near - near[2], exact, 2)
    if bend <= 0.0:
        return None
    return float(near[2] + np.clip(-slope / (2.0 * bend), np.deg2rad(-3.0), np.deg2rad(3.0)))


def _rough(skin: TapedSkin, point: FloatArray, normal: FloatArray) -> float:
    tape = tape_round(skin, point, normal, roughly=True)
    return np.nan if tape is None else tape.length


def _turned(skin: TapedSkin, point: FloatArray, normal: FloatArray, tape: TightTape) -> float:
    """Return how much a degree off its way changes the tape, leaned and turned at its worst."""
    worst = []
    for way in (_ACROSS, np.cross(normal, _ACROSS)):
        turned = [normal + side * np.tan(MISTURNED_RAD) * way for side in (-1.0, 1.0)]
        lengths = [_length(skin, point, each / np.linalg.norm(each)) for each in turned]
        worst.append(float(np.abs(np.array(lengths) - tape.length).max()))
    return float(np.linalg.norm(worst))


def _underneath(skin: TapedSkin, tape: TightTape, mark: FloatArray) -> TapePlace:
    """Return where the tape crosses the middle of the tank on the side away from its mark."""
    left = tape.line[:, 1]
    at = np.flatnonzero((left[:-1] >= 0.0) != (left[1:] >= 0.0))
    share = (left[at] / (left[at] - left[at + 1]))[:, None]
    found = tape.line[at] + share * (tape.line[at + 1] - tape.line[at])
    far = found[np.linalg.norm(found - mark, axis=1).argmax()]
    return TapePlace("skin", -1, skin.axes.from_tank(far[None])[0], far)
