"""`TriMesh`, the checked, read-only container every algorithm works on. No algorithms here."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.errors import GeometryError


class BadMeshError(GeometryError):
    """The arrays do not describe a triangle mesh.

    Attributes
    ----------
    reason : str
        What is wrong, in a phrase.
    where : (k,) int
        The rows at fault, of vertices or of faces as the reason says; may be empty.
    """

    def __init__(self, reason: str, where: IntArray | None = None) -> None:
        self.reason = reason
        self.where = np.empty(0, np.int64) if where is None else where
        super().__init__(f"{reason} ({self.where.size} places)" if self.where.size else reason)


@dataclass(frozen=True, eq=False)
class TriMesh:
    """A triangle mesh: checked once, here, and never changed.

    Attributes
    ----------
    vertices : (n, 3) float, mm
        Read-only copy.
    faces : (m, 3) int
        Vertex indices, counter-clockwise seen from outside. Read-only copy.

    Raises
    ------
    BadMeshError
        Wrong shapes, numbers not finite, an index out of range, or a face naming a vertex twice.

    >>> TriMesh([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2]]).faces.shape
    (1, 3)
    """

    vertices: FloatArray
    faces: IntArray

    def __post_init__(self) -> None:
        vertices = np.array(self.vertices, np.float64)
        faces = np.array(self.faces)
        if vertices.ndim != 2 or vertices.shape[1] != 3:
            raise BadMeshError(f"vertices have shape {vertices.shape}, not (n, 3)")
        if faces.size == 0:
            faces = np.empty((0, 3), np.int64)
        if faces.ndim != 2 or faces.shape[1] != 3:
            raise BadMeshError(f"faces have shape {faces.shape}, not (m, 3)")
        if not np.issubdtype(faces.dtype, np.integer):
            raise BadMeshError("face indices are not whole numbers")
        faces = faces.astype(np.int64, copy=False)
        _check(vertices, faces)
        object.__setattr__(self, "vertices", locked(np.ascontiguousarray(vertices)))
        object.__setattr__(self, "faces", locked(np.ascontiguousarray(faces)))


def _check(vertices: FloatArray, faces: IntArray) -> None:
    not_finite = np.flatnonzero(~np.isfinite(vertices).all(axis=1))
    if not_finite.size:
        raise BadMeshError("vertices that are not finite numbers", not_finite)
    outside = np.flatnonzero(((faces < 0) | (faces >= len(vertices))).any(axis=1))
    if outside.size:
        raise BadMeshError("faces that name a vertex which is not there", outside)
    a, b, c = faces.T
    twice = np.flatnonzero((a == b) | (b == c) | (c == a))
    if twice.size:
        raise BadMeshError("faces that name a vertex twice", twice)
