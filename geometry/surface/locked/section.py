"""Sections across a line: two flanks and the round between them, fitted to a scan's points.

A section looks along the line: `across` it and `height` over it. Each flank is a parabola; the
round is an arc that touches both. The flanks are fitted to points off the round alone; its radius
is the one with which flanks and arc together leave the least misfit.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray

_FEWEST_POINTS = 10
_RADII = 12
_WIDEST_ROUND = 0.6
_LEAST_TURN = np.radians(4.0)
_MOST_BENT = 1.0 / 40.0


@dataclass(frozen=True, eq=False)
class Points:
    """Points of the scan near k stations of a line, as many places p for each.

    Attributes
    ----------
    along, across, height : (k, p) float, mm
    weight : (k, p) float
        0 where there is no point.
    """

    along: FloatArray
    across: FloatArray
    height: FloatArray
    weight: FloatArray

    @cached_property
    def terms(self) -> FloatArray:
        """(k, p, 5) 1, x, x^2 / 2, s, x s of every point, x across and s along."""
        x, s = self.across, self.along
        return np.stack([np.ones_like(x), x, x**2 / 2.0, s, x * s], axis=2)

    def __getitem__(self, rows: IntArray | BoolArray) -> "Points":
        """Return the points near some of the stations."""
        return Points(self.along[rows], self.across[rows], self.height[rows], self.weight[rows])


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
    """Return (k, j) misfits of flanks with rounds of some radii between; infinite if points lack.

    Parameters
    ----------
    points : Points
    start : (k, 2, 3) float
        Flanks to begin with: where the middle is, and how wide a round of some radius.
    radii : (j,) float, mm
        Rising.
    clear_mm : float
        How far off the round points must be to count for a flank.
    """
    found = np.full((len(start), len(radii)), np.inf)
    unit = Sections(start, np.ones(len(start)))
    middle, width = unit.meeting[:, 0], unit.half_width
    rows = np.arange(len(start))
    for number, radius in enumerate(radii):
        flanks = flanks_beside(points, middle[rows], float(radius) * width[rows] + clear_mm)
        has = np.isfinite(flanks[:, 0, 0])
        if not has.all():
            points, rows, flanks = points[has], rows[has], flanks[has]
        if not len(rows):
            break
        straight = laid_straight(points, flanks)
        found[rows, number] = misfit(straight, np.full(len(rows), float(radius)))
    return found


def flanks_off_round(
    points: Points, start: FloatArray, radius: FloatArray, clear_mm: float
) -> FloatArray:
    """Return (k, 2, 5) flanks fitted to points clear of rounds; not a number where points lack."""
    at = Sections(start, radius)
    return flanks_beside(points, at.meeting[:, 0], at.half_width + clear_mm)


def too_bent(flanks: FloatArray) -> BoolArray:
    """Return (k,) whether a flank is bent as much as one may be: it is part of a round."""
    return np.asarray((np.abs(flanks[:, :, 2]) >= _MOST_BENT).any(axis=1))


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


def flanks_beside(points: Points, centre: FloatArray, clear_mm: FloatArray) -> FloatArray:
    """Return (k, 2, 5) coefficients of 1, x, x^2 / 2, s, x s for the points clear of the middles.

    Not a number for a station with too few points on either side.
    """
    off = points.across - centre[:, None]
    clear = np.asarray(clear_mm)[:, None]
    both = np.stack([_parabola(points, off < -clear), _parabola(points, off > clear)], axis=1)
    both[~np.isfinite(both).all(axis=(1, 2))] = np.nan
    return both


def _parabola(points: Points, counts: BoolArray) -> FloatArray:
    weight = np.where(counts, points.weight, 0.0)
    enough = np.count_nonzero(weight, axis=1) >= _FEWEST_POINTS
    weighted = points.terms * weight[:, :, None]
    matrix = np.matmul(weighted.transpose(0, 2, 1), points.terms)
    wanted = np.matmul(weighted.transpose(0, 2, 1), points.height[:, :, None])[:, :, 0]
    out = np.full((len(weight), 5), np.nan)
    out[enough] = _least_squares(matrix[enough], wanted[enough])
    round_ones = np.flatnonzero(np.abs(out[:, 2]) > _MOST_BENT)  # a round taken for a flank
    if len(round_ones):
        bend = np.copysign(_MOST_BENT, out[round_ones, 2])
        others = np.array([0, 1, 3, 4])
        left = wanted[round_ones] - bend[:, None] * matrix[round_ones, :, 2]
        part = matrix[np.ix_(round_ones, others, others)]
        out[np.ix_(round_ones, others)] = _least_squares(part, left[:, others])
        out[round_ones, 2] = bend
    return out


def _least_squares(matrix: FloatArray, wanted: FloatArray) -> FloatArray:
    """Return the (k, t) solutions of normal equations, which carry a billionth of their trace."""
    scale = np.sqrt(np.diagonal(matrix, axis1=1, axis2=2)) + 1e-12
    scaled = matrix / (scale[:, :, None] * scale[:, None, :])
    terms = matrix.shape[1]
    scaled += terms * 1e-9 * np.eye(terms)
    return np.asarray(np.linalg.solve(scaled, (wanted / scale)[:, :, None])[:, :, 0] / scale)


@dataclass(frozen=True, eq=False)
class Straight:
    """Points beside flanks that have been laid straight: each keeps its height over its own flank.

    Attributes
    ----------
    off, height : (k, p) float, mm
        From where the flanks meet; over a valley turned upside down.
    weight : (k, p) float
    slopes : (k, 2) float
        Of the flanks, which rise to where they meet.
    """

    off: FloatArray
    height: FloatArray
    weight: FloatArray
    slopes: FloatArray


def laid_straight(points: Points, flanks: FloatArray) -> Straight:
    """Return points beside (k, 2, 5) flanks laid straight."""
    x, s = points.across, points.along
    centre = _meeting(flanks)[:, :1]
    apart = (flanks[:, 0] - flanks[:, 1])[:, :, None]
    level, lean = apart[:, 0] + apart[:, 3] * s, apart[:, 1] + apart[:, 4] * s
    at = np.broadcast_to(centre, x.shape)  # where across the flanks meet abreast of each point
    for _ in range(3):
        at = at - (level + (lean + apart[:, 2] / 2.0 * at) * at) / _not_nought(
            lean + apart[:, 2] * at
        )
    off = x - at
    right = off > 0
    own = np.matmul(points.terms, flanks.transpose(0, 2, 1))  # (k, p, 2)
    over = points.height - np.where(right, own[:, :, 1], own[:, :, 0])
    slopes = flanks[:, :, 1] + flanks[:, :, 2] * centre
    ridge = np.where(slopes[:, :1] >= slopes[:, 1:], 1.0, -1.0)
    slopes = ridge * slopes
    height = ridge * over + np.where(right, slopes[:, 1:], slopes[:, :1]) * off
    return Straight(off, height, points.weight, slopes)


def misfit(straight: Straight, radius: FloatArray) -> FloatArray:
    """Return (k,) weighted sums of squared distances from two flanks with a round between them."""
    normals = _normals(straight.slopes)
    left_x, left_z = normals[:, 0, :1], normals[:, 0, 1:]
    right_x, right_z = normals[:, 1, :1], normals[:, 1, 1:]
    radius = np.asarray(radius)[:, None]
    scale = radius / (1.0 + left_x * right_x + left_z * right_z)
    x = straight.off + scale * (left_x + right_x)  # from the middle of the round
    z = straight.height + scale * (left_z + right_z)
    down_left, down_right = z * left_x - x * left_z, x * right_z - z * right_x
    on_flank = np.where(down_right > down_left, x * right_x + z * right_z, x * left_x + z * left_z)
    on_arc = (down_left < 0) & (down_right < 0)
    distance = np.where(on_arc, np.sqrt(x * x + z * z), on_flank) - radius
    return np.asarray((straight.weight * distance * distance).sum(axis=1))


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
