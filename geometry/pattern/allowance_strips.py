"""Strips of metal outside the net line: one along each edge, and what fills the corners between.

A strip ends square to its edge; what stands between two strips at an outward corner is mitred,
round or left out. Which of them, and what is cut out for folding, is `allowance_cuts`' to say.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from geometry.arrays import FloatArray
from geometry.pattern.allowance import AllowanceCorner

FoldKind = Literal["hem", "joggle", "flange"]

CHORD_MM = 0.005
"""Chords of a round lie within this of it."""

MITRE_REACH = 4.0
"""A mitre ends square, so many widths from its corner; reached where an edge turns by 151 degrees.
"""

_LAP_MM = 1e-3
"""By so much what fills a corner laps the strips beside it: no hair stays between them."""

_LAP_NET_MM = 1e-4
"""By so much a strip laps the net; thinner than what is thinned away at its ends."""

_LOOK_MM = 4.0
"""Over so much of an edge its course at a corner is taken."""

_SHARP_RAD = np.deg2rad(35.0)
"""At a turn sharper than this within one edge a mitred edge is mitred; else it is a curve."""


@dataclass(frozen=True)
class Fold:
    """How a strip is folded.

    Attributes
    ----------
    kind : {"hem", "joggle", "flange"}
    angle_rad : float
        How far its metal is turned in the end: pi for a hem, 0 for a joggle, which is turned back
        again; above 0 towards the tank's inside.
    half_zone_mm : float
        From the net line to the bend's tangent line on the blank.
    relief_mm : float
        Diameter of the hole where it crosses another fold.
    sheet_mm : float
    """

    kind: FoldKind
    angle_rad: float
    half_zone_mm: float
    relief_mm: float
    sheet_mm: float


@dataclass(frozen=True, eq=False)
class Strip:
    """The strip of one edge.

    Attributes
    ----------
    points : (k, 2) float, mm
        The edge along the net line, counter-clockwise; the first again at its end where the edge
        is the whole net line.
    width_mm : float
    corner : {"mitred", "notched", "round"}
    fold : Fold or None
        How it is folded; None where it stays flat.
    """

    points: FloatArray
    width_mm: float
    corner: AllowanceCorner = "round"
    fold: Fold | None = None

    @property
    def is_closed(self) -> bool:
        """Whether it runs round the whole net line."""
        return bool(np.array_equal(self.points[0], self.points[-1]))


@dataclass(frozen=True, eq=False)
class Meeting:
    """Where one edge ends and the next begins.

    Attributes
    ----------
    place : (2,) float, mm
    before, after : (2,) float
        Unit directions of the net line, counter-clockwise.
    """

    place: FloatArray
    before: FloatArray
    after: FloatArray

    @property
    def out_before(self) -> FloatArray:
        """(2,) square to the edge before, away from the blank."""
        return outward(self.before)

    @property
    def out_after(self) -> FloatArray:
        """(2,) square to the edge after, away from the blank."""
        return outward(self.after)

    @property
    def turn_rad(self) -> float:
        """How far the net line turns left here: above 0 at an outward corner."""
        cross = self.before[0] * self.after[1] - self.before[1] * self.after[0]
        return float(np.arctan2(cross, self.before @ self.after))

    def at(self, out_before: float, out_after: float) -> FloatArray:
        """Return the place so far outside the two edges carried on straight, (2,)."""
        table = np.stack([self.out_before, self.out_after])
        return np.asarray(self.place + np.linalg.solve(table, [out_before, out_after]))


def outward(direction: FloatArray) -> FloatArray:
    """Return directions turned a quarter to the right: away from the blank, (..., 2)."""
    return np.stack([direction[..., 1], -direction[..., 0]], axis=-1)


def directions(points: FloatArray) -> FloatArray:
    """Return the (k - 1, 2) unit directions along a line, no two points of which are one.

    Strips and what stands between them have to share their corners to the last bit: everything
    takes its directions from here.
    """
    step = np.diff(points, axis=0)
    return np.asarray(step / np.hypot(step[:, 0], step[:, 1])[:, None])


def meeting(one: FloatArray, other: FloatArray) -> Meeting:
    """Return where an edge's points end and the next one's begin."""
    return Meeting(one[-1], directions(one[-2:])[0], directions(other[:2])[0])


def lasting_meeting(one: FloatArray, other: FloatArray) -> Meeting:
    """Return the same by where the edges run over some length: a hair's kink does not turn it."""
    before = np.stack([_point_back(one[::-1]), one[-1]])
    return meeting(before, np.stack([other[0], _point_back(other)]))


def _point_back(points: FloatArray) -> FloatArray:
    """Return the (2,) place so far along a line that its course there can be told."""
    line = shapely.LineString(points)
    back = line.interpolate(min(_LOOK_MM, line.length / 2.0))
    return np.asarray(shapely.get_coordinates(back)[0])


