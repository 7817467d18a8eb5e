"""`SeamAdviser`: what a shaper would say of seams as they are drawn, before anything is cut."""

from collections.abc import Sequence
from itertools import combinations
from math import radians

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.breakups.advice import (
    Advice,
    EndsApartAdvice,
    InsideCornerAdvice,
    LowCrownAdvice,
    NearLineAdvice,
    TooLargeAdvice,
)
from geometry.breakups.break_up_figures import BreakUpFigures
from geometry.breakups.seam_course import STEP_MM, SeamCourse, in_even_steps
from geometry.mesh import NearestPoint, TriMesh, edge_table
from geometry.metal import StockSheet
from geometry.panels import Seam, Surface
from geometry.surface import Crown, crown_of

STAND_OFF_MM = 6.0
"""How far a seam should keep from a crisp line at least: 6 to 12 mm. Common practice, no source."""
END_TOLERANCE_MM = 6.0
"""An end this near to a rim or seam is drawn to it by the cut."""

LONG_MM = 150.0
LOW_SWEEP_MM = 300.0
"""A straight weld as long over skin without a tighter sweep sinks to a valley unless planished.
That it does is told in print; the two figures are common practice, no source."""
_STIFFENED_MM = 25.0
"""Beside a rim or a crisp line the skin is stiff, and a weld holds."""
_STRAIGHT_REACH_MM, _STRAIGHT_TURN_RAD = 20.0, 20.0 / 250.0
_PASSED_OVER_MM = 15.0

CORNER_MM = 15.0
CORNER_RAD = radians(45.0)
"""Turning by as much from one reach to the next is a corner: an arc of a 19 mm radius does."""

_HAIR_MM = 0.2
_ONE_PLACE_MM = 1.0
_JUST_MISSED_MM = 12.0
"""Two ends on a common line nearer than this were most likely meant to meet."""


