"""A light stand-in for a big scan: to be looked at, never measured on or picked from."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.progress import Report, silent

PROXY_ABOVE = 200_000
"""Triangles up to which a scan is drawn as it is."""

PROXY_TRIANGLES = 100_000


@dataclass(frozen=True, eq=False)
class Proxy:
    """What is drawn in place of a mesh."""

    mesh: TriMesh
    vertices: FloatArray
    faces: IntArray


@dataclass(frozen=True, eq=False)
class ProxyOf:
    """A task that makes the proxy of a mesh: its arrays (vertices, faces)."""

    mesh: TriMesh

    def run(self, report: Report = silent) -> tuple[FloatArray, IntArray]:
        """Return vertices and faces of the proxy."""
        report(0.0, "Lightening the picture of the scan")
        cell = _cell_size(self.mesh)
        vertices, faces = clustered(self.mesh, cell)
        report(1.0, "Lightening the picture of the scan")
        return vertices, faces


def lighter(mesh: TriMesh) -> TriMesh:
    """Return what is drawn of a mesh: itself, or its proxy where it is big."""
    if len(mesh.faces) <= PROXY_ABOVE:
        return mesh
    return TriMesh(*clustered(mesh, _cell_size(mesh)))


def _cell_size(mesh: TriMesh) -> float:
    """Return the side of a cube that leaves about the wanted count: two triangles to a crossing."""
    a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
    area = float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2.0)
    return float(np.sqrt(2.0 * area / PROXY_TRIANGLES)) * 0.9


def clustered(mesh: TriMesh, cell: float) -> tuple[FloatArray, IntArray]:
    """Return the mesh with all vertices of one cube of side `cell` drawn together to their mean.

    Always the same for the same mesh. Faces with two corners in one cube vanish, and so do those
    turned over: where noise puts the skin into two cubes, one upon the other, it would be folded,
    and the folds drawn as dark scratches.
    """
    low = mesh.vertices.min(axis=0)
    place = np.floor((mesh.vertices - low) / cell).astype(np.int64)
    extent = place.max(axis=0) + 1
    key = (place[:, 0] * extent[1] + place[:, 1]) * extent[2] + place[:, 2]
    _, cluster = np.unique(key, return_inverse=True)
    count = np.bincount(cluster)
    vertices = np.stack(
        [np.bincount(cluster, mesh.vertices[:, axis]) / count for axis in range(3)], axis=1
    )
    faces = cluster[mesh.faces]
    a, b, c = faces.T
    apart = (a != b) & (b != c) & (c != a)
    normals = _summed(_twice_areas(mesh.vertices, mesh.faces), faces, len(vertices))
    faces = faces[apart]
    turned = (_twice_areas(vertices, faces) * normals[faces].sum(axis=1)).sum(axis=1) < 0.0
    return vertices, np.asarray(faces[~turned], np.int64)


def _twice_areas(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return the (m, 3) normals of faces, as long as twice their areas."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return np.asarray(np.cross(b - a, c - a), np.float64)


def _summed(normals: FloatArray, faces: IntArray, count: int) -> FloatArray:
    """Return for each vertex the sum of the normals of the faces it is a corner of."""
    corners = faces.T.ravel()
    return np.stack(
        [np.bincount(corners, np.tile(normals[:, axis], 3), count) for axis in range(3)], axis=1
    )
