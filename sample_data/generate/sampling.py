"""Random places on the tank's skin, evenly spread, as a scanner's software keeps its points."""

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from sample_data.generate.shape import (
    FILLER_AXIS,
    FILLER_CENTRE,
    FILLER_DIAMETER,
    SEAT_NORMAL,
    SEAT_POINT,
    FloatArray,
    beyond_opening,
    bottom_height,
    kept,
    on_skin,
    skin,
)

IntArray = NDArray[np.int64]

MIDDLE = np.array([300.0, 0.0, 100.0])  # every place of the skin is seen from here
STRETCH = np.array([2.2, 1.0, 1.0])  # makes a sphere roughly as long as the tank


def _cube_rays(cells: int) -> tuple[FloatArray, IntArray]:
    """Return rays through a cube's gridded faces, about even in angle, and the grid's triangles."""
    ticks = np.tan(np.linspace(-1, 1, cells + 1) * np.pi / 4)
    a, b = np.meshgrid(ticks, ticks, indexing="ij")
    corner = np.arange((cells + 1) ** 2).reshape(cells + 1, cells + 1)
    quads = (corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:])
    i, j, k, m = (part.ravel() for part in quads)
    triangles = np.concatenate([np.stack([i, j, k], axis=1), np.stack([i, k, m], axis=1)])
    rays: list[FloatArray] = []
    faces: list[IntArray] = []
    for axis in range(3):
        for sign in (1.0, -1.0):
            ray = np.empty((a.size, 3))
            ray[:, axis] = sign
            ray[:, (axis + 1) % 3] = a.ravel()
            ray[:, (axis + 2) % 3] = b.ravel()
            faces.append(triangles + len(rays) * a.size)
            rays.append(ray)
    return np.concatenate(rays), np.concatenate(faces)


def seen_along(rays: FloatArray, *, halvings: int = 24) -> FloatArray:
    """Return where rays (k, 3) from the tank's middle meet its skin."""
    near, far = np.zeros(len(rays)), np.full(len(rays), 320.0)
    units = rays / np.linalg.norm(rays, axis=1)[:, None]
    for _ in range(halvings):
        half = (near + far) / 2
        inside = skin(MIDDLE + half[:, None] * units).distance < 0
        near, far = np.where(inside, half, near), np.where(inside, far, half)
    return np.asarray(MIDDLE + ((near + far) / 2)[:, None] * units)


def base_surface(cells: int) -> tuple[FloatArray, IntArray]:
    """Return a regular mesh of the whole skin, openings closed: vertices on it, and triangles."""
    rays, faces = _cube_rays(cells)
    return seen_along(rays * STRETCH), faces


def scattered(
    rng: np.random.Generator, count: int, base: tuple[FloatArray, IntArray]
) -> FloatArray:
    """Return about count random places on the metal, as many per area everywhere."""
    vertices, faces = base
    corners = vertices[faces]
    arms = corners[:, 1:] - corners[:, :1]
    areas = np.linalg.norm(np.cross(arms[:, 0], arms[:, 1]), axis=1)
    chosen = np.searchsorted(np.cumsum(areas) / areas.sum(), rng.random(count))
    share = np.sqrt(rng.random(count))
    weights = np.stack([1 - share, share * rng.random(count)], axis=1)
    weights = np.concatenate([weights, 1 - weights.sum(axis=1, keepdims=True)], axis=1)
    points = on_skin(np.einsum("ij,ijk->ik", weights, corners[np.minimum(chosen, len(faces) - 1)]))
    return points[kept(points)]