class SeamAdviser:
    """Advice about seams on one surface, the set-up kept.

    Parameters
    ----------
    surface : WorkingSurface
    crown : Crown, optional
        Of its scanned face; worked out if not given.
    lines : sequence of (k, 3) float, mm
        Crisp lines, on the scanned face.
    stand_off_mm : float
        How far a seam should keep from them.
    """

    def __init__(
        self,
        surface: Surface,
        *,
        crown: Crown | None = None,
        lines: Sequence[FloatArray] = (),
        stand_off_mm: float = STAND_OFF_MM,
    ) -> None:
        outside = TriMesh(surface.outside, surface.mesh.faces)
        crown = crown_of(outside) if crown is None else crown
        self._faces = outside.faces
        self._skin = NearestPoint(outside)
        self._normals = crown.normals
        bend = np.abs(crown.curvatures).max(axis=1)
        self._bend = np.where(crown.determined, bend, np.inf)
        table = edge_table(outside.faces)
        self._rim: FloatArray = outside.vertices[table.edges[table.face_count == 1]]
        self._lines = [in_even_steps(line, closed=False)[0] for line in lines]
        self._stand_off_mm = stand_off_mm

    def advice(
        self,
        seams: Sequence[Seam],
        *,
        figures: BreakUpFigures | None = None,
        sheet: StockSheet | None = None,
    ) -> tuple[Advice, ...]:
        """Return what there is to say, seam by seam as given, then panel by panel.

        Parameters
        ----------
        seams : sequence of Seam
        figures : BreakUpFigures, optional
            With a sheet: panels too large for it are told.
        sheet : StockSheet, optional
        """
        courses = [self._course(seam) for seam in seams if _has_length(seam)]
        said: list[Advice] = []
        for k, course in enumerate(courses):
            said += self._low_crown(course)
            said += _corners(course)
            for line in range(len(self._lines)):
                said += self._near_line(course, line)
            said += self._loose_ends(course, courses[:k] + courses[k + 1 :])
        said += _missed_ends(courses)
        if figures is not None and sheet is not None:
            said += _too_large(figures, sheet)
        return tuple(said)

    def _course(self, seam: Seam) -> SeamCourse:
        stepped, step = in_even_steps(seam.points, closed=seam.closed)
        near = self._skin.find(stepped)
        corners = self._faces[near.faces]
        normals = (near.barycentric[:, :, None] * self._normals[corners]).sum(axis=1)
        normals = normals / np.linalg.norm(normals, axis=1, keepdims=True)
        share = np.where(near.barycentric > 0.0, near.barycentric, 0.0)
        known = np.where(share > 0.0, self._bend[corners], 0.0)
        bend = np.where(np.isinf(known).any(axis=1), np.inf, (share * known).sum(axis=1))
        return SeamCourse(seam.name, near.points, normals, bend, seam.closed, step)

    def _low_crown(self, course: SeamCourse) -> list[Advice]:
        turn = np.abs(course.turns(_STRAIGHT_REACH_MM))
        straight = np.isnan(turn) | (turn < _STRAIGHT_TURN_RAD)
        low = _middle_of(course.bend, round(_PASSED_OVER_MM / course.step_mm)) < 1.0 / LOW_SWEEP_MM
        stiff = _off_pieces(course.points, self._rim) < _STIFFENED_MM
        for line in self._lines:
            stiff |= np.asarray(cKDTree(line).query(course.points)[0]) < _STIFFENED_MM
        said: list[Advice] = []
        for run in course.runs(straight & low & ~stiff, bridge_mm=_PASSED_OVER_MM):
            if run.length_mm >= LONG_MM:
                bend = float(np.median(course.bend[run.rows]))
                sweep = 1.0 / bend if bend > 1e-5 else np.inf
                place = course.points[run.middle]
                said.append(LowCrownAdvice(course.name, place, run.length_mm, sweep))
        return said

    def _near_line(self, course: SeamCourse, number: int) -> list[Advice]:
        line = self._lines[number]
        off, nearest = map(np.asarray, cKDTree(line).query(course.points))
        said: list[Advice] = []
        close = off < self._stand_off_mm - _HAIR_MM
        for run in course.runs(close, bridge_mm=2.0 * self._stand_off_mm):
            rows = np.array(run.rows)
            at = int(rows[np.argmin(off[rows])])
            crosses = _crosses(course, line, nearest, rows)
            distance = 0.0 if crosses else float(off[at])
            said.append(
                NearLineAdvice(
                    course.name, course.points[at], number, distance, run.length_mm, crosses
                )
            )
        return said

    def _loose_ends(self, course: SeamCourse, others: Sequence[SeamCourse]) -> list[Advice]:
        if course.closed:
            return []
        ends = course.points[[0, -1]]
        gap = _off_pieces(ends, self._rim)
        for other in others:
            gap = np.minimum(gap, _off_pieces(ends, _pieces(other)))
        return [
            EndsApartAdvice(course.name, end, float(off), "")
            for end, off in zip(ends, gap, strict=True)
            if off > END_TOLERANCE_MM and np.isfinite(off)
        ]


def seam_advice(
    surface: Surface,
    seams: Sequence[Seam],
    *,
    crown: Crown | None = None,
    lines: Sequence[FloatArray] = (),
    stand_off_mm: float = STAND_OFF_MM,
    figures: BreakUpFigures | None = None,
    sheet: StockSheet | None = None,
) -> tuple[Advice, ...]:
    """Return what a shaper would say of seams; `SeamAdviser` keeps the set-up."""
    adviser = SeamAdviser(surface, crown=crown, lines=lines, stand_off_mm=stand_off_mm)
    return adviser.advice(seams, figures=figures, sheet=sheet)


def _has_length(seam: Seam) -> bool:
    enough = len(seam.points) >= (3 if seam.closed else 2)
    return enough and float(np.ptp(seam.points, axis=0).max()) > STEP_MM


