"""The least gap between a skin and another body, and how far a body reaches through the skin.

Both are triangle meshes; what is found is exact for them. How truly a round body's mesh stands for
it is `bodies`' affair.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.comparison.cells import cells_of
from geometry.comparison.signed_side import SignedSkin
from geometry.comparison.triangle_pairs import least_separation, nearest_of_triangles
from geometry.mesh import TriMesh, vertex_areas
from geometry.progress import Report, silent

Side = Literal["outside", "inside", "beyond", "through"]

_FIRST, _MOST = 64, 4096
_PAIRS_AT_ONCE = 400_000
_SURE_MM = 0.005
_ROUGHLY = 0.1
"""By how much of itself a distance may be told too long where it only sorts out what is far."""
_SLENDER = 0.5
"""Triangles lower than this part of their radius are known by their longest side."""


@dataclass(frozen=True, eq=False)
class Gap:
    """How near a body comes to a skin.

    Attributes
    ----------
    distance_mm : float
        The least; 0 where the body goes through the skin. To 0.005 mm of the two meshes.
    on_skin, on_body : (3,) float
        Where.
    side : "outside", "inside", "beyond" or "through"
        Of the skin the body is on there; beyond: off the edge where the skin ends.
    reach_mm : float
        How far a body that goes through reaches to the side on which less of it lies, measured
        square to the skin; 0 where it does not go through.
    deepest : (3,) float
        Where it reaches farthest; `on_body` where it does not go through.
    through : (m,) bool
        The body's faces on that side.
    """

    distance_mm: float
    on_skin: FloatArray
    on_body: FloatArray
    side: Side
    reach_mm: float
    deepest: FloatArray
    through: BoolArray

    def __post_init__(self) -> None:
        for array in (self.on_skin, self.on_body, self.deepest):
            locked(array)
        locked(self.through)


class GapFinder:
    """Finds gaps to one skin, the set-up kept for further bodies."""

    def __init__(self, skin: TriMesh) -> None:
        if not len(skin.faces):
            raise ValueError("a skin without faces has no gap to anything")
        self._skin = skin
        self._faces = _SkinFaces(skin.vertices[skin.faces])
        self._used = np.unique(skin.faces)
        self._tree = cKDTree(skin.vertices[self._used])
        self._signed: SignedSkin | None = None

    @property
    def signed(self) -> SignedSkin:
        """The skin as it tells sides."""
        if self._signed is None:
            self._signed = SignedSkin(self._skin)
        return self._signed

    def gap(self, body: TriMesh, *, report: Report = silent) -> Gap:
        """Return the least gap to a body, or how far it reaches through.

        Source: own derivation. Distances from corner to corner bound the gap from above; faces none
        of whose corners is near enough cannot hold it. Pairs of the rest are measured, the most
        promising first, each but those that are kept apart by a plane already.
        """
        report(0.0, "measuring gaps")
        faces, least = self._faces_in_reach(body)
        report(0.4, "measuring gaps")
        nearest = self._nearest_pair(body.vertices[body.faces[faces]], least, report)
        if nearest.distance == 0.0:
            return self._through(body, nearest)
        off = self.signed.off(nearest.on_body[None])[0]
        side: Side = "beyond" if np.isnan(off) else ("outside" if off > 0.0 else "inside")
        report(1.0, "measuring gaps")
        return Gap(
            nearest.distance, nearest.on_skin, nearest.on_body, side, 0.0,
            nearest.on_body.copy(), np.zeros(len(body.faces), bool),
        )  # fmt: skip

    def _faces_in_reach(self, body: TriMesh) -> tuple[IntArray, FloatArray]:
        """Return the body's faces that may hold the least gap, with what it is at least there.

        The likeliest first.
        """
        used = np.unique(body.faces)
        places = body.vertices[used]
        cells = cells_of(places)
        reach = _radii(body.vertices[body.faces])
        widest = float(self._faces.radius.max())
        rough = np.asarray(self._tree.query(cells.middles, eps=_ROUGHLY)[0])
        within = float(rough.min()) + cells.half_mm + widest + float(reach.max())
        opened = (rough / (1.0 + _ROUGHLY) - cells.half_mm <= within)[cells.of_point]
        distance = np.full(len(body.vertices), np.inf)
        distance[used[opened]] = self._tree.query(places[opened])[0]
        bound = float(distance.min())
        least = distance[body.faces].min(axis=1) - reach - widest
        kept = np.flatnonzero(least <= bound)
        kept = kept[np.argsort(least[kept], kind="stable")]
        return kept, least[kept]

    def _nearest_pair(self, others: FloatArray, least: FloatArray, report: Report) -> "_Nearest":
        """Return the nearest places of the skin and of some triangles (k, 3, 3)."""
        search = _Search(self._faces, others)
        start, step = 0, _FIRST
        while start < len(others) and search.best.distance > max(least[start], 0.0):
            rows = np.arange(start, min(start + step, len(others)))
            search.among(rows)
            start, step = start + step, min(2 * step, _MOST)
            report(0.4 + 0.5 * min(start / len(others), 1.0), "measuring gaps")
        return search.best

    def _through(self, body: TriMesh, nearest: "_Nearest") -> Gap:
        """Return how far a body that goes through the skin reaches.

        Each connected piece of it that goes through has most of itself on one side; the farthest
        any reaches to its other side counts.
        """
        cells = cells_of(body.vertices)
        off = self.signed.side_of(cells.middles)[cells.of_point]
        near = np.flatnonzero(np.abs(off) <= cells.half_mm)
        if near.size:
            off[near] = self.signed.off(body.vertices[near])
        beyond = _lesser_side(body, off)
        reach, deepest = 0.0, nearest.on_body
        if beyond.any():
            index = self._farthest(body.vertices, np.flatnonzero(beyond), off, cells.half_mm)
            true = np.abs(np.nan_to_num(self.signed.off(body.vertices[index])))
            reach = float(true.max())
            deepest = body.vertices[index[int(true.argmax())]]
        return Gap(
            0.0, nearest.on_skin, nearest.on_body, "through", reach, deepest.copy(),
            np.asarray(beyond[body.faces].any(axis=1)),
        )  # fmt: skip

    def _farthest(
        self, points: FloatArray, among: IntArray, off: FloatArray, sure_mm: float
    ) -> IntArray:
        """Return those of some points one of which is farthest off; distances known so far."""
        far, widest = np.abs(off[among]), self.signed.widest_mm
        among = among[far >= far.max() - 2.0 * sure_mm - widest]
        rough = np.asarray(self._tree.query(points[among])[0])
        return np.asarray(among[rough >= rough.max() - widest])


@dataclass(frozen=True, eq=False)
class _Nearest:
    """The nearest places of two sets of triangles."""

    distance: float
    on_skin: FloatArray
    on_body: FloatArray


class _SkinFaces:
    """A skin's triangles, sorted into trees of their middles by their size."""

    def __init__(self, corners: FloatArray) -> None:
        self.corners, self.radius, self.middle = corners, _radii(corners), corners.mean(axis=1)
        self._start, self._side, self._height = _longest_sides(corners)
        self._is_slender = self._height < _SLENDER * self.radius
        self.classes = [
            (cKDTree(self.middle[rows]), rows, float(self.radius[rows].max()))
            for rows in _by_size(self.radius)
        ]

    def may_be_near(self, faces: IntArray, places: FloatArray, within: FloatArray) -> BoolArray:
        """Return which triangles may come as near to (k, 3) places as asked, (k,) mm.

        By the balls they lie in; slender ones by how far they stand off their longest side.
        """
        near = np.linalg.norm(self.middle[faces] - places, axis=1) - self.radius[faces] < within
        rest = np.flatnonzero(near & self._is_slender[faces])
        if rest.size:
            face = faces[rest]
            away, side = places[rest] - self._start[face], self._side[face]
            square = np.maximum(np.einsum("kx,kx->k", side, side), 1e-300)
            along = np.clip(np.einsum("kx,kx->k", away, side) / square, 0.0, 1.0)
            off = np.linalg.norm(away - along[:, None] * side, axis=1)
            near[rest] = off - self._height[face] < within[rest]
        return np.asarray(near)


