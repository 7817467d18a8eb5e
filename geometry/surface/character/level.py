"""Curvature of a scan at one width: points drawn into cells, quadrics, their standard error."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import fit_quadrics

CELLS_A_REACH = 2.5
"""A quadric reaches over this many cells."""
_NEIGHBOURS = 44
_FEWEST = 9
_ERROR = 14.0
_ONE_SIDED = 0.15
_SAME_SIDE = 0.1
_AT_ONCE = 20_000


@dataclass(frozen=True, eq=False)
class Cells:
    """A scan's points drawn into cubes, points on the two sides of a wall apart.

    Attributes
    ----------
    points, normals : (n, 3) float
    counts : (n,) float
        How many of the scan's points each stands for.
    """

    points: FloatArray
    normals: FloatArray
    counts: FloatArray


@dataclass(frozen=True, eq=False)
class Curvatures:
    """Curvature at places of a scan, as quadrics of one reach see it.

    Attributes
    ----------
    reach_mm : float
    points, normals : (n, 3) float
    bent : (n, 2) float, 1/mm
        Most bulged out, then most bulged in: each positive where it is so.
    across : (n, 2, 3) float
        Unit directions in which the surface is bent so, tangent.
    error : (n,) float, 1/mm
        Standard error of both.
    known : (n,) bool
        Whether points lie on all sides.
    near : (n, j) int
        Cells around, nearest first; n where there are no more within reach.
    """

    reach_mm: float
    points: FloatArray
    normals: FloatArray
    bent: FloatArray
    across: FloatArray
    error: FloatArray
    known: BoolArray
    near: IntArray


def cells_of(points: FloatArray, normals: FloatArray, counts: FloatArray, cell_mm: float) -> Cells:
    """Return points drawn into cubes of some width.

    >>> at = np.array([[0.1, 0.1, 0.1], [0.3, 0.5, 0.1], [0.1, 0.1, 0.2]])
    >>> up = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0]])
    >>> cells_of(at, up, np.ones(3), 1.0).counts.tolist()
    [1.0, 2.0]
    """
    place = np.floor((points - points.min(axis=0)) / cell_mm).astype(np.int64)
    extent = place.max(axis=0) + 1
    key = (place[:, 0] * extent[1] + place[:, 1]) * extent[2] + place[:, 2]
    widest = np.argmax(np.abs(normals), axis=1)
    out = np.take_along_axis(normals, widest[:, None], axis=1)[:, 0] > 0.0
    key = key * 6 + 2 * widest + out
    _, cell = np.unique(key, return_inverse=True)
    count = np.bincount(cell, counts).astype(np.float64, copy=False)
    middle = np.stack([np.bincount(cell, counts * points[:, axis]) for axis in range(3)], axis=1)
    total = np.stack([np.bincount(cell, counts * normals[:, axis]) for axis in range(3)], axis=1)
    length = np.linalg.norm(total, axis=1, keepdims=True)
    return Cells(middle / count[:, None], total / np.maximum(length, 1e-300), count)


def curvatures(cells: Cells, wanted: BoolArray, reach_mm: float, noise_mm: float) -> Curvatures:
    """Return the curvature at all cells; where not wanted, nought and not known."""
    n = len(cells.points)
    tree = cKDTree(cells.points)
    count = min(_NEIGHBOURS, n)
    out = Curvatures(
        reach_mm,
        cells.points,
        cells.normals.copy(),
        np.zeros((n, 2)),
        np.zeros((n, 2, 3)),
        np.full(n, np.inf),
        np.zeros(n, bool),
        np.full((n, count), n, np.int64),
    )
    rows = np.flatnonzero(wanted)
    for start in range(0, len(rows), _AT_ONCE):
        _fit(out, cells, tree, rows[start : start + _AT_ONCE], noise_mm)
    return out


def _fit(out: Curvatures, cells: Cells, tree: cKDTree, rows: IntArray, noise_mm: float) -> None:
    reach = out.reach_mm
    places = cells.points[rows]
    found = tree.query(places, k=out.near.shape[1], distance_upper_bound=reach)
    distance = np.asarray(found[0]).reshape(len(rows), -1)
    index = np.asarray(found[1], np.int64).reshape(len(rows), -1)
    inside = np.isfinite(distance)
    at = np.where(inside, index, 0)
    weight = np.where(inside, np.clip(1.0 - (distance / reach) ** 2, 0.0, 1.0) ** 2, 0.0)
    weight *= cells.counts[at]
    alike = np.einsum("kjx,kx->kj", cells.normals[at], cells.normals[rows])
    weight *= alike > _SAME_SIDE
    normal = np.einsum("kj,kjx->kx", weight, cells.normals[at])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)
    fit = fit_quadrics(places, normal, cells.points[at], weight)
    total = weight.sum(axis=1)
    lean = np.einsum("kj,kjx->kx", weight, cells.points[at] - places[:, None])
    lean = np.linalg.norm(lean, axis=1) / np.maximum(total, 1e-300)
    seen = (weight > 0).sum(axis=1)
    out.known[rows] = fit.determined & (lean < _ONE_SIDED * reach) & (seen >= _FEWEST)
    out.near[rows] = np.where(weight > 0, index, len(cells.points))
    steep = np.column_stack([-fit.slope, np.ones(len(rows))])
    up = np.einsum("ki,kij->kj", steep, fit.frames)
    out.normals[rows] = up / np.linalg.norm(up, axis=1, keepdims=True)
    inside_count = ((weight > 0) * cells.counts[at]).sum(axis=1)
    out.error[rows] = _ERROR * noise_mm / (np.sqrt(np.maximum(inside_count, 1.0)) * reach**2)
    a, b, c = fit.curvature.T
    middle, half = -(a + c) / 2.0, np.hypot((a - c) / 2.0, b)
    out.bent[rows] = np.stack([middle + half, half - middle], axis=1)
    angle = 0.5 * np.arctan2(-2.0 * b, c - a)  # of the direction most bulged out
    for column, turn in enumerate((0.0, np.pi / 2.0)):
        way = np.stack([np.cos(angle + turn), np.sin(angle + turn)], axis=1)
        out.across[rows, column] = np.einsum("ki,kij->kj", way, fit.frames[:, :2])
