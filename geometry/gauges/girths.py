"""Tapes right round the tank that mind no small slip: those lying where a slip changes little.

All planes square to the centre plane are tried, leaned any way, and those along it: a tape round
the waist, round the tank square or slanting, and round it lengthwise. How the length changes from
plane to plane tells which are worth measuring closely.
"""

from collections.abc import Iterator

import numpy as np

from geometry.arrays import FloatArray
from geometry.datum import Allowance
from geometry.gauges.centre_line import Stretch, mark_near
from geometry.gauges.faults import line_faults
from geometry.gauges.tape_value import (
    MISPLACED_MM,
    MISTURNED_RAD,
    SLIP_SHARE,
    TapePlace,
    TapeValue,
)
from geometry.gauges.taped_skin import TapedSkin, spread_of
from geometry.gauges.tight_tape import TightTape, hangs_on_rim, tape_round

_LEAN_DEG = 9.0
_APART_MM = 12.0
_WAIST = np.sin(np.deg2rad(50.0))
"""A tape whose plane leans so far from square across runs round the waist."""

_SHORTEST_MM = 200.0
_ALL_LEANS = round(180.0 / _LEAN_DEG)

_ROUGHLY = 2.0
"""From plane to plane a slip is known only so roughly; closely measured it keeps the limit."""


def girth_values(
    skin: TapedSkin, allowed: Allowance, found: tuple[Stretch, ...] = ()
) -> Iterator[TapeValue]:
    """Yield every tape right round that keeps to what was scanned and minds no small slip.

    Where marks are made on the centre line, tapes square across are left to `station_values`, and
    where the others cross it is told by such marks.
    """
    leans = np.deg2rad(np.arange(0.0, 180.0, _LEAN_DEG))
    if found:
        leans = leans[np.abs(np.sin(leans)) > _WAIST]
    ways = np.stack([np.cos(leans), np.zeros(len(leans)), np.sin(leans)], axis=1)
    offsets = np.arange(-0.5, 0.5, _APART_MM / float(np.linalg.norm(skin.size))) * np.linalg.norm(
        skin.size
    )
    lengths = np.array(
        [
            [_length(skin, skin.middle + off * way, way, roughly=True) for off in offsets]
            for way in ways
        ]
    )
    slip = np.abs(_change(lengths, 1)) / _APART_MM * MISPLACED_MM
    turn = np.abs(_change(lengths, 0)) / np.deg2rad(_LEAN_DEG) * MISTURNED_RAD
    rough = np.hypot(slip, turn)
    for row, column in np.argwhere(np.isfinite(rough)):
        if rough[row, column] <= _ROUGHLY * allowed.off_mm(lengths[row, column]):
            value = _value(
                skin, allowed, found, skin.middle + offsets[column] * ways[row], ways[row]
            )
            if value is not None:
                yield value
    across = np.array([0.0, 1.0, 0.0])
    for off in np.arange(-0.4, 0.4, _APART_MM / skin.size[1]) * skin.size[1]:
        value = _value(skin, allowed, found, skin.middle + off * across, across)
        if value is not None:
            yield value


def _length(
    skin: TapedSkin, point: FloatArray, normal: FloatArray, *, roughly: bool = False
) -> float:
    tape = tape_round(skin, point, normal, roughly=roughly)
    return np.nan if tape is None or tape.length < _SHORTEST_MM else tape.length


def _change(lengths: FloatArray, axis: int) -> FloatArray:
    """Return the change to the next plane, half way from the one before to the one after."""
    after, before = np.roll(lengths, -1, axis), np.roll(lengths, 1, axis)
    if axis == 1:
        after[:, -1] = before[:, 0] = np.nan
    elif len(lengths) < _ALL_LEANS:
        after[-1], before[0] = 2.0 * lengths[-1] - before[-1], 2.0 * lengths[0] - after[0]
    else:  # leaned half a turn further the planes come again, from the other side
        after[-1], before[0] = lengths[0, ::-1], lengths[-1, ::-1]
    return np.asarray((after - before) / 2.0)


def _value(
    skin: TapedSkin,
    allowed: Allowance,
    found: tuple[Stretch, ...],
    point: FloatArray,
    normal: FloatArray,
) -> TapeValue | None:
    tape = tape_round(skin, point, normal)
    if tape is None or tape.length < _SHORTEST_MM or not skin.is_clear(tape.line):
        return None
    if hangs_on_rim(skin, tape, point, normal):
        return None
    middle = (tape.line.min(axis=0) + tape.line.max(axis=0)) / 2.0
    limit = allowed.off_mm(tape.length)
    moved, slipped = _moved(skin, tape, middle, normal)
    if not moved <= SLIP_SHARE * limit:
        return None
    greatest = tape.length >= max(slipped)
    return TapeValue(
        way="round",
        places=_places(skin, tape, normal, found),
        reading="greatest" if greatest else "as marked",
        line=skin.axes.from_tank(tape.line),
        length_mm=tape.length,
        limit_mm=limit,
        moved_mm=moved,
        spread=spread_of(tape.line),
        wrong_mm=moved,
        faults=line_faults(skin, tape.line),
    )


def _moved(
    skin: TapedSkin, tape: TightTape, middle: FloatArray, normal: FloatArray
) -> tuple[float, list[float]]:
    """Return how much a slip and a turn change a tape, and what it reads after a slip each way."""
    slipped = [_length(skin, middle + side * MISPLACED_MM * normal, normal) for side in (-1.0, 1.0)]
    changes = [slipped]
    first = np.array([0.0, 1.0, 0.0]) if abs(normal[1]) < 0.5 else np.array([1.0, 0.0, 0.0])
    for way in (first, np.cross(normal, first)):
        turned = [normal + side * np.tan(MISTURNED_RAD) * way for side in (-1.0, 1.0)]
        changes.append([_length(skin, middle, each / np.linalg.norm(each)) for each in turned])
    worst = [np.abs(np.array(each) - tape.length).max() for each in changes]
    return float(np.linalg.norm(worst)), slipped


def _places(
    skin: TapedSkin, tape: TightTape, normal: FloatArray, laid: tuple[Stretch, ...]
) -> tuple[TapePlace, TapePlace]:
    """Return where a tape crosses the middle of the tank: above and below, or ahead and behind."""
    upright = abs(normal[2]) < 0.7
    middle = tape.line[:, 1] if abs(normal[1]) < 0.5 else tape.line[:, 0] - skin.middle[0]
    signs = np.flatnonzero((middle[:-1] >= 0.0) != (middle[1:] >= 0.0))
    share = (middle[signs] / (middle[signs] - middle[signs + 1]))[:, None]
    found = tape.line[signs] + share * (tape.line[signs + 1] - tape.line[signs])
    order = np.argsort(-found[:, 2 if upright else 0])
    first, last = found[order[0]], found[order[-1]]
    return _crossing(skin, first, laid), _crossing(skin, last, laid)


def _crossing(skin: TapedSkin, point: FloatArray, laid: tuple[Stretch, ...]) -> TapePlace:
    mark = mark_near(skin, laid, point)
    set_out = None if mark is None else mark.place.set_out
    return TapePlace("skin", -1, skin.axes.from_tank(point[None])[0], point, set_out=set_out)
