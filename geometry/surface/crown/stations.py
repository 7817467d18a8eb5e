"""Stations on a skin: a scan's points drawn together in small cells, each with a calm normal.

A dense scan then costs no more than a sparse one, and its noise is averaged before anything is
fitted to it.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh


@dataclass(frozen=True, eq=False)
class Stations:
    """Places that stand for one or more of a mesh's vertices.

    Attributes
    ----------
    points : (s, 3) float, mm
    normals : (s, 3) float
        Unit.
    counts : (s,) float
        How many vertices each is the mean of.
    of_vertex : (n,) int
        The station each vertex went into.
    """

    points: FloatArray
    normals: FloatArray
    counts: FloatArray
    of_vertex: IntArray


def area_vectors(mesh: TriMesh) -> FloatArray:
    """Return (n, 3) sums of the area vectors of the faces round each vertex, mm2.

    Summed over a patch, noise inside the patch cancels: only its outline tells.

    >>> flat = TriMesh(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2]]))
    >>> area_vectors(flat)[0].tolist()
    [0.0, 0.0, 0.5]
    """
    a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
    half = np.cross(b - a, c - a) / 2.0
    count = len(mesh.vertices)
    corners = mesh.faces.T.ravel()
    return np.stack([np.bincount(corners, np.tile(axis, 3), count) for axis in half.T], axis=1)


def stations_of(points: FloatArray, vectors: FloatArray, cell_mm: float) -> Stations:
    """Return stations: the means of points in one cube that face the same way, of six.

    Parameters
    ----------
    points : (n, 3) float, mm
    vectors : (n, 3) float
        `area_vectors` of the mesh.
    cell_mm : float
        Side of the cubes; not above nothing: every point is its own station.

    Two walls a sheet apart stay two, for they face opposite ways. The mean of points on a bent skin
    lies under it by as much for every station nearby, so that bends hardly notice.

    >>> pair = np.array([[0.1, 0.1, 0.0], [0.3, 0.5, 0.0], [0.3, 0.5, 0.1]])
    >>> stations_of(pair, np.array([[0.0, 0, 1], [0, 0, 1], [0, 0, -1]]), 1.0).counts.tolist()
    [1.0, 2.0]
    """
    if cell_mm <= 0.0:
        return Stations(points, _unit(vectors), np.ones(len(points)), np.arange(len(points)))
    place = np.floor((points - points.min(axis=0)) / cell_mm).astype(np.int64)
    axis = np.abs(vectors).argmax(axis=1)
    way = 2 * axis + (np.take_along_axis(vectors, axis[:, None], axis=1)[:, 0] > 0.0)
    extent = place.max(axis=0) + 1
    key = ((place[:, 0] * extent[1] + place[:, 1]) * extent[2] + place[:, 2]) * 6 + way
    of_vertex = np.asarray(np.unique(key, return_inverse=True)[1])
    counts = np.bincount(of_vertex).astype(np.float64)
    middle = np.stack([np.bincount(of_vertex, column) for column in points.T], axis=1)
    sums = [np.bincount(of_vertex, column) for column in vectors.T]
    total = np.stack(sums, axis=1).astype(np.float64)
    return Stations(middle / counts[:, None], _unit(total), counts, of_vertex)


def _unit(vectors: FloatArray) -> FloatArray:
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    upward = np.broadcast_to(np.array([0.0, 0.0, 1.0]), vectors.shape)
    return np.asarray(np.where(length > 0, vectors / np.where(length > 0, length, 1.0), upward))
