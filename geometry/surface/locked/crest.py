"""The crest of a locked line: where a scan's two sides meet along it, and how round it is there."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.progress import Report, silent
from geometry.surface.locked.course import (
    Beside,
    Course,
    beside,
    course_along,
    direction_at,
    moved,
    pair_of_stations,
    place_at,
    smoothed_along,
)
from geometry.surface.locked.section import (
    Points,
    Sections,
    flanks_beside,
    flanks_off_round,
    laid_straight,
    least_of,
    misfit,
    misfits,
    radii_within,
    too_bent,
)
from geometry.surface.rim import local_parabolas
from geometry.surface.smooth import PointSurface

_NEAR, _FAR_SHARE = 2.0, 2.0
_LEAST_NEAR_MM = 6.0
_ALONG_MM = 12.0
_CLEAR_SHARE = 0.08
_FIRST_CLEAR_SHARE = 0.4
_PASSES = 3
_MOST_OF_REACH = 0.5
_FLAT, _CREASED = np.radians(6.0), np.radians(12.0)
_LINE_ALONG_MM = 10.0
_CALM_ALONG_MM = 3.0
_ROUND_ALONG_MM = 6.0
_STEPS_A_SPACING = 1.0
_NEVER = 10.0
_AT_ONCE = 100_000
"""Points in windows worked on together."""
_CHANGES = 7
_MOST_CHANGE, _LEAST_CHANGE = 0.2, 0.6


@dataclass(frozen=True, eq=False)
class Crest:
    """A locked line as the scan's points show it.

    Attributes
    ----------
    course : Course
        Runs along the middle of the round.
    sections : Sections
        At the stations, about the course: across and height are 0 at the course.
    parted : (k,) float
        How far the two sides are fitted apart: 1 at a crease, 0 where the skin runs on smoothly
        or is rounder than sections show.
    """

    course: Course
    sections: Sections
    parted: FloatArray

    def line(self) -> FloatArray:
        """Return the crest as a polyline; a closed one repeats its first point."""
        places = self.course.places
        return np.concatenate([places, places[:1]]) if self.course.closed else places

    def seen(self, points: FloatArray, reach_mm: float) -> "SeenFromCrest":
        """Return where points lie beside the crest and on which side of it."""
        near = beside(self.course, points, reach_mm)
        low, high, share = pair_of_stations(self.course, near.station)
        width = self.sections.half_width
        round_there = (1.0 - share) * width[low] + share * width[high]
        parted = (1.0 - share) * self.parted[low] + share * self.parted[high]
        return SeenFromCrest(near, round_there, parted)

    def drawn_to(
        self, places: FloatArray, fitted: FloatArray, normals: FloatArray, reach_mm: float
    ) -> tuple[FloatArray, FloatArray]:
        """Return fitted places near the crest put on its sections, farther off less and less.

        Parameters
        ----------
        places, fitted, normals : (n, 3) float
            Where they were before the fit; where they are and their normals after it.
        reach_mm : float
            How far beyond the round the sections count.
        """
        seen = self.seen(places, 3.0 * reach_mm + float(self.sections.half_width.max()))
        near = seen.near
        far = np.clip((np.abs(near.across) - seen.half_width) / reach_mm, 0.0, 1.0)
        counts = (seen.parted * (1.0 - far * far * (3.0 - 2.0 * far)))[:, None]
        height, slope = self._section_at(near)
        wanted = place_at(self.course, near.station, near.across, height)
        up = direction_at(self.course, near.station, -slope, np.ones(len(slope)))
        out, turned = fitted.copy(), normals.copy()
        out[near.which] += counts * (wanted - fitted[near.which])
        mixed = (1.0 - counts) * normals[near.which] + counts * up
        turned[near.which] = mixed / np.linalg.norm(mixed, axis=1, keepdims=True)
        return out, turned

    def _section_at(self, near: Beside) -> tuple[FloatArray, FloatArray]:
        low, high, share = pair_of_stations(self.course, near.station)
        first, second = (
            Sections(self.sections.flanks[at], self.sections.radius[at]).heights(near.across)
            for at in (low, high)
        )
        return (
            (1.0 - share) * first[0] + share * second[0],
            (1.0 - share) * first[1] + share * second[1],
        )


@dataclass(frozen=True, eq=False)
class SeenFromCrest:
    """Places near a crest: how they lie beside it, the half width of the round, how far parted."""

    near: Beside
    half_width: FloatArray
    parted: FloatArray


def crest_of(
    line: FloatArray,
    points: FloatArray,
    normals: FloatArray,
    surface: PointSurface,
    *,
    spacing_mm: float,
    closed: bool,
    report: Report = silent,
) -> Crest:
    """Return the crest near a line that runs over a scan.

    Parameters
    ----------
    line : (j, 3) float, mm
        A closed one repeats its first point.
    points, normals : (n, 3) float
        The scan's, all of them, normals out.
    surface : PointSurface
        Fitted without regard to the line: where the line lies if there is no crease.
    spacing_mm : float
        Of the scan or of the net wanted, whichever is wider.
    """
    tree = cKDTree(points)
    step = spacing_mm / _STEPS_A_SPACING
    course = course_along(line, tree, normals, step_mm=step, closed=closed)
    course = _straighter(course, _LINE_ALONG_MM)
    near_mm = max(_NEAR * spacing_mm, _LEAST_NEAR_MM)
    sections, good = _first_sections(course, points, near_mm)
    for turn in range(_PASSES + 1):
        report(turn / (_PASSES + 1), "fit the lines")
        if turn:
            sections, good = _sections(course, points, sections, good, near_mm)
        sections = _calmed(sections, good, course)
        parted = _parted(sections, good, course)
        course, sections = _on_tips(course, sections, parted, spacing_mm)
    bare, _ = surface.project(course.places, course.up)
    off = ((bare - course.places) * course.up).sum(axis=1) * (1.0 - parted)
    course = moved(course, np.zeros(len(off)), off, course.up)
    return Crest(course, sections, parted)


def _straighter(course: Course, along_mm: float) -> Course:
    """Return the course through parabolas fitted along it, over some way (standard deviation)."""
    window = along_mm / course.step_mm
    off = local_parabolas(course.places, window, closed=course.closed)[0] - course.places
    return moved(course, (off * course.aside).sum(axis=1), (off * course.up).sum(axis=1), course.up)


def _windows(
    course: Course, points: FloatArray, reach_mm: float, wanted: IntArray
) -> list[tuple[IntArray, Points]]:
    """Return the points around the stations wanted, some stations at a time, weighted less the
    farther off.
    """
    near = beside(course, points, reach_mm)
    at = near.station * course.step_mm
    source = np.arange(len(at))
    if course.closed:
        lap = course.length_mm
        at = np.concatenate([at - lap, at, at + lap])
        source = np.tile(source, 3)
    order = np.argsort(at, kind="stable")
    at, source = at[order], source[order]
    stations = wanted * course.step_mm
    first = np.searchsorted(at, stations - _ALONG_MM)
    count = np.searchsorted(at, stations + _ALONG_MM) - first
    found = []
    most = max(int(count.max(initial=1)), 1)
    for part in np.array_split(np.arange(len(wanted)), -(-len(wanted) * most // _AT_ONCE)):
        places = np.arange(max(int(count[part].max(initial=1)), 1))
        has = places < count[part, None]
        index = np.where(has, first[part, None] + places, 0)
        rows = source[index] if len(source) else np.zeros(index.shape, np.int64)
        along = np.where(has, at[index] - stations[part, None], 0.0) if len(at) else 0.0 * index
        across, height = (
            np.where(has, values[rows], 0.0) if len(values) else np.zeros(index.shape)
            for values in (near.across, near.height)
        )
        weight = (1.0 - (along / _ALONG_MM) ** 2) * (1.0 - (across / reach_mm) ** 2)
        weight = np.where(has, np.maximum(weight, 0.0), 0.0)
        found.append((wanted[part], Points(along, across, height, weight)))
    return found


def _first_sections(
    course: Course, points: FloatArray, near_mm: float
) -> tuple[Sections, BoolArray]:
    """Return flanks fitted well clear of the line, which may yet lie beside the crease."""
    count = len(course.places)
    flanks = np.empty((count, 2, 5))
    for rows, window in _windows(course, points, _FAR_SHARE * near_mm, np.arange(count)):
        clear = np.full(len(rows), _FIRST_CLEAR_SHARE * near_mm)
        flanks[rows] = flanks_beside(window, np.zeros(len(rows)), clear)
    good = np.isfinite(flanks[:, 0, 0])
    return Sections(np.where(good[:, None, None], flanks[:, :, :3], 0.0), np.zeros(count)), good


class _Scale(NamedTuple):
    """How far across points count, and how far off a round they must be to count for a flank."""

    reach_mm: float
    clear_mm: float


def _sections(
    course: Course, points: FloatArray, before: Sections, good: BoolArray, near_mm: float
) -> tuple[Sections, BoolArray]:
    """Return the sections fitted to points near the line or, where it is too round, farther."""
    flanks, radius = before.flanks.copy(), before.radius.copy()
    fine = np.zeros(len(flanks), bool)
    clear = _CLEAR_SHARE * near_mm
    for reach in (near_mm, _FAR_SHARE * near_mm):
        left = np.flatnonzero(good & ~fine)
        if not len(left):
            break
        windows = _windows(course, points, reach, left)
        radii = _likeliest_radii(course, windows, before, left, _Scale(reach, clear))
        radii = _refined(course, windows, replace(before, radius=radii), left, clear)
        for rows, window in windows:
            fit = flanks_off_round(window, before.flanks[rows], radii[rows], clear)
            has = np.isfinite(fit[:, 0, 0])
            at, fit = rows[has], fit[has]
            found = Sections(fit[:, :, :3], radii[at])
            keep = np.abs(found.meeting[:, 0]) < reach / 2.0
            keep &= (found.half_width <= _MOST_OF_REACH * reach) & ~too_bent(fit)
            fine[at[keep]] = True
            flanks[at[keep]], radius[at[keep]] = fit[keep, :, :3], radii[at[keep]]
    return Sections(flanks, radius), fine


def _likeliest_radii(
    course: Course,
    windows: list[tuple[IntArray, Points]],
    before: Sections,
    wanted: IntArray,
    scale: _Scale,
) -> FloatArray:
    """Return the radius at each station with which sections there and near by misfit least.

    Flanks are fitted anew for each radius, and so fit a little better the smaller it is.
    """
    tried = radii_within(before.flanks[wanted], scale.reach_mm)
    found = np.full((len(before.radius), len(tried)), np.inf)
    for rows, window in windows:
        found[rows] = misfits(window, before.flanks[rows], tried, scale.clear_mm)
    return np.array([least_of(tried, row) for row in _pooled_along(course, found)])


def _refined(
    course: Course,
    windows: list[tuple[IntArray, Points]],
    before: Sections,
    wanted: IntArray,
    clear_mm: float,
) -> FloatArray:
    """Return the radii that misfit least between flanks that stay as the radii before have them."""
    change = np.linspace(-1.0, 1.0, _CHANGES)
    most = max(_MOST_CHANGE * float(np.median(before.radius[wanted])), _LEAST_CHANGE)
    tried = np.maximum(before.radius[:, None] + change * most, 0.0)
    found = np.full(tried.shape, np.inf)
    for rows, window in windows:
        flanks = flanks_off_round(window, before.flanks[rows], before.radius[rows], clear_mm)
        has = np.isfinite(flanks[:, 0, 0])
        straight = laid_straight(window[has], flanks[has])
        for number in range(_CHANGES):
            found[rows[has], number] = misfit(straight, tried[rows[has], number])
    pooled = _pooled_along(course, found)
    return np.array([least_of(radii, row) for radii, row in zip(tried, pooled, strict=True)])


def _pooled_along(course: Course, found: FloatArray) -> FloatArray:
    """Return misfits (stations, radii) added up along the line; what is not known never fits."""
    fits = np.isfinite(found)
    most = np.where(fits, found, 0.0).max(axis=1, keepdims=True)
    held = np.where(fits, found, _NEVER * most)
    return smoothed_along(held, _ROUND_ALONG_MM / course.step_mm, closed=course.closed)


def _calmed(sections: Sections, good: BoolArray, course: Course) -> Sections:
    """Return the sections averaged along the line among those that are good."""
    if not good.any():
        return sections
    counts = good.astype(np.float64)

    def mean(values: FloatArray, along_mm: float) -> FloatArray:
        stations = along_mm / course.step_mm
        shape = (-1, *[1] * (values.ndim - 1))
        total = smoothed_along(values * counts.reshape(shape), stations, closed=course.closed)
        share = smoothed_along(counts, stations, closed=course.closed).reshape(shape)
        return np.asarray(np.where(share > 1e-6, total / np.maximum(share, 1e-12), values))

    return Sections(mean(sections.flanks, _CALM_ALONG_MM), mean(sections.radius, _ROUND_ALONG_MM))


def _parted(sections: Sections, good: BoolArray, course: Course) -> FloatArray:
    turn = np.abs(sections.turn)
    creased = good * np.clip((turn - _FLAT) / (_CREASED - _FLAT), 0.0, 1.0)
    return smoothed_along(
        np.asarray(creased), _CALM_ALONG_MM / course.step_mm, closed=course.closed
    )


def _on_tips(
    course: Course, sections: Sections, parted: FloatArray, most_mm: float
) -> tuple[Course, Sections]:
    """Return the course moved to the sections' tips, and the sections seen from there."""
    tip = np.clip(sections.tip, -most_mm, most_mm) * parted[:, None]
    leaning = sections.up * parted[:, None]
    leaning[:, 1] += 1.0 - parted
    up = direction_at(course, np.arange(len(tip), dtype=np.float64), leaning[:, 0], leaning[:, 1])
    after = moved(course, tip[:, 0], tip[:, 1], up)
    return after, _seen_from(sections, tip, course, after)


def _seen_from(sections: Sections, tip: FloatArray, before: Course, after: Course) -> Sections:
    """Return the sections in frames whose origin is the tip and whose up leans otherwise.

    Each flank, a parabola, is turned through its values at three places on either side.
    """
    lean = np.arctan2((after.up * before.aside).sum(axis=1), (after.up * before.up).sum(axis=1))
    cos, sin = np.cos(lean), np.sin(lean)
    flanks = np.empty_like(sections.flanks)
    rows = np.arange(len(lean))
    for side, sign in ((0, -1.0), (1, 1.0)):
        x = tip[:, :1] + sign * np.array([0.0, 2.0, 5.0])
        f = sections.flanks[rows, side]
        z = f[:, :1] + f[:, 1:2] * x + f[:, 2:] * x**2 / 2.0
        u, v = x - tip[:, :1], z - tip[:, 1:]
        across = cos[:, None] * u - sin[:, None] * v
        height = sin[:, None] * u + cos[:, None] * v
        terms = np.stack([np.ones_like(across), across, across**2 / 2.0], axis=2)
        flanks[:, side] = np.linalg.solve(terms, height[..., None])[..., 0]
    return replace(sections, flanks=flanks)
