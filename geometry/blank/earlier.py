"""A blank laid out before, carried over to a panel that is nearly the same: a seam was moved.

Holds how much two panels have in common and where the earlier blank puts the later panel's
vertices. Going on from there is left to `flatten`.
"""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank.coarse import CoarsePanel, triangles_below
from geometry.mesh import TriMesh

MOST_ASKED = 1000
"""Vertices by which it is told how much two panels have in common."""


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


def carried_over(earlier: TriMesh, flat_vertices: FloatArray, mesh: TriMesh) -> FloatArray:
    """Return (n, 2), mm: a panel laid out as an earlier one much like it was.

    A vertex both have stays where it lay. Any other is placed from the triangle below it, of those
    about the nearest vertex, by the mean slopes there: one beyond the earlier rim goes on straight.

    Parameters
    ----------
    earlier : TriMesh
        Every vertex in some triangle.
    flat_vertices : (k, 2) float, mm
        The earlier panel's blank.
    mesh : TriMesh
        The later panel.
    """
    nearest, same = _same_places(mesh.vertices, earlier)
    flat = flat_vertices[nearest]
    new = np.flatnonzero(~same)
    if len(new):
        points = mesh.vertices[new]
        face, share = triangles_below(points, nearest[new], earlier)
        share = np.clip(share, 0.0, None)
        share /= share.sum(axis=1, keepdims=True)
        every = np.arange(len(earlier.vertices))
        flat[new] = CoarsePanel(earlier, every, face, share).carried(points, flat_vertices)
    return flat


def _same_places(points: FloatArray, mesh: TriMesh) -> tuple[IntArray, BoolArray]:
    """Return (k,): the vertex nearest to each point, and whether it is the same place."""
    nearest = np.asarray(cKDTree(mesh.vertices).query(points)[1], np.int64)
    return nearest, np.asarray((mesh.vertices[nearest] == points).all(axis=1))
