"""Bodies with closed forms, as meshes of any fineness: what the program is held against."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh


def mesh_of(vertices: Sequence[Sequence[float]], faces: Sequence[Sequence[int]]) -> TriMesh:
    """Return a mesh written out by hand."""
    return TriMesh(np.array(vertices, np.float64), np.array(faces, np.int64))


def grid_faces(rows: int, columns: int) -> IntArray:
    """Return the triangles of a rows x columns grid of points, diagonals alternating."""
    i, j = np.meshgrid(np.arange(rows - 1), np.arange(columns - 1), indexing="ij")
    a = (i * columns + j).ravel()
    b, c, d = a + columns, a + columns + 1, a + 1
    even = ((i + j) % 2 == 0).ravel()
    one = np.where(even[:, None], np.stack([a, b, c], 1), np.stack([a, b, d], 1))
    two = np.where(even[:, None], np.stack([a, c, d], 1), np.stack([b, c, d], 1))
    return np.concatenate([one, two]).astype(np.int64)


def patch(x: FloatArray, y: FloatArray, z: FloatArray) -> TriMesh:
    """Return the mesh over a grid of points given as three (rows, columns) arrays."""
    return TriMesh(np.stack([x.ravel(), y.ravel(), z.ravel()], axis=1), grid_faces(*x.shape))


def cylinder_sheet(
    radius: float, angle: float, length: float, around: int = 24, along: int = 16
) -> TriMesh:
    """Return a rolled sheet: a part of a cylinder about x, open along two straight edges.

    Its facets lay out to exactly around * 2 radius sin(angle / 2 around) by length.
    """
    x, phi = np.meshgrid(
        np.linspace(0.0, length, along + 1), np.linspace(angle / 2, -angle / 2, around + 1)
    )
    return patch(x, radius * np.sin(-phi), radius * np.cos(phi))


def cone_sheet(
    base_radius: float, top_radius: float, height: float, angle: float, cells: tuple[int, int]
) -> TriMesh:
    """Return a cone frustum about z, cut open along a generator line; facets are flat trapezia."""
    around, along = cells
    t, phi = np.meshgrid(np.linspace(0.0, 1.0, along + 1), np.linspace(0.0, angle, around + 1))
    radius = base_radius + (top_radius - base_radius) * t
    return patch(radius * np.cos(phi), radius * np.sin(phi), height * t)


def disk_rings(rings: int) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return (fraction of radius, angle, faces) of a disk: ring k holds 6 k points."""
    fraction, angle = [np.zeros(1)], [np.zeros(1)]
    for k in range(1, rings + 1):
        fraction.append(np.full(6 * k, k / rings))
        angle.append(2.0 * np.pi * np.arange(6 * k) / (6 * k))
    faces: list[tuple[int, int, int]] = []
    start = [0, *(1 + 3 * k * (k - 1) for k in range(1, rings + 1))]
    for k in range(1, rings + 1):
        for sector in range(6):
            for step in range(k):
                outer = start[k] + (sector * k + step) % (6 * k)
                after = start[k] + (sector * k + step + 1) % (6 * k)
                inner = start[k - 1] + ((sector * (k - 1) + step) % (6 * (k - 1)) if k > 1 else 0)
                faces.append((inner, outer, after))
                if step < k - 1:
                    beside = start[k - 1] + (sector * (k - 1) + step + 1) % (6 * (k - 1))
                    faces.append((inner, after, beside))
    return np.concatenate(fraction), np.concatenate(angle), np.array(faces, np.int64)


def dome(radius: float, half_angle: float, rings: int) -> TriMesh:
    """Return a spherical cap about +z, its top at z = radius."""
    fraction, phi, faces = disk_rings(rings)
    theta = half_angle * fraction
    x, y = np.sin(theta) * np.cos(phi), np.sin(theta) * np.sin(phi)
    return TriMesh(radius * np.stack([x, y, np.cos(theta)], axis=1), faces)


