"""Exact volumes of what lies below a level in a closed mesh, however it is leant."""

from functools import cached_property

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.tank.stance import LEVEL, Stance

ASIDE_MM = np.array([1.3e-5, 0.7e-5])
"""By so much an upright is set aside, so that it runs through no corner."""


class Uprights:
    """Where uprights meet faces, the faces' reaches kept for many of them.

    Parameters
    ----------
    points : (n, 3) float
        Level axes.
    faces : (m, 3) int
    """

    def __init__(self, points: FloatArray, faces: IntArray) -> None:
        self._corners = [points[faces[:, k]] for k in range(3)]
        x, y = (np.stack([corner[:, k] for corner in self._corners]) for k in (0, 1))
        self._west, self._east = x.min(axis=0), x.max(axis=0)
        self._south, self._north = y.min(axis=0), y.max(axis=0)

    def hits(self, place: FloatArray) -> tuple[FloatArray, IntArray]:
        """Return heights at which the upright through a place meets faces, rising, and the faces.

        Parameters
        ----------
        place : (2,) or (3,) float
            Only its first two values count.
        """
        x, y = float(place[0]), float(place[1])
        near = np.flatnonzero((self._west <= x) & (self._east >= x))
        near = near[(self._south[near] <= y) & (self._north[near] >= y)]
        corners = [corner[near] for corner in self._corners]
        share = np.stack(
            [_turn(corners[k - 2], corners[k - 1], x, y) for k in range(3)], axis=1
        )  # of the corner each faces
        inside = (share > 0).all(axis=1) | (share < 0).all(axis=1)
        share = share[inside] / share[inside].sum(axis=1, keepdims=True)
        tall = np.stack([corner[inside, 2] for corner in corners], axis=1)
        heights = (share * tall).sum(axis=1)
        order = np.argsort(heights)
        return heights[order], near[inside][order]


def _turn(one: FloatArray, other: FloatArray, x: float, y: float) -> FloatArray:
    return np.asarray((one[:, 0] - x) * (other[:, 1] - y) - (one[:, 1] - y) * (other[:, 0] - x))


class Depths:
    """A closed space in one stance: how much lies below any level, the set-up kept.

    Parameters
    ----------
    space : TriMesh
        Closed, its faces facing out, mm, tank axes.
    stance : Stance
    """

    def __init__(self, space: TriMesh, stance: Stance = LEVEL) -> None:
        self.stance = stance
        self.faces = space.faces
        self.points = space.vertices @ stance.frame.T  # the last column is the height
        corners = self.points[space.faces]
        sides = corners[:, 1:, :2] - corners[:, :1, :2]
        self._floor = 0.5 * (
            sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0]
        )  # area seen from above, below nothing where a face looks down
        self.heights = self.points[:, 2]
        self.lowest, self.highest = float(self.heights.min()), float(self.heights.max())

    @cached_property
    def uprights(self) -> Uprights:
        """Where uprights meet the space's faces."""
        return Uprights(self.points, self.faces)

    def volume(self, level: float) -> float:
        """Return mm3 below a level, a height in the stance's own axes."""
        return float(self.below(np.full(len(self.faces), level)).sum())

    def below(self, levels: FloatArray) -> FloatArray:
        """Return what each face gives to the volume below its own level, mm3.

        The divergence theorem with the field (height - level) up, nothing on the surface of the
        liquid: exact for flat faces.

        Parameters
        ----------
        levels : (m,) float
            One for each face; -inf where a face is dry.
        """
        wet = np.flatnonzero(levels > self.heights[self.faces].min(axis=1))
        found = np.zeros(len(self.faces))
        depth = levels[wet, None] - self.heights[self.faces[wet]]
        found[wet] = -self._floor[wet] * _mean_of_wet(depth)
        return found

    def level_of(self, volume: float) -> float:
        """Return the level below which a volume in mm3 lies, to a millionth of a millimetre."""
        low, high = self.lowest, self.highest
        while high - low > 1e-6:
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.volume(middle) < volume else (low, middle)
        return (low + high) / 2.0


def _mean_of_wet(depth: FloatArray) -> FloatArray:
    """Return the integral of max(depth, 0) over triangles, over their areas.

    Parameters
    ----------
    depth : (k, 3) float
        At the corners, linear between.

    >>> _mean_of_wet(np.array([[1.0, 1, 1], [1, -1, -1], [1, 1, -1]])).round(4).tolist()
    [1.0, 0.0833, 0.4167]
    """
    order = np.sort(depth, axis=1)[:, ::-1]
    a, b, c = order.T
    mean = depth.mean(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        one = a / (a - b) * a / (a - c) * a / 3.0
        two = mean - c / (c - a) * c / (c - b) * c / 3.0
    return np.where(c >= 0, mean, np.where(b >= 0, two, np.where(a > 0, one, 0.0)))


def upright_hits(
    points: FloatArray, faces: IntArray, place: FloatArray
) -> tuple[FloatArray, IntArray]:
    """Return heights at which the upright through one place meets faces, rising, and the faces."""
    return Uprights(points, faces).hits(place)
