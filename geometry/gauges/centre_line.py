"""The tank's centre line over the top: where a tape laid along it from an edge makes its marks."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import FloatArray
from geometry.gauges.feature_curves import evenly
from geometry.gauges.holds import Hold, set_out_on
from geometry.gauges.taped_skin import TapedSkin
from geometry.gauges.tight_tape import tape_over, tape_round
from geometry.polyline import lengths_along, line_length, points_along

_ON_SKIN_MM = 0.8
"""A mark is made where a tight tape touches the metal, not where it bridges a hollow."""

_LEAST_MM = 40.0


@dataclass(frozen=True, eq=False)
class Stretch:
    """A tape along the centre line from an edge to the next, and where it touches the metal.

    Attributes
    ----------
    start, end : Hold
    line : (k, 3) float, mm
        Evenly, about a millimetre apart.
    """

    start: Hold
    end: Hold
    line: FloatArray


def stretches(skin: TapedSkin, holds: tuple[Hold, ...]) -> tuple[Stretch, ...]:
    """Return the tapes between edges on the centre line next to each other, over the outside."""
    on_line = [h for h in holds if abs(h.point[1]) < 4.0 and not h.is_corner]
    turn = [_turned_from_foot(hold.point - skin.middle) for hold in on_line]
    order = [on_line[k] for k in np.argsort(turn)]
    found = []
    for one, other in pairwise(order):
        ends = np.stack([one.point, other.point])
        middle = ends.mean(axis=0)
        outward = (middle - skin.middle) * [1.0, 0.0, 1.0]
        if np.linalg.norm(ends[1] - ends[0]) < 2.0 * _LEAST_MM or np.linalg.norm(outward) < 5.0:
            continue
        tape = tape_over(skin, ends, outward)
        if tape is not None:
            found.append(Stretch(one, other, evenly(tape.line, 1.0)))
    if not found and len(order) == 2 and all(_is_hole(hold) for hold in order):
        found += _round_from_hole(skin, order[0], order[1])
    return tuple(found)


def _round_from_hole(skin: TapedSkin, rear: Hold, front: Hold) -> list[Stretch]:
    """Return the tape from a hole's front edge round nose, foot and rear to its rear edge."""
    tape = tape_round(skin, skin.middle, np.array([0.0, 1.0, 0.0]))
    if tape is None:
        return []
    ring = evenly(tape.line, 1.0)[:-1]
    start, end = (int(np.linalg.norm(ring - hold.point, axis=1).argmin()) for hold in (front, rear))
    ways = [np.roll(each, -at, axis=0) for each, at in ((ring, start), (ring[::-1], -start - 1))]
    lines = [way[: int(np.linalg.norm(way - ring[end], axis=1).argmin()) + 1] for way in ways]
    line = max(lines, key=len).copy()
    line[0], line[-1] = front.point, rear.point
    return [Stretch(front, rear, line)]


def _turned_from_foot(arm: FloatArray) -> float:
    """Return how far round the tank a place lies, from the foot over the rear and top, rad."""
    return float((-np.pi / 2.0 - np.arctan2(arm[2], arm[0])) % (2.0 * np.pi))


def _is_hole(hold: Hold) -> bool:
    return hold.curve is not None and hold.curve.on == "hole"


def place_on(line: FloatArray, run_mm: float) -> FloatArray:
    """Return the place so far along a line."""
    return np.asarray(points_along(line, np.array([run_mm]))[0])


def mark_at(skin: TapedSkin, stretch: Stretch, run_mm: float) -> Hold | None:
    """Return the mark so far along a stretch, set out from its nearer end; None off the metal."""
    line = stretch.line
    point = place_on(line, run_mm)
    if skin.away(point) > _ON_SKIN_MM or not skin.is_held_clear(point, None):
        return None
    along = place_on(line, run_mm + 2.0) - place_on(line, run_mm - 2.0)
    along = along / np.linalg.norm(along)
    run = lengths_along(line)
    if run_mm <= run[-1] / 2.0:
        start, laid = stretch.start, np.concatenate([line[run < run_mm], point[None]])
    else:
        start, laid = stretch.end, np.concatenate([line[run > run_mm][::-1], point[None]])
    if len(laid) < 3 or line_length(laid) < _LEAST_MM:
        return None
    if not skin.is_clear(laid, (_is_hole(start), False)):
        return None
    return set_out_on(skin, start, laid, "over", along)


def mark_near(skin: TapedSkin, found: tuple[Stretch, ...], point: FloatArray) -> Hold | None:
    """Return the mark that is made at a place of the skin on the centre line; None without."""
    for stretch in found:
        away = np.linalg.norm(stretch.line - point, axis=1)
        if away.min() < 1.5:
            run = line_length(stretch.line[: int(away.argmin()) + 1])
            return mark_at(skin, stretch, run)
    return None