class _Search:
    """Betters the nearest pair, some of the body's triangles at a time."""

    def __init__(self, skin: "_SkinFaces", others: FloatArray) -> None:
        self._skin = skin
        self._others, self._radius = others, _radii(others)
        self._others_middle = others.mean(axis=1)
        away = np.linalg.norm(skin.middle - self._others_middle[0], axis=1)
        first = int(away.argmin())
        distance, on_skin, on_body = nearest_of_triangles(skin.corners[first][None], others[:1])
        self.best = _Nearest(float(distance[0]), on_skin[0], on_body[0])

    def among(self, rows: IntArray) -> None:
        """Look among some of the triangles."""
        middle = self._others_middle[rows]
        for tree, faces, widest in self._skin.classes:
            within = self.best.distance + widest + self._radius[rows]
            found = tree.query_ball_point(middle, within)
            count = np.array([len(each) for each in found])
            if not count.sum():
                continue
            row = np.repeat(rows, count)
            face = faces[np.concatenate([np.asarray(each, np.int64) for each in found if each])]
            within = self.best.distance + self._radius[row]
            near = self._skin.may_be_near(face, self._others_middle[row], within)
            row, face = row[near], face[near]
            for start in range(0, len(row), _PAIRS_AT_ONCE):
                part = slice(start, start + _PAIRS_AT_ONCE)
                self._measure(row[part], face[part])

    def _measure(self, row: IntArray, face: IntArray) -> None:
        least = least_separation(self._skin.corners[face], self._others[row])
        order = np.argsort(least, kind="stable")
        start, step = 0, _FIRST
        while start < len(order) and self.best.distance > 0.0:
            some = order[start : start + step]
            some = some[least[some] < self.best.distance - _SURE_MM]
            if not len(some):
                return
            distance, on_skin, on_body = nearest_of_triangles(
                self._skin.corners[face[some]], self._others[row[some]]
            )
            at = int(distance.argmin())
            if distance[at] < self.best.distance:
                self.best = _Nearest(float(distance[at]), on_skin[at].copy(), on_body[at].copy())
            start, step = start + step, min(4 * step, 8 * _MOST)


