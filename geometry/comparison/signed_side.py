"""On which side of a skin a place lies, and how far off."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import NearestPoint, TriMesh, edge_table, face_normals, vertex_normals

_ON_FEATURE = 1e-9
_FAR = 4.0


class SignedSkin:
    """A skin that says how far out of it places lie; its set-up is kept.

    What lies nearest to a rim has no side: there the skin ends.
    """

    def __init__(self, skin: TriMesh) -> None:
        self._skin = skin
        corners = skin.vertices[skin.faces]
        sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
        self.widest_mm = float(sides.max())
        self._used = np.unique(skin.faces)
        self._tree = cKDTree(skin.vertices[self._used])
        self._nearest = NearestPoint(skin)
        self._of_face = face_normals(skin.vertices, skin.faces)
        self._of_vertex = vertex_normals(skin.vertices, skin.faces)
        self._table = edge_table(skin.faces)
        of_edge = np.zeros((len(self._table.edges), 3))
        for side in range(3):
            np.add.at(of_edge, self._table.edge_of_side[:, side], self._of_face)
        self._of_edge, self._edge_is_rim = of_edge, self._table.face_count == 1
        self._vertex_is_rim = np.zeros(len(skin.vertices), bool)
        self._vertex_is_rim[self._table.edges[self._edge_is_rim]] = True

    def off(self, points: FloatArray) -> FloatArray:
        """Return how far (k, 3) places lie out of the skin, mm; below nothing inside, nan at rims.

        Source: own statement of the rule that the sign at an edge is that of the sum of its faces'
        normals, and at a vertex of their sum weighted by angle (from memory).
        """
        found = self._nearest.find(points)
        normal, has_side = self._normals_at(found.faces, found.barycentric)
        side = np.sign(np.einsum("kx,kx->k", points - found.points, normal))
        return np.asarray(np.where(has_side, side * found.distances, np.nan))

    def side_of(self, points: FloatArray) -> FloatArray:
        """Return signed distances to (k, 3) places, those far off only within a triangle's size.

        Quick; nan at rims. Far off, the normal of the nearest vertex tells the side.
        """
        distance, index = self._tree.query(points)
        vertex = self._used[index]
        away = points - self._skin.vertices[vertex]
        side = np.sign(np.einsum("kx,kx->k", away, self._of_vertex[vertex]))
        off = np.where(self._vertex_is_rim[vertex], np.nan, side * distance)
        near = np.flatnonzero(distance < _FAR * self.widest_mm)
        if near.size:
            off[near] = self.off(points[near])
        return np.asarray(off)

    def _normals_at(self, faces: IntArray, weights: FloatArray) -> tuple[FloatArray, BoolArray]:
        """Return the directions that tell sides at places of the skin, and where there are any."""
        normal = self._of_face[faces].copy()
        has_side = np.ones(len(faces), bool)
        none = weights < _ON_FEATURE
        for side in range(3):  # the side from corner `side` to the next lies across from the third
            on_edge = none[:, (side + 2) % 3]
            edge = self._table.edge_of_side[faces[on_edge], side]
            normal[on_edge] = self._of_edge[edge]
            has_side[on_edge] &= ~self._edge_is_rim[edge]
        for corner in range(3):
            at = none[:, (corner + 1) % 3] & none[:, (corner + 2) % 3]
            vertex = self._skin.faces[faces[at], corner]
            normal[at] = self._of_vertex[vertex]
            has_side[at] = ~self._vertex_is_rim[vertex]
        return normal, has_side
