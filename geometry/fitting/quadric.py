"""Local quadrics: the height over a tangent plane as a polynomial of second degree, in bulk.

Finding the neighbours and choosing their weights is left to the caller.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray

_ROWS_AT_ONCE = 8192
_SMALLEST_PIVOT = 1e-9
"""Pivots of a matrix with a unit diagonal below this are rounding: sin^2 of 3e-5 rad."""


@dataclass(frozen=True, eq=False)
class Quadrics:
    """Heights w = height + slope . (u, v) + (c0 u^2 + 2 c1 u v + c2 v^2) / 2 about k points.

    Attributes
    ----------
    height : (k,) float, mm
        Where the quadric stands over the point, along its normal.
    slope : (k, 2) float
        Change of w along u and v at the point.
    curvature : (k, 3) float, 1/mm
        Second derivatives of w: c0 along u twice, c1 mixed, c2 along v twice. Where `slope` is
        nothing, the principal curvatures are the eigenvalues of [[c0, c1], [c1, c2]]; a ball seen
        along its outward normal has -1 / radius.
    frames : (k, 3, 3) float
        Rows: the unit directions of u, v and w; w is the normal.
    residual_rms : (k,) float, mm
        Root of the weighted mean of squared misfits; not corrected for the six fitted numbers.
    determined : (k,) bool
        Whether the neighbours fix all six numbers. Where not, those that are not fixed, curvature
        first, are nought.
    """

    height: FloatArray
    slope: FloatArray
    curvature: FloatArray
    frames: FloatArray
    residual_rms: FloatArray
    determined: BoolArray


def frames_of_normals(normals: FloatArray) -> FloatArray:
    """Return right-handed frames, (k, 3, 3) with rows u, v, normal; nought normals become z.

    >>> frames_of_normals(np.array([[0.0, 0.0, 2.0]]))[0].tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    upward = np.broadcast_to(np.array([0.0, 0.0, 1.0]), normals.shape)
    w = np.where(length > 0, normals / np.where(length > 0, length, 1.0), upward)
    least = np.argmin(np.abs(w), axis=1)
    u = 0.0 - w * np.take_along_axis(w, least[:, None], axis=1)
    np.put_along_axis(
        u, least[:, None], 1.0 + np.take_along_axis(u, least[:, None], axis=1), axis=1
    )
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    return np.stack([u, np.cross(w, u), w], axis=1) + 0.0


def fit_quadrics(
    points: FloatArray,
    normals: FloatArray,
    neighbour_points: FloatArray,
    weights: FloatArray,
) -> Quadrics:
    """Return the quadrics that fit many neighbourhoods best, each in the frame of its normal.

    Parameters
    ----------
    points : (k, 3) float, mm
        Origins of the local frames; a point counts in its own fit only if it is also a neighbour.
    normals : (k, 3) float
        Directions of w, of any length but nought.
    neighbour_points : (k, j, 3) float, mm
        Neighbours, padded to the same number j.
    weights : (k, j) float
        At least 0; a padding entry has 0 and its place is never looked at.

    Source: own derivation: weighted normal equations in lengths scaled to the neighbourhood,
    solved by L D L^T; a number whose pivot vanishes is not determined and is held at nought.
    """
    count = len(points)
    frames = frames_of_normals(normals)
    solved = np.zeros((count, 6))
    residual_rms = np.zeros(count)
    determined = np.zeros(count, bool)
    for start in range(0, count, _ROWS_AT_ONCE):
        part = slice(start, start + _ROWS_AT_ONCE)
        seen = weights[part] > 0
        away = np.where(seen[..., None], neighbour_points[part] - points[part, None], 0.0)
        local = np.matmul(away, frames[part].transpose(0, 2, 1))
        solved[part], residual_rms[part], determined[part] = _fit_part(
            local, np.where(seen, weights[part], 0.0)
        )
    return Quadrics(
        height=solved[:, 0],
        slope=solved[:, 1:3],
        curvature=solved[:, 3:6],
        frames=frames,
        residual_rms=residual_rms,
        determined=determined,
    )


