"""Small meshes with known counts: grids rolled up, closed bodies, and the classic unsound ones."""

from collections.abc import Callable, Sequence

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh


def mesh_of(vertices: Sequence[Sequence[float]], faces: Sequence[Sequence[int]]) -> TriMesh:
    """Return a mesh written out by hand."""
    return TriMesh(np.array(vertices, np.float64), np.array(faces, np.int64))


def grid_faces(rows: int, columns: int) -> IntArray:
    """Return the faces of a rows x columns net of vertices, two triangles a square."""
    at = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]
    return np.concatenate(
        [np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)]
    )


def plane(rows: int = 5, columns: int = 4, spacing: float = 1.0) -> TriMesh:
    """Return a flat rectangle in z = 0, facing up, one corner at the origin."""
    x, y = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    flat = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], axis=1) * spacing
    return TriMesh(flat.astype(np.float64), grid_faces(rows, columns))


def scattered_plane(count: int, size: float, seed: int = 0) -> TriMesh:
    """Return a flat square with its corners, its sides and random points inside triangulated."""
    from scipy.spatial import Delaunay

    rng = np.random.default_rng(seed)
    side = np.linspace(0.0, size, 2 + int(np.sqrt(count)))
    inner = rng.uniform(0.0, size, (count, 2))
    rim = np.concatenate(
        [np.stack([side, 0 * side + end], 1) for end in (0.0, size)]
        + [np.stack([0 * side[1:-1] + end, side[1:-1]], 1) for end in (0.0, size)]
    )
    points = np.concatenate([rim, inner])
    faces = Delaunay(points).simplices.astype(np.int64)
    corners = points[faces]
    turned = np.linalg.det(corners[:, 1:] - corners[:, :1]) < 0
    faces[turned] = faces[turned][:, ::-1]
    return TriMesh(np.column_stack([points, np.zeros(len(points))]), faces)


def bent(mesh: TriMesh, place: Callable[[FloatArray], FloatArray]) -> TriMesh:
    """Return the mesh with each vertex moved to `place(vertices)`."""
    return TriMesh(place(mesh.vertices), mesh.faces)


def ring_faces(rows: int, around: int, *, close_rows: bool = False) -> IntArray:
    """Return the faces of a net closed round its columns, and round its rows if asked."""
    at = np.arange(rows * around).reshape(rows, around)
    at = np.concatenate([at, at[:, :1]], axis=1)
    if close_rows:
        at = np.concatenate([at, at[:1]], axis=0)
    a, b, c, d = at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]
    return np.concatenate(
        [np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)]
    )


def tube(radius: float = 50.0, height: float = 120.0, rows: int = 13, around: int = 48) -> TriMesh:
    """Return an open cylinder round the z axis, vertices on the true cylinder, facing outward."""
    z, angle = np.meshgrid(
        np.linspace(0, height, rows), 2 * np.pi * np.arange(around) / around, indexing="ij"
    )
    vertices = np.stack([radius * np.cos(angle), radius * np.sin(angle), z], -1).reshape(-1, 3)
    return TriMesh(vertices, ring_faces(rows, around)[:, ::-1])


def torus(large: float = 60.0, small: float = 20.0, rows: int = 24, around: int = 36) -> TriMesh:
    """Return a closed torus round the z axis, facing outward."""
    angle, turn = np.meshgrid(
        2 * np.pi * np.arange(rows) / rows, 2 * np.pi * np.arange(around) / around, indexing="ij"
    )
    reach = large + small * np.cos(angle)
    vertices = np.stack([reach * np.cos(turn), reach * np.sin(turn), small * np.sin(angle)], -1)
    faces = ring_faces(rows, around, close_rows=True)
    return TriMesh(vertices.reshape(-1, 3), faces[:, ::-1])


def octahedron(subdivisions: int = 0, radius: float = 1.0) -> TriMesh:
    """Return an octahedron, split in four and pushed out to the sphere as often as asked."""
    vertices = np.array(
        [[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]], float
    )
    faces = np.array([[a, b, c] for a in (0, 1) for b in (2, 3) for c in (4, 5)])
    volume = np.linalg.det(vertices[faces])
    faces[volume < 0] = faces[volume < 0][:, ::-1]
    for _ in range(subdivisions):
        sides = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], 2).reshape(-1, 2), axis=1)
        edges, index = np.unique(sides, axis=0, return_inverse=True)
        middle = len(vertices) + index.reshape(-1, 3)
        vertices = np.concatenate([vertices, vertices[edges].mean(axis=1)])
        (a, b, c), (ab, bc, ca) = faces.T, middle.T
        faces = np.concatenate(
            [np.stack(t, 1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
        )
        vertices /= np.linalg.norm(vertices, axis=1, keepdims=True)
    return TriMesh(vertices * radius, faces)


def moebius_strip(around: int = 12) -> TriMesh:
    """Return a strip joined to itself after half a turn."""
    at = np.arange(2 * around).reshape(around, 2)
    at = np.concatenate([at, at[:1, ::-1]])
    a, b, c, d = at[:-1, 0], at[1:, 0], at[1:, 1], at[:-1, 1]
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    turn = 2 * np.pi * np.repeat(np.arange(around), 2) / around
    across = np.tile([-0.3, 0.3], around)
    reach = 1 + across * np.cos(turn / 2)
    return TriMesh(
        np.stack([reach * np.cos(turn), reach * np.sin(turn), across * np.sin(turn / 2)], 1), faces
    )


def bow_tie() -> TriMesh:
    """Return two faces that touch at vertex 0 only."""
    return mesh_of(
        [[0, 0, 0], [1, 1, 0], [1, -1, 0], [-1, -1, 0], [-1, 1, 0]], [[0, 2, 1], [0, 4, 3]]
    )


def book_of_three() -> TriMesh:
    """Return three faces on the one edge 0-1, like the leaves of a book."""
    return mesh_of(
        [[0, 0, 0], [0, 0, 1], [1, 0, 0], [-1, 1, 0], [-1, -1, 0]],
        [[0, 1, 2], [0, 1, 3], [0, 1, 4]],
    )
