"""Whether a panel comes out of the female form it is dressed in, along which way, or what locks."""

from dataclasses import dataclass
from math import asin, pi, radians, sin

import numpy as np
from scipy.optimize import nnls

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import face_areas, face_normals

SQUARE_RAD = radians(0.5)
"""Faces that lie past square to the pull by less than this are square: a scan's noise does that."""

_NEEDLE = 0.15
"""Of the usual width of a face: one lower than this has no normal to go by."""
_NOTHING = 1e-5
_TRIED = 500
_KEPT = 6
_RINGS = 10
_ON_RING = 12
_LEVEL = 2e-3
"""Of the panel's area: ways that lock as much as that alike are told apart by their angles."""


@dataclass(frozen=True, eq=False)
class LiftOut:
    """How a panel comes out of its female form, or where it is held.

    Attributes
    ----------
    direction : (3,) float
        Unit, out of the form: the way that locks least, of such ways the one that leaves most
        draft.
    locked : (m,) bool
        Faces that lie past square to the pull: the form holds the panel there.
    locked_area_mm2 : float
    angle_rad : float
        How far the worst face lies past square; 0 where the panel is free.
    draft_rad : float
        How far the steepest face stays from square; 0 where the panel is held.
    """

    direction: FloatArray
    locked: BoolArray
    locked_area_mm2: float
    angle_rad: float
    draft_rad: float

    @property
    def is_free(self) -> bool:
        """Return whether nothing locks."""
        return not self.locked.any()


def lift_out(vertices: FloatArray, faces: IntArray) -> LiftOut:
    """Return how a panel comes out of a female form.

    Pulled a hair along a direction, a face leaves the form where its outside normal points away
    from the pull, and runs into it where the normal points along the pull. Where every normal
    points away or lies square the panel is free: a tube slides out endwise. What would still have
    to pass a part of the form farther off is not asked.

    Parameters
    ----------
    vertices : (n, 3) float, mm
        The panel's outside.
    faces : (m, 3) int
        Counter-clockwise seen from outside.

    >>> square = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    >>> lift = lift_out(square, np.array([[0, 1, 2], [0, 2, 3]]))
    >>> lift.direction[2].round(9).item(), lift.is_free, round(lift.draft_rad / pi, 9)
    (-1.0, True, 0.5)

    Source: own derivation: the ways along which nothing locks are those square to or away from
    every normal; the one with most draft points against the middle of the least cap that holds all
    normals, which is the point of their convex hull nearest to nothing.
    """
    areas = face_areas(vertices, faces)
    told = _told(vertices, faces, areas)
    skin = _Skin(face_normals(vertices, faces)[told], areas[told])
    direction = skin.most_draft()
    if skin.worst(direction) > sin(SQUARE_RAD):
        direction = skin.least_locked(direction)
    held = np.zeros(len(faces), bool)
    held[told] = skin.held(direction)
    past = asin(min(1.0, max(-1.0, skin.worst(direction))))
    return LiftOut(
        direction=locked(direction),
        locked=locked(held),
        locked_area_mm2=float(areas[held].sum()),
        angle_rad=past if held.any() else 0.0,
        draft_rad=0.0 if held.any() else max(-past, 0.0),
    )


def _told(vertices: FloatArray, faces: IntArray, areas: FloatArray) -> IntArray:
    """Return the faces that are no needles: those have a normal to go by."""
    sides = vertices[faces] - vertices[np.roll(faces, 1, axis=1)]
    longest = np.linalg.norm(sides, axis=2).max(axis=1)
    height = 2.0 * areas / np.maximum(longest, 1e-300)
    width = float(np.median(np.sqrt(areas[areas > 0.0]))) if (areas > 0.0).any() else 0.0
    return np.flatnonzero((height >= _NEEDLE * width) & (areas > 0.0))


