"""A coarse copy of a surface, for lines that are only looked at."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import (
    NearestPoint,
    NonManifoldError,
    NoPathError,
    PathFinder,
    SurfacePath,
    SurfacePoint,
    TriMesh,
    vertex_normals,
)


class EyeCopy:
    """A coarse mesh whose vertices lie on the surface, with lines over it.

    Parameters
    ----------
    mesh : TriMesh
    cells_of_vertex : sequence of (j,) int
        The cells of the surface that each vertex stands for.
    """

    def __init__(self, mesh: TriMesh, cells_of_vertex: Sequence[IntArray]) -> None:
        self.mesh = mesh
        self._cells_of_vertex = cells_of_vertex
        self._vertex_of_cell = {
            int(cell): vertex for vertex, cells in enumerate(cells_of_vertex) for cell in cells
        }
        self._is_empty = not len(mesh.faces)
        self._side_of_vertex = np.full(len(mesh.vertices), -1, np.int64)
        if not self._is_empty:
            self._side_of_vertex[mesh.faces.ravel()] = np.arange(mesh.faces.size)
            self._finder = PathFinder(mesh)
            self._nearest = NearestPoint(mesh)
            self._normals = vertex_normals(mesh.vertices, mesh.faces)

    def line(
        self, ends: FloatArray, cells: tuple[IntArray, IntArray]
    ) -> tuple[FloatArray, IntArray] | None:
        """Return the points of a line between two points of the surface, and the cells it crosses.

        Parameters
        ----------
        ends : (2, 3) float, mm
        cells : pair of (j,) int
            The cells about each end, so that a skin close behind is not taken for the one meant.

        Returns
        -------
        (k, 3) float, mm and (j,) int
            None where the copy leaves out what lies between.
        """
        if self._is_empty:
            return None
        start, end = (self._place(end, about) for end, about in zip(ends, cells, strict=True))
        if start is None or end is None:
            return None
        try:
            path = self._finder.path(start, end)
        except (NoPathError, NonManifoldError):
            return None
        vertices = np.unique(self.mesh.faces[path.faces])
        crossed = np.concatenate([self._cells_of_vertex[vertex] for vertex in vertices.tolist()])
        points = np.concatenate([ends[:1], self._bulged(path)[1:-1], ends[1:]])
        return points, np.unique(np.concatenate([crossed, *cells]))

    def _place(self, point: FloatArray, cells: IntArray) -> SurfacePoint | None:
        """Return the place of the copy nearest to a point, on the skin the cells belong to."""
        near = self._nearest.find(point)
        face = int(near.faces[0])
        meant = {self._vertex_of_cell[cell] for cell in cells.tolist()}
        if not meant.isdisjoint(self.mesh.faces[face].tolist()):
            return SurfacePoint(face, near.barycentric[0])
        for vertex in sorted(meant):
            face, corner = divmod(int(self._side_of_vertex[vertex]), 3)
            if face >= 0:
                return SurfacePoint(face, np.eye(3)[corner])
        return None

    def _bulged(self, path: SurfacePath) -> FloatArray:
        """Return the points of a path raised to the surface that the edges they lie on cut under.

        An edge whose ends' normals open by d over its length l is a chord of a circle of radius
        l / d: at the fraction t the circle is t (1 - t) l d / 2 above it.
        """
        crossing = path.edge[:, 0] >= 0
        low, high = path.edge[crossing].T
        t = path.along[crossing][:, None]
        turn = self._normals[high] - self._normals[low]
        opening = (turn * (self.mesh.vertices[high] - self.mesh.vertices[low])).sum(axis=1)
        normal = (1 - t) * self._normals[low] + t * self._normals[high]
        normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)
        points = path.points.copy()
        points[crossing] += t * (1 - t) / 2.0 * opening[:, None] * normal
        return points
