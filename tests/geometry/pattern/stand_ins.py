"""Flat panels made by formula, for tests of patterns: nothing here was laid out by the solver."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh, rims


@dataclass(frozen=True, eq=False)
class FlatByFormula:
    """A formed mesh and its places on the blank."""

    vertices: FloatArray
    faces: IntArray
    flat_vertices: FloatArray

    @property
    def rim(self) -> IntArray:
        return rims(TriMesh(self.vertices, self.faces))[0]

    @property
    def stretches(self) -> FloatArray:
        formed, flat = self.vertices[self.faces], self.flat_vertices[self.faces]
        formed_edges = formed[:, 1:] - formed[:, :1]
        flat_edges = flat[:, 1:] - flat[:, :1]
        return np.asarray(np.linalg.svd(np.linalg.inv(flat_edges) @ formed_edges)[1])


@dataclass(frozen=True, eq=False)
class Half:
    seam: str
    vertices: IntArray
    other: str


def disc(rings: int, radius: float) -> tuple[FloatArray, IntArray]:
    """Return a flat disc of `rings` rings of triangles: (n, 2) places and (m, 3) faces."""
    points = [np.zeros((1, 2))]
    for ring in range(1, rings + 1):
        turn = 2.0 * np.pi * np.arange(6 * ring) / (6 * ring)
        points.append(radius * ring / rings * np.stack([np.cos(turn), np.sin(turn)], axis=1))
    faces: list[tuple[int, int, int]] = []
    start = [0, *np.cumsum([1, *(6 * ring for ring in range(1, rings))]).tolist()]
    for ring in range(1, rings + 1):
        outer, inner, count, fewer = start[ring], start[ring - 1], 6 * ring, 6 * (ring - 1)
        for side in range(6):
            for step in range(ring):
                a = outer + side * ring + step
                b = outer + (side * ring + step + 1) % count
                c = inner + (side * (ring - 1) + step) % max(fewer, 1)
                faces.append((a, b, c))
                if step < ring - 1:
                    d = inner + (side * (ring - 1) + step + 1) % fewer
                    faces.append((b, d, c))
    return np.concatenate(points), np.array(faces, np.int64)


def dome(rings: int, radius: float, half_angle_rad: float) -> FlatByFormula:
    """Return a spherical cap laid out with its meridians true: stretch t / sin t the other way.

    Along a meridian formed = flat; along a parallel formed / flat = sin(t) / t < 1.
    """
    flat, faces = disc(rings, radius * half_angle_rad)
    far = np.linalg.norm(flat, axis=1)
    angle = far / radius
    across = np.where(far > 0, np.sin(angle) / np.where(far > 0, far, 1.0), 1.0 / radius)
    formed = radius * np.column_stack([flat * across[:, None], np.cos(angle)])
    return FlatByFormula(formed, faces, flat)


def grid(columns: int, rows: int, width: float, height: float) -> tuple[FloatArray, IntArray]:
    """Return a rectangle from (0, 0) in right triangles: (n, 2) places and (m, 3) faces."""
    x, y = np.meshgrid(np.linspace(0, width, columns + 1), np.linspace(0, height, rows + 1))
    index = np.arange((rows + 1) * (columns + 1)).reshape(rows + 1, columns + 1)
    a, b, c, d = index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]
    faces = np.concatenate([np.stack([a, b, c], -1), np.stack([a, c, d], -1)]).reshape(-1, 3)
    return np.stack([x.ravel(), y.ravel()], axis=1), faces
