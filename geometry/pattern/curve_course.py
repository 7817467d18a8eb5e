"""The smooth course of a line of points: corners found, noise calmed within a band, tangents."""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.linalg import solveh_banded

from geometry.arrays import FloatArray, IntArray
from geometry.polyline import lengths_along

CORNER_RAD = np.deg2rad(4.0)
"""A point at which the line turns by more, and its neighbours by far less, is a corner."""

_ROUND_SAG_MM = 0.3
"""Where chords would leave a smooth line by more than this, the points mean a corner."""

_STANDS_OUT = 3.0
_LEAST_REACH_MM = 1.0
_NEAREST_MM = 0.3
_LONGEST_CHORDS = 3.0
_CALM_WAVE_MM = 40.0
"""Waves along the line shorter than this are taken for noise as far as the band allows."""

_ROUNDS = 40
_STEP = (0.5, 10.0)
_LIGHTEST, _PINNED = 1e-4, 1e9
_NOISES = 4.0
_LEAST_SHARE = 0.05


@dataclass(frozen=True, eq=False)
class Course:
    """A run of a line between two corners, or all of one without any.

    Attributes
    ----------
    nodes : (n, 2) float, mm
        Places along the calm line, where joints may stand; the ends of a run are its corners.
    tangents : (n, 2) float
        Unit vectors along the calm line.
    places : (k, 2) float, mm
        What it must stay near: the points given, and more along long chords.
    first : (n + 1,) int
        Which of the places is the first not before each node; places between nodes a and b are
        `places[first[a]:first[b]]`. The last is the number of places.
    closed : bool
        The last node is the first again.
    """

    nodes: FloatArray
    tangents: FloatArray
    places: FloatArray
    first: IntArray
    closed: bool


def found_corners(points: FloatArray, *, closed: bool) -> IntArray:
    """Return the points (k, 2) at which the line turns sharply, rising.

    Sharply is more than four degrees and three times what the points beside it turn by, or so much
    that no smooth line can be meant. A corner rounded over several points is none.
    """
    if len(points) < 3:
        return np.empty(0, np.int64)
    ahead = np.roll(points, -1, axis=0) - points
    chord = np.linalg.norm(ahead, axis=1)
    before = np.roll(chord, 1)
    least = min(max(0.6 * float(np.median(chord)), _LEAST_REACH_MM), float(chord.sum()) / 12.0)
    reach = np.maximum(least, np.minimum(chord, before))
    into, out = _directions(points, chord, reach, closed=closed)
    turn = np.abs(
        np.arctan2(
            into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0],
            (into * out).sum(axis=1),
        )
    )
    beside = np.maximum(_bend(points, chord, 1), _bend(points, chord, -1)) * reach
    sharp = (turn > CORNER_RAD) & (
        (turn > _STANDS_OUT * beside) | ((chord + before) * turn / 16.0 > _ROUND_SAG_MM)
    )
    if not closed:
        sharp[[0, -1]] = False
    return np.flatnonzero(sharp)


def _directions(
    points: FloatArray, chord: FloatArray, reach: FloatArray, *, closed: bool
) -> tuple[FloatArray, FloatArray]:
    """Return the (k, 2) ways into and out of each point, seen over its reach."""
    ring = np.concatenate([points, points[:1]])
    along = np.concatenate([[0.0], np.cumsum(chord)])

    def at(distance: FloatArray) -> FloatArray:
        last = along[-1] if closed else along[-2]
        wrapped = np.mod(distance, last) if closed else np.clip(distance, 0.0, last)
        return np.stack([np.interp(wrapped, along, ring[:, axis]) for axis in range(2)], axis=1)

    return points - at(along[:-1] - reach), at(along[:-1] + reach) - points


def _bend(points: FloatArray, chord: FloatArray, towards: int) -> FloatArray:
    """Return by how much a millimetre the line turns at each point's neighbour."""
    ahead = np.roll(points, -1, axis=0) - points
    into = np.roll(ahead, 1, axis=0)
    turn = np.abs(
        np.arctan2(into[:, 0] * ahead[:, 1] - into[:, 1] * ahead[:, 0], (into * ahead).sum(axis=1))
    )
    share = np.maximum((chord + np.roll(chord, 1)) / 2.0, 1e-12)
    return np.asarray(np.roll(turn / share, -towards))


def course_along(points: FloatArray, *, closed: bool, most_mm: float) -> Course:
    """Return the calm course of a run of points, its ends kept exactly.

    Own derivation: of all lines that leave no point by more than a band the one whose squared
    third derivative is least. The band is four times the noise the points show. Where a point is
    not at the edge of the band its weight in that least squares is nought, so weights are
    multiplied by how much of the band is used until they settle.

    Parameters
    ----------
    points : (k, 2) float, mm
        A closed run repeats its first point at the end.
    closed : bool
        There is no corner at its ends.
    most_mm : float
        The band is no wider.
    """
    places = _filled(points)
    kept = _apart(places)
    ring = places[kept]
    along = lengths_along(ring)
    band_mm = float(np.clip(_NOISES * _noise(ring, along), _LEAST_SHARE * most_mm, most_mm))
    if closed:
        nodes, tangents = _calm_loop(ring, along, band_mm)
    else:
        calm = _calm(ring, along, band_mm)
        nodes, tangents = calm, _tangents(calm, along)
        nodes[[0, -1]] = ring[[0, -1]]
    return Course(nodes, tangents, places, np.append(kept, len(places)), closed)


