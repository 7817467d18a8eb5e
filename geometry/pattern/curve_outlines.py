"""The outlines of a pattern as curves: net line, line to cut, openings."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.fitting import fit_circle
from geometry.pattern.curve import Curve, circle_curve
from geometry.pattern.curve_fitting import FittedCurve, fitted_curve
from geometry.pattern.curve_runs import Outline
from geometry.pattern.pattern import Pattern, PatternOpening

OUTLINE_MM = 0.02
"""How far outlines may be from the points they were worked out at."""


@dataclass(frozen=True, eq=False)
class OutlineCurves:
    """A pattern's outlines as curves, in the blank's u, v seen from outside.

    Attributes
    ----------
    net : FittedCurve
    trim : FittedCurve or None
        The line to cut; None where the pattern has none.
    openings : tuple of Curve
        In the order of the pattern's; a circle where the opening is one on the blank too.
    """

    net: FittedCurve
    trim: FittedCurve | None
    openings: tuple[Curve, ...]

    @property
    def points_per_metre(self) -> float:
        """Joints of net and trim line over their length."""
        curves = [fit.curve for fit in (self.net, self.trim) if fit is not None]
        return 1000.0 * sum(len(c.points) for c in curves) / sum(c.length for c in curves)

    @property
    def largest_off_mm(self) -> float:
        """The farthest net or trim line is from the points it was worked out at."""
        return max(fit.largest_off_mm for fit in (self.net, self.trim) if fit is not None)


def outline_curves(pattern: Pattern, kind: Outline) -> OutlineCurves:
    """Return net line, line to cut and openings as arcs or as cubics.

    The net's corners are where its edges meet and where it turns sharply.
    """
    trim = pattern.trim
    return OutlineCurves(
        _fitted(_Held(pattern.net, _edge_ends(pattern)), kind),
        None if trim is None else _fitted(_Held(trim, np.empty(0, np.int64)), kind),
        tuple(_opening_curve(opening, kind) for opening in pattern.openings),
    )


class _Held:
    """A closed line and its corners, the same as another that holds equal numbers."""

    def __init__(self, points: FloatArray, corners: IntArray) -> None:
        self.points, self.corners = points, corners
        self.key = (points.tobytes(), corners.tobytes())

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and self.key == other.key


@lru_cache(maxsize=64)
def _fitted(line: _Held, kind: Outline) -> FittedCurve:
    """Return the curve along a closed line; worked out once however often it is drawn."""
    return fitted_curve(
        line.points, closed=True, kind=kind, tolerance_mm=OUTLINE_MM, corners=line.corners
    )


def _edge_ends(pattern: Pattern) -> IntArray:
    """Return the points of the net line at which an edge starts, where there are several."""
    if len(pattern.edges) < 2:
        return np.empty(0, np.int64)
    starts = np.array([edge.points[0] for edge in pattern.edges])
    apart = np.linalg.norm(pattern.net[None] - starts[:, None], axis=2)
    return np.unique(apart.argmin(axis=1))


def _opening_curve(opening: PatternOpening, kind: Outline) -> Curve:
    """Return a circle where one runs within the tolerance of an opening's outline."""
    outline = opening.outline
    if opening.is_round and len(outline) > 2:
        flat = np.column_stack([outline, np.zeros(len(outline))])
        circle = fit_circle(flat)
        centre, radius = circle.centre[:2], circle.radius
        off = np.abs(np.linalg.norm(outline - centre, axis=1) - radius)
        if off.max() <= OUTLINE_MM:
            return circle_curve(centre, float(radius))
    return _fitted(_Held(outline, np.empty(0, np.int64)), kind).curve
