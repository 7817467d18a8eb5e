"""The analytic tank: one smooth function whose zero is the outside face of the metal.

Tank frame, mm: x to the front (headstock), y to the left, z up; the centre plane is y = 0.
The skin is the rounded meeting of four faces: the crowned top, the wall that runs round the
plan (flanks and nose), the flat seat face and the bottom the edges curl into. Every face is a
*sheet*: a signed distance to first order (below zero inside) with its outward normal, so two
sheets can be joined by an exact arc of a wanted radius. What is cut away (filler hole, open
underside) is told by `kept`. Own derivation, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
Field = Callable[[FloatArray], FloatArray]

LINE_RADIUS = 1.0  # tip radius of the side line, mm
SEAT_EDGE_RADIUS = 1.2
CURL_RADIUS = 5.0
RETURN_WIDTH = 10.0  # how far the bottom edge is turned inward
LINE_CRISP_FROM, LINE_CRISP_TO = 95.0, 425.0  # the tip radius holds between these stations
REAR_CORNER_RADIUS, NOSE_RADIUS = 36.0, 26.0  # what the side line melts into at its two ends

SEAT_POINT = np.array([0.0, 0.0, 24.0])
SEAT_TILT = np.radians(18.0)
SEAT_NORMAL = np.array([-np.cos(SEAT_TILT), 0.0, np.sin(SEAT_TILT)])
SEAT_RISE = np.array([np.sin(SEAT_TILT), 0.0, np.cos(SEAT_TILT)])  # up the face

FILLER_STATION = 372.0
FILLER_DIAMETER = 60.0

DENT_STATION, DENT_HEIGHT = 318.0, 112.0  # on the right side
DENT_RADIUS, DENT_DEPTH = 30.0, 2.0

NOSE_FROM = 372.0  # where the plan starts to round towards the headstock
NOSE_POWER = 2.25
CROWN_SHARE = 0.62  # share of the crown that is a plain parabola; the rest tightens to the edge


def _spline(*knots: tuple[float, float]) -> Callable[[FloatArray], FloatArray]:
    stations, values = zip(*knots, strict=True)
    spline = CubicSpline(stations, values, bc_type="natural")
    return lambda x: np.asarray(spline(x), dtype=np.float64)


half_width = _spline(
    (-40, 66), (60, 83), (170, 110), (290, 136), (370, 140), (460, 138), (580, 120)
)
ridge_height = _spline(
    (-40, 124), (60, 157), (190, 202), (300, 225), (380, 230), (450, 220), (520, 186), (590, 132)
)
line_height = _spline(
    (-40, 102), (80, 131), (200, 158), (320, 175), (400, 173), (470, 158), (590, 118)
)
bottom_height = _spline((-40, 30), (80, 15), (200, 5), (330, 0), (440, 2), (590, 20))
nose_station = _spline((-30, 534), (30, 553), (75, 560), (120, 555), (170, 540), (240, 505))


@dataclass(frozen=True)
class Sheet:
    """One face of the tank at k places: signed distance (k,) in mm and outward normal (k, 3)."""

    distance: FloatArray
    normal: FloatArray


def _sheet(field: Field, points: FloatArray, *, least_slope: float = 0.0) -> Sheet:
    """Return field over its slope, the first-order distance, slopes by central differences."""
    step = 1e-3
    slope = np.empty_like(points)
    for axis in range(3):
        shift = np.zeros(3)
        shift[axis] = step
        slope[:, axis] = (field(points + shift) - field(points - shift)) / (2 * step)
    size = np.maximum(np.linalg.norm(slope, axis=1), max(least_slope, 1e-12))
    return Sheet(field(points) / size, slope / size[:, None])


def _joined(first: Sheet, second: Sheet, radius: FloatArray | float) -> Sheet:
    """Return the meeting of two sheets, its edge an arc of the given radius.

    From the centre of the arc, A and B away from the two sheets, a point lies at
    (A^2 + B^2 - 2AB cos) / sin^2 squared, cos taken between the normals: exact for two planes.
    """
    a, b = first.distance + radius, second.distance + radius
    cos = np.einsum("ij,ij->i", first.normal, second.normal)
    sin2 = np.maximum(1.0 - cos * cos, 1e-12)
    share_a, share_b = (a - b * cos) / sin2, (b - a * cos) / sin2
    on_arc = (share_a > 0) & (share_b > 0)
    reach = np.sqrt(np.maximum(a * a + b * b - 2 * a * b * cos, 1e-24) / sin2)
    arc_normal = share_a[:, None] * first.normal + share_b[:, None] * second.normal
    arc_normal /= np.maximum(np.linalg.norm(arc_normal, axis=1), 1e-12)[:, None]
    ahead = first.distance > second.distance
    return Sheet(
        np.where(on_arc, reach - radius, np.where(ahead, first.distance, second.distance)),
        np.where(
            on_arc[:, None], arc_normal, np.where(ahead[:, None], first.normal, second.normal)
        ),
    )


def _smooth_step(x: FloatArray) -> FloatArray:
    t = np.clip(x, 0.0, 1.0)
    return t * t * t * (10 + t * (6 * t - 15))


def line_radius(x: FloatArray) -> FloatArray:
    """Return the tip radius of the side line at stations x: crisp between, soft at both ends."""
    rear = _smooth_step((LINE_CRISP_FROM - x) / 70.0)
    front = _smooth_step((x - LINE_CRISP_TO) / 95.0)
    return (
        LINE_RADIUS
        + (REAR_CORNER_RADIUS - LINE_RADIUS) * rear
        + (NOSE_RADIUS - LINE_RADIUS) * front
    )


def top_height(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return how high the crowned top stands over the plan."""
    e2 = (y / half_width(x)) ** 2
    drop = ridge_height(x) - line_height(x)
    return np.asarray(ridge_height(x) - drop * e2 * (CROWN_SHARE + (1 - CROWN_SHARE) * e2))


