"""A line over a surface at places along it, with the way to its left there."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.mesh import SurfacePath
from geometry.polyline import lengths_along, points_along
from geometry.seams.ground import SeamGround


@dataclass(frozen=True, eq=False)
class Course:
    """Places along a line. Seen from outside, looking along the line.

    Attributes
    ----------
    points : (k, 3) float, mm
        A closed course does not repeat its first.
    normals : (k, 3) float
        Of the surface, smoothed, outward, unit length.
    left : (k, 3) float
        Square to the line in the surface, unit length.
    closed : bool
    """

    points: FloatArray
    normals: FloatArray
    left: FloatArray
    closed: bool

    def __post_init__(self) -> None:
        for array in (self.points, self.normals, self.left):
            locked(array)


def course_of(ground: SeamGround, points: FloatArray, *, closed: bool) -> Course:
    """Return places of the surface, in order, with the way to the left of the line they make."""
    normals = ground.normals(points)
    ahead = _directions(points, closed)
    left = np.cross(normals, ahead)
    left /= np.maximum(np.linalg.norm(left, axis=1, keepdims=True), 1e-300)
    return Course(np.array(points, np.float64), normals, left, closed)


def course_along(ground: SeamGround, path: SurfacePath, spacing_mm: float) -> Course:
    """Return even places along a path, the points it was drawn through among them."""
    closed = bool((path.points[0] == path.points[-1]).all()) and len(path.points) > 2
    gone = lengths_along(path.points)
    stops = gone[path.corners]
    places = [np.array([0.0])]
    for start, end in pairwise(stops.tolist()):
        count = max(1, round((end - start) / spacing_mm))
        places.append(np.linspace(start, end, count + 1)[1:])
    at = np.concatenate(places)
    points = points_along(path.points, at[:-1] if closed else at)
    return course_of(ground, points, closed=closed)


def piece_between(
    line: FloatArray, start: FloatArray, end: FloatArray, *, closed: bool = False
) -> FloatArray:
    """Return what of a line lies between its points nearest two places, from one to the other.

    Of a closed line, which does not repeat its first point, the shorter way round.

    >>> ring = np.array([[0.0, 0, 0], [9, 0, 0], [9, 9, 0], [0, 9, 0]])
    >>> piece_between(ring, ring[3], ring[0], closed=True).tolist()
    [[0.0, 9.0, 0.0], [0.0, 0.0, 0.0]]
    """
    one = int(np.linalg.norm(line - start, axis=1).argmin())
    other = int(np.linalg.norm(line - end, axis=1).argmin())
    straight = line[one : other + 1] if one <= other else line[other : one + 1][::-1]
    if not closed:
        return straight
    if one <= other:
        round_it = np.concatenate([line[: one + 1][::-1], line[other:][::-1]])
    else:
        round_it = np.concatenate([line[one:], line[: other + 1]])
    return min(straight, round_it, key=lambda way: float(lengths_along(way)[-1]))


def turnings(points: FloatArray, normals: FloatArray, *, closed: bool) -> FloatArray:
    """Return by how much a line turns in the surface at its points, radians, left above 0.

    All k of a closed line, the k - 2 inner ones of an open one.

    >>> square = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    >>> float(turnings(square, np.tile([0.0, 0, 1], (4, 1)), closed=True).sum() / np.pi)
    2.0
    """
    if closed:
        came, goes = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    else:
        steps = np.diff(points, axis=0)
        came, goes, normals = steps[:-1], steps[1:], normals[1:-1]
    came = came - (came * normals).sum(axis=1, keepdims=True) * normals
    goes = goes - (goes * normals).sum(axis=1, keepdims=True) * normals
    sine = (np.cross(came, goes) * normals).sum(axis=1)
    return np.asarray(np.arctan2(sine, (came * goes).sum(axis=1)))


def distance_to_line(points: FloatArray, line: FloatArray) -> FloatArray:
    """Return the (j,) distances of points to a line joined straight, mm."""
    start, step = line[:-1], np.diff(line, axis=0)
    square = np.maximum((step * step).sum(axis=1), 1e-300)
    found = []
    for point in points:
        share = np.clip(((point - start) * step).sum(axis=1) / square, 0.0, 1.0)
        found.append(np.linalg.norm(start + share[:, None] * step - point, axis=1).min())
    return np.array(found)


def _directions(points: FloatArray, closed: bool) -> FloatArray:
    """Return the way ahead at each point: the mean of the ways into it and out of it."""
    if closed:
        steps = np.roll(points, -1, axis=0) - points
        into, out_of = np.roll(steps, 1, axis=0), steps
    else:
        steps = np.diff(points, axis=0)
        into = np.concatenate([steps[:1], steps])
        out_of = np.concatenate([steps, steps[-1:]])
    ways = [
        each / np.maximum(np.linalg.norm(each, axis=1, keepdims=True), 1e-300)
        for each in (into, out_of)
    ]
    return np.asarray(ways[0] + ways[1])
