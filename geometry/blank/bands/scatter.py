"""Errors of places that go together when near: their correlation, and what sums of them vary by."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray

HALF = 0.3138101704556974
"""Where the correlation is one half, as a part of the distance at which it ends."""

CELL = 0.3
"""Side of the cells that are taken as one place, in correlation lengths."""


def correlation(distances: FloatArray, half_mm: float) -> FloatArray:
    """Return how much errors go together, 1 for the same place, by their distance.

    Parameters
    ----------
    distances : any shape, float, mm
    half_mm : float
        Where it has fallen to one half; it ends at 3.19 times that. 0: each place for itself.

    Source: [wendland1995], (1 - t)^4 (4 t + 1): twice smooth, never giving a negative variance
    in space, and nothing beyond t = 1.

    >>> correlation(np.array([0.0, 5.0, 16.0]), 5.0).round(12).tolist()
    [1.0, 0.5, 0.0]
    """
    if half_mm <= 0.0:
        return np.asarray(distances == 0.0, np.float64)
    t = np.minimum(distances * (HALF / half_mm), 1.0)
    left = (1.0 - t) ** 2
    return np.asarray(left * left * (4.0 * t + 1.0))


@dataclass(frozen=True, eq=False)
class Scatter:
    """Errors of given places, and the variance of weighted sums of them.

    Attributes
    ----------
    sd : (n,) float, mm
    """

    sd: FloatArray
    _cell: IntArray  # (n,) which errors are taken as one
    _correlation: csr_array  # between the cells

    @staticmethod
    def of(places: FloatArray, sd: FloatArray, half_mm: float) -> "Scatter":
        """Return the scatter of (n, 3) places with standard errors (n,), mm.

        Places nearer than a part of the correlation length count as one, which keeps the work
        small and costs less than a hundredth of the standard deviation.
        """
        cell, middles = _cells(places, CELL * half_mm)
        return Scatter(sd, cell, _near(middles, half_mm))

    def variance(self, weights: FloatArray) -> FloatArray:
        """Return (j,): the variances of j weighted sums of the errors; weights are (n, j)."""
        n, count = len(self.sd), self._correlation.shape[0]
        gather = csr_array((self.sd, (self._cell, np.arange(n))), shape=(count, n))
        together: FloatArray = np.asarray(gather @ weights)
        variance: FloatArray = (together * (self._correlation @ together)).sum(axis=0)
        return np.maximum(variance, 0.0)


def scattered(places: FloatArray, half_mm: float, count: int) -> FloatArray:
    """Return (n, count) samples of errors of standard deviation 1, the same ones every time.

    Parameters
    ----------
    places : (n, 3) float, mm
    half_mm : float
        Where the correlation has fallen to one half, nearly: the samples are moving averages,
        whose correlation is the average's own shape laid over itself.
    count : int
    """
    random = np.random.default_rng(31)
    cell, middles = _cells(places, CELL * half_mm)
    average = _near(middles, half_mm / np.sqrt(2.0))
    size: FloatArray = np.sqrt(average.power(2).sum(axis=1))
    samples = np.asarray(average @ random.standard_normal((len(middles), count)))
    return np.asarray((samples / size[:, None])[cell])


def _near(middles: FloatArray, half_mm: float) -> csr_array:
    """Return the correlation of every two places that have any."""
    count = len(middles)
    pairs = np.empty((0, 2), np.int64)
    if half_mm > 0.0:
        pairs = cKDTree(middles).query_pairs(half_mm / HALF, output_type="ndarray")
    one, two = pairs.T
    values = correlation(np.linalg.norm(middles[one] - middles[two], axis=1), half_mm)
    same = np.arange(count)
    rows, columns = np.concatenate([same, one, two]), np.concatenate([same, two, one])
    entries = np.concatenate([np.ones(count), values, values])
    return coo_array((entries, (rows, columns)), shape=(count, count)).tocsr()


def _cells(places: FloatArray, side_mm: float) -> tuple[IntArray, FloatArray]:
    """Return (n,) the cell of a grid each place lies in, from 0, and the (c, 3) middles.

    Without a side, each place is a cell of its own.
    """
    if side_mm <= 0.0:
        return np.arange(len(places)), places
    box = np.floor((places - places.min(axis=0)) / side_mm).astype(np.int64)
    _, found = np.unique(box, axis=0, return_inverse=True)
    cell = np.asarray(found.ravel(), np.int64)
    share = np.bincount(cell)
    return cell, np.stack([np.bincount(cell, axis) / share for axis in places.T], axis=1)