def top_sheet(points: FloatArray) -> Sheet:
    """Return the crowned top as if it ran on past the side lines."""
    return _sheet(lambda p: np.asarray(p[:, 2] - top_height(p[:, 0], p[:, 1])), points)


def flank_half_width(x: FloatArray, z: FloatArray) -> FloatArray:
    """Return how far the flank stands from the centre plane, before the nose rounds it off."""
    below = line_height(x) - z
    height = line_height(x) - bottom_height(x)
    hollow = 7.0 * _smooth_step((x + 10.0) / 130.0) * np.tanh(below / 26.0)
    tuck = 30.0 * (below / height) ** 3
    slant = (x - 150.0) * 0.16
    across = (below - 62.0 + slant) / 50.0
    along = (x - 155.0) / 98.0
    recess = 16.0 * np.exp(-((along * along + across * across) ** 1.6))
    return np.asarray(half_width(x) - hollow - tuck - recess)


def _wall_field(points: FloatArray) -> FloatArray:
    x, y, z = points.T
    ahead = np.maximum(0.0, (x - NOSE_FROM) / np.maximum(nose_station(z) - NOSE_FROM, 60.0))
    beside = np.abs(y) / np.maximum(flank_half_width(x, z), 20.0)
    return np.asarray((beside**NOSE_POWER + ahead**NOSE_POWER) ** (1 / NOSE_POWER) - 1.0)


def _bottom_sheet(points: FloatArray) -> Sheet:
    return _sheet(lambda p: np.asarray(bottom_height(p[:, 0]) - p[:, 2]), points)


def _seat_sheet(points: FloatArray) -> Sheet:
    distance = (points - SEAT_POINT) @ SEAT_NORMAL
    return Sheet(distance, np.broadcast_to(SEAT_NORMAL, points.shape))


def wall_sheet(points: FloatArray) -> Sheet:
    """Return the wall round the plan, flanks and nose, as if it ran on up and down."""
    return _sheet(_wall_field, points, least_slope=1 / 260.0)


