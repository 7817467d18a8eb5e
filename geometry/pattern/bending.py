"""How the formed panel bends, told on the blank: curvature at every vertex, by local quadrics.

Places are taken on the blank and heights along the formed panel's normal. Where the panel only
bends, the blank's lengths are the panel's, so the fit's second derivatives are the second
fundamental form itself, far nearer than a height over a tangent plane.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import fit_quadrics
from geometry.mesh import vertex_normals
from geometry.pattern.sources import FlatSheet
from geometry.progress import Report, silent

_NEIGHBOURS = 120
_LEAST_NEIGHBOURS = 14
_TURN_WITHIN = 0.35
"""Bend across a fit, rad, from its middle: the fit's own error is then below 1 %."""
_ALIKE = 1.3
"""Neighbours farther apart on the blank than this times their straight distance do not count."""
_AT_ONCE = 4096


@dataclass(frozen=True, eq=False)
class Bending:
    """The second fundamental form of the formed panel, at the vertices of the blank.

    Attributes
    ----------
    curvature : (n, 3) float, 1/mm
        Along u twice, mixed, along v twice; above 0 the panel is hollow seen from outside.
    known : (n,) bool
        Whether enough neighbours fixed it; where not it is 0.
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
    barriers: Sequence[FloatArray] = (),
    report: Report = silent,
) -> Bending:
    """Return how the panel bends at every vertex.

    Parameters
    ----------
    flat : FlatSheet
    left_out : (n,) bool
        Vertices that say nothing about the surface: guessed, or on a fold.
    barriers : sequence of (k, 2) float, mm
        Lines on the blank across which nothing is fitted: folds.
    report : Report
    """
    said = np.flatnonzero(~left_out)
    curvature, known = np.zeros((len(left_out), 3)), np.zeros(len(left_out), bool)
    if len(said) < _LEAST_NEIGHBOURS:
        return Bending(curvature, known)
    told = _Told(
        said=said,
        tree=cKDTree(flat.flat_vertices[said]),
        normals=vertex_normals(flat.vertices, flat.faces),
        barriers=barriers,
    )
    for start in range(0, len(left_out), _AT_ONCE):
        report(start / len(left_out), "how the panel bends")
        part = np.arange(start, min(start + _AT_ONCE, len(left_out)))
        curvature[part], known[part] = _fitted(flat, part, told)
    report(1.0, "how the panel bends")
    return Bending(curvature, known)


@dataclass(frozen=True, eq=False)
class _Told:
    """The vertices that say where the surface is, and what parts them."""

    said: IntArray
    tree: cKDTree
    normals: FloatArray
    barriers: Sequence[FloatArray]


def _fitted(flat: FlatSheet, part: IntArray, told: _Told) -> tuple[FloatArray, BoolArray]:
    """Fit twice: how far neighbours count in the second fit comes from the bend of the first."""
    places = flat.flat_vertices[part]
    count = min(_NEIGHBOURS, len(told.said))
    found = told.tree.query(places, k=count)
    distance, index = np.asarray(found[0]), told.said[np.asarray(found[1])]
    around = flat.flat_vertices[index]
    away = flat.vertices[index] - flat.vertices[part][:, None]
    height = np.einsum("kji,ki->kj", away, told.normals[part])
    counts = distance <= _ALIKE * np.linalg.norm(away, axis=2) + 1e-9
    for barrier in told.barriers:
        counts &= ~_crosses(places, around, barrier)
    points = np.column_stack([places, np.zeros(len(part))])
    upward = np.broadcast_to(np.array([0.0, 0.0, 1.0]), points.shape)
    neighbours = np.concatenate([around, height[:, :, None]], axis=2)
    least = distance[:, min(_LEAST_NEIGHBOURS, count) - 1]
    reach = np.maximum(distance[:, count // 2], least)
    for _ in range(2):
        near = np.clip(1.0 - (distance / (1.05 * reach[:, None])) ** 2, 0.0, 1.0) ** 2
        fit = fit_quadrics(points, upward, neighbours, near * counts)
        bent = np.abs(principal_bending(fit.curvature).greater)
        allowed = _TURN_WITHIN / np.maximum(bent, 1e-12)
        reach = np.clip(allowed, least, distance[:, -1])
    return fit.curvature, fit.determined


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
