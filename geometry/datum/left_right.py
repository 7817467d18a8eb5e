"""Left against right: how far each place stands out over the mirror image of the other hand.

Where the tank stands is taken as given. Numbers at stations stand in `left_right_stations`, the
laying of one hand over the other in `left_right_skin`.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.datum.left_right_skin import (
    REACH_MM,
    Skin,
    StandingOut,
    cell_of_point,
    facing_height,
    skin_of,
    standing_out,
)
from geometry.datum.left_right_stations import StationDifference, station_differences
from geometry.datum.stand import Datum
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, face_areas, vertex_normals
from geometry.progress import Report, part_of, silent

Hand = Literal["left", "right"]

NO_BAND = int(np.iinfo(np.int32).min)
"""The band of a place that nothing faces."""

SAME_MM = 0.1
"""Hands nearer each other than this, taken over all of them, count as alike."""

_SAMPLED_TO = 25_000
_SAMPLES_PER_VERTEX = 4
_ROBUST_NEIGHBOURS = 9
_DEPARTS_WITHIN_MM = 40.0
_AT_ONCE = 50_000


class NothingFacesError(GeometryError):
    """No place of either hand has its like on the other: the centre plane lies off the tank.

    Attributes
    ----------
    left_share, right_share : float
        Of the area, on either hand of the plane.
    """

    def __init__(self, left_share: float, right_share: float) -> None:
        self.left_share, self.right_share = left_share, right_share
        super().__init__(f"left {left_share:.3f}, right {right_share:.3f} of the area")


@dataclass(frozen=True, eq=False)
class LeftRight:
    """How the two hands differ about the centre plane.

    Attributes
    ----------
    difference : (n,) float, mm
        At every vertex, along the skin's normal: positive where this hand stands further out than
        the mirror image of the other; nan where nothing faces it.
    median, p95 : float, mm
        Of the difference without its sign, over the area: half of the skin, and 95 of 100 parts of
        it, differ by no more.
    largest : float, mm
        Without its sign: what the middle one of nine neighbouring places reaches, so that no
        single place makes it.
    largest_at : (3,) float, mm
        On the hand that departs from its surroundings there; in the mesh's axes.
    largest_on : str
        "left" or "right": the hand `largest_at` lies on.
    further_out : str
        "left" or "right": the hand that stands further out there.
    fuller : str
        "left", "right" or "alike": the hand that stands further out over all.
    left_over_right_mm : float
        Mean over the area of how far the left stands out over the right.
    faced_share : float
        Of the area, how much has its like on the other hand.
    stations : tuple of StationDifference
        From the rear to the front.
    """

    difference: FloatArray
    median: float
    p95: float
    largest: float
    largest_at: FloatArray
    largest_on: Hand
    further_out: Hand
    fuller: Literal["left", "right", "alike"]
    left_over_right_mm: float
    faced_share: float
    stations: tuple[StationDifference, ...]

    def __post_init__(self) -> None:
        locked(self.difference)
        locked(self.largest_at)

    def bands(self, step_mm: float) -> IntArray:
        """Return (n,) which band of a width each vertex is in: 0 is alike to within half a step.

        `NO_BAND` where nothing faces it.
        """
        return bands_of(self.difference, step_mm)


@dataclass(frozen=True, eq=False)
class _Samples:
    """Places spread evenly over both hands, and what was measured there."""

    points: FloatArray
    normals: FloatArray
    found: StandingOut
    spacing_mm: float
    other: Skin
    reach_mm: float


def bands_of(difference: FloatArray, step_mm: float) -> IntArray:
    """Return (k,) bands of differences, `NO_BAND` where they are nan.

    >>> bands_of(np.array([0.1, -0.3, 0.8, np.nan]), 0.5).tolist()
    [0, -1, 2, -2147483648]
    """
    band = np.rint(np.where(np.isnan(difference), 0.0, difference) / step_mm).astype(np.int64)
    return np.asarray(np.where(np.isnan(difference), NO_BAND, band))


def left_right(
    mesh: TriMesh,
    datum: Datum,
    *,
    stations: float = 50.0,
    reach_mm: float = REACH_MM,
    report: Report = silent,
) -> LeftRight:
    """Return how far the hands differ everywhere, over all, and station by station.

    Parameters
    ----------
    mesh : TriMesh, mm
        Faces out.
    datum : Datum
    stations : float, mm
        From station to station, counted from the datum's origin to the front.
    reach_mm : float
        Hands further apart than this do not face each other.

    Raises
    ------
    NothingFacesError
        The plane lies off the tank, or only one hand was scanned.
    """
    report(0.0, "lay one hand over the other")
    normals = vertex_normals(mesh.vertices, mesh.faces)
    skin = skin_of(mesh, datum.plane, normals)
    other = skin.mirrored(datum.plane)
    samples = _sampled(skin, other, datum, reach_mm, part_of(report, 0.05, 0.6))
    area = _area_of_vertex(mesh)
    if not np.isfinite(samples.found.value).any():
        on_left = float(area[datum.plane.off(mesh.vertices) > 0].sum() / max(area.sum(), 1e-12))
        raise NothingFacesError(on_left, 1.0 - on_left)
    difference = _at_places(samples, mesh.vertices, normals, part_of(report, 0.6, 0.95))
    numbers = station_differences(mesh, datum, difference, stations)
    report(1.0, "lay one hand over the other")
    return _told(
        datum, samples, difference, area * np.sign(datum.plane.off(mesh.vertices)), numbers
    )


def _sampled(skin: Skin, other: Skin, datum: Datum, reach_mm: float, report: Report) -> _Samples:
    count = skin.counts.sum()
    area = skin.spacing_mm**2 * len(skin.points)
    width = np.sqrt(area / min(_SAMPLED_TO, max(count, 1.0)))
    points, normals = skin.points, skin.normals
    if len(points) > _SAMPLED_TO:
        cell = cell_of_point(points, normals, datum.plane, width)
        first = np.unique(cell, return_index=True)[1]
        points, normals = points[first], normals[first]
    found = standing_out(skin, other, points, normals, reach_mm=reach_mm, report=report)
    return _Samples(points, normals, found, float(width), other, reach_mm)


def _at_places(
    samples: _Samples, places: FloatArray, normals: FloatArray, report: Report
) -> FloatArray:
    """Return (k,) differences at any places: what the nearest samples say, carried along slopes."""
    known = np.flatnonzero(np.isfinite(samples.found.value))
    tree = cKDTree(samples.points[known])
    parts = []
    for start in range(0, len(places), _AT_ONCE):
        report(start / len(places), "lay one hand over the other")
        part = slice(start, start + _AT_ONCE)
        value = _carried(samples, known, tree, places[part], normals[part])
        about = np.where(np.isnan(value), 0.0, -value)
        faces_it = facing_height(
            samples.other, places[part], normals[part], samples.reach_mm, start=about
        )[1]
        parts.append(np.where(faces_it, value, np.nan))
    return np.concatenate(parts) if parts else np.empty(0)


def _carried(
    samples: _Samples, known: IntArray, tree: cKDTree, places: FloatArray, normals: FloatArray
) -> FloatArray:
    count = min(_SAMPLES_PER_VERTEX, len(known))
    distance, near = tree.query(places, count)
    distance = np.asarray(distance).reshape(len(places), -1)
    index = known[np.asarray(near).reshape(len(places), -1)]
    reach = 2.5 * samples.spacing_mm
    like = np.einsum("kji,ki->kj", samples.normals[index], normals)
    weight = np.clip(1.0 - distance / reach, 0.0, 1.0) ** 2 / (distance**2 + 1e-6)
    weight *= np.clip((like - 0.5) * 2.0, 0.0, 1.0) ** 2
    step = places[:, None] - samples.points[index]
    said = samples.found.value[index] + np.einsum("kji,kji->kj", samples.found.slope[index], step)
    total = weight.sum(axis=1)
    mean = (weight * said).sum(axis=1) / np.where(total > 0, total, 1.0)
    return np.asarray(np.where(total > 0, mean, np.nan))


def _area_of_vertex(mesh: TriMesh) -> FloatArray:
    share = np.repeat(face_areas(mesh.vertices, mesh.faces) / 3.0, 3)
    total = np.bincount(mesh.faces.ravel(), share, minlength=len(mesh.vertices))
    return np.asarray(total, np.float64)


def _told(
    datum: Datum,
    samples: _Samples,
    difference: FloatArray,
    handed_area: FloatArray,
    stations: tuple[StationDifference, ...],
) -> LeftRight:
    """Return what the differences come to; `handed_area` is negative on the right."""
    faced = np.isfinite(difference)
    size, weight = np.abs(difference[faced]), np.abs(handed_area[faced])
    over = float((handed_area[faced] * difference[faced]).sum() / weight.sum())
    largest, place, departs = _largest(samples, datum)
    return LeftRight(
        difference=difference,
        median=_share_below(size, weight, 0.5),
        p95=_share_below(size, weight, 0.95),
        largest=abs(largest),
        largest_at=place,
        largest_on=departs,
        further_out="left" if largest > 0 else "right",
        fuller="alike" if abs(over) < SAME_MM else "left" if over > 0 else "right",
        left_over_right_mm=over,
        faced_share=float(weight.sum() / np.abs(handed_area).sum()),
        stations=stations,
    )


def _share_below(size: FloatArray, weight: FloatArray, share: float) -> float:
    """Return the size that a share of the weight does not exceed.

    >>> _share_below(np.array([3.0, 1.0, 2.0]), np.ones(3), 0.5)
    2.0
    """
    order = np.argsort(size)
    sums = np.cumsum(weight[order])
    return float(size[order][min(np.searchsorted(sums, share * sums[-1]), len(size) - 1)])


def _largest(samples: _Samples, datum: Datum) -> tuple[float, FloatArray, Hand]:
    """Return the largest difference, signed for the left, its place, and the hand that departs."""
    known = np.isfinite(samples.found.value)
    points = samples.points + samples.found.height[:, None] * samples.normals
    tree = cKDTree(points[known])
    value = samples.found.value[known]
    calm = _middle_of_neighbours(tree, value, points[known], samples.normals[known])
    most = int(np.abs(calm).argmax())
    here = points[known][most]
    there = datum.plane.mirrored(here)
    normal = samples.normals[known][most]
    there = there - calm[most] * (datum.plane.mirrored(here + normal) - there)
    on_left = bool(datum.plane.off(here[None])[0] > 0)
    stays = _bend_around(samples, here) >= _bend_around(samples, there)
    hand: Hand = "left" if on_left == stays else "right"
    left_over = float(calm[most] if on_left else -calm[most])
    return left_over, np.array(here if stays else there), hand


def _middle_of_neighbours(
    tree: cKDTree, value: FloatArray, points: FloatArray, normals: FloatArray
) -> FloatArray:
    """Return at every place the middle one of it and its neighbours that face the same way."""
    count = min(_ROBUST_NEIGHBOURS, len(points))
    index = np.asarray(tree.query(points, count)[1]).reshape(len(points), -1)
    like: BoolArray = np.einsum("kji,ki->kj", normals[index], normals) > 0.5
    near = np.where(like, value[index], np.nan)
    middle = np.nanmedian(near, axis=1)
    few = like.sum(axis=1) < min(count, 5)
    return np.where(few, 0.0, middle)


def _bend_around(samples: _Samples, place: FloatArray) -> float:
    """Return how much the skin bends around a place: its curvatures, root mean square."""
    away = np.linalg.norm(samples.points - place, axis=1)
    near = away < max(_DEPARTS_WITHIN_MM, 6 * samples.spacing_mm)
    return float(np.sqrt(np.mean(samples.found.bend[near] ** 2))) if near.any() else 0.0
