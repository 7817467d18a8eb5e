"""Where a tunnel's faces run out through the tank's skin: the line its ends are scribed to."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh

_SLACK_MM = 2.0


@dataclass(frozen=True, eq=False)
class SkinHits:
    """Where straight lines first run through the skin.

    Attributes
    ----------
    far_mm : (k,) float
        How far along each; nan where it runs out through an open place.
    faces : (k,) int
        Through which face; -1 where none.
    """

    far_mm: FloatArray
    faces: IntArray

    @property
    def found(self) -> BoolArray:
        """(k,) which lines meet the skin."""
        return np.asarray(self.faces >= 0)


def first_through_skin(skin: TriMesh, starts: FloatArray, ways: FloatArray) -> SkinHits:
    """Return where lines from inside the tank first meet the skin.

    Parameters
    ----------
    skin : TriMesh
    starts, ways : (k, 3) float, mm
        Unit directions, much alike.

    Source: own derivation: each face against each line, of the faces near any of them.

    >>> wall = TriMesh([[9.0, -5, -5], [9, 5, -5], [9, 0, 9]], [[0, 1, 2]])
    >>> first_through_skin(wall, np.zeros((1, 3)), np.array([[1.0, 0, 0]])).far_mm.tolist()
    [9.0]
    """
    corners = skin.vertices[skin.faces]
    near = _near(corners, starts, ways)
    a, b, c = (corners[near, k] for k in range(3))
    ab, ac = b - a, c - a
    far = np.full(len(starts), np.inf)
    face = np.full(len(starts), -1, np.int64)
    for row, (start, way) in enumerate(zip(starts, ways, strict=True)):
        across = np.cross(way, ac)
        size = (ab * across).sum(axis=1)
        safe = np.where(np.abs(size) > 1e-12, size, np.inf)
        off = start - a
        u = (off * across).sum(axis=1) / safe
        turned = np.cross(off, ab)
        v = turned @ way / safe
        t = (ac * turned).sum(axis=1) / safe
        hit = np.isfinite(safe) & (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9) & (t > 0.0)
        if hit.any():
            first = np.flatnonzero(hit)[np.argmin(t[hit])]
            far[row], face[row] = t[first], near[first]
    return SkinHits(np.where(face >= 0, far, np.nan), face)


def _near(corners: FloatArray, starts: FloatArray, ways: FloatArray) -> IntArray:
    """Return the faces in the box the lines run through, ahead of their starts."""
    mean = ways.mean(axis=0)
    axis = int(np.argmax(np.abs(mean)))
    reach = 2.0 * float(np.ptp(corners.reshape(-1, 3), axis=0).max())
    ends = np.concatenate([starts, starts + reach * ways])
    low, high = ends.min(axis=0) - _SLACK_MM, ends.max(axis=0) + _SLACK_MM
    least, most = corners.min(axis=1), corners.max(axis=1)
    inside = np.ones(len(corners), bool)
    for k in range(3):
        inside &= (most[:, k] >= low[k]) & (least[:, k] <= high[k])
    ahead = np.sign(mean[axis]) * (corners[:, :, axis] - starts[:, axis].mean())
    return np.flatnonzero(inside & (ahead.max(axis=1) > -_SLACK_MM))
