"""How the formed panel bends, told on the blank: curvature at every vertex, by local quadrics.

Places are taken on the blank and heights along the formed panel's normal. Where the panel only
bends, the blank's lengths are the panel's, so the fit's second derivatives are the second
fundamental form itself, far nearer than a height over a tangent plane.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import Quadrics, fit_quadrics
from geometry.mesh import face_areas, vertex_normals
from geometry.pattern.sources import FlatSheet
from geometry.progress import Report, silent

_NEIGHBOURS = 120
_LEAST_NEIGHBOURS = 14
_TURN_WITHIN = 0.35
"""Bend across a fit, rad, from its middle: the fit's own error is then below 1 %."""
_ALIKE = 1.3
"""Neighbours farther apart on the blank than this times their straight distance do not count."""
_WIDER = 1.25
_AS_WELL = 1.25
"""A wider fit is taken if its misfit is no more than this times that of the narrowest."""
_WAVES = 0.003
"""A misfit of this times its reach is taken too, where the narrower fit's bend is another by a
tenth: waves nobody rolls, 0.3 mm over 100."""
_UNLIKE = 0.1
_WIDEST = 0.5
"""Of the root of the panel's area: how far apart the ends of a fit may be."""
_AT_ONCE = 4096


@dataclass(frozen=True, eq=False)
class Bending:
    """The second fundamental form of the formed panel, at the vertices of the blank.

    Attributes
    ----------
    curvature : (n, 3) float, 1/mm
        Along u twice, mixed, along v twice; above 0 the panel is hollow seen from outside.
    known : (n,) bool
        Whether it was looked at and enough neighbours fixed it; where not it is 0.
    """

    curvature: FloatArray
    known: BoolArray


@dataclass(frozen=True, eq=False)
class PrincipalBending:
    """The two principal curvatures and the way across the greater.

    Attributes
    ----------
    greater, lesser : (k,) float, 1/mm
        Signed, by size; above 0 hollow seen from outside.
    across : (k, 2) float
        Unit, on the blank: the direction that bends most. Its sign is free.
    """

    greater: FloatArray
    lesser: FloatArray
    across: FloatArray


def principal_bending(curvature: FloatArray) -> PrincipalBending:
    """Return the principal curvatures of (k, 3) second fundamental forms.

    >>> found = principal_bending(np.array([[-0.01, 0.0, 0.002]]))
    >>> found.greater.tolist(), np.abs(found.across).tolist()
    ([-0.01], [[1.0, 0.0]])
    """
    mean = (curvature[:, 0] + curvature[:, 2]) / 2.0
    half = (curvature[:, 0] - curvature[:, 2]) / 2.0
    apart = np.hypot(half, curvature[:, 1])
    way = np.where(mean >= 0.0, 1.0, -1.0)
    angle = np.arctan2(way * curvature[:, 1], way * half) / 2.0
    across = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return PrincipalBending(mean + way * apart, mean - way * apart, across)


def bending(
    flat: FlatSheet,
    *,
    left_out: BoolArray,
    looked_at: BoolArray,
    barriers: Sequence[FloatArray] = (),
    report: Report = silent,
) -> Bending:
    """Return how the panel bends at the vertices looked at.

    Parameters
    ----------
    flat : FlatSheet
    left_out : (n,) bool
        Vertices that say nothing about the surface: guessed, or on a fold.
    looked_at : (n,) bool
        Vertices about which it is fitted.
    barriers : sequence of (k, 2) float, mm
        Lines on the blank across which nothing is fitted: folds.
    report : Report
    """
    said = np.flatnonzero(~left_out)
    curvature, known = np.zeros((len(left_out), 3)), np.zeros(len(left_out), bool)
    if len(said) < _LEAST_NEIGHBOURS:
        return Bending(curvature, known)
    normals = vertex_normals(flat.vertices, flat.faces)
    levels = [_Told(flat, some, normals, barriers) for some in _thinned(flat, said)]
    wanted = np.flatnonzero(looked_at)
    for start in range(0, len(wanted), _AT_ONCE):
        report(start / len(wanted), "how the panel bends")
        part = wanted[start : start + _AT_ONCE]
        curvature[part], known[part] = _fitted(part, levels)
    report(1.0, "how the panel bends")
    return Bending(curvature, known)


def _thinned(flat: FlatSheet, said: IntArray) -> list[IntArray]:
    """Return the vertices that speak, then about a quarter of them, a sixteenth, and so on."""
    area = float(face_areas(flat.vertices, flat.faces).sum())
    cell = 2.0 * np.sqrt(area / len(flat.vertices))
    levels = [said]
    while cell * np.sqrt(_NEIGHBOURS) < _WIDEST * np.sqrt(area):
        square = np.floor(flat.flat_vertices[said] / cell).astype(np.int64)
        levels.append(said[np.unique(square, axis=0, return_index=True)[1]])
        cell *= 2.0
    return levels


