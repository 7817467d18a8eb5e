"""Witness marks: numbered lines across the net line that meet their like on the other panel.

How far apart they are is a rule of the formed seam alone, which both panels share. Common practice,
no source: 50 mm apart where the seam is straight; where it bends, so close that it turns by half a
radian from one to the next (25 mm apart on a radius of 50 mm), but never nearer than 15 mm.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import FloatArray, IntArray, locked
from geometry.pattern.edges import closed_up
from geometry.pattern.sources import FlatSheet, SeamHalf
from geometry.polyline import lengths_along

_LOOK_MM = 4.0
"""How far along the rim its direction at a mark is taken."""

_SHORTEST_SEAM_MM = 20.0
_TURN_RAD = 0.5
_CLOSEST_MM = 15.0
_BEND_OVER_MM = 8.0
"""A seam's bend is how it turns from so far before a place to so far beyond it."""

_STEP_MM = 1.0
_CLEAR = 0.5
"""Of the way to the net line on the other side a mark takes at most."""


@dataclass(frozen=True, eq=False)
class WitnessMark:
    """A numbered line across the net line that meets the same number on the other panel.

    Attributes
    ----------
    letter : str
        Which edge.
    number : int
        From 1, in an order both panels share.
    line : (2, 2) float, mm
        From its outer end to its inner end, square to the net line.
    place : (2,) float, mm
        Where it crosses the net line.
    along_mm : float
        How far along the formed seam, from the end both panels start at.
    formed : (3,) float, mm
        Where it crosses the formed seam.
    """

    letter: str
    number: int
    line: FloatArray
    place: FloatArray
    along_mm: float
    formed: FloatArray

    @property
    def label(self) -> str:
        """Letter and number: "A3"."""
        return f"{self.letter}{self.number}"


def witness_marks(
    flat: FlatSheet,
    half: SeamHalf,
    letter: str,
    *,
    spacing_mm: float = 50.0,
    reach_mm: tuple[float, float] = (15.0, 4.0),
) -> tuple[WitnessMark, ...]:
    """Return marks along the formed seam, closer where it bends; both panels carry the same ones.

    Count and places come from the formed seam, which both panels share, and are measured from the
    end (of a closed seam: the point) that both agree on.

    Parameters
    ----------
    flat : FlatSheet
    half : SeamHalf
    letter : str
    spacing_mm : float
        Along the formed seam where it is straight.
    reach_mm : (float, float)
        How far a mark reaches inward and outward from the net line. Where the blank is narrow it
        goes half the way to the net line on the other side.
    """
    loop = _as_both_panels_run(flat.vertices, closed_up(half, flat.rim))
    formed = flat.vertices[loop]
    along = lengths_along(formed)
    closed = bool(loop[0] == loop[-1])
    if along[-1] < _SHORTEST_SEAM_MM:
        return ()
    forward = _runs_with_rim(flat.rim, loop)
    flat_points = flat.flat_vertices[loop]
    net = shapely.LinearRing(flat.flat_vertices[flat.rim])
    marks = []
    stops = mark_stops(formed, spacing_mm=spacing_mm, closed=closed)
    for number, distance in enumerate(stops.tolist(), start=1):
        place = _point_at(flat_points, along, distance, closed)
        ahead = _point_at(flat_points, along, distance + _LOOK_MM, closed)
        behind = _point_at(flat_points, along, distance - _LOOK_MM, closed)
        direction = (ahead - behind) / np.linalg.norm(ahead - behind)
        inward = np.array([-direction[1], direction[0]]) * (1.0 if forward else -1.0)
        inner = place + _room(net, place, inward, reach_mm[0]) * inward
        line = np.stack([place - reach_mm[1] * inward, inner])
        on_tank = _point_at(formed, along, distance, closed)
        marks.append(
            WitnessMark(letter, number, locked(line), locked(place), distance, locked(on_tank))
        )
    return tuple(marks)


