"""How a skin bends at stations: quadrics fitted over a reach, with what noise makes of them."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import Quadrics, fit_quadrics
from geometry.progress import Report, silent
from geometry.surface.crown.stations import Stations

_AT_ONCE = 4096
_NEIGHBOURS = 64
_LEAST_NEIGHBOURS = 12
_LIKE_NORMALS = 0.3
_CALM_ROUNDS = 2
_FAIRLY_FIXED = 1e10


@dataclass(frozen=True, eq=False)
class Bends:
    """How a skin lies and bends at stations.

    Attributes
    ----------
    places, normals : (s, 3) float
        On the fitted skin.
    bend : (s, 3, 3) float, 1/mm
        How the normal turns along a way within the skin: change = bend @ way. Symmetric; its
        principal values are the curvatures, positive where the skin bulges out.
    standard_error : (s,) float, 1/mm
        Of a curvature, by noise.
    normal_error : (s,) float, rad
        Of the normal, by noise.
    determined : (s,) bool
        Whether there were points enough all round.
    """

    places: FloatArray
    normals: FloatArray
    bend: FloatArray
    standard_error: FloatArray
    normal_error: FloatArray
    determined: BoolArray


def bends_at(
    stations: Stations, reach_mm: float, noise_mm: float, *, report: Report = silent
) -> Bends:
    """Return how the skin bends at its stations.

    Parameters
    ----------
    stations : Stations
    reach_mm : float
        How far points count; farther where fewer than twelve are as near.
    noise_mm : float
        Of one vertex. Where stations scatter about the quadrics by more than this explains, the
        standard errors go by what they scatter.

    Points whose normals differ by 0.3 rad count 0.6 as much, by twice as much 0.14: a fit reaches
    less far over a tight sweep, and hardly across a crease.

    Source: own derivation. A point of a ball with the chord c to the place lies c^2 / (2 r) under
    the plane there, exactly; quadrics are fitted with points moved out within the plane to their
    chords' lengths, so that a ball of any size shows its own radius.
    """
    tree = cKDTree(stations.points)
    normals = _calmed(tree, stations, reach_mm, report)
    blocks = range(0, len(stations.points), _AT_ONCE)
    parts: list[tuple[FloatArray, ...]] = []
    for start in blocks:
        report(0.2 + 0.8 * start / len(stations.points), "measure the crown")
        part = np.arange(start, min(start + _AT_ONCE, len(stations.points)))
        parts.append(_block(tree, stations, normals, part, reach_mm))
    places, up, bend, curve_share, tilt_share, determined, scatter = (
        np.concatenate(column) for column in zip(*parts, strict=True)
    )
    seen = scatter[determined.astype(bool)]
    noise = max(noise_mm, float(np.median(seen)) if len(seen) else 0.0)
    report(1.0, "measure the crown")
    return Bends(
        places,
        up,
        bend,
        noise * np.sqrt(curve_share),
        noise * np.sqrt(tilt_share),
        determined.astype(bool),
    )


def _calmed(tree: cKDTree, stations: Stations, reach_mm: float, report: Report) -> FloatArray:
    """Return the normals averaged with like ones nearby: frames for the fits."""
    normals = stations.normals
    width = min(9, len(normals))
    index = np.asarray(tree.query(stations.points, k=width)[1]).reshape(len(normals), -1)
    for turn in range(_CALM_ROUNDS):
        report(0.1 * turn, "measure the crown")
        apart = ((normals[index] - normals[:, None]) ** 2).sum(axis=2)
        share = np.exp(apart / (-2.0 * _LIKE_NORMALS**2)) * stations.counts[index]
        total = np.einsum("kj,kji->ki", share, normals[index])
        length = np.linalg.norm(total, axis=1, keepdims=True)
        normals = np.where(length > 1e-12, total / np.maximum(length, 1e-12), normals)
    return np.asarray(normals)


def _block(
    tree: cKDTree, stations: Stations, normals: FloatArray, part: IntArray, reach_mm: float
) -> tuple[FloatArray, ...]:
    points, up = stations.points[part], normals[part]
    index, share, reach = _around(tree, stations, normals, part, reach_mm)
    away = stations.points[index] - points[:, None]
    height = np.einsum("kji,ki->kj", away, up)
    flat2 = np.maximum((away**2).sum(axis=2) - height**2, 1e-12 * reach[:, None] ** 2)
    chord = np.sqrt(1.0 + height**2 / flat2)
    away = away * chord[..., None] + ((1.0 - chord) * height)[..., None] * up[:, None]
    weights = share * stations.counts[index]
    fit = fit_quadrics(points, up, points[:, None] + away, weights)
    shares = _shares(fit, away, share, stations.counts[index], reach)
    lifted = points + np.clip(fit.height, -reach / 3.0, reach / 3.0)[:, None] * fit.frames[:, 2]
    steep = np.column_stack([-fit.slope, np.ones(len(part))])
    normal = np.einsum("ki,kij->kj", steep, fit.frames)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    return (lifted, normal, _bend_in_space(fit), *shares)


def _around(
    tree: cKDTree, stations: Stations, normals: FloatArray, part: IntArray, reach_mm: float
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return the (k, j) stations around some, how much each counts, and how far (k,) they do."""
    width = min(_NEIGHBOURS, len(stations.points))
    distance, index = (
        np.asarray(found).reshape(len(part), -1)
        for found in tree.query(stations.points[part], k=width)
    )
    needed = distance[:, min(_LEAST_NEIGHBOURS, width) - 1]
    reach = 1.05 * np.minimum(distance[:, -1], np.maximum(reach_mm / 1.05, needed))
    reach = np.maximum(reach, 1e-9)
    near = np.clip(1.0 - (distance / reach[:, None]) ** 2, 0.0, 1.0) ** 2
    apart = ((normals[index] - normals[part][:, None]) ** 2).sum(axis=2)
    return index, near * np.exp(apart / (-2.0 * _LIKE_NORMALS**2)), reach


