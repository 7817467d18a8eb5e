"""How a board with a circular edge lies on a stretch of an outline: the widest gap that stays.

The board is stiff: it is pushed on until it touches, and rocked until its widest gap is least.
"""

import numpy as np

from geometry.arrays import FloatArray

WIDEST_TURN_RAD = np.pi / 3.0
"""An edge turns by no more to either side of its middle: beyond, a board grips."""

_ROCKS = 17
_ZOOMS = 5
_HALVINGS = 20
_MOST_DOUBLINGS = 30


def longest_chord_mm(radius_mm: float) -> float:
    """Return how long a chord an edge of a radius may have.

    >>> round(longest_chord_mm(100.0), 6)
    173.205081
    """
    return float(2.0 * radius_mm * np.sin(WIDEST_TURN_RAD))


def laid_gap(stretch: FloatArray, curvature: float) -> float:
    """Return the widest gap under a circular edge laid on a stretch, square to the edge, mm.

    Of all ways to lay it on that touch and nowhere run into the metal, the one whose widest gap is
    least. Source: own derivation: with the stretch turned by a small angle, the gaps at its points
    change all but linearly, so that their widest is convex in the angle.

    Parameters
    ----------
    stretch : (k, 2) float, mm
        In order, the side the board comes from to its left.
    curvature : float, 1/mm
        Of the metal the edge is made for: above 0 crowned towards the board, below 0 hollow.

    Returns
    -------
    float
        Infinite where the edge does not reach over the stretch.

    >>> turn = np.linspace(2.0, 1.0, 201)
    >>> arc = 100.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    >>> round(laid_gap(arc, 1.0 / 100.0), 6)
    0.0
    >>> sag = 100.0 - 100.0 * np.cos(0.5)  # a straight edge touches in the middle
    >>> bool(abs(laid_gap(arc, 0.0) - sag) < 1e-9)
    True
    """
    chord = stretch[-1] - stretch[0]
    length = float(np.hypot(*chord))
    if length == 0.0:
        return np.inf
    along = chord / length
    x = (stretch - stretch[0]) @ along - length / 2.0
    y = (stretch - stretch[0]) @ np.array([-along[1], along[0]])
    upright = float(_gaps(x, y, curvature, np.zeros(1))[0])
    if not np.isfinite(upright):
        return np.inf
    # Turned by more, one end alone would stand off further than it does upright.
    middle, reach, best = 0.0, 3.0 * upright / length, upright
    for _ in range(_ZOOMS):
        angles = middle + reach * np.linspace(-1.0, 1.0, _ROCKS)
        gaps = _gaps(x, y, curvature, angles)
        at = int(gaps.argmin())
        middle, best = float(angles[at]), min(best, float(gaps[at]))
        reach *= 2.0 / (_ROCKS - 1)
    return best


def _gaps(x: FloatArray, y: FloatArray, curvature: float, angles: FloatArray) -> FloatArray:
    """Return the widest gap (a,) for every angle the stretch is turned by, the edge pushed on."""
    cosine, sine = np.cos(angles)[:, None], np.sin(angles)[:, None]
    across, up = cosine * x - sine * y, sine * x + cosine * y
    under = 1.0 - (curvature * across) ** 2
    beyond = (under < 0.0).any(axis=1)
    edge = -curvature * across**2 / (1.0 + np.sqrt(np.maximum(under, 0.0)))
    up = up - (up - edge).max(axis=1, keepdims=True)
    # Distance to the circle curvature (x2 + y2) / 2 + y = 0, above 0 on the board's side of it.
    off = curvature * (across**2 + up**2) / 2.0 + up
    distance = 2.0 * off / (1.0 + np.sqrt(np.maximum(1.0 + 2.0 * curvature * off, 0.0)))
    return np.asarray(np.where(beyond, np.inf, -distance.min(axis=1)))


def curvatures_within(stretch: FloatArray, near: float, limit_mm: float) -> tuple[float, float]:
    """Return between which curvatures an edge leaves no wider gap than the limit, 1/mm.

    Parameters
    ----------
    stretch : (k, 2) float, mm
    near : float, 1/mm
        A curvature that does: both ends of what is returned where it does not.
    limit_mm : float
    """
    if laid_gap(stretch, near) > limit_mm:
        return near, near
    length = float(np.hypot(*(stretch[-1] - stretch[0])))
    step = 8.0 * limit_mm / length**2  # the sagitta's change that makes up the limit
    return (
        _last_within(stretch, near, -step, limit_mm),
        _last_within(stretch, near, step, limit_mm),
    )


def _last_within(stretch: FloatArray, near: float, step: float, limit_mm: float) -> float:
    """Return the last curvature on one side whose gap is within the limit."""
    good, bad = near, near + step
    for _ in range(_MOST_DOUBLINGS):
        if laid_gap(stretch, bad) > limit_mm:
            break
        good, bad = bad, bad + step
    for _ in range(_HALVINGS):
        middle = (good + bad) / 2.0
        if abs(bad - good) < 1e-3 * abs(step):
            break
        if laid_gap(stretch, middle) > limit_mm:
            bad = middle
        else:
            good = middle
    return good
