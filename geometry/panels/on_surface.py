"""Whether seams lie on the surface, and where not, whether anything was scanned there."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import Nearest, NearestPoint, TriMesh, face_normals, rims
from geometry.panels.seam import (
    Seam,
    SeamNotScannedError,
    SeamOffSurfaceError,
    SeamTooShortError,
)

OFF_SURFACE_MM = 3.0
BESIDE_MM = 50.0
"""A point farther off than this is elsewhere altogether, as in another unit."""
_STEEPEST_OUT = np.sin(np.radians(60.0))
"""A point beyond the skin's edge lies about where the skin would go on, not over or under it."""
_ON_SIDE = 1e-9


def check_on_surface(
    outside: TriMesh,
    skin: NearestPoint,
    filled: BoolArray,
    seams: Sequence[Seam],
    end_tolerance_mm: float,
) -> None:
    """Refuse seams that leave the surface.

    Parameters
    ----------
    outside : TriMesh
        The scanned face.
    skin : NearestPoint
        Its nearest points.
    filled : (m,) bool
        Its faces that are a guess.
    seams : sequence of Seam
    end_tolerance_mm : float
        How far an end may be off.

    Raises
    ------
    SeamTooShortError
    SeamOffSurfaceError
        With the point farthest off, of those over skin that was scanned.
    SeamNotScannedError
        The same, where all that is off lies over what was filled or beyond an open edge.
    """
    for seam in seams:
        if len(seam.points) < (3 if seam.closed else 2):
            raise SeamTooShortError(seam.name, seam.points[0] if len(seam.points) else np.zeros(3))
        near = skin.find(seam.points)
        allowed = np.full(len(seam.points), OFF_SURFACE_MM)
        if not seam.closed:
            allowed[[0, -1]] = max(end_tolerance_mm, OFF_SURFACE_MM)
        off = near.distances > allowed
        if not off.any():
            continue
        guessed = filled[near.faces]
        unseen = guessed | beyond_edge(outside, seam.points, near)
        unseen &= near.distances < BESIDE_MM
        told = off & ~unseen if (off & ~unseen).any() else off
        worst = int(np.argmax(np.where(told, near.distances, 0.0)))
        point, distance = seam.points[worst], float(near.distances[worst])
        if unseen[worst]:
            raise SeamNotScannedError(seam.name, point, distance, is_filled=bool(guessed[worst]))
        raise SeamOffSurfaceError(seam.name, point, distance, float(allowed[worst]))


def beyond_edge(outside: TriMesh, points: FloatArray, near: Nearest) -> BoolArray:
    """Return which points lie out where the skin breaks off, nearest to its rim."""
    on_rim = np.zeros(len(outside.vertices), bool)
    for rim in rims(outside):
        on_rim[rim] = True
    bears = near.barycentric > _ON_SIDE
    at_rim = ~bears.all(axis=1) & (on_rim[outside.faces[near.faces]] | ~bears).all(axis=1)
    normals = face_normals(outside.vertices, outside.faces)[near.faces]
    over = np.abs(((points - near.points) * normals).sum(axis=1))
    return np.asarray(at_rim & (over < _STEEPEST_OUT * near.distances))
