"""How a panel's face stands where it reaches a line, told by the skin on the panel's side alone."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import Quadrics, fit_quadrics
from geometry.mesh import TriMesh, vertex_normals
from geometry.tank.line_bend import LineBend

_SKIN_REACH_MM = 14.0
_BEYOND_MM = 0.5
_ALIKE = 0.5
_ROUNDS = 3
_NUMBERS_FITTED = 6


@dataclass(frozen=True, eq=False)
class SkinBeside:
    """How a panel's face stands where it reaches a line.

    Attributes
    ----------
    outward : (k, 3) float
        Unit, square to the line.
    spread_rad : (k,) float
        Standard error of its lean about the line.
    """

    outward: FloatArray
    spread_rad: FloatArray


def skin_beside(mesh: TriMesh, course: LineBend, skip_mm: float) -> SkinBeside:
    """Return the outward normal of the panel's face at places of a line.

    A quadric over the vertices of the panel's side, those bent already left out.
    """
    normals = vertex_normals(mesh.vertices, mesh.faces)
    tree = cKDTree(mesh.vertices)
    reach = _SKIN_REACH_MM + skip_mm
    nearest = np.asarray(tree.query(course.places)[1], np.int64)
    outward, spread = _square_to(normals[nearest], course.tangents), np.zeros(len(nearest))
    for _ in range(_ROUNDS):
        beyond = np.cross(course.tangents, outward)
        origin = course.places - skip_mm * beyond
        index, told = _padded([tree.query_ball_point(each, reach) for each in origin])
        away = mesh.vertices[index] - origin[:, None]
        told &= np.einsum("kji,ki->kj", away, beyond) <= _BEYOND_MM
        told &= np.einsum("kji,ki->kj", normals[index], outward) > _ALIKE
        weights = told * (1.0 - (np.linalg.norm(away, axis=2) / (reach + 1e-9)) ** 2)
        fit = fit_quadrics(origin, outward, mesh.vertices[index], np.clip(weights, 0.0, None))
        local = np.concatenate([-fit.slope, np.ones((len(origin), 1))], axis=1)
        found = np.einsum("kj,kji->ki", local, fit.frames)
        spread = _spread(away, np.clip(weights, 0.0, None), fit, beyond)
        outward = _square_to(np.where(fit.determined[:, None], found, outward), course.tangents)
    return SkinBeside(outward, spread)


def _spread(away: FloatArray, weights: FloatArray, fit: Quadrics, beyond: FloatArray) -> FloatArray:
    """Return (k,) the standard error of each quadric's slope along `beyond`, by its misfit."""
    u, v, _ = np.einsum("kji,kdi->dkj", away, fit.frames)
    reach = np.abs(away).max(axis=(1, 2)) + 1e-9
    u, v = u / reach[:, None], v / reach[:, None]
    design = np.stack([np.ones_like(u), u, v, u * u, u * v, v * v], axis=2)
    normal = np.linalg.pinv(np.einsum("kja,kj,kjb->kab", design, weights, design))
    twice = np.einsum("kja,kj,kjb->kab", design, weights**2, design)
    error = normal @ twice @ normal
    along = np.einsum("ki,kdi->kd", beyond, fit.frames)[:, :2]
    variance = np.einsum("ka,kab,kb->k", along, error[:, 1:3, 1:3], along)
    said = (weights > 0.0).sum(axis=1)
    free = np.sqrt(said / np.maximum(said - _NUMBERS_FITTED, 1.0))
    return np.asarray(fit.residual_rms * free * np.sqrt(np.maximum(variance, 0.0)) / reach)


def _padded(rows: Sequence[Sequence[int]]) -> tuple[IntArray, BoolArray]:
    """Return rows of different lengths as one array, and which of its entries are told."""
    width = max(1, *(len(each) for each in rows))
    index, told = np.zeros((len(rows), width), np.int64), np.zeros((len(rows), width), bool)
    for row, each in enumerate(rows):
        index[row, : len(each)] = each
        told[row, : len(each)] = True
    return index, told


def _square_to(normals: FloatArray, tangents: FloatArray) -> FloatArray:
    square = normals - np.einsum("ki,ki->k", normals, tangents)[:, None] * tangents
    return np.asarray(square / np.maximum(np.linalg.norm(square, axis=1), 1e-12)[:, None])
