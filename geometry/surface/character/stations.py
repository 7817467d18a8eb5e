"""A rough course drawn to the tips of sections fitted along it, station by station."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.polyline import line_length
from geometry.progress import Report, part_of, silent
from geometry.surface.character.fit import (
    LEFT,
    LEFT_BENT,
    LEVEL,
    MEETING,
    RIGHT,
    RIGHT_BENT,
    SQUARED,
    Fits,
    fitted,
    rounds_of,
    tips_of,
)
from geometry.surface.character.places import RIDGE
from geometry.surface.character.profile import Profiles, ScanPoints, together
from geometry.surface.locked import (
    Course,
    course_along,
    direction_at,
    moved,
    smoothed_along,
)
from geometry.surface.rim import local_parabolas

STEP_MM = 3.0
_USUAL_REACH, _NEAR_REACH, _FAR_REACH = 16.0, 8.0, 26.0
_MOST_OF_REACH = 0.4
_ILL_FITTING = 3.0
_SHARE_OF_SMOOTH, _MISFIT_MM = 0.45, 0.12
_BETTER = 0.6
_STRAIGHT_MM = 9.0
_MOST_MOVE = 3.0
_CALM_STATIONS = 1.3
_LEAST_TURN, _WIDEST_MM = np.radians(7.0), 18.0
_TIGHTER = 2.5
_LEAST_FLANK, _FLANK_SHARE = 2.0, 0.4
_PLAIN = 2.0
_OFF_SHARE = 0.25


@dataclass(frozen=True, eq=False)
class Measured:
    """What k stations of a line show.

    Attributes
    ----------
    course : Course
        Runs along the tips.
    numbers, error : (k, 7) float
        Of the sections, as in `Fits`, seen from the tips.
    flank : (k, 2) float
        How far across points lie, to the left (negative) and to the right.
    stands_out : (k,) float
        By how many standard errors the flanks turn more than one smooth curve would.
    good : (k,) bool
        Whether a line is there at all.
    """

    course: Course
    numbers: FloatArray
    error: FloatArray
    turn_error: FloatArray
    flank: FloatArray
    stands_out: FloatArray
    good: BoolArray

    def at(self, rows: IntArray, *, closed: bool) -> "Measured":
        """Return some of the stations, in a row."""
        course = Course(
            self.course.places[rows],
            self.course.ahead[rows],
            self.course.aside[rows],
            self.course.up[rows],
            self.course.step_mm,
            closed,
        )
        return Measured(
            course,
            self.numbers[rows],
            self.error[rows],
            self.turn_error[rows],
            self.flank[rows],
            self.stands_out[rows],
            self.good[rows],
        )


@dataclass(frozen=True, eq=False)
class RoughLine:
    """Where a line is looked for.

    Attributes
    ----------
    points : (k, 3) float
        A closed one does not repeat its first.
    kind : int
        `RIDGE` or `VALLEY`.
    closed : bool
    """

    points: FloatArray
    kind: int
    closed: bool

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return line_length(self.points)


def measured(
    scan: ScanPoints,
    lines: Sequence[RoughLine],
    noise_mm: float,
    *,
    report: Report = silent,
) -> list[Measured]:
    """Return what sections across rough lines show, and where their tips run."""
    courses = [straighter(course_of(scan, line)) for line in lines]
    kinds = [line.kind for line in lines]
    return measured_along(scan, courses, kinds, noise_mm, report=report)


def measured_along(
    scan: ScanPoints,
    courses: Sequence[Course],
    kinds: Sequence[int],
    noise_mm: float,
    *,
    report: Report = silent,
) -> list[Measured]:
    """Return what sections across courses show, station by station, and where their tips run."""
    if not courses:
        return []
    report(0.0, "fit the lines")
    first = together([scan.profiles(course, _USUAL_REACH) for course in courses])
    report(0.2, "fit the lines")
    fits = fitted(first, _USUAL_REACH, noise_mm, report=part_of(report, 0.2, 0.5))
    shares = _shares(courses)
    moved_on = [_on_tips(c, fits.at(rows)) for c, rows in zip(courses, shares, strict=True)]
    courses = [course for course, _ in moved_on]
    numbers = np.concatenate([these for _, these in moved_on])
    far = together([scan.profiles(course, _FAR_REACH) for course in courses])
    report(0.6, "fit the lines")
    fits = fitted(
        far.within(_USUAL_REACH), _USUAL_REACH, noise_mm, numbers, report=part_of(report, 0.6, 0.8)
    )
    fits, reach = _with_other_reaches(fits, far, noise_mm)
    flank = _flanks(far, reach)
    flank[~far.seen] = 0.0
    kind = np.repeat(np.asarray(kinds, np.int64), [len(rows) for rows in shares])
    good, stands_out = _judged(fits, flank, reach, kind)
    report(1.0, "fit the lines")
    return [
        _told_apart(course, fits.at(rows), flank[rows], stands_out[rows], good[rows])
        for course, rows in zip(courses, shares, strict=True)
    ]


def _told_apart(
    course: Course, fits: Fits, flank: FloatArray, stands_out: FloatArray, good: BoolArray
) -> Measured:
    after, numbers = _on_tips(course, fits, good)
    return Measured(after, numbers, fits.error, fits.turn_error, flank, stands_out, good)


def course_of(scan: ScanPoints, line: RoughLine) -> Course:
    """Return the course of a rough line, its stations as even as can be."""
    points = line.points
    whole = np.concatenate([points, points[:1]]) if line.closed else points
    return course_along(whole, scan.tree, scan.normals, step_mm=STEP_MM, closed=line.closed)


def _shares(courses: Sequence[Course]) -> list[IntArray]:
    """Return which stations of all are those of each course."""
    ends = np.cumsum([len(course.places) for course in courses])
    return [np.arange(b - len(c.places), b) for c, b in zip(courses, ends.tolist(), strict=True)]


def straighter(course: Course) -> Course:
    """Return the course through parabolas fitted along it."""
    window = _STRAIGHT_MM / course.step_mm
    off = local_parabolas(course.places, window, closed=course.closed)[0] - course.places
    return moved(course, (off * course.aside).sum(axis=1), (off * course.up).sum(axis=1), course.up)


def _with_other_reaches(fits: Fits, far: Profiles, noise_mm: float) -> tuple[Fits, FloatArray]:
    """Return fits in which stations too round for their reach are seen farther, ill ones nearer."""
    out, reach = fits, np.full(len(fits.numbers), _USUAL_REACH)
    wide = np.flatnonzero(_half_width(fits.numbers) > _MOST_OF_REACH * _USUAL_REACH)
    if len(wide):
        other = fitted(far.at(wide), _FAR_REACH, noise_mm, fits.numbers[wide])
        fine = _agree(other)
        out = _replaced(out, wide[fine], other.at(np.flatnonzero(fine)))
        reach[wide[fine]] = _FAR_REACH
    ill = (out.chi2 > np.maximum(out.freedom, 1.0)) & (reach == _USUAL_REACH)
    rows = np.flatnonzero(ill)
    if len(rows):
        other = fitted(far.within(_NEAR_REACH).at(rows), _NEAR_REACH, noise_mm)
        better = other.chi2 / np.maximum(other.freedom, 1.0) < _BETTER * (
            out.chi2[rows] / np.maximum(out.freedom[rows], 1.0)
        )
        better &= _half_width(other.numbers) < _MOST_OF_REACH * _NEAR_REACH
        out = _replaced(out, rows[better], other.at(np.flatnonzero(better)))
        reach[rows[better]] = _NEAR_REACH
    return out, reach


def _agree(fits: Fits) -> BoolArray:
    """Return which sections fit as noise lets them, or well and far better than one curve."""
    as_noise = fits.chi2 < _ILL_FITTING * np.maximum(fits.freedom, 1.0)
    far_better = (fits.chi2 < _SHARE_OF_SMOOTH * fits.smooth_chi2) & (fits.misfit < _MISFIT_MM)
    return np.asarray(as_noise | far_better)


def _replaced(fits: Fits, rows: IntArray, other: Fits) -> Fits:
    columns = []
    for mine, theirs in zip(fits.columns(), other.columns(), strict=True):
        column = mine.copy()
        column[rows] = theirs
        columns.append(column)
    return Fits(*columns)


def _half_width(numbers: FloatArray) -> FloatArray:
    found = rounds_of(numbers)
    return np.maximum(-found.first, found.last)


def _on_tips(
    course: Course, fits: Fits, good: BoolArray | None = None
) -> tuple[Course, FloatArray]:
    """Return the course moved to the tips, leaning as the flanks do, and the numbers from there."""
    tip, up = tips_of(fits.numbers)
    counts = np.ones(len(course.places)) if good is None else good.astype(np.float64) + 1e-6
    error = np.hypot(fits.error[:, MEETING], 0.05)
    counts = counts / np.minimum(error, 3.0) ** 2
    tip = np.clip(tip, -_MOST_MOVE, _MOST_MOVE)

    def calm(values: FloatArray) -> FloatArray:
        total = smoothed_along(values * counts[:, None], _CALM_STATIONS, closed=course.closed)
        share = smoothed_along(counts, _CALM_STATIONS, closed=course.closed)
        return np.asarray(total / share[:, None])

    tip, up = calm(tip), calm(up)
    overhead = direction_at(course, np.arange(len(tip), dtype=np.float64), up[:, 0], up[:, 1])
    after = moved(course, tip[:, 0], tip[:, 1], overhead)
    lean = np.arctan2(up[:, 0], up[:, 1])
    return after, _seen_from(fits.numbers, tip, lean)


def _seen_from(numbers: FloatArray, tip: FloatArray, lean: FloatArray) -> FloatArray:
    """Return the numbers of sections in frames moved to tips and leaning to the right."""
    out = numbers.copy()
    x, z = numbers[:, MEETING] - tip[:, 0], numbers[:, LEVEL] - tip[:, 1]
    cos, sin = np.cos(lean), np.sin(lean)
    out[:, MEETING], out[:, LEVEL] = cos * x - sin * z, sin * x + cos * z
    for slope in (LEFT, RIGHT):
        out[:, slope] = np.tan(np.clip(np.arctan(numbers[:, slope]) + lean, -1.45, 1.45))
    return out


def _flanks(far: Profiles, reach: FloatArray) -> FloatArray:
    filled = far.counts > 0
    left = np.where(filled, far.across, np.inf).min(axis=1)
    right = np.where(filled, far.across, -np.inf).max(axis=1)
    return np.stack([np.maximum(left, -reach), np.minimum(right, reach)], axis=1)


def _judged(
    fits: Fits, flank: FloatArray, reach: FloatArray, kind: IntArray
) -> tuple[BoolArray, FloatArray]:
    """Return which stations show a line of its kind, and how far it stands out."""
    numbers = fits.numbers
    turn = np.arctan(numbers[:, LEFT]) - np.arctan(numbers[:, RIGHT])
    turn = np.where(kind == RIDGE, turn, -turn)
    half = _half_width(numbers)
    bent = np.abs(numbers[:, [LEFT_BENT, RIGHT_BENT]]).max(axis=1)
    radius = np.sqrt(numbers[:, SQUARED])
    past = np.stack([-flank[:, 0] - half, flank[:, 1] - half], axis=1).min(axis=1)
    good = (turn > _LEAST_TURN) & (radius < _WIDEST_MM)
    good &= 1.0 / radius > _TIGHTER * bent
    good &= past > np.maximum(_LEAST_FLANK, _FLANK_SHARE * half)
    good &= fits.freedom > 8
    good &= half < _MOST_OF_REACH * 1.3 * reach
    good &= _agree(fits)
    good &= np.abs(numbers[:, MEETING]) < np.maximum(_OFF_SHARE * reach, half)
    gained = np.sqrt(np.maximum(fits.smooth_chi2 - fits.chi2, 0.0))
    stands_out = np.where(good, np.minimum(gained, turn / np.maximum(fits.turn_error, 1e-6)), 0.0)
    good &= stands_out > _PLAIN
    return good, stands_out