class _Skin:
    """Normals and areas of a panel's faces, and how a pull meets them."""

    def __init__(self, normals: FloatArray, areas: FloatArray) -> None:
        self.normals, self.areas = normals, areas
        self._alike = _LEVEL * float(areas.sum())
        self._least = np.inf  # area held, of all directions tried

    def worst(self, direction: FloatArray) -> float:
        """Return the sine of the angle the worst face lies past square to a pull."""
        return float((self.normals @ direction).max())

    def held(self, direction: FloatArray) -> BoolArray:
        """Return which faces lie past square."""
        return np.asarray(self.normals @ direction > sin(SQUARE_RAD))

    def most_draft(self) -> FloatArray:
        """Return the direction that leaves most draft; where there is none, one to begin from.

        A panel that wraps half way round or more has nothing nearest: its normals are leant
        towards their mean then, by a little more than counts as square.
        """
        nearest = nearest_of_hull(self.normals)
        if np.linalg.norm(nearest) > _NOTHING:
            return _unit(-nearest)
        mean = self.areas @ self.normals
        size = float(np.linalg.norm(mean))
        if size <= 1e-9 * float(self.areas.sum()):
            return _unit(-self.normals[0])
        nearest = nearest_of_hull(self.normals + 2.0 * sin(SQUARE_RAD) * mean / size)
        return _unit(-nearest if np.linalg.norm(nearest) > _NOTHING else -mean)

    def least_locked(self, first: FloatArray) -> FloatArray:
        """Return the direction along which least area is held; of such, the least past square.

        Looked for all round, then closer and closer about the best of those found.
        """
        frame = _own_frame(self.normals, self.areas)
        tried = np.concatenate([[first, -frame[2], frame[2]], all_round(_TRIED) @ frame])
        best = self._best(tried, _KEPT)
        reach = 2.0 * np.sqrt(4.0 * pi / _TRIED)
        for _ in range(_RINGS):
            about = [_ring(direction, reach, frame) for direction in best]
            best = self._best(np.concatenate([best, *about]), _KEPT)
            reach /= 2.0
        return np.asarray(best[0])

    def _best(self, directions: FloatArray, count: int) -> FloatArray:
        """Return the best directions, the very best first, counting those tried before."""
        area, past = np.empty(len(directions)), np.empty(len(directions))
        for k, direction in enumerate(directions):
            along = self.normals @ direction
            area[k] = self.areas[along > sin(SQUARE_RAD)].sum()
            past[k] = along.max()
        self._least = min(self._least, float(area.min()))
        alike = self._alike if self._least > 0.0 else 0.0
        order = np.lexsort((past, np.maximum(area, self._least + alike)))
        return np.asarray(directions[order[:count]])


def nearest_of_hull(points: FloatArray) -> FloatArray:
    """Return the (3,) point nearest to nothing of the convex hull of (k, 3) points.

    A few points are tried at a time; the one that lies farthest on the near side joins them until
    none does.

    >>> nearest_of_hull(np.array([[1.0, 1, 0], [1, -1, 0], [3, 0, 0]])).round(9).tolist()
    [1.0, 0.0, 0.0]

    Source: [wolfe1976], the nearest point of a polytope, its small problems solved as least
    squares without negative weights.
    """
    chosen = sorted({int(np.argmin(points @ way)) for way in _CORNERS})
    for _ in range(200):
        nearest = _nearest_of_few(points[chosen])
        along = points @ nearest
        next_one = int(np.argmin(along))
        if next_one in chosen or along[next_one] >= nearest @ nearest - 1e-12:
            break
        chosen.append(next_one)
    return nearest


_CORNERS = np.array([[x, y, z] for x in (-1.0, 0, 1) for y in (-1.0, 0, 1) for z in (-1.0, 0, 1)])


def _nearest_of_few(points: FloatArray) -> FloatArray:
    """Return the nearest point to nothing of the hull of a few points."""
    scale = 1e4  # holds the weights' sum to 1
    system = np.concatenate([points.T, np.full((1, len(points)), scale)])
    weights, _ = nnls(system, np.array([0.0, 0.0, 0.0, scale]))
    return np.asarray(weights @ points / weights.sum())


def _own_frame(normals: FloatArray, areas: FloatArray) -> FloatArray:
    """Return (3, 3) unit rows that turn with the panel: the last along the mean normal."""
    mean = areas @ normals
    _, axes = np.linalg.eigh((normals * areas[:, None]).T @ normals)
    last = _unit(mean) if np.linalg.norm(mean) > 1e-9 * areas.sum() else axes[:, 2]
    across = axes[:, int(np.argmin(np.abs(axes.T @ last)))]
    first = _unit(across - (across @ last) * last)
    if areas @ (normals @ first) ** 3 < 0.0:
        first = -first
    return np.stack([first, np.cross(last, first), last])


def all_round(count: int) -> FloatArray:
    """Return (count, 3) directions evenly all round, along a spiral.

    >>> bool(abs(all_round(100).sum(axis=0)).max() < 1.0)
    True
    """
    height = 1.0 - (2.0 * np.arange(count) + 1.0) / count
    turn = pi * (3.0 - np.sqrt(5.0)) * np.arange(count)
    across = np.sqrt(1.0 - height**2)
    return np.stack([across * np.cos(turn), across * np.sin(turn), height], axis=1)


def _ring(direction: FloatArray, reach: float, frame: FloatArray) -> FloatArray:
    """Return directions on two rings about one."""
    side = frame[int(np.argmin(np.abs(frame @ direction)))]
    x = _unit(np.cross(direction, side))
    y = np.cross(direction, x)
    turn = 2.0 * pi * np.arange(_ON_RING) / _ON_RING
    ways = np.cos(turn)[:, None] * x + np.sin(turn)[:, None] * y
    rings = [np.cos(r) * direction + np.sin(r) * ways for r in (reach, 0.4 * reach)]
    return np.concatenate(rings)


def _unit(vector: FloatArray) -> FloatArray:
    return np.asarray(vector / np.linalg.norm(vector))
