"""How the skin around a hole bends, from a wide ring of it, for a patch to carry on."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.fitting import fit_quadrics
from geometry.mesh import TriMesh

_NEIGHBOURS = 64
_REACH_EDGES, _REACH_SHARE, _REACH_MM = 4.0, 0.15, 20.0
"""How far around a rim's point the skin is looked at: edges at least, share of the hole, at most.
"""
_CALMING_ROUNDS = 8
_STRANGE = 3.0
_EVEN_SHARE = 0.7


def bend_at_rim(
    mesh: TriMesh, normals: FloatArray, rim: IntArray, across_mm: float
) -> FloatArray | None:
    """Return (k,) twice the mean curvature of the skin beside a rim; a ball has -2 / radius.

    None where the skin around bends here one way, there another (a crease or a hollow runs into
    the hole): then it does not tell how to go on. Single strange places are drawn to the rest, and
    neighbours are evened out.

    Parameters
    ----------
    mesh : TriMesh
    normals : (n, 3) float
        Of its vertices.
    rim : (k,) int
    across_mm : float
        How wide the hole is.
    """
    points = mesh.vertices[rim]
    edge = float(np.median(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)))
    reach = max(_REACH_EDGES * edge, min(_REACH_SHARE * across_mm, _REACH_MM))
    inside = (mesh.vertices > points.min(axis=0) - reach) & (
        mesh.vertices < points.max(axis=0) + reach
    )
    near = np.flatnonzero(inside.all(axis=1))
    width = min(_NEIGHBOURS, len(near))
    found = cKDTree(mesh.vertices[near]).query(points, width, distance_upper_bound=reach)
    distance = np.asarray(found[0], np.float64).reshape(len(rim), width)
    missing = ~np.isfinite(distance)
    place = near[np.where(missing, 0, np.asarray(found[1], np.int64).reshape(len(rim), width))]
    weights = np.where(missing, 0.0, (1.0 - np.minimum(distance / reach, 1.0) ** 2) ** 2)
    weights *= np.einsum("kjd,kd->kj", normals[place], normals[rim]) > 0.0
    fits = fit_quadrics(points, normals[rim], mesh.vertices[place], weights)
    bend = _twice_mean(fits.slope, fits.curvature)
    return _calmed(bend) if _is_even(bend) else None


def _is_even(bend: FloatArray) -> bool:
    """Return whether values are nearly all of one sign, and half of them near the middle one."""
    low, fourth, middle, three_fourths, high = np.percentile(bend, [10.0, 25.0, 50.0, 75.0, 90.0])
    return bool(low * high > 0.0 and three_fourths - fourth < _EVEN_SHARE * abs(middle))


def _twice_mean(slope: FloatArray, curvature: FloatArray) -> FloatArray:
    """Return twice the mean curvature of heights with these first and second derivatives.

    >>> _twice_mean(np.zeros((1, 2)), np.array([[-0.01, 0.0, -0.02]])).round(9).tolist()
    [-0.03]
    """
    x, y = slope.T
    xx, xy, yy = curvature.T
    steep = 1.0 + x * x + y * y
    bend = (1.0 + y * y) * xx - 2.0 * x * y * xy + (1.0 + x * x) * yy
    return np.asarray(bend / steep**1.5)


def _calmed(bend: FloatArray) -> FloatArray:
    """Return values round a loop with strange ones drawn in and neighbours evened out."""
    middle = float(np.median(bend))
    usual = float(np.median(np.abs(bend - middle))) / 0.6745
    calm = np.clip(bend, middle - _STRANGE * usual, middle + _STRANGE * usual)
    for _ in range(_CALMING_ROUNDS):
        calm = (np.roll(calm, 1) + 2.0 * calm + np.roll(calm, -1)) / 4.0
    return calm