class _Told:
    """Vertices that say where the surface is, and fits through them.

    Parameters
    ----------
    flat : FlatSheet
    said : (k,) int
    normals : (n, 3) float
    barriers : sequence of (k, 2) float
    """

    def __init__(
        self, flat: FlatSheet, said: IntArray, normals: FloatArray, barriers: Sequence[FloatArray]
    ) -> None:
        self._flat, self._said, self._normals, self._barriers = flat, said, normals, barriers
        self._tree = cKDTree(flat.flat_vertices[said])

    def fitted(self, part: IntArray, reach: FloatArray | None) -> tuple[Quadrics, FloatArray]:
        """Return quadrics about some vertices, and how far they reached.

        Parameters
        ----------
        part : (k,) int
        reach : (k,) float, mm, or None
            How far neighbours count; None: as far as half of those found, then as far as that
            fit's bend allows.
        """
        flat = self._flat
        places = flat.flat_vertices[part]
        count = min(_NEIGHBOURS, len(self._said))
        found = self._tree.query(places, k=count)
        distance, index = np.asarray(found[0]), self._said[np.asarray(found[1])]
        around = flat.flat_vertices[index]
        away = flat.vertices[index] - flat.vertices[part][:, None]
        height = np.einsum("kji,ki->kj", away, self._normals[part])
        counts = distance <= _ALIKE * np.linalg.norm(away, axis=2) + 1e-9
        for barrier in self._barriers:
            off = shapely.distance(shapely.points(places), shapely.LineString(barrier))
            near = np.flatnonzero(off <= distance[:, -1])
            counts[near] &= ~_crosses(places[near], around[near], barrier)
        neighbours = np.concatenate([around, height[:, :, None]], axis=2)
        least = distance[:, min(_LEAST_NEIGHBOURS, count) - 1]
        if reach is None:
            reach = np.maximum(distance[:, count // 2], least)
            fit = _fit(places, neighbours, counts, distance / reach[:, None])
            reach = _allowed(fit)
        reach = np.clip(reach, least, distance[:, -1])
        return _fit(places, neighbours, counts, distance / reach[:, None]), reach


def _fit(
    places: FloatArray, neighbours: FloatArray, counts: BoolArray, far: FloatArray
) -> Quadrics:
    """Fit heights over the blank; `far` is the distance in reaches."""
    points = np.column_stack([places, np.zeros(len(places))])
    upward = np.broadcast_to(np.array([0.0, 0.0, 1.0]), points.shape)
    near = np.clip(1.0 - (far / 1.05) ** 2, 0.0, 1.0) ** 2
    return fit_quadrics(points, upward, neighbours, near * counts)


def _allowed(fit: Quadrics) -> FloatArray:
    """Return (k,) how far a fit may reach, mm, by how the panel bends there."""
    bent = np.abs(principal_bending(fit.curvature).greater)
    return np.asarray(_TURN_WITHIN / np.maximum(bent, 1e-12))


def _fitted(part: IntArray, levels: Sequence[_Told]) -> tuple[FloatArray, BoolArray]:
    """Fit about some vertices, wider where the bend is gentle and a wider fit fits as well."""
    fit, reach = levels[0].fitted(part, None)
    curvature, known, residual = fit.curvature.copy(), fit.determined.copy(), fit.residual_rms
    allowed = _allowed(fit)
    open_ = known & (allowed > _WIDER * reach)
    for level in levels[1:]:
        rows = np.flatnonzero(open_)
        if not len(rows):
            break
        wider, reached = level.fitted(part[rows], allowed[rows])
        apart = np.linalg.norm(wider.curvature - curvature[rows], axis=1)
        wavy = apart > _UNLIKE * np.linalg.norm(wider.curvature, axis=1)
        misfit = np.maximum(_AS_WELL * residual[rows], np.where(wavy, _WAVES * reached, 0.0))
        better = wider.determined & (wider.residual_rms <= misfit)
        better &= reached > reach[rows]
        curvature[rows[better]] = wider.curvature[better]
        open_[rows] = better & (_allowed(wider) > _WIDER * reached)
        allowed[rows] = _allowed(wider)
        reach[rows] = reached
    return curvature, known


def _crosses(places: FloatArray, around: FloatArray, line: FloatArray) -> BoolArray:
    """Return (k, j): whether the way from a place to one around it passes over a line."""
    crossed = np.zeros(around.shape[:2], bool)
    for a, b in itertools.pairwise(line):
        side_of_place = _turn(b - a, places - a)[:, None]
        side_of_other = _turn(b - a, around - a)
        way = around - places[:, None]
        begins = _turn(way, a - places[:, None])
        ends = _turn(way, b - places[:, None])
        crossed |= (side_of_place * side_of_other < 0.0) & (begins * ends <= 0.0)
    return crossed


def _turn(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
