"""Keeping a net on the surface it evens."""

from dataclasses import replace

import numpy as np

from geometry.arrays import FloatArray
from geometry.mesh import NearestPoint, TriMesh
from geometry.surface.net import ON_LINE, Net


class Follower:
    """Puts a net's vertices on a given mesh, and gives them normals and sizes from there."""

    def __init__(self, mesh: TriMesh, normals: FloatArray, size: FloatArray) -> None:
        self._faces, self._normals, self._size = mesh.faces, normals, size
        self._nearest = NearestPoint(mesh)

    def __call__(self, net: Net) -> Net:
        """Return the net with free vertices put on the mesh; all get normals and sizes."""
        found = self._nearest.find(net.vertices)
        place = np.where((net.kind >= ON_LINE)[:, None], net.vertices, found.points)
        corners = self._faces[found.faces]
        normals = np.einsum("kc,kcx->kx", found.barycentric, self._normals[corners])
        normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
        size = np.einsum("kc,kc->k", found.barycentric, self._size[corners])
        return replace(net, vertices=place, normals=normals, size=size)