def mark_stops(formed: FloatArray, *, spacing_mm: float, closed: bool) -> FloatArray:
    """Return how far along a formed seam its marks are, by the rule of this module.

    The wish for marks, one over the spacing wanted at a place, is summed along the seam, rounded to
    a whole number of pieces (two at least, three of a ring) and shared out alike among them.

    Parameters
    ----------
    formed : (k, 3) float, mm
        The seam; a closed one repeats its first point.
    spacing_mm : float
        Where it is straight.
    closed : bool
        A closed seam has a mark at its first point.

    >>> mark_stops(np.array([[0.0, 0, 0], [200, 0, 0]]), spacing_mm=50.0, closed=False).tolist()
    [50.0, 100.0, 150.0]
    """
    along = lengths_along(formed)
    total = float(along[-1])
    at = np.linspace(0.0, total, max(2, int(np.ceil(total / _STEP_MM))) + 1)
    closest = min(_CLOSEST_MM, spacing_mm)
    wish = np.clip(_bend_at(formed, along, at, closed) / _TURN_RAD, 1 / spacing_mm, 1 / closest)
    summed = np.concatenate([[0.0], np.cumsum((wish[1:] + wish[:-1]) / 2.0 * np.diff(at))])
    pieces = max(3 if closed else 2, round(float(summed[-1])))
    shares = np.arange(0 if closed else 1, pieces) / pieces
    return np.asarray(np.round(np.interp(shares * summed[-1], summed, at), 9))


def _bend_at(formed: FloatArray, along: FloatArray, at_mm: FloatArray, closed: bool) -> FloatArray:
    """Return by how much a seam turns per mm about places along it; as inside, near its ends."""
    total = float(along[-1])
    over = min(_BEND_OVER_MM, total / 4.0)
    if not closed:
        at_mm = np.clip(at_mm, over, total - over)
    before, here, after = (
        _points_at(formed, along, at_mm + shift, closed) for shift in (-over, 0.0, over)
    )
    came, goes = here - before, after - here
    sine = np.linalg.norm(np.cross(came, goes), axis=1)
    return np.asarray(np.arctan2(sine, (came * goes).sum(axis=1)) / over)


def _room(net: shapely.LinearRing, place: FloatArray, inward: FloatArray, reach_mm: float) -> float:
    """Return how far inward a mark goes: its reach, or less where the net line is near."""
    start = place + 1e-3 * inward
    across = shapely.LineString([start, place + 2.0 * reach_mm * inward])
    gap = float(shapely.distance(shapely.Point(start), shapely.intersection(across, net)))
    return reach_mm if not np.isfinite(gap) else min(reach_mm, _CLEAR * gap)


def _as_both_panels_run(vertices: FloatArray, loop: IntArray) -> IntArray:
    """Return a half's vertices in the direction, and from the point, both its panels agree on."""
    points = vertices[loop]
    if loop[0] != loop[-1]:
        gap = points[-1] - points[0]
        return loop if gap[int(np.abs(gap).argmax())] > 0 else loop[::-1]
    ring, corners = loop[:-1], points[:-1]
    ahead = np.roll(corners, -1, axis=0)
    turning = np.cross(corners - corners.mean(axis=0), ahead - corners.mean(axis=0)).sum(axis=0)
    if turning[int(np.abs(turning).argmax())] < 0:
        ring, corners = ring[::-1], corners[::-1]
    rounded = np.round(corners, 6)
    first = int(np.lexsort((rounded[:, 2], rounded[:, 1], rounded[:, 0]))[-1])
    ring = np.roll(ring, -first)
    return np.append(ring, ring[0])


def _runs_with_rim(rim: IntArray, loop: IntArray) -> bool:
    at = int(np.flatnonzero(rim == loop[0])[0])
    return bool(rim[(at + 1) % len(rim)] == loop[1])


def _points_at(
    points: FloatArray, along: FloatArray, distances: FloatArray, closed: bool
) -> FloatArray:
    total = float(along[-1])
    reach = np.mod(distances, total) if closed else np.clip(distances, 0.0, total)
    return np.stack(
        [np.interp(reach, along, points[:, axis]) for axis in range(points.shape[1])], axis=1
    )


def _point_at(points: FloatArray, along: FloatArray, distance: float, closed: bool) -> FloatArray:
    return np.asarray(_points_at(points, along, np.array([distance]), closed)[0].copy())
