"""The rim of a scan freed of its saw-teeth: fitted along itself, its true corners kept."""

from dataclasses import dataclass

import numpy as np

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
        Width (one standard deviation) of the stretch that counts; less on short rims, so that a
        small round hole stays round. Teeth shorter than about twice this go, bends longer stay.

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
    smooth, share = _fitted(even, corner, window / step)
    lap = np.concatenate([smooth, smooth[:1]])
    grid = np.append(knots, length)
    points = np.stack([np.interp(at[:-1], grid, lap[:, axis]) for axis in range(3)], axis=1)
    share = np.interp(at[:-1], grid, np.append(share, share[0])) * (edge / step)
    error = _scatter(raw, points) * np.sqrt(share)
    owner = _nearest_in_turn(at[:-1], knots[corner], length)
    points[owner] = smooth[corner]
    return SmoothRim(points, np.sort(owner), error)


def _scatter(raw: FloatArray, smooth: FloatArray) -> float:
    """Return the standard deviation of raw points across a smooth rim, mm, of most of them.

    Two thirds of a normal distribution lie within its standard deviation; corners do not count.
    """
    chord = np.roll(smooth, -1, axis=0) - np.roll(smooth, 1, axis=0)
    along = chord / np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-300)
    off = raw - smooth
    off = off - (off * along).sum(axis=1, keepdims=True) * along
    return float(np.quantile(np.linalg.norm(off, axis=1), _WITHIN_ONE))


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


def _fitted(even: FloatArray, corner: IntArray, window: float) -> tuple[FloatArray, FloatArray]:
    """Return each point's place on the parabola through its surroundings, up to the next corner.

    At a corner itself the mean of where both sides end. With them, of each place, its variance
    over that of the points, were these independent.
    """
    if not len(corner):
        return _local_parabolas(even, np.arange(len(even)), window, closed=True)
    out, share = even.copy(), np.zeros(len(even))
    total = np.zeros((len(even), 3))
    count = len(even)
    for first, last in zip(corner, np.roll(corner, -1), strict=True):
        steps = (last - first - 1) % count + 1
        run = (first + np.arange(steps + 1)) % count
        fitted, part = _local_parabolas(even, run, window, closed=False)
        out[run[1:-1]], share[run] = fitted[1:-1], part
        total[run[0]] += fitted[0]
        total[run[-1]] += fitted[-1]
    out[corner] = total[corner] / 2.0
    return out, share


def _local_parabolas(
    even: FloatArray, run: IntArray, window: float, *, closed: bool
) -> tuple[FloatArray, FloatArray]:
    k = len(run)
    reach = int(np.ceil(3.0 * window))
    offset = np.arange(-reach, reach + 1)
    index = np.arange(k)[:, None] + offset
    inside = np.ones(index.shape, bool) if closed else (index >= 0) & (index < k)
    t = offset / max(window, 1e-9)
    weight = inside * np.exp(-0.5 * t * t)
    terms = np.stack([np.ones_like(t), t, t * t])  # (3, j)
    matrix = np.einsum("kj,aj,bj->kab", weight, terms, terms)
    matrix += 1e-9 * np.eye(3)
    to_place = np.linalg.solve(matrix, np.array([[1.0], [0.0], [0.0]]))[:, :, 0]
    share = weight * (to_place @ terms)  # (k, j): what each point around counts
    place = np.einsum("kj,kjx->kx", share, even[run[index % k]])
    return place, (share * share).sum(axis=1)