def _corners(course: SeamCourse) -> list[Advice]:
    turn = np.nan_to_num(np.abs(course.turns(CORNER_MM)))
    said: list[Advice] = []
    for run in course.runs(turn > CORNER_RAD, bridge_mm=CORNER_MM):
        at = run.rows[int(np.argmax(turn[run.rows]))]
        place, most = course.points[at], float(turn[at])
        said.append(InsideCornerAdvice(course.name, place, most, 2.0 * CORNER_MM))
    return said


def _crosses(course: SeamCourse, line: FloatArray, nearest: IntArray, rows: IntArray) -> bool:
    """Return whether a seam lies on both sides of a line it comes near to.

    Points beyond the line's ends have no side.
    """
    inner = rows[(nearest[rows] > 0) & (nearest[rows] < len(line) - 1)]
    if not len(inner):
        return False
    at = nearest[inner]
    way = line[at + 1] - line[at - 1]
    way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-300)
    out = np.cross(course.normals[inner], way)
    beside = ((course.points[inner] - line[at]) * out).sum(axis=1)
    return bool(beside.max() > 0.5 * STEP_MM and beside.min() < -0.5 * STEP_MM)


def _missed_ends(courses: Sequence[SeamCourse]) -> list[Advice]:
    """Return ends of two seams that come to one line from its two sides and just miss there."""
    ends = [(course, row) for course in courses if not course.closed for row in (0, -1)]
    said: list[Advice] = []
    for (one, i), (other, j) in combinations(ends, 2):
        gap = float(np.linalg.norm(one.points[i] - other.points[j]))
        if one is other or not _ONE_PLACE_MM < gap < _JUST_MISSED_MM:
            continue
        thirds = [course for course in courses if course is not one and course is not other]
        both = np.stack([one.points[i], other.points[j]])
        if any((_off_pieces(both, _pieces(third)) < END_TOLERANCE_MM).all() for third in thirds):
            said.append(EndsApartAdvice(one.name, both.mean(axis=0), gap, other.name))
    return said


def _too_large(figures: BreakUpFigures, sheet: StockSheet) -> list[Advice]:
    short, long = sorted((sheet.width_mm, sheet.length_mm))
    named = set(figures.too_large(sheet))
    return [
        TooLargeAdvice("", panel.place, panel.name, panel.cut_mm, (long, short))
        for panel in figures.panels
        if panel.name in named
    ]


def _pieces(course: SeamCourse) -> FloatArray:
    """Return the (k, 2, 3) straight pieces of a course."""
    points = course.points
    after = np.roll(points, -1, axis=0)
    pieces = np.stack([points, after], axis=1)
    return pieces if course.closed else pieces[:-1]


def _off_pieces(points: FloatArray, pieces: FloatArray) -> FloatArray:
    """Return how far points are from the nearest of (k, 2, 3) straight pieces, mm."""
    if not len(pieces):
        return np.full(len(points), np.inf)
    middles = pieces.mean(axis=1)
    reach = float(np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1).max()) / 2.0
    tree = cKDTree(middles)
    bound = np.asarray(tree.query(points)[0])
    off = np.empty(len(points))
    for k, (point, most) in enumerate(zip(points, bound, strict=True)):
        rows = tree.query_ball_point(point, most + reach + 1e-9)
        start, run = pieces[rows, 0], pieces[rows, 1] - pieces[rows, 0]
        square = np.maximum((run * run).sum(axis=1), 1e-300)
        along = np.clip(((point - start) * run).sum(axis=1) / square, 0.0, 1.0)
        off[k] = np.linalg.norm(start + along[:, None] * run - point, axis=1).min()
    return off


def _middle_of(values: FloatArray, reach: int) -> FloatArray:
    """Return the running middle value, so that a speck of noise parts nothing."""
    if reach < 1 or len(values) < 2 * reach + 1:
        return values
    padded = np.concatenate([np.repeat(values[:1], reach), values, np.repeat(values[-1:], reach)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    return np.asarray(np.median(windows, axis=1))