def _calm_loop(
    ring: FloatArray, along: FloatArray, band_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Return nodes and tangents of a loop: it is calmed with some of itself at both ends."""
    count = len(ring) - 1
    spare = min(count, max(8, int(np.searchsorted(along, 3.0 * _CALM_WAVE_MM))))
    longer = np.concatenate([ring[count - spare : count], ring[:count], ring[: spare + 1]])
    total = float(along[-1])
    ways = np.concatenate(
        [along[count - spare : count] - total, along[:count], along[: spare + 1] + total]
    )
    calm = _calm(longer, ways, band_mm)
    tangents = _tangents(calm, ways)
    chosen = np.append(np.arange(spare, spare + count), spare)
    return calm[chosen], tangents[chosen]


def _filled(points: FloatArray) -> FloatArray:
    """Return points with more set along chords much longer than the others."""
    chord = np.linalg.norm(np.diff(points, axis=0), axis=1)
    most = max(_LONGEST_CHORDS * float(np.median(chord)), 4.0 * _NEAREST_MM)
    parts = np.maximum(np.ceil(chord / most), 1.0).astype(np.int64)
    if (parts == 1).all() or parts.sum() > 100_000:
        return points
    within = np.arange(parts.sum()) - np.repeat(np.cumsum(parts) - parts, parts)
    share = (within / np.repeat(parts, parts))[:, None]
    starts = np.repeat(points[:-1], parts, axis=0)
    steps = np.repeat(np.diff(points, axis=0), parts, axis=0)
    return np.concatenate([starts + share * steps, points[-1:]])


def _apart(points: FloatArray) -> IntArray:
    """Return which points to calm: of those nearly in one place, one; both ends always."""
    along = lengths_along(points)
    least = min(_NEAREST_MM, float(along[-1]) / 4.0)
    kept = [0]
    for index in range(1, len(points) - 1):
        if along[index] - along[kept[-1]] >= least and along[-1] - along[index] >= least:
            kept.append(index)
    return np.array([*kept, len(points) - 1], np.int64)


def _noise(points: FloatArray, along: FloatArray) -> float:
    """Return one standard deviation of the points' noise, each way.

    From the median distance of points from the cubic through the two before and the two after;
    of a noise s each way that distance is s sqrt(1 + sum of squared weights) times 1.177.
    """
    count = len(points)
    if count < 7:
        return 0.0
    others = np.arange(2, count - 2)[:, None] + np.array([-2, -1, 1, 2])
    here, there = along[2:-2], along[others]
    gaps = there[:, :, None] - there[:, None, :]
    ways = here[:, None, None] - there[:, None, :]
    share = np.where(np.eye(4, dtype=bool), 1.0, ways / np.where(np.eye(4, dtype=bool), 1.0, gaps))
    weights = share.prod(axis=2)
    off = np.linalg.norm(points[2:-2] - np.einsum("ij,ijx->ix", weights, points[others]), axis=1)
    return float(np.median(off / np.sqrt(1.0 + (weights**2).sum(axis=1)))) / 1.177


def _calm(points: FloatArray, along: FloatArray, band_mm: float) -> FloatArray:
    """Return the points moved to a calm line, each by hardly more than the band."""
    count = len(points)
    if count < 4:
        return points.copy()
    stiff = (_CALM_WAVE_MM / (2.0 * np.pi)) ** 6 * _roughness(along)
    share = np.gradient(along)
    weights = share.copy()
    for _ in range(_ROUNDS):
        weights = np.clip(weights, _LIGHTEST, _PINNED)
        weights[[0, -1]] = _PINNED
        bands = stiff.copy()
        bands[-1] += weights
        calm = np.asarray(solveh_banded(bands, weights[:, None] * points, check_finite=False))
        off = np.linalg.norm(calm - points, axis=1) / band_mm
        weights = weights * np.clip(off, *_STEP)
    return calm


def _roughness(along: FloatArray) -> FloatArray:
    """Return the (4, k) upper bands of the sum of squared third derivatives of what lies along."""
    count = len(along)
    window = along[np.arange(count - 3)[:, None] + np.arange(4)]  # (k - 3, 4)
    gaps = window[:, :, None] - window[:, None, :]
    gaps[:, np.arange(4), np.arange(4)] = 1.0
    thirds = 6.0 / gaps.prod(axis=2)
    scaled = thirds * np.sqrt((window[:, 3] - window[:, 0]) / 3.0)[:, None]
    bands = np.zeros((4, count))
    for i in range(4):
        for j in range(i, 4):
            np.add.at(bands[3 - (j - i)], np.arange(count - 3) + j, scaled[:, i] * scaled[:, j])
    return bands


def _tangents(points: FloatArray, along: FloatArray) -> FloatArray:
    slopes = CubicSpline(along, points)(along, 1)
    return np.asarray(slopes / np.linalg.norm(slopes, axis=1)[:, None])
