"""How rough a scan is: what remains of its vertices after local quadrics are taken away."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import Quadrics, fit_quadrics
from geometry.mesh import TriMesh, part_of_mesh, vertex_normals
from geometry.progress import Report, silent

_SAMPLES = 2500
_FEW, _MANY = 14, 28
_SHAPE_GROWTH = 8.0
"""Squared misfit of a shape's third-degree part when the neighbours double: (2^(3/2))^2."""
_FEWEST_FITS = 20


def scan_noise(mesh: TriMesh, *, report: Report = silent) -> float:
    """Return the white noise of the vertices along the surface's normal, one standard deviation.

    Parameters
    ----------
    mesh : TriMesh
        Sound, in any unit; the noise comes in the same unit. A mesh too small to tell gives 0.

    Source: own derivation: quadrics through the 14 and the 28 nearest neighbours of some 2500
    vertices; median of their mean squared misfits per degree of freedom, scaled to the mean. White
    noise leaves the same in both, the shape itself at least 8 times as much in the wider one; both
    are solved for. Noise that is alike over more than 28 neighbours is not seen.
    """
    count = len(mesh.vertices)
    if count < _MANY + 1:
        return 0.0
    random = np.random.default_rng(20)  # the same vertices every time
    sample = np.sort(random.choice(count, min(_SAMPLES, count), replace=False))
    report(0.0, "Measuring the noise")
    tree = cKDTree(mesh.vertices, compact_nodes=False, balanced_tree=False)
    report(0.5, "Measuring the noise")
    found = tree.query(mesh.vertices[sample], min(2 * _MANY + 1, count))
    near = np.asarray(found[1], np.int64)
    normals, nearer = _normals_around(mesh, near)
    report(0.8, "Measuring the noise")
    few = _squared_noise(mesh, near, normals, (nearer > 0) & (nearer <= _FEW + 1))
    many = _squared_noise(mesh, near, normals, (nearer > 0) & (nearer <= _MANY + 1))
    report(1.0, "Measuring the noise")
    return float(np.sqrt(max((_SHAPE_GROWTH * few - many) / (_SHAPE_GROWTH - 1.0), 0.0)))


def _normals_around(mesh: TriMesh, near: IntArray) -> tuple[FloatArray, IntArray]:
    """Return (s, 3) mean normals of neighbours, and how near each is on its side of a wall.

    Parameters
    ----------
    mesh : TriMesh
    near : (s, j) int
        Vertices, nearest first; the first is the place itself.

    Returns
    -------
    (s, 3) float
        Of the nearest on the same side of the wall.
    (s, j) int
        1 for the nearest on the same side, 2 for the next; 0 on the other side.
    """
    needed = np.zeros(len(mesh.vertices), bool)
    needed[near] = True
    faces = np.flatnonzero(needed[mesh.faces].any(axis=1))
    part, vertex_of_part = part_of_mesh(mesh, faces)
    own = vertex_normals(part.vertices, part.faces)[np.searchsorted(vertex_of_part, near)]
    same_side = np.einsum("sjd,sd->sj", own, own[:, 0]) > 0.0
    rank = np.where(same_side, np.cumsum(same_side, axis=1), 0)
    nearest = (rank > 0) & (rank <= _FEW + 1)
    return (own * nearest[..., None]).sum(axis=1), rank


def _squared_noise(mesh: TriMesh, near: IntArray, normals: FloatArray, counted: BoolArray) -> float:
    places = mesh.vertices[near]
    fits = fit_quadrics(places[:, 0], normals, places, counted.astype(np.float64))
    freedom = counted.sum(axis=1) - 6.0
    sound = fits.determined & (freedom >= 4)
    if sound.sum() < _FEWEST_FITS:
        return 0.0
    squared = _squared_misfit(fits)[sound] * counted.sum(axis=1)[sound]
    return float(np.median(squared / (freedom[sound] * _median_of_mean_square(freedom[sound]))))


def _squared_misfit(fits: Quadrics) -> FloatArray:
    """Return the mean squared misfit measured along the fitted surface's own normal."""
    return np.asarray(fits.residual_rms**2 / (1.0 + (fits.slope**2).sum(axis=1)))


def _median_of_mean_square(freedom: FloatArray) -> FloatArray:
    """Return the median of a chi-squared mean square: (1 - 2 / (9 d))^3.

    Source: Wilson and Hilferty's cube-root rule, from memory; within 0.5 per cent from d = 4.
    """
    return np.asarray((1.0 - 2.0 / (9.0 * freedom)) ** 3)
