"""A drawn line slid to where the surface has least shape."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.polyline import lengths_along, points_along
from geometry.progress import Report, silent
from geometry.seams.course import Course, course_along
from geometry.seams.ground import SeamGround

_PLACES_EACH_WAY = 12
_FINEST_MM = 0.05
_STEEPEST = 1.0  # sideways per mm ahead
_NEARER = 1e-6  # of two lines as good as each other the nearer to the drawn one
_WORTH = 0.1  # of the mean shape in reach: what a mm of line costs however little shape it meets


@dataclass(frozen=True, eq=False)
class Slid:
    """A line slid sideways.

    Attributes
    ----------
    points : (k, 3) float, mm
        On the surface, to be joined over it.
    moved_mm : (k,) float
        Sideways over the surface from the drawn line, left above 0.
    shape_before, shape_after : float
        Mean shape the line meets, per mm of it, in the unit of the shape given.
    """

    points: FloatArray
    moved_mm: FloatArray
    shape_before: float
    shape_after: float


def slid_to_least_shape(
    ground: SeamGround,
    points: FloatArray,
    shape: FloatArray,
    *,
    within_mm: float = 15.0,
    closed: bool = False,
    along: tuple[FloatArray | None, FloatArray | None] = (None, None),
    spacing_mm: float = 8.0,
    report: Report = silent,
) -> Slid:
    """Return the line beside a drawn one that meets least shape.

    Parameters
    ----------
    ground : SeamGround
    points : (k, 3) float, mm
        What the line was drawn through.
    shape : (n,) float
        At the ground's vertices, not negative: such as the absolute product of both curvatures.
    within_mm : float
        No place of the line slides farther.
    closed : bool
    along : pair of (j, 3) float, mm, or None
        The lines the ends are snapped to and slide along; an end without one is held.
    spacing_mm : float
        Of the points returned.

    Notes
    -----
    Own derivation. The sum of shape over the length, and a tenth of the mean shape in reach for
    every mm so that the line does not wander where there is no shape, is least over all lines that
    take one of 25 places beside each place of the drawn line: found from end to end, exactly. Then
    again among 9 places half as far apart about the line found, until they are `_FINEST_MM` apart.
    """
    if len(shape) != len(ground.mesh.vertices) or not (np.asarray(shape) >= 0.0).all():
        raise ValueError("shape takes one value of 0 or above for each vertex of the ground")
    path = ground.exact(points, closed=closed)
    course = course_along(ground, path, spacing_mm)
    rails = (None, None) if course.closed else along
    u = np.zeros(len(course.points))
    step, reach = within_mm / _PLACES_EACH_WAY, _PLACES_EACH_WAY
    price = 0.0
    while True:
        offsets = np.clip(u[:, None] + step * np.arange(-reach, reach + 1), -within_mm, within_mm)
        report(1.0 - min(1.0, step * _PLACES_EACH_WAY / within_mm), "sliding")
        if not course.closed:
            for end, rail in ((0, rails[0]), (-1, rails[1])):
                if rail is None:
                    offsets[end] = 0.0
        places = _beside(ground, course, offsets, rails)
        meets = _shape_at(ground, shape, places)
        price = price or _WORTH * float(meets.mean()) or 1.0
        nearer = _NEARER * np.abs(offsets) / within_mm
        u = _least(places, offsets, (meets + price) * (1.0 + nearer), course)
        if step <= _FINEST_MM:
            break
        step, reach = step / 2.0, 4
    found = _beside(ground, course, u[:, None], rails)[:, 0]
    before = _mean_shape(
        _shape_at(ground, shape, course.points[:, None])[:, 0], course.points, course
    )
    after = _mean_shape(_shape_at(ground, shape, found[:, None])[:, 0], found, course)
    report(1.0, "sliding")
    return Slid(locked(found), locked(u), before, after)


def _beside(
    ground: SeamGround,
    course: Course,
    offsets: FloatArray,
    rails: tuple[FloatArray | None, FloatArray | None],
) -> FloatArray:
    """Return the (k, j, 3) places beside the course; ends along their rails."""
    places = course.points[:, None] + offsets[..., None] * course.left[:, None]
    laid = ground.nearest(places.reshape(-1, 3)).points.reshape(places.shape).copy()
    laid[offsets == 0.0] = places[offsets == 0.0]
    for end, rail in zip((0, -1), rails, strict=True):
        if rail is not None:
            laid[end] = _on_rail(rail, course.points[end], course.left[end], offsets[end])
    return laid


def _on_rail(
    rail: FloatArray, place: FloatArray, left: FloatArray, offsets: FloatArray
) -> FloatArray:
    """Return places along a rail by how far they are from the one nearest to a place."""
    gone = lengths_along(rail)
    step, start = np.diff(rail, axis=0), rail[:-1]
    share = ((place - start) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-300)
    share = np.clip(share, 0.0, 1.0)
    piece = int(np.linalg.norm(start + share[:, None] * step - place, axis=1).argmin())
    origin = gone[piece] + share[piece] * (gone[piece + 1] - gone[piece])
    sense = 1.0 if step[piece] @ left >= 0.0 else -1.0
    return points_along(rail, np.clip(origin + sense * offsets, 0.0, gone[-1]))


def _shape_at(ground: SeamGround, shape: FloatArray, places: FloatArray) -> FloatArray:
    near = ground.nearest(places.reshape(-1, 3))
    corners = np.asarray(shape, np.float64)[ground.mesh.faces[near.faces]]
    return np.asarray((corners * near.barycentric).sum(axis=1).reshape(places.shape[:-1]))


def _mean_shape(meets: FloatArray, places: FloatArray, course: Course) -> float:
    if course.closed:
        meets, places = np.append(meets, meets[0]), np.concatenate([places, places[:1]])
    length = np.linalg.norm(np.diff(places, axis=0), axis=1)
    return float(((meets[1:] + meets[:-1]) / 2.0 * length).sum() / length.sum())


def _least(
    places: FloatArray, offsets: FloatArray, price: FloatArray, course: Course
) -> FloatArray:
    """Return the offsets, one of each row, of the line of least price."""
    rows = np.arange(len(offsets))
    if not course.closed:
        return np.asarray(offsets[rows, _way(places, offsets, price)])
    half = len(rows) // 2
    turned = np.roll(rows, -half)
    open_way = np.roll(_way(places[turned], offsets[turned], price[turned]), half)
    begin = int(open_way[0])  # in the middle of that line: its loose ends hardly matter here
    lap = np.append(rows, 0)
    lap_places, lap_offsets, lap_price = places[lap], offsets[lap], price[lap].copy()
    barred = np.arange(price.shape[1]) != begin
    lap_price[0, barred] = lap_price[-1, barred] = np.inf
    return np.asarray(offsets[rows, _way(lap_places, lap_offsets, lap_price)[:-1]])


def _way(places: FloatArray, offsets: FloatArray, price: FloatArray) -> IntArray:
    """Return which place of each row the cheapest line from the first row to the last takes."""
    spent = np.where(np.isfinite(price[0]), 0.0, np.inf)
    came = np.zeros(price.shape, np.int64)
    for row in range(1, len(price)):
        gap = places[row][None, :] - places[row - 1][:, None]
        length = np.linalg.norm(gap, axis=2)
        sideways = np.abs(offsets[row][None, :] - offsets[row - 1][:, None])
        cost = length * (price[row - 1][:, None] + price[row][None, :]) / 2.0
        cost[sideways > _STEEPEST * np.maximum(length, 1e-9)] *= 10.0
        total = spent[:, None] + cost
        came[row] = total.argmin(axis=0)
        spent = total.min(axis=0)
    way = [int(spent.argmin())]
    for row in range(len(price) - 1, 0, -1):
        way.append(int(came[row, way[-1]]))
    return np.array(way[::-1], np.int64)
