"""The balance of a blank's forces worked out apart from the program: plain arrays, own formulas.

Nothing of `geometry.blank` is used but the answer itself.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray

Stretches = np.ndarray[tuple[int, ...], np.dtype[np.floating]]

FLOOR = 1e-4


def face_maps(vertices: FloatArray, flat: FloatArray, faces: IntArray) -> tuple[FloatArray, ...]:
    """Return (m, 2, 2) maps formed to flat, (m, 2, 3) corner gradients and (m,) formed areas.

    Each face lies in its own plane's axes: an orthonormal pair by Gram and Schmidt.
    """
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    x = (b - a) / np.linalg.norm(b - a, axis=1, keepdims=True)
    y = (c - a) - ((c - a) * x).sum(axis=1, keepdims=True) * x
    y = y / np.linalg.norm(y, axis=1, keepdims=True)
    sides = np.stack([b - a, c - a], axis=2)  # (m, 3, 2)
    formed = np.stack([x, y], axis=1) @ sides  # (m, 2, 2)
    back = np.linalg.inv(formed)
    flat_sides = np.stack(
        [flat[faces[:, 1]] - flat[faces[:, 0]], flat[faces[:, 2]] - flat[faces[:, 0]]], 2
    )
    gradients = np.concatenate([-back.sum(axis=1, keepdims=True), back], axis=1).transpose(0, 2, 1)
    return flat_sides @ back, gradients, np.abs(np.linalg.det(formed)) / 2.0


def work_and_slopes(
    stretches: Stretches, measure: str, weight: str
) -> tuple[FloatArray, FloatArray]:
    """Return (m,) work per formed area and (m, 2) its slopes by flat over formed stretches.

    Hardening 1, no bias. With e = -ln s: Hencky w = (e1^2 + e2^2) / 2; von Mises, volume kept,
    w = (2/3) (e1^2 + e1 e2 + e2^2); the blank's weight multiplies by s1 s2.
    """
    e1, e2 = -np.log(stretches.T)
    if measure == "hencky":
        w, by_e = (e1**2 + e2**2) / 2.0, np.stack([e1, e2], axis=1)
    else:
        w = 2.0 / 3.0 * (e1**2 + e1 * e2 + e2**2)
        by_e = 2.0 / 3.0 * np.stack([2.0 * e1 + e2, e1 + 2.0 * e2], axis=1)
    slopes = -by_e / stretches
    if weight == "blank":
        area = stretches.prod(axis=1)
        slopes = slopes * area[:, None] + w[:, None] * area[:, None] / stretches
        w = w * area
    return w, slopes


@dataclass(frozen=True)
class Balance:
    """How well forces balance.

    Attributes
    ----------
    residual : float
        The largest nodal force left over the larger of the two scales of the contract.
    rounding : float
        What it may be off by, because places on the blank have a last digit: on a face of height
        h that makes a strain of that digit over h, and twice it in force.
    """

    residual: float
    rounding: float


def balance(
    vertices: FloatArray, flat: FloatArray, faces: IntArray, measure: str, weight: str
) -> Balance:
    """Return how well the forces of a layout balance, hardening 1, no bias."""
    maps, gradients, areas = face_maps(vertices, flat, faces)
    u, stretches, vt = np.linalg.svd(maps)
    _, slopes = work_and_slopes(stretches, measure, weight)
    pull = np.einsum("mik,mk,mkj->mij", u, slopes, vt)
    forces = areas[:, None, None] * np.einsum("mij,mjc->mci", pull, gradients)  # (m, 3, 2)
    at, n = faces.ravel(), len(vertices)
    total = np.stack([np.bincount(at, forces[:, :, k].ravel(), n) for k in (0, 1)], axis=1)
    pulls = np.bincount(at, np.linalg.norm(forces, axis=2).ravel(), n).max()
    weights = areas * stretches.prod(axis=1) if weight == "blank" else areas
    slope = np.linalg.norm(gradients, axis=1)  # (m, 3), 1 over the heights
    floor = FLOOR * np.bincount(at, (weights[:, None] * slope).ravel(), n).max()
    scale = max(pulls, floor)
    last_digit = np.spacing(np.abs(flat).max()) * slope.max(axis=1)
    noise = np.bincount(at, ((2.0 * areas * last_digit)[:, None] * slope).ravel(), n).max()
    return Balance(float(np.linalg.norm(total, axis=1).max() / scale), float(noise / scale))


def energy_of(
    vertices: FloatArray, flat: FloatArray, faces: IntArray, measure: str, weight: str
) -> float:
    """Return the sum of formed area times work."""
    maps, _, areas = face_maps(vertices, flat, faces)
    stretches = np.linalg.svd(maps, compute_uv=False)
    worth = areas * work_and_slopes(stretches, measure, weight)[0]
    return float(worth.sum())
