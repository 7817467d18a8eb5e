"""Highlight lines: where the eye sees straight light tubes in a skin, to judge how fair it is."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray

ALL_ROUND = 48
"""Tubes all round: one every 7.5 degrees, so that a sweep of 300 mm shows one every 20 mm."""
LIT_SHARE = 0.5


@dataclass(frozen=True, eq=False)
class LightTubes:
    """Straight light tubes side by side all round the work, like the staves of a barrel, far off.

    Attributes
    ----------
    along : (3,) float
        The way they run.
    up : (3,) float
        About the way from the work to tube 0; what runs along the tubes is taken off it.
    count : int
        All round, evenly.
    """

    along: FloatArray
    up: FloatArray
    count: int = ALL_ROUND

    def axes(self) -> tuple[FloatArray, FloatArray]:
        """Return the unit ways towards tube 0 and, square to it, towards a quarter of the row."""
        along = self.along / np.linalg.norm(self.along)
        up = self.up - (self.up @ along) * along
        up = up / np.linalg.norm(up)
        return up, np.cross(along, up)


def highlights(
    points: FloatArray, normals: FloatArray, eye: FloatArray, tubes: LightTubes
) -> FloatArray:
    """Return which tube the eye sees in the skin at each place, counted from 0, with fractions.

    A ray from the eye that meets the skin along d goes on along d - 2 (d . n) n; the tube it meets
    is told by the angle of that round the tubes' way. A sweep of radius R shows the next tube after
    R * pi / count along the skin, nearly: reflections turn twice as far as normals do.

    Parameters
    ----------
    points, normals : (n, 3) float
        Unit normals, calm: see `calm_normals`.
    eye : (3,) float
        Where the eye is, in the points' unit.
    tubes : LightTubes

    Returns
    -------
    (n,) float
        From 0 to below `count`; whole numbers in the middle of a tube.

    >>> tubes = LightTubes(np.array([1.0, 0, 0]), np.array([0.0, 0, 1]), count=8)
    >>> leaning = np.array([[0.0, 0, 1], [0, np.sin(np.pi / 8), np.cos(np.pi / 8)]])
    >>> seen = highlights(np.zeros((2, 3)), leaning, np.array([0.0, 0, 900]), tubes)
    >>> np.round(np.minimum(seen, 8.0 - seen), 9).tolist()
    [0.0, 1.0]

    Source: the law of reflection.
    """
    sight = points - eye
    sight /= np.linalg.norm(sight, axis=1, keepdims=True)
    back = sight - 2.0 * np.einsum("ij,ij->i", sight, normals)[:, None] * normals
    up, beside = tubes.axes()
    angle = np.arctan2(back @ beside, back @ up)
    return np.asarray(np.mod(angle * tubes.count / (2.0 * np.pi), tubes.count))


def is_lit(seen: FloatArray) -> BoolArray:
    """Return whether a place shows a tube, not the dark between two.

    >>> is_lit(np.array([0.0, 0.5, 0.9])).tolist()
    [True, False, True]
    """
    return np.asarray(np.abs(seen - np.round(seen)) < LIT_SHARE / 2.0)
