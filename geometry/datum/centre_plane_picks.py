"""The centre plane from places picked by the maker: on the centre line, in pairs, or both."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import FloatArray
from geometry.datum.centre_plane import (
    CentrePlane,
    PicksDoNotFixPlaneError,
    positive_along_largest,
)

PICK_ERROR_MM = 1.0
"""How sure one pick on a scan is, one standard deviation each way. Common practice, no source."""

UNFIXED_RAD = np.deg2rad(10.0)
"""Picks that leave the plane turning by more than this do not fix it."""

LOOSE_RAD = np.deg2rad(0.5)
LOOSE_MM = 2.0
"""Above these the maker is told that the picks hold the plane only loosely."""

_MEASURED_FROM = 6
"""With fewer picks to spare than this their scatter says too little to be believed below
`PICK_ERROR_MM`."""

Pair = tuple[FloatArray, FloatArray]


def plane_from_picks(
    on_centre: Sequence[FloatArray] | FloatArray, pairs: Sequence[Pair] | FloatArray
) -> CentrePlane:
    """Return the centre plane most likely from picks that are all equally sure.

    Parameters
    ----------
    on_centre : (k, 3) float, mm
        Places on the centre line.
    pairs : (j, 2, 3) float, mm
        The same place on the left and on the right, in either order.

    Raises
    ------
    PicksDoNotFixPlaneError
        Three centre points off one line are enough, or one pair, or one of each.

    Source: own derivation. A centre point is off by n.p - d; a pair a, b by n.m - d at its
    middle m, twice as sure, and by the part of a - b square to n, half as sure. The sum of squares
    is n^T Q n once d is the mean of n.p and n.m: least at Q's smallest eigenvector.

    >>> pair = np.array([[[0.0, 5.0, 1.0], [0.0, -5.0, 1.0]]])
    >>> plane_from_picks(np.empty((0, 3)), pair).normal.tolist()
    [0.0, 1.0, 0.0]
    """
    centre = np.asarray(on_centre, np.float64).reshape(-1, 3)
    both = np.asarray(pairs, np.float64).reshape(-1, 2, 3)
    if len(centre) < 3 and not len(both):
        raise PicksDoNotFixPlaneError(len(centre), len(both), False)
    places = np.concatenate([centre, both.mean(axis=1)])
    weights = np.concatenate([np.ones(len(centre)), np.full(len(both), 2.0)])
    middle = weights @ places / weights.sum()
    away = (places - middle) * np.sqrt(weights)[:, None]
    across = both[:, 0] - both[:, 1]
    Q = away.T @ away + 0.5 * ((across**2).sum() * np.eye(3) - across.T @ across)
    values, vectors = np.linalg.eigh(Q)
    normal = positive_along_largest(vectors[:, 0])
    off, askew = away @ normal, across - np.outer(across @ normal, normal)
    squares = float((off**2).sum() + 0.5 * (askew**2).sum())
    error = _pick_error(squares, len(centre) + 3 * len(both) - 3)
    turn = error / np.sqrt(np.maximum(values[1:] - values[0], 1e-300))
    if turn[0] > UNFIXED_RAD:
        raise PicksDoNotFixPlaneError(len(centre), len(both), True)
    seen = np.concatenate([centre, both.reshape(-1, 3)]).mean(axis=0)
    point = seen - ((seen - middle) @ normal) * normal
    shift = _shift_error(point - middle, vectors[:, 1:], turn, error / np.sqrt(weights.sum()))
    return CentrePlane(
        point=point,
        normal=normal,
        spread_rad=float(turn[0]),
        spread_mm=shift,
        weak=_loose(float(turn[0]), shift),
        matched_share=None,
        residual_mm=float(np.sqrt(squares / (len(centre) + 3 * len(both)))),
    )


def picks_off(
    plane: CentrePlane,
    on_centre: Sequence[FloatArray] | FloatArray,
    pairs: Sequence[Pair] | FloatArray,
) -> FloatArray:
    """Return how far each centre point is off the plane, then each pair off being mirrored, mm.

    Returns
    -------
    (k + j,) float
        Never negative; for a pair the distance from one to the other's mirror image.
    """
    centre = np.asarray(on_centre, np.float64).reshape(-1, 3)
    both = np.asarray(pairs, np.float64).reshape(-1, 2, 3)
    miss = np.linalg.norm(plane.mirrored(both[:, 0]) - both[:, 1], axis=1)
    return np.concatenate([np.abs(plane.off(centre)), miss])


def _pick_error(squares: float, spare: int) -> float:
    """Return how sure one pick is: as scattered, never surer than usual on a few picks' word."""
    scattered = float(np.sqrt(squares / spare)) if spare > 0 else 0.0
    return scattered if spare >= _MEASURED_FROM else max(scattered, PICK_ERROR_MM)


def _shift_error(
    arm: FloatArray, turned: FloatArray, turn_rad: FloatArray, at_middle_mm: float
) -> float:
    """Return the standard error of the plane's place at some way from the picks' middle."""
    return float(np.sqrt(at_middle_mm**2 + (((arm @ turned) * turn_rad) ** 2).sum()))


def _loose(turn_rad: float, shift_mm: float) -> tuple[str, ...]:
    words = []
    if turn_rad > LOOSE_RAD:
        words.append("it can turn a little: picks wider apart, and off one line, hold it better")
    if shift_mm > LOOSE_MM:
        words.append("it can shift sideways: the picks do not agree closely")
    return tuple(words)
