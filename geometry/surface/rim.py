"""The rim of a scan freed of its saw-teeth: fitted along itself, its true corners kept."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.ndimage import minimum_filter1d, uniform_filter1d

from geometry.arrays import BoolArray, FloatArray, IntArray

_STEPS_A_WINDOW = 6
_WINDOW_SHARE_OF_LOOP = 0.06
_CORNER_ARM = 2.5
_SHARP_TURN = np.radians(35.0)
_SHORTEST_WITH_CORNERS = 6.0
_SPIKE_OVER_USUAL = 3.0
_FEWEST_POINTS = 12
_TURN_OF_FEW = np.radians(40.0)
_LEAST_EDGES = 0.75
_EDGES_A_TOOTH = 100.0
_CALM_SHARE = 0.35
_WITHIN_ONE = 0.6827
"""Of a normal distribution, within its standard deviation; corners then do not count."""
_WIDENINGS = 3
_LEFT_AT_CORNERS = 2
_SHORTEST_LEFT_OUT = 16
_ARM_OF_MEETING = 4
_LEAST_LEAN = 0.1


@dataclass(frozen=True, eq=False)
class SmoothRim:
    """A closed rim and where its points go.

    Attributes
    ----------
    points : (k, 3) float, mm
        The smooth place of every point of the raw rim, in its order.
    corners : (j,) int
        Which of them are corners, rising.
    error_mm : (k,) float
        Standard error of the smooth places across the rim, from how far the raw points scatter
        about them and how many each is fitted to.
    """

    points: FloatArray
    corners: IntArray
    error_mm: FloatArray


def smoothed_rim(raw: FloatArray, *, window_mm: float) -> SmoothRim:
    """Return a closed rim of (k, 3) points smoothed by parabolas fitted along it.

    Parameters
    ----------
    raw : (k, 3) float, mm
        The first point is not repeated.
    window_mm : float
        Width (one standard deviation) of the stretch that counts at least; less on short rims, so
        that a small round hole stays round. Teeth shorter than about twice this go, bends longer
        stay. Up to eight times as much counts where that changes nothing but chance.

    A clean rim (drawn, not scanned) is left nearly as it is: the window is three quarters of an
    edge and a hundred times what points usually stand off. Of fewer than twelve points all stay.

    A corner is where the directions of the rim over two and a half windows on either side differ
    by 35 degrees more than they do before and after.
    """
    turns = _sharp_points(raw)
    if len(raw) < _FEWEST_POINTS:
        return SmoothRim(raw.copy(), turns, np.zeros(len(raw)))
    run = np.linalg.norm(np.roll(raw, -1, axis=0) - raw, axis=1)
    at = np.concatenate([[0.0], np.cumsum(run)])
    length = float(at[-1])
    edge = float(np.median(run))
    needed = edge * (_LEAST_EDGES + _EDGES_A_TOOTH * _raggedness(raw) / edge)
    window = min(window_mm, _WINDOW_SHARE_OF_LOOP * length, needed)
    count = max(12, int(np.ceil(length / min(window / _STEPS_A_WINDOW, edge))))
    step = length / count
    knots = np.arange(count, dtype=np.float64) * step
    closed = np.concatenate([raw, raw[:1]])
    even = np.stack([np.interp(knots, at, closed[:, axis]) for axis in range(3)], axis=1)
    corner = np.empty(0, np.int64)
    if length > _SHORTEST_WITH_CORNERS * _CORNER_ARM * window:
        corner = _corners(even, max(3, round(_CORNER_ARM * window / step)))
    fit = _fitted(even, corner, _windows(window, length) / step, edge / step)
    lap = np.concatenate([fit.places, fit.places[:1]])
    grid = np.append(knots, length)
    points = np.stack([np.interp(at[:-1], grid, lap[:, axis]) for axis in range(3)], axis=1)
    error = np.interp(at[:-1], grid, np.append(fit.errors, fit.errors[0]))
    owner = _nearest_in_turn(at[:-1], knots[corner], length)
    points[owner] = fit.places[corner]
    return SmoothRim(points, np.sort(owner), error)


def _windows(least: float, length: float) -> FloatArray:
    """Return the windows to be tried on a rim of some length, each twice the one before."""
    wider = least * 2.0 ** np.arange(_WIDENINGS + 1)
    return np.asarray(wider[(wider <= _WINDOW_SHARE_OF_LOOP * length) | (wider == least)])


def _sharp_points(raw: FloatArray) -> IntArray:
    """Return the points of a closed rim at which it turns by more than 40 degrees."""
    ahead = np.roll(raw, -1, axis=0) - raw
    behind = np.roll(ahead, 1, axis=0)
    scale = np.linalg.norm(ahead, axis=1) * np.linalg.norm(behind, axis=1)
    cosine = (ahead * behind).sum(axis=1) / np.maximum(scale, 1e-300)
    return np.flatnonzero(cosine < np.cos(_TURN_OF_FEW))


def _raggedness(raw: FloatArray) -> float:
    """Return how far points of a closed rim usually stand off a smooth course, mm.

    The jump, across the rim, between how it bends at a point and at the points beside it; zero on
    a straight line and on a circle.
    """
    chord = np.roll(raw, -1, axis=0) - np.roll(raw, 1, axis=0)
    along = chord / np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-300)
    bend = raw - (np.roll(raw, -1, axis=0) + np.roll(raw, 1, axis=0)) / 2.0
    jump = bend - (np.roll(bend, -1, axis=0) + np.roll(bend, 1, axis=0)) / 2.0
    jump -= (jump * along).sum(axis=1, keepdims=True) * along
    calm = np.quantile(np.linalg.norm(jump, axis=1), _CALM_SHARE)  # corners do not count
    return float(1.5 * calm)


def spikes(raw: FloatArray) -> BoolArray:
    """Return which of (k, 3) points of a closed rim stand far out of it, alone.

    Farther from the middle of their neighbours than these are apart, than an edge is long and than
    three times what is usual on this rim.
    """
    before, after = np.roll(raw, 1, axis=0), np.roll(raw, -1, axis=0)
    edge = float(np.median(np.linalg.norm(after - raw, axis=1)))
    base = np.linalg.norm(after - before, axis=1)
    height = np.linalg.norm(raw - (after + before) / 2.0, axis=1)
    limit = max(edge, _SPIKE_OVER_USUAL * float(np.median(height)))
    return np.asarray((height > limit) & (height > base))


def _nearest_in_turn(at: FloatArray, wanted: FloatArray, length: float) -> IntArray:
    """Return which of the places along the loop is nearest to each wanted, going round."""
    gap = np.abs(at[None, :] - wanted[:, None])
    return np.unique(np.argmin(np.minimum(gap, length - gap), axis=1))


def _corners(even: FloatArray, arm: int) -> IntArray:
    """Return the indices of corners of an evenly spaced loop; `arm` is how many steps to look."""
    count = len(even)
    offset = np.arange(arm + 1)
    centred = offset - offset.mean()
    here = np.arange(count)[:, None]
    ahead = np.einsum("j,kjx->kx", centred, even[(here + offset) % count])
    behind = np.einsum("j,kjx->kx", centred, even[(here - offset[::-1]) % count])
    cosine = (ahead * behind).sum(axis=1)
    scale = np.linalg.norm(ahead, axis=1) * np.linalg.norm(behind, axis=1)
    turn = np.arccos(np.clip(cosine / np.maximum(scale, 1e-300), -1.0, 1.0))
    aside = round(1.5 * arm)
    besides = np.maximum(np.roll(turn, aside), np.roll(turn, -aside))
    around = np.stack([np.roll(turn, shift) for shift in range(-arm, arm + 1)])
    peak = turn >= around.max(axis=0)
    found = np.flatnonzero(peak & (turn - besides > _SHARP_TURN))
    return found[np.diff(found, prepend=-count) > 1] if len(found) else found


@dataclass(frozen=True, eq=False)
class _Fit:
    """Places (k, 3) of evenly spaced points of a rim once smooth, and their (k,) errors, mm."""

    places: FloatArray
    errors: FloatArray


def _fitted(even: FloatArray, corner: IntArray, windows: FloatArray, a_point: float) -> _Fit:
    """Return each point's place on the parabola through its surroundings, up to the next corner.

    A corner itself goes to where the courses on both sides meet.

    Parameters
    ----------
    even : (k, 3) float
    corner : (j,) int
    windows : (w,) float
        In steps between points, least first.
    a_point : float
        How many steps there are to a point of the scan.
    """
    count = len(even)
    if not len(corner):
        return _widest_that_agrees(even, windows, a_point, closed=True)
    out, errors = even.copy(), np.zeros(count)
    runs = [
        (first + np.arange((last - first - 1) % count + 2)) % count
        for first, last in zip(corner, np.roll(corner, -1), strict=True)
    ]
    fits = [_widest_that_agrees(even[run], windows, a_point, closed=False) for run in runs]
    for run, fit in zip(runs, fits, strict=True):
        out[run[1:-1]], errors[run] = fit.places[1:-1], fit.errors
    for here, behind, ahead in zip(corner, np.roll(np.arange(len(runs)), 1), runs, strict=True):
        before, after = fits[behind].places[::-1], fits[list(corner).index(here)].places
        out[here] = _meeting(before, after)
        _straight_to(out, ahead, out[here])
        _straight_to(out, runs[behind][::-1], out[here])
    return _Fit(out, errors)


def _widest_that_agrees(
    points: FloatArray, windows: FloatArray, a_point: float, *, closed: bool
) -> _Fit:
    """Return points fitted over the widest windows that tell of nothing but chance.

    A wider window is taken where its places differ from those of every narrower one by less than
    twice their standard error; between places of different windows it changes by and by.

    Source: own derivation of the common rule by Lepski for choosing how far to average.
    """
    fits = [local_parabolas(points, window, closed=closed) for window in windows]
    along = np.gradient(fits[0][0], axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-300)

    def across(off: FloatArray) -> FloatArray:
        return np.asarray(
            np.linalg.norm(off - (off * along).sum(axis=1, keepdims=True) * along, axis=1)
        )

    scatter = float(np.quantile(across(points - fits[0][0]), _WITHIN_ONE))
    errors = [scatter * np.sqrt(share * a_point) for _, share in fits]
    agrees = np.ones(len(points), bool)
    level = np.zeros(len(points))
    for wide in range(1, len(fits)):
        for narrow in range(wide):
            agrees &= across(fits[wide][0] - fits[narrow][0]) <= 2.0 * errors[narrow]
        level += agrees
    mode: Literal["wrap", "nearest"] = "wrap" if closed else "nearest"
    size = 2 * int(np.ceil(windows[0])) + 1
    level = uniform_filter1d(minimum_filter1d(level, size, mode=mode), size, mode=mode)
    places, error = np.zeros_like(points), np.zeros(len(points))
    for number, ((place, _), of_place) in enumerate(zip(fits, errors, strict=True)):
        counts = np.maximum(1.0 - np.abs(level - number), 0.0)
        places += counts[:, None] * place
        error += counts * of_place
    return _Fit(places, error)


def _meeting(before: FloatArray, after: FloatArray) -> FloatArray:
    """Return where two courses, each running away from a corner, meet once drawn out straight.

    The middle of their ends where that is not near them.
    """
    middle = (before[0] + after[0]) / 2.0
    u, v = (_direction(run) for run in (before, after))
    lean = 1.0 - float(u @ v) ** 2
    gap = after[0] - before[0]
    if lean < _LEAST_LEAN:
        return np.asarray(middle)
    s = (gap @ u - (gap @ v) * (u @ v)) / lean
    t = ((gap @ u) * (u @ v) - gap @ v) / lean
    meeting = (before[0] + s * u + after[0] + t * v) / 2.0
    arm = np.linalg.norm(before[min(_ARM_OF_MEETING, len(before) - 1)] - before[0])
    return np.asarray(meeting if np.linalg.norm(meeting - middle) < arm else middle)


def _direction(run: FloatArray) -> FloatArray:
    towards = run[min(_ARM_OF_MEETING, len(run) - 1)] - run[0]
    return np.asarray(towards / max(float(np.linalg.norm(towards)), 1e-300))


def _straight_to(out: FloatArray, run: IntArray, corner: FloatArray) -> None:
    """Put the first points of a run, which the fit passes over, evenly up to its corner."""
    last = min(_LEFT_AT_CORNERS + 1, len(run) - 2)
    for number in range(1, last):
        share = number / last
        out[run[number]] = (1.0 - share) * corner + share * out[run[last]]


def local_parabolas(
    points: FloatArray, window: float, *, closed: bool
) -> tuple[FloatArray, FloatArray]:
    """Return places on local parabolas and, of each, its variance over that of a point.

    The points nearest to the ends of an open run may lie beyond its corner and do not count.
    """
    k = len(points)
    reach = int(np.ceil(3.0 * window))
    offset = np.arange(-reach, reach + 1)
    index = np.arange(k)[:, None] + offset
    left_out = 0 if closed or k < _SHORTEST_LEFT_OUT else _LEFT_AT_CORNERS
    inside = (index >= left_out) & (index < k - left_out) | closed
    t = offset / max(window, 1e-9)
    weight = inside * np.exp(-0.5 * t * t)
    terms = np.stack([np.ones_like(t), t, t * t])  # (3, j)
    products = (terms[:, None] * terms).reshape(9, -1)
    matrix = (weight @ products.T).reshape(k, 3, 3)
    matrix += 1e-9 * np.eye(3)
    to_place = np.linalg.solve(matrix, np.array([[1.0], [0.0], [0.0]]))[:, :, 0]
    share = weight * (to_place @ terms)  # (k, j): what each point around counts
    place = np.einsum("kj,kjx->kx", share, points[index % k])
    return place, (share * share).sum(axis=1)
