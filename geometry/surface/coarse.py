"""The working surface with larger triangles, to judge by before the fine one has been cut."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import Nearest, NearestPoint, TriMesh, face_middles
from geometry.progress import Report, part_of, silent
from geometry.surface.opening import Opening
from geometry.surface.remesh import remeshed
from geometry.surface.working import WorkingSurface

COARSE_MM = 8.0
"""Edge length to judge by: the sample's blanks come out within 1 part in 100 of their work."""


@dataclass(frozen=True, eq=False)
class CoarseSurface:
    """A working surface with larger triangles; what cutting needs of one.

    Attributes
    ----------
    mesh : TriMesh
        On the middle of the metal.
    outside : (n, 3) float, mm
        The same vertices on the scanned face.
    filled, copied : (m,) bool
        As the faces of the working surface beneath their middles.
    openings : tuple of Opening
    scan_face : (n,) int
        The face of the scan nearest to each vertex's outside place, but for an edge of the working
        surface.
    lines : tuple of (k,) int
        The vertices along each locked line, in its order.
    """

    mesh: TriMesh
    outside: FloatArray
    filled: BoolArray
    copied: BoolArray
    openings: tuple[Opening, ...]
    scan_face: IntArray
    lines: tuple[IntArray, ...]


def coarsened(
    working: WorkingSurface, *, spacing_mm: float = COARSE_MM, report: Report = silent
) -> CoarseSurface:
    """Return a working surface with larger triangles; its rims and locked lines keep their course.

    Parameters
    ----------
    working : WorkingSurface
    spacing_mm : float
        Edge length wanted.
    report : Report
    """
    fine = working.mesh
    edges = [np.stack([line[:-1], line[1:]], axis=1) for line in working.lines]
    fixed = np.concatenate(edges) if edges else None
    even = remeshed(
        fine, spacing_mm=spacing_mm, fixed_edges=fixed, report=part_of(report, 0.0, 0.8)
    )
    mesh, skin = even.mesh, NearestPoint(fine)
    report(0.8, "carry marks over")
    below = skin.find(mesh.vertices)
    under = skin.find(face_middles(mesh.vertices, mesh.faces)).faces
    on_lines = np.unique(even.fixed_edges)
    report(1.0, "carry marks over")
    return CoarseSurface(
        mesh=mesh,
        outside=locked(_carried(working.outside, fine.faces, below)),
        filled=locked(working.filled[under]),
        copied=locked(working.copied[under]),
        openings=working.openings,
        scan_face=locked(working.scan_face[_nearest_corner(fine, below)]),
        lines=tuple(_along(mesh, on_lines, fine.vertices[line]) for line in working.lines),
    )


def _carried(values: FloatArray, faces: IntArray, places: Nearest) -> FloatArray:
    return np.asarray((places.barycentric[:, :, None] * values[faces[places.faces]]).sum(axis=1))


def _nearest_corner(mesh: TriMesh, places: Nearest) -> IntArray:
    corner = places.barycentric.argmax(axis=1)
    return np.asarray(mesh.faces[places.faces, corner])


def _along(mesh: TriMesh, on_lines: IntArray, line: FloatArray) -> IntArray:
    """Return the vertices a line passes, in its order: those of the fixed edges nearest to it."""
    _, nearest = cKDTree(mesh.vertices[on_lines]).query(line)
    passed = on_lines[nearest]
    kept = np.concatenate([[True], passed[1:] != passed[:-1]])
    return locked(passed[kept])