def fit_quadric(
    point: FloatArray, normal: FloatArray, neighbour_points: FloatArray, weights: FloatArray
) -> Quadrics:
    """Return the quadric (k = 1) that fits (j, 3) neighbours of one point best.

    >>> at = np.array([[x, y, x * x] for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0)])
    >>> fit = fit_quadric(np.zeros(3), np.array([0.0, 0.0, 1.0]), at, np.ones(9))
    >>> (np.round(fit.curvature[0], 9) + 0.0).tolist()
    [2.0, 0.0, 0.0]
    """
    return fit_quadrics(point[None], normal[None], neighbour_points[None], weights[None])


def _fit_part(local: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Fit (k, j, 3) local points; return (k, 6) numbers, (k,) RMS misfit, (k,) all determined."""
    total = weights.sum(axis=1)
    safe_total = np.where(total > 0, total, 1.0)
    spread = np.einsum("kj,kji,kji->k", weights, local[..., :2], local[..., :2]) / safe_total
    scale = np.sqrt(np.where(spread > 0, spread, 1.0))
    u, v = (local[..., :2] / scale[:, None, None]).transpose(2, 0, 1)
    w = local[..., 2]
    terms = np.stack([np.ones_like(u), u, v, u * u / 2.0, u * v, v * v / 2.0], axis=2)
    weighted = terms * (weights / safe_total[:, None])[..., None]
    matrix = np.matmul(weighted.transpose(0, 2, 1), terms)
    wanted = np.matmul(weighted.transpose(0, 2, 1), w[..., None])[..., 0]
    solution, determined = _solve_in_order(matrix, wanted)
    misfit = np.matmul(terms, solution[..., None])[..., 0] - w
    residual_rms = np.sqrt((weights * misfit**2).sum(axis=1) / safe_total)
    per_length = 1.0 / scale[:, None]
    solution[:, 1:3] *= per_length
    solution[:, 3:6] *= per_length**2
    return solution, residual_rms, determined


def _solve_in_order(matrix: FloatArray, wanted: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Solve (k, q, q) semidefinite systems, leaving at nought what earlier unknowns already span.

    Returns
    -------
    (k, q) float
        The solutions.
    (k,) bool
        Whether no unknown had to be left out.
    """
    size = matrix.shape[1]
    diagonal = np.sqrt(np.maximum(np.einsum("kii->ki", matrix), 0.0))
    per_diagonal = np.where(diagonal > 0, 1.0 / np.where(diagonal > 0, diagonal, 1.0), 0.0)
    rest = matrix * per_diagonal[:, :, None] * per_diagonal[:, None, :]
    lower = np.zeros_like(rest)
    inverse_pivot = np.zeros((len(matrix), size))
    for i in range(size):
        pivot = rest[:, i, i]
        sound = pivot > _SMALLEST_PIVOT
        inverse_pivot[:, i] = np.where(sound, 1.0 / np.where(sound, pivot, 1.0), 0.0)
        lower[:, i + 1 :, i] = rest[:, i + 1 :, i] * inverse_pivot[:, i, None]
        taken = lower[:, i + 1 :, i, None] * rest[:, None, i, i + 1 :]
        rest[:, i + 1 :, i + 1 :] -= taken
    solution = wanted * per_diagonal
    for i in range(size):
        solution[:, i + 1 :] -= lower[:, i + 1 :, i] * solution[:, i, None]
    solution *= inverse_pivot
    for i in reversed(range(size)):
        later = np.einsum("kj,kj->k", lower[:, i + 1 :, i], solution[:, i + 1 :])
        solution[:, i] = np.where(inverse_pivot[:, i] > 0, solution[:, i] - later, 0.0)
    return solution * per_diagonal + 0.0, np.asarray((inverse_pivot > 0).all(axis=1))
