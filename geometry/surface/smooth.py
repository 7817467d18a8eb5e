"""The surface through a scan's points: local quadrics, fitted without reaching across creases."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.fitting import fit_quadrics, frames_of_normals
from geometry.progress import Report, silent

_NEIGHBOURS = 80
_LEAST_NEIGHBOURS = 30
_LEAST_LIKENESS = 0.002
_AT_ONCE = 4096
_WELL_FIXED = 1e9


@dataclass(frozen=True, eq=False)
class Shares:
    """How the noise of points goes into heights fitted to them.

    Attributes
    ----------
    variance : (k,) float
        Of each height, over that of a point of the scan.
    own : (k,) float
        How much of itself a scan's point at the place would count in its own height.
    reach_mm : (k,) float
        How far points counted.
    """

    variance: FloatArray
    own: FloatArray
    reach_mm: FloatArray


class Parting(Protocol):
    """Says which points tell nothing of a place because a line runs between."""

    def counts(self, places: FloatArray, index: IntArray) -> FloatArray:
        """Return (k, j) how much points `index` count at (k, 3) places: 1 wholly, 0 not."""
        ...


@dataclass(frozen=True, eq=False)
class PointSurface:
    """What points with normals say about where the surface is.

    Attributes
    ----------
    points, normals : (n, 3) float
    counts : (n,) float
        How many of a scan's points each stands for.
    radius_mm : float
        How far from a place points still count; farther where fewer than thirty are as near.
    angle_rad : float
        Points whose normals differ by this count 0.6 as much; by twice as much, 0.14.
    parting : Parting, optional
    """

    points: FloatArray
    normals: FloatArray
    counts: FloatArray
    radius_mm: float
    angle_rad: float
    parting: Parting | None = None

    def project(
        self,
        places: FloatArray,
        normals: FloatArray,
        *,
        rounds: int = 2,
        report: Report = silent,
    ) -> tuple[FloatArray, FloatArray]:
        """Return (k, 3) places moved on to the surface along its normals, and those normals.

        Places without points around stay.
        """
        tree = cKDTree(self.points)
        out, up = places.copy(), normals.copy()
        blocks = -(-len(places) // _AT_ONCE)
        for turn in range(rounds):
            for block in range(blocks):
                report((turn * blocks + block) / (rounds * blocks), "fit the surface")
                part = slice(block * _AT_ONCE, (block + 1) * _AT_ONCE)
                out[part], up[part] = self._once(tree, out[part], up[part])
        report(1.0, "fit the surface")
        return out, up

    def shares(self, places: FloatArray, normals: FloatArray) -> Shares:
        """Return how the noise of the points goes into the heights fitted at (k, 3) places."""
        tree = cKDTree(self.points)
        parts = [
            self._shares(tree, places[start : start + _AT_ONCE], normals[start : start + _AT_ONCE])
            for start in range(0, max(len(places), 1), _AT_ONCE)
        ]
        return Shares(*(np.concatenate(column) for column in zip(*parts, strict=True)))

    def _shares(
        self, tree: cKDTree, places: FloatArray, normals: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        index, weight, reach = self._around(tree, places, normals)
        away = (self.points[index] - places[:, None]) / reach[:, None, None]
        u, v = np.matmul(away, frames_of_normals(normals)[:, :2].transpose(0, 2, 1)).transpose(
            2, 0, 1
        )
        terms = np.stack([np.ones_like(u), u, v, u * u / 2.0, u * v, v * v / 2.0], axis=2)
        matrix = np.matmul((terms * weight[..., None]).transpose(0, 2, 1), terms)
        to_height = _first_of_inverse(matrix)  # (k, 6)
        share = weight * np.einsum("kjc,kc->kj", terms, to_height)
        variance = (share**2 / self.counts[index]).sum(axis=1)
        return variance, to_height[:, 0], reach

    def _once(
        self, tree: cKDTree, places: FloatArray, normals: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        index, weight, reach = self._around(tree, places, normals)
        enough = weight.sum(axis=1) > 1e-6
        fit = fit_quadrics(places, normals, self.points[index], weight)
        height = np.where(enough, fit.height, 0.0)
        slope = np.where(enough[:, None], fit.slope, 0.0)
        limit = reach / 2.0
        moved = places + np.clip(height, -limit, limit)[:, None] * fit.frames[:, 2]
        steep = np.column_stack([-slope, np.ones(len(slope))])
        up = np.einsum("ki,kij->kj", steep, fit.frames)
        up /= np.linalg.norm(up, axis=1, keepdims=True)
        return moved, up

    def _around(
        self, tree: cKDTree, places: FloatArray, normals: FloatArray
    ) -> tuple[IntArray, FloatArray, FloatArray]:
        """Return the (k, j) points around places, what they weigh, and how far (k,) they count."""
        count = min(_NEIGHBOURS, len(self.points))
        found = tree.query(places, k=count, workers=-1)
        distance = np.asarray(found[0]).reshape(len(places), -1)
        index = np.asarray(found[1]).reshape(len(places), -1)
        sparse = distance[:, min(_LEAST_NEIGHBOURS, count) - 1]
        reach = 1.05 * np.minimum(distance[:, -1], np.maximum(self.radius_mm, sparse))
        reach = np.maximum(reach, 1e-9)
        near = np.clip(1.0 - (distance / reach[:, None]) ** 2, 0.0, 1.0) ** 2
        apart = np.zeros(index.shape)
        for axis in range(3):
            apart += (self.normals[:, axis][index] - normals[:, axis, None]) ** 2
        like = np.exp(apart / (-2.0 * self.angle_rad**2)) + _LEAST_LIKENESS
        weight = near * like * self.counts[index]
        if self.parting is not None:
            weight *= self.parting.counts(places, index)
        return index, weight, reach


def _first_of_inverse(matrix: FloatArray) -> FloatArray:
    """Return the first row of the inverse of (k, 6, 6) symmetric matrices.

    Of the pseudo-inverse where points do not fix all six numbers.
    """
    try:
        inverse = np.linalg.inv(matrix)
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.pinv(matrix, rcond=1e-10, hermitian=True)[:, 0], np.float64)
    size = np.sqrt((matrix**2).sum(axis=(1, 2)) * (inverse**2).sum(axis=(1, 2)))
    vague = ~(size < _WELL_FIXED)  # an upper bound of the ratio of the largest to the least
    out = inverse[:, 0].copy()
    out[vague] = np.linalg.pinv(matrix[vague], rcond=1e-10, hermitian=True)[:, 0]
    return np.asarray(out, np.float64)
