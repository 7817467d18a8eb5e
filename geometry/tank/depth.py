"""Exact volumes of what lies below a level in a closed mesh, however it is leant."""

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.tank.stance import LEVEL, Stance

ASIDE_MM = np.array([1.3e-5, 0.7e-5])
"""By so much an upright is set aside, so that it runs through no corner."""


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
    """Return heights at which the upright through a place meets faces, rising, and the faces.

    Parameters
    ----------
    points : (n, 3) float
        Level axes.
    faces : (m, 3) int
    place : (2,) or (3,) float
        Only its first two values count.
    """
    corners = points[faces]
    x, y = place[0], place[1]
    low, high = corners[:, :, :2].min(axis=1), corners[:, :, :2].max(axis=1)
    near = np.flatnonzero(
        (low[:, 0] <= x) & (high[:, 0] >= x) & (low[:, 1] <= y) & (high[:, 1] >= y)
    )
    a, b, c = np.moveaxis(corners[near], 1, 0)
    flat = np.array([x, y])

    def turn(p: FloatArray, q: FloatArray) -> FloatArray:
        one, two = p[:, :2] - flat, q[:, :2] - flat
        return np.asarray(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])

    u, v, w = turn(b, c), turn(c, a), turn(a, b)
    inside = ((u > 0) & (v > 0) & (w > 0)) | ((u < 0) & (v < 0) & (w < 0))
    share = np.stack([u, v, w], axis=1)[inside]
    share /= share.sum(axis=1, keepdims=True)
    heights = (share * corners[near[inside], :, 2]).sum(axis=1)
    order = np.argsort(heights)
    return heights[order], near[inside][order]
