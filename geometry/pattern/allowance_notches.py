"""Notches, slits and relief holes where folded edges meet, so that they fold without colliding.

At an outward corner each strip ends where the other's bend begins, and slants back as far as it
would run into the other once folded. At an inward corner, or where a folded edge goes straight on
into another, a slit parts them. A hole at the foot keeps the metal from tearing.
"""

from dataclasses import dataclass, field

import numpy as np
import shapely

from geometry.arrays import FloatArray
from geometry.metal import BEHIND_TANGENT_MM
from geometry.pattern.allowance_strips import CHORD_MM, Fold, Meeting, Strip

STRAIGHT_ON_RAD = np.deg2rad(10.0)
"""Edges that meet within this of straight go on into one another."""

_LAP_MM = 1e-3
"""What is cut off reaches past lines it shares with the metal by so much: no hair stays on."""

_LEANING = 0.3
"""A strip's end may lean out by this part of its width, by the last hair of its edge."""

_PAST_MM = 1.0
"""How far past a strip's outer side what is cut from it reaches."""


@dataclass(frozen=True, eq=False)
class Notch:
    """What is cut out where two edges meet.

    Attributes
    ----------
    from_before, from_after, from_blank : list of shapely.Polygon
        From the strip of the edge before, of the edge after, and from within the net line.
    hole : (2,) float, mm, or None
        Middle of the relief hole.
    hole_mm : float
        Its diameter.
    """

    from_before: list[shapely.Polygon] = field(default_factory=list)
    from_after: list[shapely.Polygon] = field(default_factory=list)
    from_blank: list[shapely.Polygon] = field(default_factory=list)
    hole: FloatArray | None = None
    hole_mm: float = 0.0


def goes_on(joint: Meeting, one: Strip, other: Strip) -> bool:
    """Return whether one fold simply goes on from one edge along the next, be it wider there."""
    same = one.fold is not None and one.fold == other.fold
    return same and abs(joint.turn_rad) < STRAIGHT_ON_RAD


def notch(joint: Meeting, one: Strip, other: Strip) -> Notch:
    """Return what is cut out between two strips of which at least one is folded."""
    if joint.turn_rad < STRAIGHT_ON_RAD:
        return _slit(joint, one, other)
    if one.fold is None or other.fold is None:
        return Notch()  # both end square to their edges: they part at the corner by themselves
    return _between_folds(joint, one, one.fold, other, other.fold)


def set_back_mm(turn_rad: float, width_mm: float, mine: Fold, other: Fold) -> float:
    """Return how far back from the corner a strip's outer edge ends, so as not to meet the other.

    Folded by a, the edge of a strip of width w stands w |sin a| high and -w cos a inside its own
    fold line; the other strip stands inside its own by as much as its slope gives at that height
    (two hems share the corner evenly). Where the lines so far inside cross, measured along the fold
    line from the corner, the strip has to end: (i' - i cos t) / sin t at a turn t. Own derivation.

    Two hems of 10 mm at a right angle end at 45 degrees; square flanges need not be set back:

    >>> hem, flange = Fold("hem", np.pi, 0, 3, 1.6), Fold("flange", np.pi / 2, 0, 3, 1.6)
    >>> round(set_back_mm(np.pi / 2, 10.0, hem, hem), 9)
    10.0
    >>> set_back_mm(np.pi / 2, 10.0, flange, flange)
    0.0
    """
    inside = -width_mm * np.cos(mine.angle_rad)
    if inside < 1e-9:
        return 0.0
    height = width_mm * abs(np.sin(mine.angle_rad))
    others_inside = 0.0
    if mine.angle_rad * other.angle_rad > 0.0:
        both_hems = mine.kind == other.kind == "hem"
        slope = np.tan(abs(other.angle_rad))
        others_inside = inside if both_hems else -height / slope if abs(slope) > 1e-9 else 0.0
    back = (others_inside - inside * np.cos(turn_rad)) / np.sin(turn_rad)
    return max(0.0, float(back))


