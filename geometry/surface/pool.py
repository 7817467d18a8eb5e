"""A scan's points pooled: where many lie close on calm skin, their mean stands for all of them.

A dense scan then costs no more to fit than a sparse one, and a fit reaches as far over its noise.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray

_APART = 2.0


@dataclass(frozen=True, eq=False)
class Pooled:
    """Points that stand for one or more of a scan's.

    Attributes
    ----------
    points, normals : (n, 3) float
    counts : (n,) float
        How many of the scan's points each is the mean of.
    """

    points: FloatArray
    normals: FloatArray
    counts: FloatArray


def pooled(
    points: FloatArray,
    normals: FloatArray,
    *,
    cell_mm: float,
    turn_rad: float,
    alone: BoolArray | None = None,
) -> Pooled:
    """Return points with those of a cell, where their normals hardly differ, drawn into one.

    The mean of points over a width w of a surface of radius R lies w^2 / (24 R) under it for each
    direction it is bent in. Normals then turn by w / (sqrt(12) R) about their mean, root mean
    square: where this is t at most, the mean is under by w t / 7 at most.

    Parameters
    ----------
    points, normals : (n, 3) float
    cell_mm : float
        Width w of the cells, cubes.
    turn_rad : float
        The angle t: cells whose normals turn by more keep all their points, and so do cells within
        two widths of them, that a fit beside a crease may reach no farther than it has to.
    alone : (n,) bool, optional
        Points that are not to be pooled.

    >>> two = np.array([[0.1, 0.1, 0.0], [0.3, 0.5, 0.0]])
    >>> pooled(two, np.array([[0.0, 0, 1]] * 2), cell_mm=1.0, turn_rad=0.1).counts.tolist()
    [2.0]
    """
    cell = _cell_of_point(points, cell_mm)
    count = np.bincount(cell).astype(np.float64)
    total = _sums(cell, normals)
    length = np.linalg.norm(total, axis=1)
    mean_normal = total / np.maximum(length, 1e-300)[:, None]
    middle = _sums(cell, points) / count[:, None]
    whole = length / count > 1.0 - turn_rad**2 / 2.0  # the root mean square turn is less
    if not whole.all():
        bent = cKDTree(middle[~whole])
        whole &= bent.query(middle, distance_upper_bound=_APART * cell_mm)[0] == np.inf
    if alone is not None:
        whole[cell[alone]] = False
    single = ~whole[cell]
    return Pooled(
        points=np.concatenate([middle[whole], points[single]]),
        normals=np.concatenate([mean_normal[whole], normals[single]]),
        counts=np.concatenate([count[whole], np.ones(int(single.sum()))]),
    )


def _cell_of_point(points: FloatArray, cell_mm: float) -> IntArray:
    """Return the number of the cube each point lies in, counted from the least corner."""
    place = np.floor((points - points.min(axis=0)) / cell_mm).astype(np.int64)
    extent = place.max(axis=0) + 1
    key = (place[:, 0] * extent[1] + place[:, 1]) * extent[2] + place[:, 2]
    return np.asarray(np.unique(key, return_inverse=True)[1])


def _sums(cell: IntArray, values: FloatArray) -> FloatArray:
    return np.stack([np.bincount(cell, values[:, axis]) for axis in range(3)], axis=1)
