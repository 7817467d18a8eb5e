"""Roll lines run on to the panel's edge, or to where the sheet is no longer simply rolled.

A line is found where curvature can be told, away from edge, folds and crisp lines. On a sheet that
only bends it goes on straight, and the panel's normal stays as it is along it: as far as that
holds, the line is run on.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
import shapely.ops

from geometry.arrays import FloatArray, locked
from geometry.mesh import NearestPoint, TriMesh, face_areas, vertex_normals
from geometry.pattern.roll_lines import MOST_CHANGE, RollLine, points_along
from geometry.pattern.sources import FlatSheet
from geometry.polyline import line_length

_STEP_MM = 3.0
_MOST_STEPS = 80
_TURNED = float(np.radians(6.0))
"""Turn of the panel's normal along a line, rad, up to which the line goes on."""

_MOST_CHANGE = 2.0 * MOST_CHANGE
"""Change of length, as a logarithm, up to which it goes on: at an edge half of it is noise."""

_THERE_MM = 1e-6


def run_to_edge(
    flat: FlatSheet, lines: Sequence[RollLine], *, stop_at: Sequence[FloatArray] = ()
) -> tuple[RollLine, ...]:
    """Return roll lines that end at the panel's edge; folds as they are.

    A line goes on straight along its ruling. It ends before the edge only where

    - a fold, or a line of `stop_at`, lies across it;
    - the metal is worked: lengths change by more than 0.01, or the normal has turned by 6 degrees;
    - it would cross another roll line: metal rolled along both would be rolled twice. Of two that
      meet, each ends there.

    Radii go on changing evenly where they do along the line.

    Parameters
    ----------
    flat : FlatSheet
    lines : sequence of RollLine
    stop_at : sequence of (k, 2) float, mm
        Crisp lines on the blank.
    """
    rolled = [line for line in lines if not line.is_fold]
    if not rolled:
        return tuple(lines)
    barriers = [shapely.LineString(line.points) for line in lines if line.is_fold]
    barriers += [shapely.LineString(points) for points in stop_at if len(points) > 1]
    sheet = _Sheet(flat, shapely.union_all(barriers))
    courses = _apart([sheet.run_on(line.points) for line in rolled], [r.points for r in rolled])
    longer = iter([sheet.along(line, course) for line, course in zip(rolled, courses, strict=True)])
    return tuple(line if line.is_fold else next(longer) for line in lines)


