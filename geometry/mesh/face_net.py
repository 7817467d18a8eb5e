"""`FaceNet`: which face lies across each side of each face, and walks from face to face."""

import math

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh.topology import (
    EdgeTable,
    NonManifoldError,
    NotOrientableError,
    edge_table,
)
from geometry.mesh.tri_mesh import TriMesh


class FaceNet:
    """The faces of a mesh with their neighbours, for walks over the surface.

    Attributes
    ----------
    vertices, faces
        Of the mesh.
    table : EdgeTable
    across : (m, 3) int
        The face beyond side k, which runs from corner k to corner k + 1; -1 at a rim.

    Raises
    ------
    NonManifoldError
        Three or more faces meet at an edge.
    NotOrientableError
        Neighbouring faces disagree about which side is out: orient the mesh first.
    """

    def __init__(self, mesh: TriMesh, table: EdgeTable | None = None) -> None:
        self.vertices: FloatArray = mesh.vertices
        self.faces: IntArray = mesh.faces
        self.table: EdgeTable = edge_table(mesh.faces) if table is None else table
        self._refuse_unsound(mesh)
        pair = self.table.faces_of_edge[self.table.edge_of_side]  # (m, 3, 2)
        own = np.arange(len(mesh.faces))[:, None]
        self.across: IntArray = np.where(pair[..., 0] == own, pair[..., 1], pair[..., 0])
        self._total: dict[int, float | None] = {}

    def _refuse_unsound(self, mesh: TriMesh) -> None:
        table = self.table
        crowded = table.edges[table.face_count > 2]
        if len(crowded):
            middles = mesh.vertices[crowded].mean(axis=1)
            raise NonManifoldError(crowded, np.empty(0, np.int64), middles)
        forward = np.bincount(
            table.edge_of_side.ravel(), table.side_runs_forward.ravel(), len(table.edges)
        )
        clash = table.edges[(table.face_count == 2) & (forward != 1)]
        if len(clash):
            raise NotOrientableError(clash, mesh.vertices[clash].mean(axis=1))

    def corner_of(self, face: int, vertex: int) -> int:
        """Return which corner of the face the vertex is, -1 if none."""
        faces = self.faces
        for corner in (0, 1, 2):
            if faces.item(face, corner) == vertex:
                return corner
        return -1

    def next_about(self, vertex: int, face: int, *, left: bool) -> int:
        """Return the next face about the vertex, turning left (counter-clockwise); -1 at a rim."""
        corner = self.corner_of(face, vertex)
        return int(self.across.item(face, (corner + 2) % 3 if left else corner))

    def fan_from(self, vertex: int, face: int, *, left: bool) -> list[int]:
        """Return the faces about the vertex from one on, once round or as far as the rim."""
        fan, at = [face], self.next_about(vertex, face, left=left)
        while at not in (-1, face):
            fan.append(at)
            at = self.next_about(vertex, at, left=left)
        return fan

    def fan(self, vertex: int, face: int) -> list[int]:
        """Return all faces of the fan about the vertex that holds the face, turning left."""
        fan = self.fan_from(vertex, face, left=True)
        if self.next_about(vertex, fan[-1], left=True) == face:
            return fan
        return self.fan_from(vertex, face, left=False)[:0:-1] + fan

    def angle_at(self, vertex: int, face: int) -> float:
        """Return the angle of a face at one of its vertices, radians."""
        corner = self.corner_of(face, vertex)
        ax, ay, az = self.vertices[vertex].tolist()
        bx, by, bz = self.vertices[self.faces.item(face, (corner + 1) % 3)].tolist()
        cx, cy, cz = self.vertices[self.faces.item(face, (corner + 2) % 3)].tolist()
        ux, uy, uz, wx, wy, wz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
        across = math.hypot(uy * wz - uz * wy, uz * wx - ux * wz, ux * wy - uy * wx)
        return math.atan2(across, ux * wx + uy * wy + uz * wz)

    def total_angle(self, vertex: int, face: int) -> float | None:
        """Return the sum of angles about an inner vertex, None for a vertex of a rim."""
        if vertex not in self._total:
            fan = self.fan_from(vertex, face, left=True)
            closed = self.next_about(vertex, fan[-1], left=True) == face
            total = sum(self.angle_at(vertex, each) for each in fan) if closed else None
            self._total[vertex] = total
        return self._total[vertex]