def _between_folds(joint: Meeting, one: Strip, fold: Fold, other: Strip, folded: Fold) -> Notch:
    """Return the notch at an outward corner: open from where the bends' inner tangents cross."""
    place, turn = joint.place, joint.turn_rad
    foot = joint.at(-fold.half_zone_mm, -folded.half_zone_mm)
    ends = (
        max(0.0, float((place - foot) @ joint.before)),
        max(0.0, float((foot - place) @ joint.after)),
    )
    backs = (
        set_back_mm(turn, one.width_mm, fold, folded),
        set_back_mm(turn, other.width_mm, folded, fold),
    )
    before, after = -joint.before, joint.after
    past = _LAP_MM * np.stack([joint.out_before, joint.out_before + joint.out_after])
    kite = shapely.Polygon(
        [
            place + past[1],
            place + ends[0] * before + past[0],
            foot,
            place + ends[1] * after + _LAP_MM * joint.out_after,
        ]
    )
    hole_mm = max(fold.relief_mm, folded.relief_mm)
    behind = hole_mm / 2.0 - BEHIND_TANGENT_MM
    return Notch(
        [_end(place, (before, joint.out_before), one.width_mm, ends[0], backs[0])],
        [_end(place, (after, joint.out_after), other.width_mm, ends[1], backs[1])],
        [kite] if kite.is_valid and kite.area > 0.0 else [],
        joint.at(behind - fold.half_zone_mm, behind - folded.half_zone_mm),
        hole_mm,
    )


def _end(
    place: FloatArray, axes: tuple[FloatArray, FloatArray], width: float, end: float, back: float
) -> shapely.Polygon:
    """Return what is cut off a strip's end: from the corner to its slanting side, and past it.

    The axes run along the edge, away from the corner, and out of the blank.
    """
    along, out = axes
    reach = (width + _PAST_MM) / width if width > 0.0 else 1.0
    tip = place + (end + back * reach) * along + reach * width * out
    base = -_LAP_MM * out
    return shapely.Polygon(
        [
            place - _LAP_MM * along + base,
            place + end * along + base,
            place + end * along,
            tip,
            place - (_LAP_MM + _LEANING * width) * along + reach * width * out,
        ]
    )


def _slit(joint: Meeting, one: Strip, other: Strip) -> Notch:
    """Return a slit as wide as the sheet is thick, halfway between two strips, and its hole."""
    folds = [strip.fold for strip in (one, other) if strip.fold is not None]
    halfway = joint.out_before + joint.out_after
    halfway = halfway / np.linalg.norm(halfway)
    hole_mm = max(fold.relief_mm for fold in folds)
    zones = [0.0 if strip.fold is None else strip.fold.half_zone_mm for strip in (one, other)]
    behind = hole_mm / 2.0 - BEHIND_TANGENT_MM
    hole = joint.place + (behind - max(zones)) * halfway
    if len(folds) == 2 and abs(joint.turn_rad) >= STRAIGHT_ON_RAD:
        hole = joint.at(behind - zones[0], behind - zones[1])
    lean = max(np.cos(joint.turn_rad / 2.0), 0.2)
    far = (max(one.width_mm, other.width_mm) + _PAST_MM) / lean
    tip = joint.place + far * halfway
    half = folds[0].sheet_mm / 2.0
    slit = shapely.LineString([hole, tip]).buffer(half, cap_style="flat")
    root = shapely.LineString([hole, joint.place]).buffer(half, cap_style="square")
    sides = [
        [_beyond(joint, tip, far * lean * out, on)] if joint.turn_rad < -1e-6 else []
        for out, on in ((joint.out_before, joint.before), (joint.out_after, -joint.after))
    ]
    return Notch([slit, *sides[0]], [slit, *sides[1]], [root], hole, hole_mm)


def _beyond(joint: Meeting, tip: FloatArray, end: FloatArray, on: FloatArray) -> shapely.Polygon:
    """Return what of a strip lies on the other's side of a slit, up to its end and past that."""
    past = (_LAP_MM + _LEANING * float(np.linalg.norm(end))) * on
    return shapely.Polygon([joint.place, tip, joint.place + end + past, joint.place + _LAP_MM * on])


def hole_outline(middle: FloatArray, diameter_mm: float) -> shapely.Polygon:
    """Return a round hole as a polygon whose points lie on it."""
    half_step = np.arccos(1.0 - CHORD_MM / (diameter_mm / 2.0))
    steps = int(np.ceil(0.25 * np.pi / half_step))
    return shapely.Point(middle).buffer(diameter_mm / 2.0, quad_segs=steps)
