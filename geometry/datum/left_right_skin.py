"""A tank's skin as points with normals, and how far one skin stands out over another.

Both skins are fitted in the same frame with the same weights: whatever a fit smooths away at a
crease or loses at a curl it loses on both, and only what differs is left.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.datum.centre_plane import CentrePlane
from geometry.fitting import Quadrics, fit_quadrics
from geometry.mesh import TriMesh, face_areas, vertex_normals
from geometry.progress import Report, silent

REACH_MM = 15.0
"""How far apart the hands may lie and still face each other."""

_POOLED_TO = 200_000
_LEAST_SHARE = 1e-9
_RADIUS_IN_SPACINGS = 4.0
_LEAST_RADIUS_MM = 4.0
_NEIGHBOURS = 64
_LEAST_NEIGHBOURS = 16
_ANGLE_RAD = 0.35
_LIKE_COSINE = 0.6
_FIRST_LOOK = 8
_MOST_OFF_CENTRE = 0.2
_AT_ONCE = 4096


@dataclass(frozen=True, eq=False)
class Skin:
    """Points that stand for a scan's own.

    Attributes
    ----------
    points, normals : (n, 3) float
    counts : (n,) float
        How many of the scan's points each is the mean of.
    spacing_mm : float
        Usual distance between them.
    tree : cKDTree
        Of the points.
    """

    points: FloatArray
    normals: FloatArray
    counts: FloatArray
    spacing_mm: float
    tree: cKDTree

    @property
    def radius_mm(self) -> float:
        """How far from a place points count in a fit."""
        return max(_RADIUS_IN_SPACINGS * self.spacing_mm, _LEAST_RADIUS_MM)

    def mirrored(self, plane: CentrePlane) -> "Skin":
        """Return the skin on the other hand of a plane."""
        turned = self.normals - 2.0 * (self.normals @ plane.normal)[:, None] * plane.normal
        points = plane.mirrored(self.points)
        return Skin(points, turned, self.counts, self.spacing_mm, cKDTree(points))


@dataclass(frozen=True, eq=False)
class StandingOut:
    """How far one skin stands out over another at k places.

    Attributes
    ----------
    value : (k,) float, mm
        Along the normal, nan where the other has nothing to face the place.
    slope : (k, 3) float
        How the value changes along the skin, mm per mm; nought where nan.
    bend : (k,) float, 1/mm
        Root of the sum of squares of the own skin's curvatures.
    height : (k,) float, mm
        Of the own skin over the place, along the normal.
    """

    value: FloatArray
    slope: FloatArray
    bend: FloatArray
    height: FloatArray


def skin_of(mesh: TriMesh, plane: CentrePlane, normals: FloatArray | None = None) -> Skin:
    """Return a mesh's vertices, drawn together where they lie closer than a fit needs.

    The cells lie alike on both hands of the plane, so that drawing together does the same to both.
    `normals` are the vertices' own, where they are at hand.
    """
    normals = vertex_normals(mesh.vertices, mesh.faces) if normals is None else normals
    used = np.zeros(len(mesh.vertices), bool)
    used[mesh.faces] = True
    points, normals = mesh.vertices[used], normals[used]
    area = max(float(face_areas(mesh.vertices, mesh.faces).sum()), 1e-12)
    if len(points) <= _POOLED_TO:
        counts = np.ones(len(points))
    else:
        cell = cell_of_point(points, normals, plane, np.sqrt(area / _POOLED_TO))
        counts = np.bincount(cell).astype(np.float64)
        points = _sums(cell, points) / counts[:, None]
        normals = _sums(cell, normals)
        normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-12)[:, None]
    return Skin(points, normals, counts, float(np.sqrt(area / len(points))), cKDTree(points))


def cell_of_point(
    points: FloatArray, normals: FloatArray, plane: CentrePlane, width_mm: float
) -> IntArray:
    """Return the number of the cube each point lies in; sheets that face other ways lie apart.

    The cubes on one hand of the plane are the mirror images of those on the other.
    """
    axes = np.linalg.svd(plane.normal[None])[2]
    local = (points - plane.point) @ axes.T
    facing = normals @ axes.T
    hand = np.where(local[:, :1] * axes[0] @ plane.normal < 0.0, -1.0, 1.0)
    local[:, 0] *= hand
    facing[:, 0] *= hand
    place = np.floor(local / width_mm).astype(np.int64)
    place -= place.min(axis=0)
    most = np.abs(facing).argmax(axis=1)
    way = 2 * most + (np.take_along_axis(facing, most[:, None], axis=1)[:, 0] > 0)
    extent = place.max(axis=0) + 1
    key = (place[:, 0] * extent[1] + place[:, 1]) * extent[2] + place[:, 2]
    return np.asarray(np.unique(12 * key + 2 * way + (hand > 0), return_inverse=True)[1])


def standing_out(
    own: Skin,
    other: Skin,
    places: FloatArray,
    normals: FloatArray,
    *,
    reach_mm: float = REACH_MM,
    report: Report = silent,
) -> StandingOut:
    """Return how far `own` stands out over `other` at (k, 3) places on it, along (k, 3) normals."""
    if not len(places):
        return StandingOut(np.empty(0), np.empty((0, 3)), np.empty(0), np.empty(0))
    parts = []
    for start in range(0, len(places), _AT_ONCE):
        report(start / len(places), "lay one hand over the other")
        part = slice(start, start + _AT_ONCE)
        parts.append(_part(own, other, places[part], normals[part], reach_mm))
    report(1.0, "lay one hand over the other")
    return StandingOut(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _part(
    own: Skin, other: Skin, places: FloatArray, normals: FloatArray, reach_mm: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    away, faces_it = facing_height(other, places, normals, reach_mm)
    bases = places + away[:, None] * normals
    near = _Around(own, places, normals)
    far = _Around(other, bases, normals)
    radius = np.maximum(near.least_reach, far.least_reach)
    radius = np.maximum(radius, max(own.radius_mm, other.radius_mm))
    here, here_sound = near.fit(radius)
    there, there_sound = far.fit(radius)
    value = here.height - (away + there.height)
    sound = faces_it & here_sound & there_sound & (np.abs(value) <= reach_mm)
    slope = np.einsum("ki,kij->kj", here.slope - there.slope, here.frames[:, :2])
    bend = np.sqrt(here.curvature[:, 0] ** 2 + here.curvature[:, 2] ** 2)
    return (
        np.where(sound, value, np.nan),
        np.where(sound[:, None], slope, 0.0),
        np.where(here_sound, bend, 0.0),
        np.where(here_sound, np.clip(here.height, -radius / 2, radius / 2), 0.0),
    )


def facing_height(
    skin: Skin,
    places: FloatArray,
    normals: FloatArray,
    reach_mm: float,
    *,
    start: FloatArray | None = None,
) -> tuple[FloatArray, BoolArray]:
    """Return how far along its normal each place meets a skin, and whether it does at all.

    It does where a point of the skin with a like normal lies within two spacings of the line
    through the place, within reach. `start` is where about, if that is known.
    """
    away = np.zeros(len(places)) if start is None else start
    sideways = np.full(len(places), np.inf)
    count = min(_FIRST_LOOK, len(skin.points))
    for _ in range(2 if start is None else 1):
        at = places + away[:, None] * normals
        index = np.asarray(skin.tree.query(at, count)[1]).reshape(len(at), -1)
        like = np.einsum("kji,ki->kj", skin.normals[index], normals) > _LIKE_COSINE
        chosen = index[np.arange(len(index)), like.argmax(axis=1)]
        step = skin.points[chosen] - at
        facing = skin.normals[chosen]
        along = np.einsum("ki,ki->k", step, facing)
        along /= np.maximum(np.einsum("ki,ki->k", facing, normals), _LIKE_COSINE)
        away = np.clip(away + np.where(like.any(axis=1), along, 0.0), -reach_mm, reach_mm)
        rise = np.einsum("ki,ki->k", step, normals)
        sideways = np.linalg.norm(step - rise[:, None] * normals, axis=1)
    return away, like.any(axis=1) & (sideways < 2.0 * skin.spacing_mm) & (np.abs(away) < reach_mm)


class _Around:
    """The points of a skin around places, ready to be fitted."""

    def __init__(self, skin: Skin, places: FloatArray, normals: FloatArray) -> None:
        count = min(_NEIGHBOURS, len(skin.points))
        distance, index = skin.tree.query(places, count)
        self._index = np.asarray(index).reshape(len(places), -1)
        self._distance = np.asarray(distance).reshape(len(places), -1)
        self.least_reach = 1.05 * self._distance[:, min(_LEAST_NEIGHBOURS, count) - 1]
        self._skin, self._places, self._normals = skin, places, normals

    def fit(self, radius: FloatArray) -> tuple[Quadrics, BoolArray]:
        """Return the quadrics through points within a radius, and which of them can be relied on.

        Not where the points lie to one side of the place, nor where they do not fix a quadric.
        """
        index, skin = self._index, self._skin
        near = np.clip(1.0 - (self._distance / radius[:, None]) ** 2, 0.0, 1.0) ** 2
        apart = np.zeros(index.shape)
        for axis in range(3):
            apart += (skin.normals[:, axis][index] - self._normals[:, axis, None]) ** 2
        weight = near * np.exp(apart / (-2.0 * _ANGLE_RAD**2)) * skin.counts[index]
        weight[weight < _LEAST_SHARE] = 0.0
        neighbours = skin.points[index]
        fit = fit_quadrics(self._places, self._normals, neighbours, weight)
        total = np.maximum(weight.sum(axis=1), _LEAST_SHARE)
        middle = np.einsum("kj,kji->ki", weight, neighbours) / total[:, None] - self._places
        rise = np.einsum("ki,ki->k", middle, self._normals)
        off = np.linalg.norm(middle - rise[:, None] * self._normals, axis=1)
        sound = fit.determined & (off < _MOST_OFF_CENTRE * radius) & ((weight > 0).sum(axis=1) > 7)
        return fit, sound


def _sums(cell: IntArray, values: FloatArray) -> FloatArray:
    return np.stack([np.bincount(cell, values[:, axis]) for axis in range(3)], axis=1)