def thinned(points: FloatArray, spacing: FloatArray, order: FloatArray) -> IntArray:
    """Return which points stay so that none is nearer to another than the mean of their spacings.

    Where two are too near the one lower in order stays; all that can stay do.
    """
    pairs = cKDTree(points).query_pairs(float(spacing.max()), output_type="ndarray")
    apart = np.linalg.norm(points[pairs[:, 0]] - points[pairs[:, 1]], axis=1)
    pairs = pairs[apart < spacing[pairs].mean(axis=1)]
    pairs = np.where((order[pairs[:, 0]] < order[pairs[:, 1]])[:, None], pairs, pairs[:, ::-1])
    waiting, stays = np.ones(len(points), dtype=bool), np.zeros(len(points), dtype=bool)
    while waiting.any():
        beaten = np.zeros(len(points), dtype=bool)
        beaten[pairs[waiting[pairs[:, 0]] & waiting[pairs[:, 1]], 1]] = True
        new = waiting & ~beaten
        stays |= new
        waiting &= ~new
        waiting[pairs[new[pairs[:, 0]], 1]] = False
    return np.flatnonzero(stays)


def evenly_along(curve: FloatArray, spacing: float, *, closed: bool) -> FloatArray:
    """Return places (k, 3) evenly along a polyline, as near to the spacing as comes out whole."""
    line = np.concatenate([curve, curve[:1]]) if closed else curve
    walked = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    pieces = max(1, round(walked[-1] / spacing))
    at = np.linspace(0.0, walked[-1], pieces + 1)[: pieces if closed else pieces + 1]
    return np.stack([np.interp(at, walked, line[:, axis]) for axis in range(3)], axis=1)


def filler_rim(spacing: float) -> FloatArray:
    """Return places on the filler hole's edge."""
    across = np.array([0.0, 1.0, 0.0])
    along = np.cross(across, FILLER_AXIS)
    angle = np.linspace(0, 2 * np.pi, round(np.pi * FILLER_DIAMETER / spacing), endpoint=False)
    spokes = np.cos(angle)[:, None] * across + np.sin(angle)[:, None] * along
    points = FILLER_CENTRE + FILLER_DIAMETER / 2 * spokes
    for _ in range(8):
        sheet = skin(points)
        points = points - (sheet.distance / (sheet.normal @ FILLER_AXIS))[:, None] * FILLER_AXIS
    return np.asarray(points)


def _slope(points: FloatArray) -> FloatArray:
    shifts = 1e-3 * np.eye(3)
    return np.stack(
        [(beyond_opening(points + s) - beyond_opening(points - s)) / 2e-3 for s in shifts], axis=1
    )


def on_bottom_rim(points: FloatArray, *, rounds: int = 25) -> FloatArray:
    """Return nearby places brought onto the edge of the open underside."""
    for _ in range(rounds):
        points = on_skin(points, rounds=2)
        normal, slope = skin(points).normal, _slope(points)
        slope -= np.einsum("ij,ij->i", slope, normal)[:, None] * normal
        size2 = np.maximum(np.einsum("ij,ij->i", slope, slope), 0.05)
        step = -(beyond_opening(points) / size2)[:, None] * slope
        points = (
            points + step * np.minimum(1.0, 3.0 / np.linalg.norm(step, axis=1).clip(1e-9))[:, None]
        )
    return on_skin(points)


def bottom_rim(spacing: float) -> FloatArray:
    """Return places on the edge of the open underside, in order seen from below."""
    angle = np.linspace(0, 2 * np.pi, 1600, endpoint=False)
    ray = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    near, far = np.zeros(len(ray)), np.full(len(ray), 320.0)
    for _ in range(24):
        half = (near + far) / 2
        start = _above_bottom(ray * half[:, None])
        inside = (skin(start).distance < 0) & ((start - SEAT_POINT) @ SEAT_NORMAL < 0)
        near, far = np.where(inside, half, near), np.where(inside, far, half)
    rim = on_bottom_rim(_above_bottom(ray * near[:, None]))
    return on_bottom_rim(evenly_along(rim, spacing, closed=True))


def _above_bottom(plan: FloatArray) -> FloatArray:
    x, y = plan[:, 0] + MIDDLE[0], plan[:, 1]
    return np.stack([x, y, bottom_height(x) + 5.0], axis=1)