def _radii(corners: FloatArray) -> FloatArray:
    """Return how far corners (k, 3, 3) reach from the middles of their triangles."""
    middle = corners.mean(axis=1, keepdims=True)
    return np.asarray(np.linalg.norm(corners - middle, axis=2).max(axis=1) * (1.0 + 1e-12))


def _longest_sides(corners: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return where the longest sides of (k, 3, 3) begin, where they lead, and how high each stands.

    No place of a triangle is farther from its longest side than its third corner.
    """
    sides = np.roll(corners, -1, axis=1) - corners
    length = np.linalg.norm(sides, axis=2)
    row, first = np.arange(len(corners)), length.argmax(axis=1)
    start, side, longest = corners[row, first], sides[row, first], length[row, first]
    across = np.linalg.norm(np.cross(side, corners[row, (first + 2) % 3] - start), axis=1)
    return start, side, np.asarray(across / np.maximum(longest, 1e-300) * (1.0 + 1e-9) + 1e-9)


def _by_size(radius: FloatArray) -> list[IntArray]:
    """Group triangles whose radii lie within a factor of two."""
    size = np.floor(np.log2(np.maximum(radius, radius.max() * 1e-6)))
    return [np.flatnonzero(size == value) for value in np.unique(size)]


def _lesser_side(body: TriMesh, off: FloatArray) -> BoolArray:
    """Return the vertices (n,) of pieces that go through that lie on the side with less of it."""
    n = len(body.vertices)
    ends = np.concatenate([body.faces[:, [0, 1]], body.faces[:, [1, 2]]])
    graph = coo_array((np.ones(len(ends), np.int8), (ends[:, 0], ends[:, 1])), shape=(n, n))
    piece = connected_components(graph, directed=False)[1]
    share = vertex_areas(body.vertices, body.faces)
    sign = np.sign(np.nan_to_num(off))
    parted = (sign[ends].prod(axis=1) < 0.0).nonzero()[0]
    count = int(piece.max(initial=0)) + 1
    goes_through = np.zeros(count, bool)
    goes_through[piece[ends[parted, 0]]] = True
    balance = np.bincount(piece, share * sign, minlength=count)
    home = np.where(balance >= 0.0, 1.0, -1.0)
    return np.asarray(goes_through[piece] & (sign * home[piece] < 0.0))
