"""The cut line led past nicks: where the net has a short step or notch, shears go on outside it.

A nick narrower than the metal left outside it still kinks the cut line, for every part of the net
is followed at its width. There the cut is moved outward to a round that shears or snips can
follow; it never moves inward, and inside corners and curves of the net stay followed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray
from geometry.pattern.allowance_outline import THINNING_MM, CutOutline
from geometry.pattern.allowance_strips import Strip, quarter_steps
from geometry.pattern.outlines import open_ring

NICK_MM = 12.7
"""A nick is no larger than this, however wide the trim outside it."""

ROUNDS = (4.0, 2.0, 1.0)
"""Radii of the rounds tried at a nick, over the trim's width, the gentlest first."""

_KINK_RAD = np.deg2rad(15.0)
"""Snips follow a kink of less."""

_LOOK_MM = 1.0
"""Over so much of the cut line to either side a kink is told."""

_DEEPEST = 1.0 / 3.0
"""Over the trim's width: a deeper pocket is a shape to follow."""

_WIDEST = 3.0
"""Over the trim's width: how long the piece led past may be."""

_TURNED_BACK = 0.5
"""A nick turns back at least this part of its inward turn; an inside corner or curve does not."""

_NEAR = 0.5
"""Over the trim's width: how far beyond a pocket it may turn back."""

_STEP_MM = 3.0
"""Strips that differ by more in width meet in a step that is meant."""

_SLIVER_MM = 0.02
"""What a round adds of less is how straight its chords are."""

_ENDS_MM = 2.0
"""A pocket's ends are thinner than a sliver for no longer than this."""

_STEP_ALONG_MM = 0.25


def led_past_nicks(outline: CutOutline, strips: Sequence[Strip]) -> CutOutline:
    """Return an outline to cut with its nicks filled from outside; the same one if it has none.

    Nothing is done beside folded strips and those without width, nor at corners notched or slit.

    Parameters
    ----------
    outline : CutOutline
    strips : sequence of Strip
        What it was made of.
    """
    trims = [strip for strip in strips if strip.fold is None and strip.width_mm > 0.0]
    course = _course(outline.points)
    kinks = shapely.MultiPoint(course.points[_is_kink(course)])
    if not trims or kinks.is_empty:
        return outline
    cut = shapely.Polygon(course.points)
    width = min(NICK_MM, *(strip.width_mm for strip in trims))
    made = [corner.place for corner in outline.corners if corner.made in ("notched", "slit")]
    meant = _meant(strips, made, 2.0 * width)
    whole: shapely.Geometry = cut
    for times in ROUNDS:
        closed = _closed(cut, times * width)
        for pocket in _pockets(closed, cut):
            if (
                pocket.distance(kinks) < _SLIVER_MM
                and not shapely.contains(whole, pocket)
                and not pocket.intersects(meant)
                and _is_between_alike(pocket, trims)
                and _is_nick(course, pocket, closed, width)
            ):
                whole = shapely.union(whole, closed & pocket.buffer(_ENDS_MM))
    if whole is cut:
        return outline
    ring = shapely.get_coordinates(shapely.get_exterior_ring(shapely.simplify(whole, THINNING_MM)))
    points = open_ring(shapely.LinearRing(ring), counter_clockwise=True)
    return replace(outline, points=points, passes_nicks=True)


def _closed(cut: shapely.Polygon, radius: float) -> shapely.Polygon:
    """Return a shape with everything filled that a disc outside it does not reach."""
    steps = quarter_steps(radius)
    return cut.buffer(radius, quad_segs=steps).buffer(-radius, quad_segs=steps)


def _pockets(closed: shapely.Polygon, cut: shapely.Polygon) -> list[shapely.Polygon]:
    """Return what closing a shape has filled, without slivers."""
    half = _SLIVER_MM / 2.0
    filled = shapely.difference(closed, cut).buffer(-half).buffer(half)
    return [part for part in shapely.get_parts(filled) if part.geom_type == "Polygon"]


