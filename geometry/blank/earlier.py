"""A blank laid out before, carried over to a panel that is nearly the same: a seam was moved.

Holds how much two panels have in common, where the earlier blank puts the later panel's vertices,
and how the earlier panel's few triangles stand for it. Going on from there is left to `flatten`.
"""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank.coarse import CoarsePanel, triangles_below
from geometry.mesh import TriMesh

MOST_ASKED = 1000
"""Vertices by which it is told how much two panels have in common."""

FARTHEST = 0.5
"""How far beyond the few triangles, in sizes of one, a vertex may lie for them to stand for it:
farther off they help so little that few triangles of its own serve a panel better."""


def in_common(mesh: TriMesh, other: TriMesh) -> float:
    """Return about which part of the larger of two panels' vertices both have, 0 to 1.

    Parameters
    ----------
    mesh, other : TriMesh
        Cut from one surface: a vertex they share lies at the same place to the last digit.

    >>> square = TriMesh([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], [[0, 1, 2], [0, 2, 3]])
    >>> in_common(square, TriMesh(square.vertices + [1, 0, 0], square.faces))
    0.5
    """
    if not (len(mesh.vertices) and len(other.vertices)):
        return 0.0
    asked = other.vertices[:: 1 + len(other.vertices) // MOST_ASKED]
    _, same = _same_places(asked, mesh)
    return float(same.mean()) * min(1.0, len(other.vertices) / len(mesh.vertices))


class Earlier:
    """An earlier panel beside a later one much like it.

    Parameters
    ----------
    earlier : TriMesh
        Every vertex in some triangle.
    mesh : TriMesh
        The later panel.
    """

    def __init__(self, earlier: TriMesh, mesh: TriMesh) -> None:
        self._earlier, self._mesh = earlier, mesh
        self._nearest, same = _same_places(mesh.vertices, earlier)
        self._new = np.flatnonzero(~same)

    def carried_over(self, flat_vertices: FloatArray) -> FloatArray:
        """Return (n, 2), mm: the later panel laid out as the earlier one was.

        A vertex both have stays where it lay. Any other is placed from the triangle below it, of
        those about the nearest vertex, by the mean slopes there: one beyond the earlier rim goes
        on straight.

        Parameters
        ----------
        flat_vertices : (k, 2) float, mm
            The earlier panel's blank.
        """
        flat = flat_vertices[self._nearest]
        if len(self._new):
            points = self._mesh.vertices[self._new]
            face, share = triangles_below(points, self._nearest[self._new], self._earlier)
            share = np.clip(share, 0.0, None)
            share /= share.sum(axis=1, keepdims=True)
            every = np.arange(len(self._earlier.vertices))
            below = CoarsePanel(self._earlier, every, face, share)
            flat[self._new] = below.carried(points, flat_vertices)
        return flat

    def stood_for(self, coarse: CoarsePanel) -> CoarsePanel | None:
        """Return the earlier panel's few triangles as they stand for the later one.

        None where some new vertex lies too far beyond them.
        """
        face, share = coarse.face[self._nearest], coarse.share[self._nearest]
        points, few = self._mesh.vertices[self._new], coarse.mesh
        corners = few.faces[face[self._new]]
        away = np.linalg.norm(few.vertices[corners] - points[:, None], axis=2)
        nearest = np.take_along_axis(corners, away.argmin(axis=1)[:, None], axis=1)[:, 0]
        face[self._new], share[self._new] = triangles_below(points, nearest, few)
        if (share[self._new] < -FARTHEST).any():
            return None
        return CoarsePanel(coarse.mesh, coarse.sites, face, share)


def _same_places(points: FloatArray, mesh: TriMesh) -> tuple[IntArray, BoolArray]:
    """Return (k,): the vertex nearest to each point, and whether it is the same place."""
    nearest = np.asarray(cKDTree(mesh.vertices).query(points)[1], np.int64)
    return nearest, np.asarray((mesh.vertices[nearest] == points).all(axis=1))
