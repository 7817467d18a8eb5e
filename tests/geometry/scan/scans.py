"""Bodies and scan files made for the tests of reading and mending."""

from pathlib import Path

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh

STL_LAYOUT = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def grid_faces(rows: int, columns: int, *, closed: bool = False) -> IntArray:
    """Return the faces of a grid of points, row after row; `closed` joins last column to first."""
    row, column = np.meshgrid(
        np.arange(rows - 1), np.arange(columns if closed else columns - 1), indexing="ij"
    )
    a = row * columns + column
    b = row * columns + (column + 1) % columns
    c, d = a + columns, b + columns
    faces = np.concatenate([np.stack([a, b, c], axis=2), np.stack([b, d, c], axis=2)])
    return faces.reshape(-1, 3).astype(np.int64)


def sheet(rows: int = 6, columns: int = 7, spacing: float = 10.0) -> TriMesh:
    """Return a flat grid, normal along z."""
    y, x = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    points = np.stack([x, y, 0 * x], axis=2).reshape(-1, 3).astype(np.float64) * spacing
    return TriMesh(points, grid_faces(rows, columns))


def tube(
    radius: float, length: float, spacing: float, *, start: float = 0.0, sweep: float = 2 * np.pi
) -> TriMesh:
    """Return a tube about z, facing out; open along its length unless it goes all round."""
    full = sweep > 2 * np.pi - 1e-9
    across = round(sweep * radius / spacing)
    along = round(length / spacing) + 1
    angle = (
        start + np.linspace(0, sweep, across, endpoint=False)
        if full
        else (start + np.linspace(0, sweep, across + 1))
    )
    z, turn = np.meshgrid(np.linspace(0, length, along), angle, indexing="ij")
    points = np.stack([radius * np.cos(turn), radius * np.sin(turn), z], axis=2).reshape(-1, 3)
    return TriMesh(points, grid_faces(along, len(angle), closed=full))


def ball(radius: float, count: int) -> TriMesh:
    """Return a closed ball of evenly strewn points, facing out."""
    from scipy.spatial import ConvexHull

    index = np.arange(count) + 0.5
    height = 1 - 2 * index / count
    turn = np.pi * (1 + np.sqrt(5)) * index
    ring = np.sqrt(1 - height**2)
    points = radius * np.column_stack([ring * np.cos(turn), ring * np.sin(turn), height])
    faces = ConvexHull(points).simplices.astype(np.int64)
    return TriMesh(points, facing_out(points, faces))


def box(size: tuple[float, float, float], at: tuple[float, float, float] = (0, 0, 0)) -> TriMesh:
    """Return a closed box of 12 triangles, facing out."""
    x, y, z = size
    corners = np.array([[i, j, k] for i in (0, x) for j in (0, y) for k in (0, z)], float)
    quads = np.array(
        [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    )
    faces = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return TriMesh(corners + at, faces)


def facing_out(points: FloatArray, faces: IntArray) -> IntArray:
    """Return the faces of a body around the origin, turned to face away from it."""
    a, b, c = points[faces[:, 0]], points[faces[:, 1]], points[faces[:, 2]]
    inward = np.einsum("ij,ij->i", np.cross(b - a, c - a), a + b + c) < 0
    faces = faces.copy()
    faces[inward] = faces[inward][:, ::-1]
    return faces


def rough(mesh: TriMesh, noise: float, seed: int = 0) -> TriMesh:
    """Return the mesh with white noise on every coordinate."""
    random = np.random.default_rng(seed)
    return TriMesh(mesh.vertices + random.normal(0, noise, mesh.vertices.shape), mesh.faces)


def joined(*meshes: TriMesh) -> TriMesh:
    """Return several meshes side by side in one."""
    counts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    return TriMesh(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate([mesh.faces + n for mesh, n in zip(meshes, counts[:-1], strict=True)]),
    )


def write_stl(
    path: Path, mesh: TriMesh, *, header: bytes = b"", declared: int | None = None
) -> Path:
    """Write a binary STL, with a count of one's own choosing if wanted."""
    facets = np.zeros(len(mesh.faces), STL_LAYOUT)
    facets["corners"] = mesh.vertices[mesh.faces]
    count = len(mesh.faces) if declared is None else declared
    path.write_bytes(header.ljust(80, b" ") + count.to_bytes(4, "little") + facets.tobytes())
    return path


def write_text_stl(path: Path, mesh: TriMesh, *, end: str = "endsolid tank\n") -> Path:
    """Write a text STL."""
    lines = ["solid tank"]
    for corners in mesh.vertices[mesh.faces]:
        lines += ["facet normal 0 0 0", "  outer loop"]
        lines += [f"    vertex {x!r} {y!r} {z!r}" for x, y, z in corners.tolist()]
        lines += ["  endloop", "endfacet"]
    path.write_text("\n".join(lines) + "\n" + end)
    return path
