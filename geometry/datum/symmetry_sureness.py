"""How sure a centre plane found from a scan is, and which of its freedoms the shape leaves open."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial.distance import cdist

from geometry.arrays import FloatArray, IntArray
from geometry.datum.symmetry_fit import Fit
from geometry.datum.symmetry_patches import Patches

_BLOCK = 0.1
"""Width of the blocks over which gaps are averaged first, of the scan's size."""

_LAGS = 10
_ROUNDS = 4

WEAK_ANSWER = 4e-3
"""The shape does not fix a move of the plane by 1 mm (at the scan's usual distance, for a turn)
when the surface answers with less than the root of this many mm."""

LOOSE_RAD = np.deg2rad(0.25)
LOOSE_MM = 1.0
"""Nor does it when the plane is less sure than this."""

ANY_WAY_RAD = np.pi / np.sqrt(12.0)
"""Standard deviation of a direction that may be any: the most a turn is told to be unsure."""

TURNS = "it can turn: the shape is nearly the same all round, or flat"
TURNS_ANY_WAY = "it can turn any way: the shape is nearly a ball"
SLIDES = "it can slide sideways: the shape is nearly the same all along"
LOOSE = "it is held only loosely: too little is alike on both hands"


@dataclass(frozen=True, eq=False)
class Sureness:
    """Standard errors of a plane, and what is open.

    Attributes
    ----------
    spread_rad, spread_mm : float
        As of `CentrePlane`.
    weak : tuple of str
    open_moves : (j, 3) float
        The steps of `Mirror.moved` the shape does not fix, unit rows.
    """

    spread_rad: float
    spread_mm: float
    weak: tuple[str, ...]
    open_moves: FloatArray


def sureness_of(patches: Patches, fit: Fit) -> Sureness:
    """Return how sure a fitted plane is.

    A move the shape leaves open is as unsure as the usual gap, were it all one way, could make it.
    """
    answer, weights = fit.pairing.answer, fit.weights
    total = max(float(weights.sum()), 1e-12)
    mean_answer = (answer * weights[:, None]).T @ answer / total
    values, vectors = np.linalg.eigh(mean_answer)
    values = np.maximum(values, 1e-9)
    inverse = vectors @ np.diag(1.0 / values) @ vectors.T
    covariance = _covariance(_blocks(patches, fit), inverse / (total * _steepness(fit)))
    is_open = values < WEAK_ANSWER
    open_moves = vectors[:, is_open].T
    gap = max(fit.sigma_mm, 1e-3 * patches.spacing)
    covariance += open_moves.T @ np.diag(gap**2 / values[is_open]) @ open_moves
    turn = float(np.sqrt(max(np.linalg.eigvalsh(covariance[:2, :2])[-1], 0.0))) / patches.size
    shift = float(np.sqrt(max(covariance[2, 2], 0.0)))
    words = _words(open_moves)
    if not words and (turn > LOOSE_RAD or shift > LOOSE_MM):
        words = (LOOSE,)
    return Sureness(min(turn, ANY_WAY_RAD), min(shift, patches.size), words, open_moves)


@dataclass(frozen=True, eq=False)
class _Blocks:
    """Gaps averaged over small blocks of the surface, both hands together.

    Attributes
    ----------
    places : (b, 3) float, mm
    weights : (b,) float
    gaps : (b,) float, mm
        How far the hand on the normal's side stands outside the other.
    answers : (b, 3) float
        Mean change of the gap by the three steps of a mirror.
    wide : float, mm
    """

    places: FloatArray
    weights: FloatArray
    gaps: FloatArray
    answers: FloatArray
    wide: float


def _blocks(patches: Patches, fit: Fit) -> _Blocks:
    wide = max(_BLOCK * patches.size, 3.0 * patches.spacing)
    mirror, believed = fit.mirror, fit.weights > 0.0
    if not believed.any():
        believed = np.ones(len(fit.weights), bool)
    points, weights = patches.points[believed], np.maximum(fit.weights[believed], 1e-12)
    beside = points @ mirror.normal - mirror.offset
    hand = np.where(beside >= 0.0, 1.0, -1.0)
    folded = np.column_stack([points @ mirror.axes().T, np.abs(beside)])
    cells = np.floor(folded / wide).astype(np.int64)
    block: IntArray = np.unique(cells, axis=0, return_inverse=True)[1].ravel()
    share = weights / np.bincount(block, weights=weights)[block]

    def mean(values: FloatArray) -> FloatArray:
        return np.stack([np.bincount(block, weights=share * v) for v in values.T], axis=1)

    return _Blocks(
        places=mean(folded),
        weights=np.asarray(np.bincount(block, weights=weights), np.float64),
        gaps=mean((hand * fit.pairing.gap[believed])[:, None])[:, 0],
        answers=mean(hand[:, None] * fit.pairing.answer[believed]),
        wide=wide,
    )