def _meant(
    strips: Sequence[Strip], made: Sequence[FloatArray], reach_mm: float
) -> shapely.Geometry:
    """Return where the cut line is as it is on purpose."""
    other = [strip for strip in strips if strip.fold is not None or strip.width_mm <= 0.0]
    parts = [shapely.LineString(s.points).buffer(s.width_mm + 0.5) for s in other]
    parts += [shapely.Point(place).buffer(reach_mm) for place in made]
    return shapely.union_all(np.array(parts, object))


def _is_between_alike(pocket: shapely.Polygon, trims: Sequence[Strip]) -> bool:
    """Return whether the strips a pocket touches are about as wide as each other."""
    near = pocket.buffer(0.5)
    touched = [
        strip.width_mm
        for strip in trims
        if near.distance(shapely.LineString(strip.points)) <= strip.width_mm
    ]
    return bool(touched) and max(touched) - min(touched) <= _STEP_MM


@dataclass(frozen=True, eq=False)
class _Course:
    """The cut line by the length along it.

    Attributes
    ----------
    points : (k, 2) float, mm
        Counter-clockwise, the first point not repeated.
    along : (k + 1,) float, mm
        At every point, and all round.
    heading : (k,) float, rad
        Of the piece after each point, gone on continuously: less where it turns right, inward.
    """

    points: FloatArray
    along: FloatArray
    heading: FloatArray

    @property
    def ring(self) -> shapely.LinearRing:
        """The line itself."""
        return shapely.LinearRing(self.points)

    def headings(self, at: FloatArray) -> FloatArray:
        """Return headings at lengths along the line, past its start too."""
        rounds, rest = np.divmod(at, self.along[-1])
        piece = np.searchsorted(self.along, rest, side="right") - 1
        return np.asarray(self.heading[piece % len(self.points)] + rounds * 2.0 * np.pi)


def _course(ring: FloatArray) -> _Course:
    steps = np.roll(ring, -1, axis=0) - ring
    angle = np.arctan2(steps[:, 1], steps[:, 0])
    turn = np.mod(np.diff(angle) + np.pi, 2.0 * np.pi) - np.pi
    heading = angle[0] + np.concatenate([[0.0], np.cumsum(turn)])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(steps, axis=1))])
    return _Course(ring, along, heading)


def _is_kink(course: _Course) -> BoolArray:
    """Return (k,) bool, the points at which the line turns sharply inward."""
    at = course.along[:-1]
    turn = course.headings(at + _LOOK_MM) - course.headings(at - _LOOK_MM)
    return np.asarray(turn < -_KINK_RAD)


def _is_nick(
    course: _Course, pocket: shapely.Polygon, closed: shapely.Polygon, width: float
) -> bool:
    """Return whether a pocket is small, and the line turns back beside it as it turned in."""
    line, total = course.ring, float(course.along[-1])
    rim = np.array([shapely.Point(place) for place in shapely.get_coordinates(pocket)], object)
    at = shapely.line_locate_point(line, rim[shapely.distance(rim, line) < _SLIVER_MM])
    if not len(at):
        return False
    away = np.mod(at - at[0] + total / 2.0, total) - total / 2.0
    first, last = at[0] + away.min(), at[0] + away.max()
    if last - first > _WIDEST * width:
        return False
    between = np.arange(first, last, _STEP_ALONG_MM)
    places = shapely.line_interpolate_point(line, np.mod(between, total))
    if shapely.distance(places, closed.exterior).max() > _DEEPEST * width:
        return False
    heading = course.headings(between)
    inward = float((np.maximum.accumulate(heading) - heading).max())
    ends = course.headings(np.array([first, last]) + _NEAR * width * np.array([-1.0, 1.0]))
    return bool(ends[1] - ends[0] >= -(1.0 - _TURNED_BACK) * inward)
