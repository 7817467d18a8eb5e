"""Evenly spaced points calmed by the parabola through those around each: `running_parabolas`."""

import numpy as np
from scipy.ndimage import convolve1d

from geometry.arrays import FloatArray


def running_parabolas(points: FloatArray, width: int, *, closed: bool) -> FloatArray:
    """Return each point on the parabola that fits it and those around it best.

    Near the ends of an open line it is the parabola through the first or last `width` points, so
    that no end is drawn in.

    Parameters
    ----------
    points : (n, d) float
        Evenly apart along a line; a closed one does not repeat its first.
    width : int
        How many points a parabola is fitted to: odd, at least 3, and at most n.
    closed : bool

    Source: [savitzky1964].

    >>> square = np.arange(5.0)[:, None] ** 2
    >>> np.round(running_parabolas(square, 3, closed=False).ravel(), 9).tolist()
    [0.0, 1.0, 4.0, 9.0, 16.0]
    """
    half = width // 2
    steps = np.arange(-half, half + 1, dtype=np.float64)
    powers = steps ** np.arange(3.0)[:, None]
    shares = np.linalg.lstsq(powers, np.array([1.0, 0.0, 0.0]))[0]  # of each point in the middle
    if closed:
        return np.asarray(convolve1d(points, shares, axis=0, mode="wrap"))
    calm = np.asarray(convolve1d(points, shares, axis=0, mode="constant"))
    calm[:half] = _on_one_parabola(points[:width])[:half]
    calm[-half:] = _on_one_parabola(points[-width:])[-half:]
    return calm


def _on_one_parabola(points: FloatArray) -> FloatArray:
    at = np.arange(float(len(points)))
    return np.asarray(np.polyval(np.polyfit(at, points, 2), at[:, None]))
