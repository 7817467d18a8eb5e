"""Lines drawn by hand over a scan: as drawn, drawn to the ridge near, led on, joined."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import TriMesh, typical_edge_length, vertex_normals
from geometry.progress import Report, part_of, silent
from geometry.surface.character.find import LineMeasurer, noise_of, runs_of
from geometry.surface.character.line import CharacterLine
from geometry.surface.character.places import RIDGE, VALLEY
from geometry.surface.character.profile import ScanPoints
from geometry.surface.character.stations import (
    Measured,
    RoughLine,
    course_of,
    measured_along,
    straighter,
)
from geometry.surface.character.told import told
from geometry.surface.locked import Course, is_closed, moved, over_surface, smoothed_along

_LEAST_SPACING_MM = 3.0
_PASSES = 4
_SETTLED_MM = 0.3
_BRIDGED_MM = 15.0
_EASED_MM = 12.0
_FEWEST = 4
_AROUND_MM, _DRAWN_FROM_MM, _FEWEST_POINTS = 28.0, 13.0, 30
_NEAREST, _SAME_WAY = 4, 0.7
_NORMALS = 12


def line_along(mesh: TriMesh, points: FloatArray, *, report: Report = silent) -> CharacterLine:
    """Return a line that runs over a scan from place to place, as drawn: `LinesOn.along`."""
    return LinesOn(mesh, report=report).along(points)


def snapped_line(mesh: TriMesh, points: FloatArray, *, report: Report = silent) -> CharacterLine:
    """Return a line drawn to the ridge or valley near places: `LinesOn.snapped`."""
    return LinesOn(mesh, report=part_of(report, 0.0, 0.4)).snapped(
        points, report=part_of(report, 0.4, 1.0)
    )


def extended_line(
    mesh: TriMesh, line: CharacterLine, towards: FloatArray, *, report: Report = silent
) -> CharacterLine:
    """Return a line led on from its nearer end to a place: `LinesOn.extended`."""
    return LinesOn(mesh, report=report).extended(line, towards)


def joined_lines(
    mesh: TriMesh, one: CharacterLine, other: CharacterLine, *, report: Report = silent
) -> CharacterLine:
    """Return two lines joined at the ends nearest to each other: `LinesOn.joined`."""
    return LinesOn(mesh, report=report).joined(one, other)


class LinesOn:
    """Draws lines over one scan; what it takes to set up is kept.

    Parameters
    ----------
    mesh : TriMesh
        The scanned face, oriented outward, mm.
    noise_mm : float, optional
        White noise of the vertices, one standard deviation; measured if not given.
    """

    def __init__(
        self, mesh: TriMesh, *, noise_mm: float | None = None, report: Report = silent
    ) -> None:
        report(0.0, "make the scan ready to draw on")
        self._mesh = mesh
        normals = vertex_normals(mesh.vertices, mesh.faces)
        self._edge = typical_edge_length(mesh)
        self._spacing = max(self._edge, _LEAST_SPACING_MM)
        report(0.5, "make the scan ready to draw on")
        self._scan, self._noise = ScanPoints(mesh.vertices, normals), noise_of(mesh, noise_mm)
        report(1.0, "make the scan ready to draw on")

    def along(self, points: FloatArray) -> CharacterLine:
        """Return the line that runs over the surface from place to place, as drawn.

        Its radius, opening and height are those of the line near it, if there is one; where there
        is none its confidence is low and they say how the skin is bent.

        Parameters
        ----------
        points : (k, 3) float, mm
            Near the surface; a closed one repeats its first.

        Raises
        ------
        LineOffSurfaceError, LineTooShortError, NoPathError
            A place more than two spacings off (6 mm at least), a line not three long, or one that
            leads from one piece of the scan to another.
        """
        run, closed = self._run(points)
        return self._line(_Drawn(run, np.zeros(len(run), bool), closed))

    def snapped(self, points: FloatArray, *, report: Report = silent) -> CharacterLine:
        """Return the same line drawn to the ridge or valley near it, where there is one.

        It may be drawn up to 8 mm beside. Where none shows it stays as drawn, and eases over from
        the one to the other within 12 mm.
        """
        run, closed = self._run(points)
        line = self._line(_Drawn(run, np.ones(len(run), bool), closed), report)
        report(1.0, "draw the line to the ridge")
        return line

    def extended(self, line: CharacterLine, towards: FloatArray) -> CharacterLine:
        """Return a line led on from its nearer end to a place, the new part drawn to the ridge.

        Raises
        ------
        ValueError
            The line is closed.
        LineOffSurfaceError, LineTooShortError, NoPathError
            As for `along`, of the new part.
        """
        if line.is_closed:
            raise ValueError("a closed line has no end to lead on")
        place = np.asarray(towards, np.float64)
        away = np.linalg.norm(line.points[[0, -1]] - place, axis=1)
        points = line.points[::-1] if away[0] < away[1] else line.points
        new = self._run(np.stack([points[-1], place]))[0][1:]
        whole = np.concatenate([points, new])
        return self._line(_Drawn(whole, np.arange(len(whole)) >= len(points), False))

    def joined(self, one: CharacterLine, other: CharacterLine) -> CharacterLine:
        """Return two lines joined at the ends nearest to each other, what lies between drawn.

        A line joined to itself is closed. Ends less than 9 mm apart are joined straight.

        Raises
        ------
        ValueError
            One of them is closed.
        NoPathError
            They lie on different pieces of the scan.
        """
        if one.is_closed or other.is_closed:
            raise ValueError("a closed line has no end to join")
        closes = one is other
        if closes:
            first, second = one.points, one.points[:1]
        else:
            first, second = _end_to_end(one.points, other.points)
        between = self._between(first[-1], second[0])
        whole = np.concatenate([first, between, second])
        number = np.arange(len(whole)) - len(first)
        return self._line(_Drawn(whole, (number >= 0) & (number < len(between)), closes))

    def _between(self, start: FloatArray, end: FloatArray) -> FloatArray:
        """Return a course between two places, without them; none where they are near."""
        if np.linalg.norm(end - start) <= 3.0 * self._spacing:
            return np.empty((0, 3))
        return self._run(np.stack([start, end]))[0][1:-1]

    def _run(self, points: FloatArray) -> tuple[FloatArray, bool]:
        """Return the way over the surface through places, and whether it closes."""
        places = np.asarray(points, np.float64)
        (run,) = over_surface([places], self._mesh, self._spacing)
        return run, is_closed(run)

    def _line(self, drawn: "_Drawn", report: Report = silent) -> CharacterLine:
        """Return the line along a course, drawn to tips where it may be."""
        points = drawn.run[:-1] if drawn.closed else drawn.run
        start = course_of(self._scan, RoughLine(points, RIDGE, drawn.closed))
        free = drawn.free[np.asarray(cKDTree(drawn.run).query(start.places)[1], np.int64)]
        lines = self._lines_near(start) if free.any() else []
        sights = [self._sight(start, free, kind, lines, report) for kind in (RIDGE, VALLEY)]
        kind = int(np.argmax([sight.shown.stands_out.sum() for sight in sights]))
        return told(sights[kind].shown, kind, sights[kind].places)

    def _lines_near(self, course: Course) -> list[RoughLine]:
        """Return the lines on the part of the scan around a course."""
        rows = self._scan.tree.query_ball_point(course.places, _AROUND_MM)
        near = np.unique(np.concatenate([np.asarray(row, np.int64) for row in rows]))
        points, normals = self._scan.points[near], self._scan.normals[near]
        if len(near) < _FEWEST_POINTS:
            return []
        measurer = LineMeasurer(self._scan, self._noise)
        return measurer.first_parts(points, normals, self._edge)

    def _upright(self, course: Course) -> Course:
        """Return the course with what is overhead taken anew from the scan around its places."""
        count = min(_NORMALS, len(self._scan.points))
        near = np.asarray(self._scan.tree.query(course.places, k=count)[1], np.int64)
        up = self._scan.normals[near.reshape(len(course.places), -1)].mean(axis=1)
        still = np.zeros(len(up))
        return moved(course, still, still, smoothed_along(up, 2.0, closed=course.closed))

    def _sight(
        self,
        start: Course,
        free: BoolArray,
        kind: int,
        lines: Sequence[RoughLine],
        report: Report,
    ) -> "_Sight":
        """Return what shows along a course once its free stations are drawn to tips."""
        eased = _eased(free, start)
        course = start
        if free.any():
            same = [line.points for line in lines if line.kind == kind]
            course = _mixed(start, straighter(start).places, eased)
            course = _mixed(course, straighter(_beside_lines(course, same)).places, eased)
            course = self._upright(course)
        for turn in range(_PASSES):
            report((turn + _PASSES * kind) / (2 * _PASSES), "draw the line to the ridge")
            (shown,) = measured_along(self._scan, [course], [kind], self._noise)
            if not free.any():
                break
            after = _mixed(course, shown.course.places, eased)
            off = float(np.linalg.norm(after.places - course.places, axis=1).max())
            course = after
            if off < _SETTLED_MM:
                break
        drawn_to = np.zeros(len(free))
        for run in runs_of(shown.good, int(_BRIDGED_MM / start.step_mm), start.closed):
            if len(run) >= _FEWEST:
                drawn_to[run] = 1.0
        share = np.minimum(_eased(drawn_to > 0, start), eased)[:, None]
        return _Sight(shown, (1.0 - share) * start.places + share * course.places)


@dataclass(frozen=True, eq=False)
class _Drawn:
    """A line drawn: (k, 3) places, which of them may be drawn to a ridge, whether it closes."""

    run: FloatArray
    free: BoolArray
    closed: bool


@dataclass(frozen=True, eq=False)
class _Sight:
    """What shows along a line, and where it runs."""

    shown: Measured
    places: FloatArray


def _beside_lines(course: Course, lines: Sequence[FloatArray]) -> Course:
    """Return the course with its stations put on lines that run its way, near by."""
    if not lines:
        return course
    places = np.concatenate(lines)
    ahead = np.concatenate([_directions(line) for line in lines])
    way = course.ahead
    near = cKDTree(places).query(
        course.places, k=min(_NEAREST, len(places)), distance_upper_bound=_DRAWN_FROM_MM
    )
    distance = np.asarray(near[0]).reshape(len(way), -1)
    index = np.where(np.isfinite(distance), np.asarray(near[1]).reshape(len(way), -1), 0)
    alike = np.abs(np.einsum("kjx,kx->kj", ahead[index], way)) > _SAME_WAY
    distance = np.where(alike, distance, np.inf)
    first = np.argmin(distance, axis=1)[:, None]
    found = np.isfinite(np.take_along_axis(distance, first, axis=1)[:, 0])
    target = places[np.take_along_axis(index, first, axis=1)[:, 0]]
    return _mixed(course, target, found.astype(np.float64))


def _directions(points: FloatArray) -> FloatArray:
    ahead = np.gradient(points, axis=0)
    return np.asarray(ahead / np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-300))


def _eased(counts: BoolArray, course: Course) -> FloatArray:
    """Return (k,) 1 where stations count, easing off to 0 within some way beside."""
    stations = max(1, round(_EASED_MM / course.step_mm))
    at = np.flatnonzero(counts)
    if not len(at):
        return np.zeros(len(counts))
    count = len(counts)
    if course.closed:
        at = np.concatenate([at - count, at, at + count])
    away = np.abs(np.arange(count)[:, None] - at).min(axis=1)
    return np.asarray(np.clip(1.0 - away / stations, 0.0, 1.0))


def _mixed(course: Course, places: FloatArray, share: FloatArray) -> Course:
    """Return the course with its stations moved some share of the way to places."""
    off = share[:, None] * (places - course.places)
    across, height = (off * course.aside).sum(axis=1), (off * course.up).sum(axis=1)
    return moved(course, across, height, course.up)


def _end_to_end(one: FloatArray, other: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return two lines turned so that the first ends near where the second begins."""
    gaps = np.linalg.norm(one[[0, -1]][:, None] - other[[0, -1]], axis=2)
    at_end, begins_at_end = divmod(int(np.argmin(gaps)), 2)
    return one if at_end else one[::-1], other[::-1] if begins_at_end else other
