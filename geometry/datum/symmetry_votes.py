"""Where a centre plane might lie: votes of pairs of patches that mirror each other, and axes."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.datum.symmetry_fit import Mirror
from geometry.datum.symmetry_patches import Patches

_ROWS_AT_ONCE = 200
_MIRRORED_COSINE = np.cos(np.deg2rad(12.0))
_LEAST_APART = 0.15
"""Patches nearer to each other than this share of the size say little about a plane."""
_VOTES_COUNTED = 6000
_ALONG = 0.01
"""Weight left to a vote of two faces square to its plane."""
_WINDOW = 0.12
"""Votes within this share of the size are for one plane."""
_RNG_SEED = 11


def likely_mirrors(patches: Patches, chosen: IntArray, count: int) -> list[Mirror]:
    """Return planes worth trying, the most voted for first, then those across the main axes.

    A pair votes for the plane halfway between when mirroring one's normal there gives the other's.
    Source: the idea of votes, [mitra2006]; how they are counted, own derivation.
    """
    normals, offsets = _votes(patches.points[chosen], patches.normals[chosen], patches.size)
    axes = np.linalg.eigh(patches.points.T @ patches.points)[1].T
    across = [Mirror(axis, 0.0) for axis in axes]
    if not len(normals):
        return across
    return [*_peaks(normals, offsets, patches.size, count), *across]


def _votes(points: FloatArray, normals: FloatArray, size: float) -> tuple[FloatArray, FloatArray]:
    """Return (v, 3) normals and (v,) offsets of the planes voted for.

    Where there are many, those of faces that face each other across the plane are taken rather
    than those along it: two places of one floor vote for a plane whatever they are.
    """
    planes, offsets, facing = [np.empty((0, 3))], [np.empty(0)], [np.empty(0)]
    for start in range(0, len(points), _ROWS_AT_ONCE):
        rows = np.arange(start, min(start + _ROWS_AT_ONCE, len(points)))
        i, j = np.nonzero(rows[:, None] < np.arange(len(points))[None])
        i = rows[i]
        across = points[j] - points[i]
        length = np.linalg.norm(across, axis=1)
        far = length > _LEAST_APART * size
        i, j, n = i[far], j[far], across[far] / length[far, None]
        towards = np.einsum("kx,kx->k", normals[i], n)
        turned = normals[i] - 2.0 * towards[:, None] * n
        agree = np.einsum("kx,kx->k", turned, normals[j]) > _MIRRORED_COSINE
        planes.append(n[agree])
        offsets.append(np.einsum("kx,kx->k", n[agree], points[i[agree]] + points[j[agree]]) / 2.0)
        facing.append(towards[agree] ** 2 + _ALONG)
    voted, at, weights = np.concatenate(planes), np.concatenate(offsets), np.concatenate(facing)
    if len(voted) <= _VOTES_COUNTED:
        return voted, at
    rng = np.random.default_rng(_RNG_SEED)  # the same votes every time
    some = rng.choice(len(voted), _VOTES_COUNTED, replace=False, p=weights / weights.sum())
    return voted[some], at[some]


def _peaks(normals: FloatArray, offsets: FloatArray, size: float, count: int) -> list[Mirror]:
    """Return the planes where votes crowd, thickest first."""
    places = _as_places(normals, offsets, size)
    tree = cKDTree(places)
    crowd = np.asarray(tree.query_ball_point(places, _WINDOW * size, return_length=True))
    found: list[Mirror] = []
    free = np.ones(len(places), bool)
    for vote in np.argsort(-crowd, kind="stable"):
        if not free[vote] or len(found) == count:
            continue
        same = tree.query_ball_point(places[vote], _WINDOW * size)
        free[tree.query_ball_point(places[vote], 2.0 * _WINDOW * size)] = False
        sign = np.sign(normals[same] @ normals[vote])
        normal = (sign[:, None] * normals[same]).sum(axis=0)
        found.append(Mirror(normal / np.linalg.norm(normal), float((sign * offsets[same]).mean())))
    return found


def _as_places(normals: FloatArray, offsets: FloatArray, size: float) -> FloatArray:
    """Return (v, 9) places, mm, alike for a plane told from either side."""
    pick = [0, 1, 2, 0, 0, 1], [0, 1, 2, 1, 2, 2]
    scale = (
        size * np.array([1.0, 1.0, 1.0, np.sqrt(2.0), np.sqrt(2.0), np.sqrt(2.0)]) / np.sqrt(2.0)
    )
    turn = normals[:, pick[0]] * normals[:, pick[1]] * scale
    return np.concatenate([turn, offsets[:, None] * normals], axis=1)