class _Sheet:
    """The panel as lines run over its blank."""

    def __init__(self, flat: FlatSheet, barrier: shapely.Geometry) -> None:
        self._flat, self._barrier = flat, barrier
        net = flat.flat_vertices[flat.rim]
        self._edge = shapely.LinearRing(net)
        self._blank = shapely.make_valid(shapely.Polygon(net))
        self._reach = 2.0 * float(np.linalg.norm(np.ptp(net, axis=0)))
        self._normals = vertex_normals(flat.vertices, flat.faces)
        self._edge_mm = float(np.sqrt(2.0 * np.median(face_areas(flat.vertices, flat.faces))))
        self._change = np.abs(np.log(flat.stretches)).max(axis=1)
        raised = np.column_stack([flat.flat_vertices, np.zeros(len(flat.flat_vertices))])
        self._nearest = NearestPoint(TriMesh(raised, flat.faces))

    def run_on(self, points: FloatArray) -> FloatArray:
        """Return a line's (k, 2) points with one more at either end that has farther to go."""
        kept = self._on_blank(points)
        return self._beyond(self._beyond(kept)[::-1])[::-1]

    def along(self, line: RollLine, course: FloatArray) -> RollLine:
        """Return a roll line along a course, its radii where they were and evenly on from there."""
        if course is line.points:
            return line
        points = points_along(course)
        (formed,) = self._read(points, self._flat.vertices)
        start, way = line.points[0], line.points[-1] - line.points[0]
        way = way / np.linalg.norm(way)
        was, now = (line.points - start) @ way, (points - start) @ way
        slope = float(np.polyfit(was, line.radii, 1)[0]) if _is_straight(line.points) else 0.0
        radii = np.interp(now, was, line.radii)
        radii += slope * (np.minimum(now - was[0], 0.0) + np.maximum(now - was[-1], 0.0))
        least = float(line.radii.min()) / 2.0
        return replace(
            line,
            points=locked(points),
            formed=locked(formed),
            radii=locked(np.maximum(radii, least)),
        )

    def _on_blank(self, points: FloatArray) -> FloatArray:
        """Return the part of a line on the blank, the line itself where that is all of it."""
        inside = shapely.intersection(shapely.LineString(points), self._blank)
        parts = [part for part in shapely.get_parts(inside) if part.geom_type == "LineString"]
        whole = line_length(points)
        if not parts or max(part.length for part in parts) > whole - 1e-3:
            return points
        longest = shapely.get_coordinates(max(parts, key=lambda part: part.length))
        same_way = (longest[-1] - longest[0]) @ (points[-1] - points[0]) > 0.0
        return longest if same_way else longest[::-1]

    def _beyond(self, points: FloatArray) -> FloatArray:
        """Return points with the place the line's end runs on to after them."""
        end = points[-1]
        if self._edge.distance(shapely.Point(end)) < _THERE_MM:
            return points
        way = end - (points[0] if _is_straight(points) else points[-2])
        way = way / np.linalg.norm(way)
        ray = shapely.LineString([end, end + self._reach * way])
        met = [
            shapely.get_coordinates(shapely.intersection(ray, across))
            for across in (self._edge, self._barrier)
        ]
        far = np.concatenate([(each - end) @ way for each in met])
        far = far[far > _THERE_MM]
        if not len(far):
            return points
        stop = self._rolled_as_far_as(end, way, float(far.min()), points[len(points) // 2])
        return points if stop < _THERE_MM else np.concatenate([points, [end + stop * way]])

    def _rolled_as_far_as(
        self, end: FloatArray, way: FloatArray, far: float, middle: FloatArray
    ) -> float:
        """Return how far on from an end the panel is as it is at a line's middle."""
        steps = np.linspace(0.0, far, min(max(int(np.ceil(far / _STEP_MM)), 2), _MOST_STEPS) + 1)
        places = np.concatenate([[middle], end + steps[:, None] * way])
        raised = np.column_stack([places, np.zeros(len(places))])
        faces = self._nearest.find(raised).faces
        normals = self._read(places, self._normals)[0]
        normals = normals / np.linalg.norm(normals, axis=1)[:, None]
        goes_on = normals[1:] @ normals[0] >= np.cos(_TURNED)
        goes_on &= self._change[faces[1:]] <= _MOST_CHANGE
        goes_on |= steps > far - self._edge_mm  # normals there lean towards what lies beyond
        return far if goes_on.all() else float(steps[max(int(np.argmin(goes_on)) - 1, 0)])

    def _read(self, points: FloatArray, *values: FloatArray) -> list[FloatArray]:
        raised = np.column_stack([points, np.zeros(len(points))])
        at = self._nearest.find(raised)
        corners = self._flat.faces[at.faces]
        return [np.einsum("kc,kcd->kd", at.barycentric, value[corners]) for value in values]


def _is_straight(points: FloatArray) -> bool:
    """Return whether points lie on the straight line from the first to the last."""
    way = points[-1] - points[0]
    square = np.array([-way[1], way[0]]) / np.linalg.norm(way)
    return bool(np.abs((points - points[0]) @ square).max() < _THERE_MM)


def _apart(courses: list[FloatArray], found: list[FloatArray]) -> list[FloatArray]:
    """Return lines cut back to where they would cross; what was found of each is kept."""
    lines = [shapely.LineString(course) for course in courses]
    tree = shapely.STRtree(lines)
    out = []
    for index, (course, kept) in enumerate(zip(courses, found, strict=True)):
        others = [lines[k] for k in tree.query(lines[index], "intersects") if k != index]
        if not others or course is kept:
            out.append(course)
            continue
        low, high = (
            float(lines[index].project(shapely.Point(place))) for place in (kept[0], kept[-1])
        )
        met = shapely.get_coordinates(shapely.intersection(lines[index], shapely.union_all(others)))
        at = np.array([lines[index].project(shapely.Point(place)) for place in met])
        start = max([float(each) for each in at[at <= low]], default=0.0)
        stop = min([float(each) for each in at[at >= high]], default=float(lines[index].length))
        cut = shapely.ops.substring(lines[index], start, stop)
        out.append(shapely.get_coordinates(cut))
    return out