def strip_pieces(strip: Strip) -> list[shapely.Polygon]:
    """Return what a strip is made of: an oblong along every piece of the edge, and its rounds.

    Every point of them lies within the width of the edge, so that their outline lies at the width
    wherever it is not the outline of a neighbour. Own derivation.
    """
    width = strip.width_mm
    if width <= 0.0:
        return []
    points = strip.points
    direction = directions(points)
    out, back = width * outward(direction), _LAP_NET_MM * outward(direction)
    a, b = points[:-1], points[1:]
    oblongs = np.stack([a - back, b - back, b + out, a + out], axis=1)
    pieces = [shapely.Polygon(oblong) for oblong in oblongs]
    joints = [(b[at], direction[at], direction[at + 1]) for at in range(len(direction) - 1)]
    if strip.is_closed:
        joints.append((points[0], direction[-1], direction[0]))
    for place, before, after in joints:
        joint = Meeting(place, before, after)
        mitred = strip.corner == "mitred" and joint.turn_rad > _SHARP_RAD
        pieces += corner_pieces(joint, width, width, "mitred" if mitred else "round")
    return pieces


def corner_pieces(
    joint: Meeting, width_before: float, width_after: float, corner: AllowanceCorner
) -> list[shapely.Polygon]:
    """Return what fills an outward corner between two strips; nothing at an inward one.

    Where the widths differ a round corner keeps to the wider of the two, and a mitre that would cut
    into the wider strip stops at that strip's end.
    """
    turn = joint.turn_rad
    if corner == "notched" or turn <= 0.0 or max(width_before, width_after) <= 0.0:
        return []
    least, widest = sorted((width_before, width_after))
    if least < widest * np.cos(turn):
        return [_step(joint, width_before, width_after)] if least > 0.0 else []
    if corner == "round":
        return [_round(joint, width_before, width_after)]
    if turn > np.pi - 1e-3:
        return []  # the edges lie on each other: their outer lines never cross
    kite, within = _kite(joint, width_before, width_after), _within_reach(joint, widest)
    if within.contains(kite):
        return [kite]
    return [part for part in shapely.get_parts(kite & within) if part.geom_type == "Polygon"]


def _kite(joint: Meeting, width_before: float, width_after: float) -> shapely.Polygon:
    """Return what lies between two strips' ends and their outer lines carried on."""
    tip = joint.at(width_before, width_after)
    return _lapping(joint, width_before, width_after, tip[None])


def _lapping(
    joint: Meeting, width_before: float, width_after: float, between: FloatArray
) -> shapely.Polygon:
    """Return what is bounded by two strips' ends and the points between, lapping both strips."""
    place, back, on = joint.place, _LAP_MM * joint.before, _LAP_MM * joint.after
    ends = (place + width_before * joint.out_before, place + width_after * joint.out_after)
    left = [place - back, ends[0] - back, ends[0]] if width_before > 0.0 else []
    right = [ends[1], ends[1] + on, place + on] if width_after > 0.0 else []
    return shapely.Polygon([place, *left, *between, *right])


def _step(joint: Meeting, width_before: float, width_after: float) -> shapely.Polygon:
    """Return what lies between a narrow strip's end and a wide one, which keeps its own end.

    The narrow one's outer line is carried on into the wide strip, so that the two lap.
    """
    lean, rise = np.cos(joint.turn_rad), _LAP_MM * np.sin(joint.turn_rad)
    if width_after < width_before:
        back, out, narrow = -joint.before, joint.out_before, width_after * joint.out_after
    else:
        back, out, narrow = joint.after, joint.out_after, width_before * joint.out_before
    top = _LAP_MM * back + (min(width_before, width_after) + rise) / lean * out
    return shapely.Polygon(joint.place + np.stack([0.0 * back, _LAP_MM * back, top, narrow]))


def _round(joint: Meeting, width_before: float, width_after: float) -> shapely.Polygon:
    """Return the pie between two strips, as wide as the wider one.

    The narrower one's outer line is carried on to the round.
    """
    widest = max(width_before, width_after)
    skipped = np.arccos(np.array([width_before, width_after]) / widest)
    turn = max(joint.turn_rad - skipped.sum(), 0.0)
    pieces = max(1, int(np.ceil(turn / (0.5 * np.pi / quarter_steps(widest)))))
    angle = np.arctan2(joint.out_before[1], joint.out_before[0]) + skipped[0]
    steps = np.arange(0 if skipped[0] else 1, pieces + (1 if skipped[1] else 0))
    between = angle + turn * steps / pieces
    arc = joint.place + widest * np.stack([np.cos(between), np.sin(between)], axis=1)
    return _lapping(joint, width_before, width_after, arc)


def quarter_steps(radius: float) -> int:
    """Return the chords of a quarter round that keep within `CHORD_MM` of it."""
    step = 2.0 * np.arccos(1.0 - min(CHORD_MM / radius, 0.25))
    return int(np.ceil(0.5 * np.pi / step))


def _within_reach(joint: Meeting, width: float) -> shapely.Polygon:
    """Return the side of a line square to the corner's bisector that a mitre keeps to."""
    reach = MITRE_REACH * width
    along = joint.out_before + joint.out_after
    along = along / np.linalg.norm(along)
    across = np.array([-along[1], along[0]]) * 10.0 * reach
    near, far = joint.place - reach * along, joint.place + reach * along
    return shapely.Polygon([near - across, far - across, far + across, near + across])