def hyperbolic_saddle(radius: float, reach: float, rings: int) -> TriMesh:
    """Return a geodesic disk of constant crown -1/radius^2 and geodesic radius `reach` * radius.

    It lies on the pseudosphere, placed as cap-reference describes: half plane, then surface.
    """
    fraction, phi, faces = disk_rings(rings)
    w = np.tanh(reach * fraction / 2.0) * np.exp(1j * phi)
    place = 1j * np.exp(reach) * (1.0 + w) / (1.0 - w)
    x, y = place.real, np.maximum(place.imag, 1.0)
    z = np.arccosh(y) - np.sqrt(y**2 - 1.0) / y
    points = radius * np.stack([np.cos(x) / y, np.sin(x) / y, z], axis=1)
    return TriMesh(points, faces)


def torus_patch(
    ring_radius: float,
    tube_radius: float,
    ring_angle: float,
    tube_angles: tuple[float, float],
    cells: tuple[int, int],
) -> TriMesh:
    """Return a patch of a torus about z; tube angle 0 is outermost."""
    around, across = cells
    psi, phi = np.meshgrid(
        np.linspace(-ring_angle / 2, ring_angle / 2, around + 1),
        np.linspace(*tube_angles, across + 1),
        indexing="ij",
    )
    reach = ring_radius + tube_radius * np.cos(phi)
    return patch(reach * np.cos(psi), reach * np.sin(psi), tube_radius * np.sin(phi))


def graph_patch(heights: FloatArray, half_length: float, half_width: float) -> TriMesh:
    """Return the surface z = heights over a rectangle, (rows along x, columns along y)."""
    rows, columns = heights.shape
    x, y = np.meshgrid(
        np.linspace(-half_length, half_length, rows),
        np.linspace(-half_width, half_width, columns),
        indexing="ij",
    )
    return patch(x, y, heights)


def tank_top(cells: int) -> TriMesh:
    """Return z = -(x^2 / 1800 + y^2 / 240) mm over +-200 x +-70 mm, a tank-like top."""
    rows, columns = 20 * cells // 7 + 1, cells + 1
    x, y = np.meshgrid(
        np.linspace(-200.0, 200.0, rows), np.linspace(-70.0, 70.0, columns), indexing="ij"
    )
    return patch(x, y, -(x**2 / 1800.0 + y**2 / 240.0))


def folded_tray(base: float, wall: float, cells: int) -> TriMesh:
    """Return a flat square with two opposite walls folded up square: flat width base + 2 wall."""
    flat = np.concatenate(
        [
            np.linspace(-base / 2 - wall, -base / 2, cells, endpoint=False),
            np.linspace(-base / 2, base / 2, cells, endpoint=False),
            np.linspace(base / 2, base / 2 + wall, cells + 1),
        ]
    )
    over = np.maximum(np.abs(flat) - base / 2, 0.0)
    x = np.sign(flat) * np.minimum(np.abs(flat), base / 2)
    along = np.linspace(0.0, base, cells + 1)
    xs, ys = np.meshgrid(x, along, indexing="ij")
    zs = np.broadcast_to(over[:, None], xs.shape)
    return patch(xs, ys, zs)


def disk_of_revolution(radius: FloatArray, height: FloatArray) -> TriMesh:
    """Return a disk about z whose ring k of 6 k points lies at the k-th radius and height.

    The first radius is 0: one point in the middle.
    """
    rings = len(radius) - 1
    fraction, phi, faces = disk_rings(rings)
    ring = np.round(fraction * rings).astype(np.int64)
    reach = radius[ring]
    points = np.stack([reach * np.cos(phi), reach * np.sin(phi), height[ring]], axis=1)
    return TriMesh(points, faces)


def band_of_revolution(
    radius: FloatArray, height: FloatArray, angle: float, around: int
) -> TriMesh:
    """Return an open band about z, (around + 1, profile points) vertices; it may pass 360 degrees.

    A profile that runs from bottom to top has its outside outward.
    """
    phi = np.linspace(-angle / 2.0, angle / 2.0, around + 1)[:, None]
    return patch(
        radius * np.cos(phi),
        radius * np.sin(phi),
        np.broadcast_to(height, (around + 1, len(radius))),
    )


