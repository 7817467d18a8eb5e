"""A line over a scan drawn tight, as a tape lies: the scan's grain holds a shortest path back.

On a noisy surface every dimple can hold a shortest path up, so that it ends some parts in a
thousand too long. Drawn tight at a few points far apart, then at ever more between them, it cannot
be held: own method, as a string is pulled tight with its points kept on the surface.
"""

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import NearestPoint, SurfacePoint, TriMesh
from geometry.polyline import in_pieces, line_length

_FEWEST, _MOST = 8, 64
"""Pieces of the line at the first pull and, at most, at the last."""

_PULLS = 80
"""Times each set of points is drawn to the middle between its neighbours."""

_ROOM = 0.3
"""How far about the path, of its length, the tight line can lie."""


def tight_stops(mesh: TriMesh, path: FloatArray, *, least: float) -> tuple[SurfacePoint, ...]:
    """Return places on the way of a path drawn tight, between its ends and evenly apart.

    None where the path is too short to be held up.

    Parameters
    ----------
    mesh : TriMesh
    path : (k, 3) float
        On the surface.
    least : float
        Places are no nearer to each other than this: a few of the scan's own spacings.
    """
    length = line_length(path)
    if length < _FEWEST * least:
        return ()
    part, face_of_part = _about(mesh, path, _ROOM * length)
    near = NearestPoint(part)
    pieces, line = _FEWEST, path
    while True:
        line = _pulled(near, in_pieces(line, pieces), 1e-4 * length / pieces)
        if pieces >= _MOST or length / (2 * pieces) < least:
            break
        pieces *= 2
    found = near.find(line[1:-1])
    return tuple(
        SurfacePoint(int(face_of_part[face]), weights)
        for face, weights in zip(found.faces, found.barycentric, strict=True)
    )


def _pulled(near: NearestPoint, line: FloatArray, still: float) -> FloatArray:
    """Return points each drawn to the middle between its neighbours, on the surface, till still."""
    for _ in range(_PULLS):
        inner = near.find((line[:-2] + line[2:]) / 2.0).points
        moved = float(np.abs(inner - line[1:-1]).max())
        line = np.concatenate([line[:1], inner, line[-1:]])
        if moved < still:
            break
    return line


def _about(mesh: TriMesh, path: FloatArray, room: float) -> tuple[TriMesh, IntArray]:
    """Return the part of the mesh in the path's box and some room about it, and its faces there."""
    low, high = path.min(axis=0) - room, path.max(axis=0) + room
    inside = ((mesh.vertices >= low) & (mesh.vertices <= high)).all(axis=1)
    faces = np.flatnonzero(inside[mesh.faces].any(axis=1))
    return TriMesh(mesh.vertices, mesh.faces[faces]), faces
