"""Sections across a line: two flanks and the round between them, fitted to a scan's points.

A section looks along the line: `across` it and `height` over it. Each flank is a parabola; the
round is an arc that touches both. The flanks are fitted to points off the round alone; its radius
is the one with which flanks and arc together leave the least misfit.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import BoolArray, FloatArray

_FEWEST_POINTS = 10
_RADII = 12
_WIDEST_ROUND = 0.6
_LEAST_TURN = np.radians(4.0)
_MOST_BENT = 1.0 / 40.0


@dataclass(frozen=True, eq=False)
class Points:
    """Points of the scan near a station of a line.

    Attributes
    ----------
    along, across, height : (n,) float, mm
    weight : (n,) float
    """

    along: FloatArray
    across: FloatArray
    height: FloatArray
    weight: FloatArray


@dataclass(frozen=True, eq=False)
class Sections:
    """Sections at k places of a line.

    Attributes
    ----------
    flanks : (k, 2, 3) float
        Height of the flank to the left, then to the right: f0 + f1 x + f2 x^2 / 2.
    radius : (k,) float, mm
        Of the round.
    """

    flanks: FloatArray
    radius: FloatArray

    @cached_property
    def slopes(self) -> FloatArray:
        """(k, 2) of the flanks where they meet."""
        at = self.meeting[:, :1]
        return np.asarray(self.flanks[:, :, 1] + self.flanks[:, :, 2] * at)

    @cached_property
    def meeting(self) -> FloatArray:
        """(k, 2) where the flanks, drawn out, meet: across and height."""
        return _meeting(self.flanks)

    @property
    def turn(self) -> FloatArray:
        """(k,) angle between the flanks, rad: positive over a ridge, negative in a valley."""
        angles = np.arctan(self.slopes)
        return np.asarray(angles[:, 0] - angles[:, 1])

    @property
    def half_width(self) -> FloatArray:
        """(k,) how far the round reaches to either side at most, mm."""
        edges = self._edges_of_round()
        return np.asarray(np.abs(edges - self.meeting[:, :1]).max(axis=1))

    @property
    def tip(self) -> FloatArray:
        """(k, 2) the middle of the round: across and height."""
        middle, ridge = self._middle_of_arc()
        up = _mean_normal(self.slopes)
        return np.asarray(middle + (ridge * self.radius)[:, None] * up)

    @property
    def up(self) -> FloatArray:
        """(k, 2) the direction halfway between the flanks' normals: across and height."""
        return _mean_normal(self.slopes)

    def heights(self, across: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the (k,) height of each section at a place across it, and its slope there."""
        meeting = self.meeting
        off = across - meeting[:, 0]
        side = (off > 0).astype(np.int64)
        rows = np.arange(len(off))
        flank = self.flanks[rows, side]
        straight = self.slopes[rows, side]
        height = flank[:, 0] + flank[:, 1] * across + flank[:, 2] * across**2 / 2.0
        slope = flank[:, 1] + flank[:, 2] * across
        edges = self._edges_of_round()
        within = (across > edges[:, 0]) & (across < edges[:, 1])
        middle, ridge = self._middle_of_arc()
        aside = across - middle[:, 0]
        rise = np.sqrt(np.maximum(self.radius**2 - aside**2, 1e-12))
        arc = middle[:, 1] + ridge * rise
        height = np.where(within, height + arc - meeting[:, 1] - straight * off, height)
        slope = np.where(within, slope - straight - ridge * aside / rise, slope)
        return height, slope

    def _middle_of_arc(self) -> tuple[FloatArray, FloatArray]:
        """Return the centre of each arc and +1 for a ridge, -1 for a valley."""
        normals = _normals(self.slopes)
        ridge = np.where(self.turn >= 0, 1.0, -1.0)
        total = normals.sum(axis=1)
        scale = self.radius * ridge / (1.0 + (normals[:, 0] * normals[:, 1]).sum(axis=1))
        return self.meeting - scale[:, None] * total, ridge

    def _edges_of_round(self) -> FloatArray:
        """Return (k, 2) where across each arc begins and ends."""
        middle, ridge = self._middle_of_arc()
        reach = (ridge * self.radius)[:, None] * _normals(self.slopes)[:, :, 0]
        return np.asarray(middle[:, :1] + reach)


def radii_within(start: FloatArray, reach_mm: float) -> FloatArray:
    """Return (j,) radii to be tried, from nought to what just fits within some reach.

    Parameters
    ----------
    start : (k, 2, 3) float
        Flanks of sections along a line: their slopes say how wide a round of some radius is.
    """
    half = float(np.median(np.abs(Sections(start, np.zeros(len(start))).turn))) / 2.0
    most = _WIDEST_ROUND * reach_mm / np.sin(max(half, _LEAST_TURN / 2.0))
    return np.asarray(most * np.linspace(0.0, 1.0, _RADII) ** 1.5)


def misfits(points: Points, start: FloatArray, radii: FloatArray, clear_mm: float) -> FloatArray:
    """Return (j,) misfits of flanks with rounds of some radii between; infinite if points lack.

    Parameters
    ----------
    points : Points
    start : (2, 3) float
        Flanks to begin with: where the middle is, and how wide a round of some radius.
    radii : (j,) float, mm
    clear_mm : float
        How far off the round points must be to count for a flank.
    """
    found = np.full(len(radii), np.inf)
    unit = Sections(start[None], np.ones(1))
    middle, width = float(unit.meeting[0, 0]), float(unit.half_width[0])
    for number, radius in enumerate(radii):
        flanks = flanks_beside(points, middle, float(radius) * width + clear_mm)
        if flanks is None:
            break
        found[number] = misfit(laid_straight(points, flanks), float(radius))
    return found


def flanks_off_round(
    points: Points, start: FloatArray, radius: float, clear_mm: float
) -> FloatArray | None:
    """Return (2, 5) flanks fitted to points clear of a round; None where points lack."""
    at = Sections(start[None], np.array([radius]))
    return flanks_beside(points, float(at.meeting[0, 0]), float(at.half_width[0]) + clear_mm)


def too_bent(flanks: FloatArray) -> bool:
    """Return whether a flank is bent as much as one may be: it is part of a round."""
    return bool((np.abs(flanks[:, 2]) >= _MOST_BENT).any())


def least_of(radii: FloatArray, misfits: FloatArray) -> float:
    """Return where a parabola through the least misfit and those beside it is least."""
    at = int(np.argmin(misfits))
    part = slice(max(at - 1, 0), at + 2)
    if len(radii[part]) < 3 or not np.isfinite(misfits[part]).all():
        return float(radii[at])
    if radii[part][0] == radii[part][1]:
        return float(radii[at])
    bent, steep, _ = np.polyfit(radii[part] - radii[at], misfits[part] - misfits[at], 2)
    best = radii[at] - steep / (2.0 * bent) if bent > 0 else radii[at]
    return float(np.clip(best, radii[at - 1], radii[at + 1]))


def flanks_beside(points: Points, centre: float, clear_mm: float) -> FloatArray | None:
    """Return (2, 5) coefficients of 1, x, x^2 / 2, s, x s for the points clear of the middle."""
    off = points.across - centre
    fits = [_parabola(points, off < -clear_mm), _parabola(points, off > clear_mm)]
    if fits[0] is None or fits[1] is None:
        return None
    return np.stack([fits[0], fits[1]])


def _parabola(points: Points, counts: BoolArray) -> FloatArray | None:
    counts = counts & (points.weight > 0)
    if counts.sum() < _FEWEST_POINTS:
        return None
    terms = _terms(points.across[counts], points.along[counts])
    weight, height = points.weight[counts], points.height[counts]
    fit = _least_squares(terms, height, weight)
    if abs(fit[2]) > _MOST_BENT:  # a round taken for a flank
        fit[2] = np.copysign(_MOST_BENT, fit[2])
        others = [0, 1, 3, 4]
        fit[others] = _least_squares(terms[:, others], height - fit[2] * terms[:, 2], weight)
    return fit


def _least_squares(terms: FloatArray, height: FloatArray, weight: FloatArray) -> FloatArray:
    scale = np.sqrt((terms**2).mean(axis=0)) + 1e-12
    scaled = terms / scale
    weighted = scaled * weight[:, None]
    matrix = weighted.T @ scaled
    matrix[np.diag_indices(len(matrix))] += 1e-9 * np.trace(matrix)
    return np.asarray(np.linalg.solve(matrix, weighted.T @ height) / scale)


def _terms(across: FloatArray, along: FloatArray) -> FloatArray:
    return np.stack([np.ones_like(across), across, across**2 / 2.0, along, across * along], axis=1)


@dataclass(frozen=True, eq=False)
class Straight:
    """Points beside flanks that have been laid straight: each keeps its height over its own flank.

    Attributes
    ----------
    off, height : (n,) float, mm
        From where the flanks meet; over a valley turned upside down.
    weight : (n,) float
    slopes : (2,) float
        Of the flanks, which rise to where they meet.
    """

    off: FloatArray
    height: FloatArray
    weight: FloatArray
    slopes: FloatArray


def laid_straight(points: Points, flanks: FloatArray) -> Straight:
    """Return points beside (2, 5) flanks laid straight."""
    x, s = points.across, points.along
    centre = float(_meeting(flanks[None])[0, 0])
    a0, a1, a2, a3, a4 = (flanks[0] - flanks[1]).tolist()
    level, lean = a0 + a3 * s, a1 + a4 * s
    at = np.full(len(x), centre)  # where across the flanks meet abreast of each point
    for _ in range(3):
        at = at - (level + (lean + a2 / 2.0 * at) * at) / _not_nought(lean + a2 * at)
    off = x - at
    right = off > 0
    left_height, right_height = (
        f0 + f3 * s + (f1 + f4 * s + f2 / 2.0 * x) * x for f0, f1, f2, f3, f4 in flanks.tolist()
    )
    over = points.height - np.where(right, right_height, left_height)
    slopes = flanks[:, 1] + flanks[:, 2] * centre
    ridge = 1.0 if slopes[0] >= slopes[1] else -1.0
    slopes = ridge * slopes
    height = ridge * over + np.where(right, slopes[1], slopes[0]) * off
    return Straight(off, height, points.weight, slopes)


def misfit(straight: Straight, radius: float) -> float:
    """Return the weighted sum of squared distances from two flanks with a round between them."""
    (left_x, left_z), (right_x, right_z) = _normals(straight.slopes[None])[0].tolist()
    scale = radius / (1.0 + left_x * right_x + left_z * right_z)
    x = straight.off + scale * (left_x + right_x)  # from the middle of the round
    z = straight.height + scale * (left_z + right_z)
    down_left, down_right = z * left_x - x * left_z, x * right_z - z * right_x
    on_flank = np.where(down_right > down_left, x * right_x + z * right_z, x * left_x + z * left_z)
    on_arc = (down_left < 0) & (down_right < 0)
    distance = np.where(on_arc, np.sqrt(x * x + z * z), on_flank) - radius
    return float(straight.weight @ (distance * distance))


def _meeting(flanks: FloatArray) -> FloatArray:
    """Return (k, 2) where flanks (k, 2, 3 or 5), drawn out, meet nearest to the middle."""
    apart = flanks[:, 0] - flanks[:, 1]
    at = np.zeros(len(apart))
    for _ in range(6):
        gap = apart[:, 0] + apart[:, 1] * at + apart[:, 2] * at**2 / 2.0
        at = at - gap / _not_nought(apart[:, 1] + apart[:, 2] * at)
    left = flanks[:, 0]
    return np.stack([at, left[:, 0] + left[:, 1] * at + left[:, 2] * at**2 / 2.0], axis=1)


def _not_nought(values: FloatArray) -> FloatArray:
    return np.where(np.abs(values) > 1e-3, values, np.where(values < 0, -1e-3, 1e-3))


def _normals(slopes: FloatArray) -> FloatArray:
    """Return (k, 2, 2) unit normals, upward, of lines with (k, 2) slopes."""
    length = np.sqrt(1.0 + slopes**2)
    return np.stack([-slopes / length, 1.0 / length], axis=2)


def _mean_normal(slopes: FloatArray) -> FloatArray:
    total = _normals(slopes).sum(axis=1)
    return np.asarray(total / np.linalg.norm(total, axis=1, keepdims=True))
