"""What lies between a scan's points: how far a surface may stand off the one that they tell."""

import numpy as np

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, edge_lengths, edge_table, vertex_normals

_SHARPEST = np.pi / 2.0


def sharpest_bend(mesh: TriMesh) -> FloatArray:
    """Return (n,) how fast a mesh turns at each vertex where it turns most, rad / mm."""
    edges = edge_table(mesh.faces).edges
    normals = vertex_normals(mesh.vertices, mesh.faces)
    cosine = np.clip((normals[edges[:, 0]] * normals[edges[:, 1]]).sum(axis=1), -1.0, 1.0)
    bend = np.arccos(cosine) / edge_lengths(mesh.vertices, edges)
    most = np.zeros(len(mesh.vertices))
    np.maximum.at(most, edges, bend[:, None])
    return most


def sag_of_bend(bend: FloatArray, spacing_mm: float) -> FloatArray:
    """Return how far a surface that bends so may be off because points are so far apart, mm.

    It is the rise over its chord of an arc as long as the points are apart, h^2 k / 8; no arc turns
    by more than 90 degrees. Next to nothing where the surface is smooth; at a crease finer than the
    scan, which may lie anywhere between a chord and the corner, about its standard error.

    Parameters
    ----------
    bend : (n,) float, rad / mm
        Where it bends most; see `sharpest_bend`.
    spacing_mm : float
        How far the scan's points are apart.

    Source: own derivation, the sagitta of a circle; that it is a standard error is measured on the
    sample tank, whose shape is known.

    >>> sag_of_bend(np.array([0.01, 10.0]), 2.0).round(4).tolist()
    [0.005, 0.3927]
    """
    return np.asarray(spacing_mm * np.minimum(bend * spacing_mm, _SHARPEST) / 8.0)
