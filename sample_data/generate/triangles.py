"""Triangles over scattered places of the skin, and their order improved by turning edges."""

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from sample_data.generate.sampling import MIDDLE, STRETCH
from sample_data.generate.shape import BoolArray, FloatArray

IntArray = NDArray[np.int64]


def star_triangles(points: FloatArray) -> IntArray:
    """Return triangles (m, 3) joining places all seen from the tank's middle, outward side out.

    Thrown onto a sphere about the middle, the hull of the places is their triangulation.
    """
    rays = (points - MIDDLE) / STRETCH
    rays /= np.linalg.norm(rays, axis=1)[:, None]
    faces = ConvexHull(rays).simplices.astype(np.int64)
    flipped = np.linalg.det(rays[faces]) < 0
    faces[flipped] = faces[flipped][:, ::-1]
    first = faces.argmin(axis=1)
    faces = faces[np.arange(len(faces))[:, None], (first[:, None] + np.arange(3)) % 3]
    return np.asarray(faces[np.lexsort(faces.T[::-1])])


def _normals(points: FloatArray, faces: IntArray) -> FloatArray:
    a, b, c = (points[faces[:, i]] for i in range(3))
    normal = np.cross(b - a, c - a)
    return np.asarray(normal / np.linalg.norm(normal, axis=1).clip(1e-12)[:, None])


def _cotangent(points: FloatArray, tip: IntArray, left: IntArray, right: IntArray) -> FloatArray:
    a, b = points[left] - points[tip], points[right] - points[tip]
    area2 = np.linalg.norm(np.cross(a, b), axis=1).clip(1e-12)
    return np.asarray(np.einsum("ij,ij->i", a, b) / area2)


def inner_edges(faces: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Return of each edge with two faces those faces, its ends and the far corners, (e, 2) each."""
    ends = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    tips = np.concatenate([faces[:, 2], faces[:, 0], faces[:, 1]])
    owner = np.tile(np.arange(len(faces)), 3)
    low, high = ends.min(axis=1), ends.max(axis=1)
    order = np.lexsort((ends[:, 0] > ends[:, 1], high, low))
    low, high, owner, tips = low[order], high[order], owner[order], tips[order]
    twin = np.flatnonzero((low[1:] == low[:-1]) & (high[1:] == high[:-1]))
    sides = np.stack([owner[twin], owner[twin + 1]], axis=1)
    return (
        sides,
        np.stack([low[twin], high[twin]], axis=1),
        np.stack([tips[twin], tips[twin + 1]], axis=1),
    )


def _edge_keys(pairs: IntArray) -> IntArray:
    return np.asarray(pairs.min(axis=1) << 32 | pairs.max(axis=1), dtype=np.int64)


def edges_turned(points: FloatArray, faces: IntArray, *, rounds: int = 12) -> IntArray:
    """Return faces, edges turned that face two angles of more than half a turn together."""
    for _ in range(rounds):
        sides, ends, tips = inner_edges(faces)
        badness = -(
            _cotangent(points, tips[:, 0], ends[:, 0], ends[:, 1])
            + _cotangent(points, tips[:, 1], ends[:, 0], ends[:, 1])
        )
        turned = np.stack(  # the edge runs low to high in its first face
            [
                np.stack([tips[:, 0], ends[:, 0], tips[:, 1]], axis=1),
                np.stack([tips[:, 1], ends[:, 1], tips[:, 0]], axis=1),
            ]
        )
        old = _normals(points, faces)[sides]
        mean = old.sum(axis=1)
        mean /= np.linalg.norm(mean, axis=1).clip(1e-12)[:, None]
        lean = [np.einsum("ij,ij->i", _normals(points, new), mean) for new in turned]
        wanted = (badness > 1e-9) & (np.einsum("ij,ij->i", old[:, 0], old[:, 1]) > 0.8)
        wanted &= (np.minimum(*lean) > 0.5) & ~np.isin(_edge_keys(tips), _edge_keys(ends))
        chosen = _apart(np.flatnonzero(wanted), badness, sides, len(faces))
        if not chosen.size:
            break
        faces = faces.copy()
        faces[sides[chosen, 0]], faces[sides[chosen, 1]] = turned[0, chosen], turned[1, chosen]
    return faces


def _apart(edges: IntArray, badness: FloatArray, sides: IntArray, faces: int) -> IntArray:
    """Return those edges that are the worst of both their faces, so none share a face."""
    ranked = edges[np.argsort(-badness[edges], kind="stable")]
    best = np.full(faces, len(ranked))
    rank = np.arange(len(ranked))
    np.minimum.at(best, sides[ranked].ravel(), np.repeat(rank, 2))
    return np.asarray(ranked[(best[sides[ranked]] == rank[:, None]).all(axis=1)])


def without_pinches(faces: IntArray, vertices: int) -> IntArray:
    """Return faces less those hanging by a single vertex, until every vertex has one fan."""
    while True:
        fans = _fans(faces, vertices)
        used = np.bincount(faces.ravel(), minlength=vertices) > 0
        pinched = used & (fans > 1)
        if not pinched.any():
            return faces
        faces = faces[~pinched[faces].any(axis=1)]


def _fans(faces: IntArray, vertices: int) -> IntArray:
    """Return, per vertex, corners less inner edges where it is on the rim: its number of fans.

    A fan of c faces at a rim vertex has c - 1 inner edges; at an inner vertex as many as faces.
    """
    _, ends, _ = inner_edges(faces)
    corners = np.bincount(faces.ravel(), minlength=vertices)
    spokes = np.bincount(ends.ravel(), minlength=vertices)
    return np.asarray(corners - spokes)


def packed(points: FloatArray, faces: IntArray) -> tuple[FloatArray, IntArray, IntArray]:
    """Return points and faces without unused points, and which points were used."""
    used = np.unique(faces)
    new = np.full(len(points), -1)
    new[used] = np.arange(len(used))
    return points[used], new[faces], used


def rim_vertices(faces: IntArray, vertices: int) -> BoolArray:
    """Return which vertices lie on a rim."""
    return np.asarray(_fans(faces, vertices) > 0)