def top_and_wall(points: FloatArray) -> Sheet:
    """Return top and wall joined by the side line, as if there were no seat face and no bottom."""
    return _joined(top_sheet(points), wall_sheet(points), line_radius(points[:, 0]))


def undented(points: FloatArray) -> Sheet:
    """Return the symmetric tank, as it was before somebody dropped it, at (k, 3) places."""
    skin = _joined(top_and_wall(points), _seat_sheet(points), SEAT_EDGE_RADIUS)
    return _joined(skin, _bottom_sheet(points), CURL_RADIUS)


def _on_undented(points: FloatArray, *, rounds: int = 12) -> FloatArray:
    for _ in range(rounds):
        sheet = undented(points)
        points = points - sheet.distance[:, None] * sheet.normal
    return np.asarray(points)


def _dent_centre() -> FloatArray:
    x, z = np.array([DENT_STATION]), np.array([DENT_HEIGHT])
    return np.asarray(_on_undented(np.stack([x, -flank_half_width(x, z), z], axis=1))[0])


DENT_CENTRE = _dent_centre()


def dent_depth(points: FloatArray) -> FloatArray:
    """Return how far the dent sinks the skin at (k, 3) places: 2 mm in its middle, 0 outside."""
    away2 = np.sum((points - DENT_CENTRE) ** 2, axis=1) / DENT_RADIUS**2
    return np.asarray(DENT_DEPTH * np.maximum(0.0, 1.0 - away2) ** 3)


def skin(points: FloatArray) -> Sheet:
    """Return distance to the tank's outside (below zero inside) and its normal, (k, 3) places."""
    sheet = undented(points)
    return Sheet(sheet.distance + dent_depth(points), sheet.normal)


def on_skin(points: FloatArray, *, rounds: int = 6) -> FloatArray:
    """Return the places (k, 3) brought onto the tank's outside along the normal."""
    for _ in range(rounds):
        sheet = skin(points)
        points = points - sheet.distance[:, None] * sheet.normal
    return np.asarray(points)


def _filler_frame() -> tuple[FloatArray, FloatArray]:
    x = np.array([FILLER_STATION])
    centre = np.stack([x, np.zeros(1), ridge_height(x)], axis=1)
    return centre[0], top_sheet(centre).normal[0]


FILLER_CENTRE, FILLER_AXIS = _filler_frame()


def beyond_filler(points: FloatArray) -> FloatArray:
    """Return the distance outside the filler hole's cylinder, below zero within it, mm."""
    arm = points - FILLER_CENTRE
    along = arm @ FILLER_AXIS
    across = np.linalg.norm(arm - along[:, None] * FILLER_AXIS, axis=1)
    return np.asarray(np.where(along > -40.0, across - FILLER_DIAMETER / 2, np.inf))


def beyond_opening(points: FloatArray) -> FloatArray:
    """Return how far a place on the skin lies outside the open underside; below zero within it.

    Along flanks and nose the edge is turned in by `RETURN_WIDTH`; towards the seat face the
    return runs out, for a lip cannot follow that corner, and the seat face ends in a plain edge.
    """
    wall = _joined(wall_sheet(points), _seat_sheet(points), SEAT_EDGE_RADIUS)
    height = points[:, 2] - bottom_height(points[:, 0])
    ahead_of_seat = -(points - SEAT_POINT) @ SEAT_NORMAL
    width = RETURN_WIDTH - (RETURN_WIDTH + 7.0) * (1.0 - _smooth_step((ahead_of_seat - 8) / 60.0))
    return np.asarray(np.where(height > 14.0, height, width + wall.distance + height))


def kept(points: FloatArray) -> BoolArray:
    """Return which places of the skin are metal: not in the filler hole, not in the underside."""
    return np.asarray((beyond_filler(points) >= 0) & (beyond_opening(points) >= 0))
