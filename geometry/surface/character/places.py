"""Places on ridges and valleys: where the larger curvature is extremal along its own direction."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.progress import Report, part_of, silent
from geometry.surface.character.level import (
    CELLS_A_REACH,
    Cells,
    Curvatures,
    cells_of,
    curvatures,
)

RIDGE, VALLEY = 0, 1
_REACHES = (3.0, 6.0, 12.0)
_LEAST_SPACINGS = 2.2
_GATE_CELL, _GATE_REACH = 4.0, 9.5
_GATE_TURN = np.radians(6.0)
_LEAST_BENT, _LEAST_TURN = 0.025, 0.09
_SURE = 4.0
_ABOVE_AROUND = (1.1, 1.25, 1.4)  # widest reach first
_AROUND_REACHES = 2.5
_ABOVE_OTHER = 1.3
_OFF = 0.9


@dataclass(frozen=True, eq=False)
class RidgePlaces:
    """Places on ridges or valleys, at one reach.

    Attributes
    ----------
    points, ahead : (k, 3) float
        `ahead`: unit, along the ridge, of either sign.
    bent : (k,) float, 1/mm
    kind : (k,) int
        `RIDGE` or `VALLEY`.
    reach_mm, cell_mm : float
    """

    points: FloatArray
    ahead: FloatArray
    bent: FloatArray
    kind: IntArray
    reach_mm: float
    cell_mm: float


def ridge_places(
    points: FloatArray,
    normals: FloatArray,
    *,
    spacing_mm: float,
    noise_mm: float,
    report: Report = silent,
) -> tuple[RidgePlaces, ...]:
    """Return where the skin is bent most across, as seen over 3, 6 and 12 mm.

    The narrower the reach the sharper the lines it tells apart, the wider the less noise counts.
    Only surroundings in which normals turn at all are looked at.

    Source: [eberly1994], [ohtake2004]: a ridge is where the larger principal curvature is greatest
    along its own direction.
    """
    finest = max(_REACHES[0], _LEAST_SPACINGS * spacing_mm)
    base = cells_of(points, normals, np.ones(len(points)), finest / CELLS_A_REACH)
    reaches = [finest, *(reach for reach in _REACHES[1:] if reach > 1.4 * finest)]
    report(0.15, "look where the skin turns")
    turning = _turning(base)
    around = _level(base, _AROUND_REACHES * reaches[-1], None, noise_mm)
    found = []
    for number, reach in enumerate(reversed(reaches)):
        part = part_of(report, 0.2 + 0.25 * number, 0.45 + 0.25 * number)
        part(0.0, "look for lines")
        level = _level(base, reach, turning, noise_mm)
        found.append(_extremal(level, around, _ABOVE_AROUND[number]))
        around = level
    return tuple(reversed(found))


def _level(base: Cells, reach_mm: float, turning: cKDTree | None, noise_mm: float) -> Curvatures:
    cells = cells_of(base.points, base.normals, base.counts, reach_mm / CELLS_A_REACH)
    wanted: BoolArray = np.ones(len(cells.points), bool)
    if turning is not None:
        wanted = np.isfinite(turning.query(cells.points, distance_upper_bound=_GATE_CELL)[0])
    return curvatures(cells, wanted, reach_mm, noise_mm)


def _turning(base: Cells) -> cKDTree:
    """Return the cells near which normals turn enough for a line."""
    cells = cells_of(base.points, base.normals, base.counts, _GATE_CELL)
    pairs = cKDTree(cells.points).query_pairs(_GATE_REACH, output_type="ndarray")
    cosine = np.einsum("kx,kx->k", cells.normals[pairs[:, 0]], cells.normals[pairs[:, 1]])
    turns = (cosine < np.cos(_GATE_TURN)) & (cosine > -0.5)
    return cKDTree(cells.points[np.unique(pairs[turns])])


def _extremal(level: Curvatures, around: Curvatures, above: float) -> RidgePlaces:
    """Return the places where curvature is extremal and so many times that of wider around."""
    cell = level.reach_mm / CELLS_A_REACH
    nearest = np.asarray(cKDTree(around.points).query(level.points)[1], np.int64)
    parts = []
    for kind in (RIDGE, VALLEY):
        bent, other = level.bent[:, kind], np.abs(level.bent[:, 1 - kind])
        calm = np.where(around.known[nearest], around.bent[nearest, kind], 0.0)
        least = np.maximum(max(_LEAST_BENT, _LEAST_TURN / level.reach_mm), _SURE * level.error)
        stands = level.known & (bent > least) & (bent > _ABOVE_OTHER * other)
        stands &= bent > above * calm
        rows = np.flatnonzero(stands)
        off, top = _to_extremum(level, rows, kind)
        good = np.abs(off) < _OFF * cell
        rows, off, top = rows[good], off[good], top[good]
        across, up = level.across[rows, kind], level.normals[rows]
        places = level.points[rows] + off[:, None] * across
        parts.append((places, np.cross(up, across), top, np.full(len(rows), kind)))
    points, ahead, bent, kinds = (np.concatenate(c) for c in zip(*parts, strict=True))
    return RidgePlaces(points, ahead, bent, kinds, level.reach_mm, cell)


def _to_extremum(level: Curvatures, rows: IntArray, kind: int) -> tuple[FloatArray, FloatArray]:
    """Return how far across each place the curvature is greatest, and how great; inf where not.

    By a parabola across through the curvatures around.
    """
    n = len(level.points)
    index = level.near[rows]
    inside = index < n
    at = np.where(inside, index, 0)
    away = level.points[at] - level.points[rows][:, None]
    across = level.across[rows, kind]
    x = np.einsum("kjx,kx->kj", away, across) / level.reach_mm
    y = np.einsum("kjx,kx->kj", away, np.cross(level.normals[rows], across)) / level.reach_mm
    weight = inside * np.exp(-2.0 * (x * x + y * y))
    terms = np.stack([np.ones_like(x), x, y, x * x / 2.0], axis=2)
    weighted = terms * weight[..., None]
    matrix = weighted.transpose(0, 2, 1) @ terms + 1e-9 * np.eye(4)
    wanted = np.einsum("kjt,kj->kt", weighted, level.bent[at, kind])
    fit = np.linalg.solve(matrix, wanted[..., None])[..., 0]
    peaked = fit[:, 3] < 0.0
    off = np.where(peaked, -fit[:, 1] / np.where(peaked, fit[:, 3], 1.0), np.inf)
    top = fit[:, 0] + np.where(peaked, fit[:, 1] * off / 2.0, 0.0)
    return off * level.reach_mm, top
