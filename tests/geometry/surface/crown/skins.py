"""Skins with crown known, with and without noise."""

import numpy as np

from geometry.mesh import TriMesh, vertex_normals
from tests import bodies


def outward_tube(radius: float, cells: int) -> TriMesh:
    """Return a part of a tube about x, 120 long, facing out."""
    sheet = bodies.cylinder_sheet(radius, 120.0 / radius, 120.0, cells, cells)
    return TriMesh(sheet.vertices, sheet.faces[:, ::-1])


def turned_in(mesh: TriMesh) -> TriMesh:
    """Return a mesh that faces the other way."""
    return TriMesh(mesh.vertices, mesh.faces[:, ::-1])


def noisy(mesh: TriMesh, noise_mm: float, seed: int = 3) -> TriMesh:
    """Return a mesh with white noise along its normals."""
    off = noise_mm * np.random.default_rng(seed).standard_normal(len(mesh.vertices))
    normals = vertex_normals(mesh.vertices, mesh.faces)
    return TriMesh(mesh.vertices + off[:, None] * normals, mesh.faces)