def _covariance(blocks: _Blocks, inverse: FloatArray) -> FloatArray:
    """Return the (3, 3) covariance of the steps, gaps nearby being alike as far as they are.

    How alike is read off the gaps themselves: their products by distance, what the fitted plane
    has taken out of them put back, give a bell of some height and reach, and what a block has for
    itself alone. Source: own derivation: generalised least squares' sandwich.
    """
    apart = cdist(blocks.places, blocks.places)
    lag = np.round(apart / blocks.wide).astype(np.int64)
    np.fill_diagonal(lag, 0)
    far = lag > _LAGS
    lag[far] = _LAGS + 1
    lag[(lag == 0) & ~np.eye(len(lag), dtype=bool)] = 1
    pair_weights = np.outer(blocks.weights, blocks.weights)
    products = np.outer(blocks.gaps, blocks.gaps)
    pulls = blocks.answers * blocks.weights[:, None]
    count = _summed(lag, pair_weights)
    covariance = np.zeros((3, 3))
    for _ in range(_ROUNDS):
        put_back = products + blocks.answers @ covariance @ blocks.answers.T
        alike = _summed(lag, pair_weights * put_back) / np.maximum(count, 1e-300)
        height, reach = _bell(alike[1:], count[1:], blocks.wide)
        own = max(float(alike[0]) - height, 0.0) * blocks.weights.mean() / blocks.weights
        together = height * np.exp(-0.5 * (apart / reach) ** 2) + np.diag(own)
        covariance = inverse @ (pulls.T @ together @ pulls) @ inverse
    return np.asarray(covariance)


def _summed(lag: IntArray, values: FloatArray) -> FloatArray:
    """Return (l,) sums of pairs' values by how many blocks apart they are, those far off left."""
    sums = np.bincount(lag.ravel(), weights=values.ravel(), minlength=_LAGS + 2)
    return np.asarray(sums[:-1], np.float64)


def _bell(alike: FloatArray, count: FloatArray, wide: float) -> tuple[float, float]:
    """Return height and reach of the bell nearest to (l,) products one, two, ... blocks apart."""
    apart = wide * np.arange(1, len(alike) + 1)
    best = (0.0, wide)
    least = float(count @ alike**2)
    for reach in wide * np.geomspace(0.5, 6.0, 16):
        bell = np.exp(-0.5 * (apart / reach) ** 2)
        height = float((count * bell) @ alike) / max(float(count @ bell**2), 1e-300)
        off = float(count @ (alike - height * bell) ** 2)
        if height > 0.0 and off < least:
            best, least = (height, float(reach)), off
    return best


def _steepness(fit: Fit) -> float:
    """Return how fast the sum of pulls changes with a gap, against the weights: Tukey's psi'."""
    if not fit.weights.any():
        return 1.0
    share2 = 1.0 - np.sqrt(fit.weights)  # (gap / limit)^2 where believed
    slope = np.where(fit.weights > 0, (1.0 - share2) * (1.0 - 5.0 * share2), 0.0)
    return max(float(slope.sum() / fit.weights.sum()), 0.2)


def _words(open_moves: FloatArray) -> tuple[str, ...]:
    """Return what moves are open, in words.

    >>> _words(np.array([[0.8, 0.6, 0.0]])) == (TURNS,)
    True
    """
    if not len(open_moves):
        return ()
    turning = np.linalg.matrix_rank(open_moves[:, :2], tol=0.5)
    words = {0: (), 1: (TURNS,), 2: (TURNS_ANY_WAY,)}[int(turning)]
    sliding = len(open_moves) > turning
    return (*words, SLIDES) if sliding else words
