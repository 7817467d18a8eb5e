"""How sure a centre plane found from a scan is, and which of its freedoms the shape leaves open."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.datum.symmetry_fit import Fit, Mirror
from geometry.datum.symmetry_patches import Patches

ALIKE_OVER_MM = 40.0
"""Errors of a scan and of hand-made metal go together over some tens of mm: places nearer to each
other than this count as one. Common practice, no source."""

_ALIKE_OVER_SHARE = 0.12
"""The same on small parts, of their size."""

WEAK_ANSWER = 4e-3
"""The shape does not fix a move of the plane by 1 mm (at the scan's usual distance, for a turn)
when the surface answers with less than the root of this many mm."""

LOOSE_RAD = np.deg2rad(0.25)
LOOSE_MM = 1.0
"""Nor does it when the plane is less sure than this."""

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

    The pull of all patches of one block, both hands of it, counts as one error; the plane's
    covariance is the sum of the blocks' squared pulls between two inverses of what the surface
    answers. Source: own derivation after [liang1986], errors alike within groups.
    """
    answer, weights = fit.pairing.answer, fit.weights
    total = max(float(weights.sum()), 1e-12)
    mean_answer = (answer * weights[:, None]).T @ answer / total
    values, vectors = np.linalg.eigh(mean_answer)
    block = _blocks(patches, fit.mirror)
    pulls = np.stack(
        [np.bincount(block, weights=weights * fit.pairing.gap * a) for a in answer.T], axis=1
    )
    counted = int((np.bincount(block, weights=weights) > 0).sum())
    spare = max(counted - 3, 1) / max(counted, 1)
    inverse = vectors @ np.diag(1.0 / np.maximum(values, 1e-9)) @ vectors.T
    bend = _steepness(fit)
    covariance = inverse @ (pulls.T @ pulls) @ inverse / (total * bend) ** 2 / spare
    turn = float(np.sqrt(np.linalg.eigvalsh(covariance[:2, :2])[-1])) / patches.size
    shift = float(np.sqrt(covariance[2, 2]))
    open_moves = vectors[:, values < WEAK_ANSWER].T
    words = _words(open_moves)
    if not words and (turn > LOOSE_RAD or shift > LOOSE_MM):
        words = (LOOSE,)
    return Sureness(turn, shift, words, open_moves)


def _steepness(fit: Fit) -> float:
    """Return how fast the sum of pulls changes with a gap, against the weights: Tukey's psi'."""
    if not fit.weights.any():
        return 1.0
    share2 = 1.0 - np.sqrt(fit.weights)  # (gap / limit)^2 where believed
    slope = np.where(fit.weights > 0, (1.0 - share2) * (1.0 - 5.0 * share2), 0.0)
    return max(float(slope.sum() / fit.weights.sum()), 0.2)


def _blocks(patches: Patches, mirror: Mirror) -> IntArray:
    """Return (k,) which block each patch is in; a place and its mirror image share one."""
    wide = max(min(ALIKE_OVER_MM, _ALIKE_OVER_SHARE * 2.0 * patches.size), 3.0 * patches.spacing)
    beside = np.abs(patches.points @ mirror.normal - mirror.offset)
    folded = np.column_stack([patches.points @ mirror.axes().T, beside])
    cells = np.floor(folded / wide).astype(np.int64)
    return np.asarray(np.unique(cells, axis=0, return_inverse=True)[1].ravel(), np.int64)


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