def _shares(
    fit: Quadrics, away: FloatArray, share: FloatArray, counts: FloatArray, reach: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return how a vertex' squared noise goes into curvature and tilt, soundness, and the scatter.

    The scatter is what the stations leave of the quadric, as noise of one vertex.
    """
    u, v = np.matmul(away / reach[:, None, None], fit.frames[:, :2].transpose(0, 2, 1)).transpose(
        2, 0, 1
    )
    terms = np.stack([np.ones_like(u), u, v, u * u / 2.0, u * v, v * v / 2.0], axis=2)
    weights = share * counts
    matrix = np.matmul((terms * weights[..., None]).transpose(0, 2, 1), terms)
    spread = np.matmul((terms * (share * weights)[..., None]).transpose(0, 2, 1), terms)
    size = np.einsum("kii->k", matrix)[:, None, None]
    inverse = np.linalg.inv(matrix + 1e-13 * size * np.eye(6)) if len(matrix) else matrix
    variance = np.maximum(np.einsum("kai,kij,kja->ka", inverse, spread, inverse), 0.0)
    curve = np.maximum(variance[:, 3], variance[:, 5]) / reach**4
    tilt = np.maximum(variance[:, 1], variance[:, 2]) / reach**2
    fixed = np.sqrt((matrix**2).sum((1, 2)) * (inverse**2).sum((1, 2))) < _FAIRLY_FIXED
    seen = share > 1e-3
    number = seen.sum(axis=1)
    total = weights.sum(axis=1)
    mean_count = total / np.maximum(share.sum(axis=1), 1e-300)
    freedom = np.maximum(number - 6.0, 1.0)
    scatter = fit.residual_rms * np.sqrt(mean_count * number / freedom)
    sound = fit.determined & fixed & (number >= _LEAST_NEIGHBOURS - 2)
    return curve, tilt, sound.astype(np.float64), scatter


def _bend_in_space(fit: Quadrics) -> FloatArray:
    """Return (k, 3, 3) how the normal turns along ways in space, 1/mm.

    The shape operator of a graph w(u, v): with the slope s, its second derivatives H and
    g = 1 + s s^T, the normal turns by -H / sqrt(1 + |s|^2) measured along the skin.
    """
    slope = fit.slope
    second = np.empty((len(slope), 2, 2))
    second[:, 0, 0], second[:, 1, 1] = fit.curvature[:, 0], fit.curvature[:, 2]
    second[:, 0, 1] = second[:, 1, 0] = fit.curvature[:, 1]
    steep = 1.0 + (slope**2).sum(axis=1)
    # rows: the skin's own tangents along u and v, and the ways dual to them
    tangent = fit.frames[:, :2] + slope[:, :, None] * fit.frames[:, 2:3]
    metric = np.einsum("kai,kbi->kab", tangent, tangent)
    dual = np.linalg.solve(metric, tangent)
    return np.asarray(
        -np.einsum("kai,kab,kbj->kij", dual, second, dual) / np.sqrt(steep)[:, None, None]
    )
