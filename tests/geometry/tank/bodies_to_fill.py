"""Closed bodies of known volume that fuel can stand in."""

import numpy as np

from geometry.mesh import TriMesh

_BOX = (
    *((0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1)),
    *((2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)),
)


def box(length: float, width: float, height: float) -> TriMesh:
    """Return a box from x = 0 ahead, the centre plane through its middle, its foot at z = 0."""
    places = [
        (x, y, z) for x in (0.0, length) for y in (-width / 2, width / 2) for z in (0.0, height)
    ]
    return TriMesh(np.array(places), np.array(_BOX))


def open_box(length: float, width: float, height: float) -> TriMesh:
    """Return the box without its bottom."""
    whole = box(length, width, height)
    looks_down = (whole.vertices[whole.faces][:, :, 2] == 0.0).all(axis=1)
    return TriMesh(whole.vertices, whole.faces[~looks_down])


def revolved(radius: np.ndarray, along: np.ndarray, around: int) -> TriMesh:
    """Return a closed body of revolution about x; its profile begins and ends on the axis."""
    angle = 2.0 * np.pi * np.arange(around) / around
    rings = [
        np.column_stack([np.full(around, x), r * np.cos(angle), r * np.sin(angle)])
        for r, x in zip(radius[1:-1], along[1:-1], strict=True)
    ]
    points = np.concatenate([[[along[0], 0.0, 0.0]], *rings, [[along[-1], 0.0, 0.0]]])
    i = np.arange(around)
    j = (i + 1) % around
    count, last = len(rings), len(points) - 1
    faces = [np.stack([np.zeros(around, np.int64), 1 + j, 1 + i], axis=1)]
    for k in range(count - 1):
        a, b = 1 + k * around, 1 + (k + 1) * around
        faces += [np.stack([a + i, a + j, b + j], 1), np.stack([a + i, b + j, b + i], 1)]
    a = 1 + (count - 1) * around
    faces.append(np.stack([a + i, a + j, np.full(around, last)], axis=1))
    return TriMesh(points, np.concatenate(faces))


def ellipsoid(a: float, b: float, c: float, rings: int) -> TriMesh:
    """Return an ellipsoid about the origin, its semi-axes along x, y and z."""
    angle = np.linspace(0.0, np.pi, rings + 1)
    ball = revolved(np.sin(angle), -np.cos(angle), 2 * rings)
    return TriMesh(ball.vertices * [a, b, c], ball.faces)