def ring_of_revolution(radius: FloatArray, height: FloatArray, around: int) -> TriMesh:
    """Return a closed ring about z, (around, profile points) vertices: two rims.

    The profile runs from the rim nearer the axis outward; the upper side is outside.
    """
    phi = 2.0 * np.pi * np.arange(around)[:, None] / around
    reach, lift = np.broadcast_arrays(radius, height)
    points = np.stack(
        [reach * np.cos(phi), reach * np.sin(phi), np.broadcast_to(lift, (around, len(radius)))],
        axis=2,
    ).reshape(-1, 3)
    columns = len(radius)
    faces = grid_faces(around + 1, columns)[:, [0, 2, 1]]
    return TriMesh(points, faces % (around * columns))


def sphere_patch(half_angles: tuple[float, float], cells: tuple[int, int]) -> TriMesh:
    """Return a patch of the unit sphere, its longitudes along the rows."""
    longitude, latitude = np.meshgrid(
        *(np.linspace(-a, a, n + 1) for a, n in zip(half_angles, cells, strict=True)), indexing="ij"
    )
    return patch(
        np.cos(latitude) * np.cos(longitude),
        np.cos(latitude) * np.sin(longitude),
        np.sin(latitude),
    )


def tangent_sheet(
    radius: float, rise: float, turn: float, reach: tuple[float, float], cells: tuple[int, int]
) -> TriMesh:
    """Return the sheet swept by a helix's tangents, between two distances along each.

    `rise` is the height won per radian. The sheet bends without stretch; the helix itself would lay
    out to a circle of radius R = (radius^2 + rise^2) / radius, and the places at distance v along
    the tangents to a circle of radius sqrt(R^2 + v^2) about the same middle.
    """
    t, v = np.meshgrid(
        np.linspace(0.0, turn, cells[0] + 1), np.linspace(*reach, cells[1] + 1), indexing="ij"
    )
    along = v / np.hypot(radius, rise)
    return patch(
        radius * (np.cos(t) - along * np.sin(t)),
        radius * (np.sin(t) + along * np.cos(t)),
        rise * (t + along),
    )


def square_to_round(side: float, diameter: float, height: float, divisions: int) -> TriMesh:
    """Return a square base joined to a round top by four flat triangles and four corner fans.

    `divisions` chords of the round belong to each corner. Cut open along the middle of one flat
    triangle. Vertices: the round's 4 divisions + 1 points in turn, then the start of the cut on
    the square, its four corners in turn, the end of the cut.
    """
    points = 4 * divisions + 1
    phi = 0.5 * np.pi * np.arange(points) / divisions
    top = 0.5 * diameter * np.stack([np.cos(phi), np.sin(phi), 0.0 * phi], axis=1)
    top[:, 2] = height
    half = side / 2.0
    base = [[half, 0, 0], [half, half, 0], [-half, half, 0], [-half, -half, 0], [half, -half, 0]]
    faces: list[tuple[int, int, int]] = [(0, points, points + 1)]
    for corner in range(4):
        at, first = points + 1 + corner, corner * divisions
        faces += [(at, first + k + 1, first + k) for k in range(divisions)]
        faces.append((at, at + 1, first + divisions))
    vertices = np.concatenate([top, np.array([*base, base[0]], np.float64)])
    return TriMesh(vertices, np.array(faces, np.int64))


def square_ended(length: float = 100.0, half: float = 50.0, walls: float = 30.0) -> TriMesh:
    """Return an arch on straight walls along x from 0, its ends closed square, open below.

    The arch is a superellipse of exponent 2.5: sharp edges, curved, between it and its ends. The
    ends are drawn together towards the middle of their foot, but for a notch of a tenth there.
    """
    turn = np.linspace(-np.pi / 2.0, np.pi / 2.0, 60)
    wall = np.linspace(-walls, 0.0, 9)[:-1]
    arch = half * np.sign(turn) * np.abs(np.sin(turn)) ** 0.8
    y = np.concatenate([np.full(8, -half), arch, np.full(8, half)])
    z = np.concatenate([wall, half * np.cos(turn).clip(0.0) ** 0.8, wall[::-1]])
    inward = np.linspace(0.1, 1.0, 7)[:-1]
    ahead = np.linspace(0.0, length, round(length / 4.0) + 1)
    share = np.concatenate([inward, np.ones(len(ahead)), inward[::-1]])
    x = np.concatenate([np.zeros(6), ahead, np.full(6, length)])
    up = np.outer(share, z + walls) - walls
    return patch(np.outer(x, np.ones(len(y))), np.outer(share, y), up)
