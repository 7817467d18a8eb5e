"""Scans of bodies with closed forms: irregular triangles, noise along the normal."""

import numpy as np
from scipy.spatial import Delaunay, cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh


def scattered(width: float, height: float, spacing: float) -> tuple[FloatArray, IntArray]:
    """Return irregular points of a rectangle about the spacing apart, and triangles over them."""
    random = np.random.default_rng(11)
    x = np.arange(0.0, width + 1e-9, spacing)
    y = np.arange(0.0, height + 1e-9, spacing * np.sqrt(0.75))
    u, v = np.meshgrid(x, y, indexing="ij")
    u = u + spacing * (np.arange(len(y)) % 2 - 0.5) / 2
    inner = np.stack([u.ravel(), v.ravel()], axis=1)
    inner += random.uniform(-0.3, 0.3, inner.shape) * spacing
    rim = rectangle_rim(width, height, spacing)
    inside = (inner > 0).all(axis=1) & (inner < [width, height]).all(axis=1)
    inner = inner[inside]
    inner = inner[cKDTree(rim).query(inner)[0] > 0.5 * spacing]
    points = np.concatenate([rim, inner])
    return points, triangles_over(points)


def triangles_over(points: FloatArray) -> IntArray:
    """Return counter-clockwise triangles over (k, 2) points, those of points in a row left out."""
    faces = Delaunay(points).simplices.astype(np.int64)
    a, b, c = (points[faces[:, k]] for k in range(3))
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    faces[twice < 0] = faces[twice < 0][:, ::-1]
    return np.asarray(faces[np.abs(twice) > 1e-9])


def rectangle_rim(width: float, height: float, spacing: float) -> FloatArray:
    """Return points along the sides of a rectangle."""
    x = np.linspace(0.0, width, round(width / spacing) + 1)
    y = np.linspace(0.0, height, round(height / spacing) + 1)[1:-1]
    sides = [(x, 0 * x), (x, 0 * x + height), (0 * y, y), (0 * y + width, y)]
    return np.concatenate([np.stack(side, axis=1) for side in sides])


def scanned(
    points: FloatArray, normals: FloatArray, faces: IntArray, noise: float, seed: int = 12
) -> TriMesh:
    """Return the points moved along their normals by white noise of a standard deviation, mm."""
    off = np.random.default_rng(seed).normal(0.0, 1.0, len(points))
    return TriMesh(points + noise * off[:, None] * normals, faces)


def shaken(mesh: TriMesh, noise: float, seed: int) -> TriMesh:
    """Return a mesh with white noise of a standard deviation, mm, on each coordinate."""
    off = np.random.default_rng(seed).normal(0.0, noise, mesh.vertices.shape)
    return TriMesh(mesh.vertices + off, mesh.faces)


def sheet_scan(width: float, height: float, spacing: float = 1.0, noise: float = 0.1) -> TriMesh:
    """Return a flat sheet in z = 0, scanned."""
    flat, faces = scattered(width, height, spacing)
    points = np.column_stack([flat, np.zeros(len(flat))])
    return scanned(points, np.tile([0.0, 0.0, 1.0], (len(flat), 1)), faces, noise)


def dome_scan(
    radius: float, width: float, spacing: float = 1.0, noise: float = 0.1, thinned: float = 0.0
) -> TriMesh:
    """Return what stands over a square of a ball about the origin, scanned.

    Of a smaller square in its middle, `thinned` wide, only every sixteenth point is kept.
    """
    flat, faces = scattered(width, width, spacing)
    if thinned > 0.0:
        outer = np.abs(flat - width / 2.0).max(axis=1) > thinned / 2.0
        flat = flat[outer | (np.arange(len(flat)) % 16 == 0)]
        faces = triangles_over(flat)
    x, y = (flat - width / 2.0).T
    points = np.column_stack([x, y, np.sqrt(radius**2 - x * x - y * y)])
    return scanned(points, points / radius, faces, noise)


def cylinder_scan(radius: float, width: float, spacing: float = 1.0, noise: float = 0.1) -> TriMesh:
    """Return a square of sheet rolled about y, scanned; it covers width / radius radians."""
    flat, faces = scattered(width, width, spacing)
    angle = (flat[:, 0] - width / 2.0) / radius
    normals = np.column_stack([np.sin(angle), np.zeros(len(flat)), np.cos(angle)])
    points = radius * normals
    points[:, 1] = flat[:, 1]
    return scanned(points, normals, faces, noise)


def crease_profile(along: FloatArray, turn: float, tip: float) -> tuple[FloatArray, FloatArray]:
    """Return (k, 2) places x, z and normals of two flats that meet in an arc of the tip radius.

    `along` is the distance from the middle of the arc, which lies at x = z = 0.
    """
    half = turn / 2.0
    angle = np.clip(along / tip, -half, half)
    beyond = np.sign(along) * np.maximum(np.abs(along) - tip * half, 0.0)
    x = tip * np.sin(angle) + beyond * np.cos(half)
    z = tip * (np.cos(angle) - 1.0) - np.abs(beyond) * np.sin(half)
    return np.stack([x, z], axis=1), np.stack([np.sin(angle), np.cos(angle)], axis=1)


def creased_scan(turn: float, tip: float, spacing: float = 1.0, noise: float = 0.05) -> TriMesh:
    """Return a sheet 60 wide and 90 long, creased along y in its middle, scanned."""
    flat, faces = scattered(60.0, 90.0, spacing)
    place, normal = crease_profile(flat[:, 0] - 30.0, turn, tip)
    points = np.column_stack([place[:, 0], flat[:, 1], place[:, 1]])
    normals = np.column_stack([normal[:, 0], np.zeros(len(flat)), normal[:, 1]])
    return scanned(points, normals, faces, noise)
