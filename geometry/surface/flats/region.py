"""Regions of a skin that lie in one plane: grown from places without crown."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.errors import GeometryError
from geometry.fitting import Plane, fit_plane
from geometry.mesh import TriMesh, vertex_areas

_LEAST_SEED_MM2 = 120.0
_ROUNDS = 3
_OFF_MM, _OFF_NOISES = 0.3, 4.0
_FACING = 0.94
_TUKEY = 4.7
_PLANE_ROUNDS = 12


@dataclass(frozen=True, eq=False)
class Region:
    """Vertices that lie near one plane and hang together.

    Attributes
    ----------
    vertices : (n,) bool
    point, normal : (3,) float
        The plane; the normal points out of the skin.
    """

    vertices: BoolArray
    point: FloatArray
    normal: FloatArray


def regions(
    mesh: TriMesh, calm: FloatArray, straight: BoolArray, noise_mm: float
) -> Iterator[Region]:
    """Give the regions that grow from straight places, the largest first, none in another.

    Parameters
    ----------
    mesh : TriMesh
    calm : (n, 3) float
        Normals without noise.
    straight : (n,) bool
        Where the skin has no crown either way.
    noise_mm : float
    """
    share = vertex_areas(mesh.vertices, mesh.faces)
    piece = _pieces(mesh.faces, straight)
    size = np.bincount(piece[straight], share[straight], minlength=int(piece.max(initial=0)) + 1)
    taken = np.zeros(len(calm), bool)
    off = max(_OFF_MM, _OFF_NOISES * noise_mm)
    for number in np.argsort(-size):
        if size[number] < _LEAST_SEED_MM2:
            return
        seed = straight & (piece == number)
        if (taken & seed).sum() > 0.3 * seed.sum():
            continue
        region = _grown(mesh, calm, seed, share, off)
        if region is not None:
            taken |= region.vertices
            yield region


def _pieces(faces: IntArray, among: BoolArray) -> IntArray:
    """Return the number of the piece of connected vertices, among some, that each is in."""
    ends = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    ends = ends[among[ends].all(axis=1)]
    n = len(among)
    graph = coo_array((np.ones(len(ends), np.int8), (ends[:, 0], ends[:, 1])), shape=(n, n))
    return np.asarray(connected_components(graph, directed=False)[1], np.int64)


def _grown(
    mesh: TriMesh, calm: FloatArray, seed: BoolArray, share: FloatArray, off_mm: float
) -> Region | None:
    """Return the vertices that hang on a seed and lie near its plane, which grows along."""
    region = seed
    for _ in range(_ROUNDS):
        try:
            plane = plane_of(mesh.vertices[region], share[region])
        except GeometryError:
            return None
        out = plane.normal * np.sign((calm[region] @ plane.normal).sum())
        near = np.abs((mesh.vertices - plane.centre) @ out) < off_mm
        near &= calm @ out > _FACING
        piece = _pieces(mesh.faces, near)
        inside = seed & near
        if not inside.any():
            return None
        region = near & (piece == np.bincount(piece[inside]).argmax())
    return Region(region, plane.centre, out)


def plane_of(points: FloatArray, shares: FloatArray) -> Plane:
    """Return the plane of (k, 3) points; what lies off it, as a dent, hardly counts.

    Source: Tukey's biweight at 4.7 times the scatter (from memory), by repeated least squares.
    """
    weights = shares
    for _ in range(_PLANE_ROUNDS):
        plane = fit_plane(points, weights)
        off = (points - plane.centre) @ plane.normal
        scatter = max(float(np.median(np.abs(off))) / 0.6745, 1e-9)
        weights = shares * np.clip(1.0 - (off / (_TUKEY * scatter)) ** 2, 0.0, 1.0) ** 2
    return plane
