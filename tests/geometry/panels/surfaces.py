"""Stand-ins for a working surface, and lines on them."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh, vertex_normals
from geometry.surface import Opening
from tests.geometry.mesh.small_meshes import scattered_plane


@dataclass(frozen=True, eq=False)
class PlainSurface:
    """The attributes that cutting relies on, nothing else."""

    mesh: TriMesh
    outside: FloatArray
    filled: BoolArray
    scan_face: IntArray
    copied: BoolArray
    openings: tuple[Opening, ...] = ()
    lines: tuple[IntArray, ...] = ()


def surface_of(mesh: TriMesh, offset: float = 0.0) -> PlainSurface:
    """Return a surface whose scanned face lies an offset outside the mesh."""
    return PlainSurface(
        mesh,
        mesh.vertices + offset * vertex_normals(mesh.vertices, mesh.faces),
        np.zeros(len(mesh.faces), bool),
        np.arange(len(mesh.vertices)),
        np.zeros(len(mesh.faces), bool),
    )


SIZE = 150.0


def height(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return the height of the wavy sheet."""
    return np.asarray(15.0 * np.sin(x / 40.0) * np.cos(y / 50.0))


def wavy_sheet(seed: int = 0, *, count: int = 2000) -> TriMesh:
    """Return a wavy square sheet of random triangles, 150 mm wide, spacing about 3.5 mm."""
    flat = scattered_plane(count, SIZE, seed)
    x, y, _ = flat.vertices.T
    return TriMesh(np.stack([x, y, height(x, y)], axis=1), flat.faces)


def on_sheet(points: FloatArray) -> FloatArray:
    """Return (k, 3) points of the wavy sheet over (k, 2) places."""
    x, y = points.T
    return np.stack([x, y, height(x, y)], axis=1)


def line(start: tuple[float, float], end: tuple[float, float], count: int = 9) -> FloatArray:
    """Return (k, 3) points of the wavy sheet over a straight line of the ground."""
    t = np.linspace(0.0, 1.0, count)[:, None]
    return on_sheet((1 - t) * np.array(start) + t * np.array(end))


def ring(centre: tuple[float, float], radius: float, count: int = 24) -> FloatArray:
    """Return (k, 3) points of the wavy sheet over a circle of the ground, not closed."""
    turn = 2 * np.pi * np.arange(count) / count
    return on_sheet(np.array(centre) + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1))
