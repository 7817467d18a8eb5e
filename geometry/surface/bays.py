"""Small bays in a scan's outer rim (where a thorn was, or a triangle fell out) closed again."""

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import (
    NonManifoldError,
    TriMesh,
    check_manifold,
    loop_length,
    rims,
    vertex_normals,
)
from geometry.surface.polygon import triangles_across

_WINDING = 1.6
_SHORTEST_RIM = 8.0
_SHALLOW_SHARE = 0.12
"""Depth over the widest mouth below which a dip is one of a ragged rim's teeth, not a bay."""


def bays_filled(mesh: TriMesh, widest_mm: float) -> tuple[TriMesh, BoolArray]:
    """Return the mesh with bays of its longest rim closed by triangles, and which faces do so.

    A bay is a stretch of rim that dips into the sheet and comes back to within `widest_mm`, at
    least 1.6 times as long as its mouth is wide. Other rims are holes: they are filled, or left.
    """
    normals = vertex_normals(mesh.vertices, mesh.faces)
    loops = rims(mesh)
    if not loops or loop_length(mesh.vertices, loops[0]) < _SHORTEST_RIM * widest_mm:
        return mesh, np.zeros(len(mesh.faces), bool)
    patches = [
        bay[triangles_across(mesh.vertices[bay])]
        for bay in _bays(mesh.vertices, normals, loops[0], widest_mm)
    ]
    if not patches:
        return mesh, np.zeros(len(mesh.faces), bool)
    closed = TriMesh(mesh.vertices, np.concatenate([mesh.faces, *patches]))
    try:
        check_manifold(closed)
    except NonManifoldError:
        return mesh, np.zeros(len(mesh.faces), bool)
    filled = np.zeros(len(closed.faces), bool)
    filled[len(mesh.faces) :] = True
    return closed, filled


def _bays(
    vertices: FloatArray, normals: FloatArray, loop: IntArray, widest_mm: float
) -> list[IntArray]:
    """Return the outlines of bays, counter-clockwise seen from outside, none sharing an edge."""
    points = vertices[loop]
    step = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    count = len(loop)
    found: list[IntArray] = []
    start = 0
    while start < count:
        longest = 0
        best = _WINDING
        along = 0.0
        for reach in range(1, min(60, count - start)):
            along += step[start + reach - 1]
            if along > 6.0 * widest_mm:
                break
            mouth = float(np.linalg.norm(points[start + reach] - points[start]))
            if reach < 2 or mouth > widest_mm or along < best * mouth:
                continue
            run = np.arange(start, start + reach + 1)
            deep = _depth(points[run]) > _SHALLOW_SHARE * widest_mm
            if deep and _dips_in(points[run], normals[loop[run]]):
                longest, best = reach, along / max(mouth, 1e-9)
        if longest:
            found.append(loop[start : start + longest + 1][::-1])
            start += longest
        else:
            start += 1
    return found


def _depth(points: FloatArray) -> float:
    """Return how far a stretch of rim goes from the line across its mouth, mm."""
    across = points[-1] - points[0]
    across = across / max(float(np.linalg.norm(across)), 1e-12)
    away = points - points[0]
    return float(np.linalg.norm(away - (away @ across)[:, None] * across, axis=1).max())


def _dips_in(points: FloatArray, normals: FloatArray) -> bool:
    """Return whether a stretch of rim, closed by its mouth, runs clockwise: sheet lies left."""
    centred = points - points.mean(axis=0)
    twice = np.cross(centred, np.roll(centred, -1, axis=0)).sum(axis=0)
    return float(twice @ normals.mean(axis=0)) < 0.0
