"""The plane nearest to points."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError


class TooFewPointsError(GeometryError):
    """The points do not fix the shape: there are too few, or they lie on one line or spot.

    Attributes
    ----------
    points : int
        How many there are.
    needed : int
        How many, in general position, are needed.
    """

    def __init__(self, points: int, needed: int) -> None:
        self.points, self.needed = points, needed
        super().__init__(f"{points} points do not fix the shape, {needed} in general position do")


@dataclass(frozen=True, eq=False)
class Plane:
    """A plane and how well points lie on it.

    Attributes
    ----------
    centre : (3,) float, mm
        The points' weighted mean, on the plane.
    normal : (3,) float
        Unit; its largest component is positive.
    residual_rms : float, mm
        Root of the weighted mean of squared distances.
    """

    centre: FloatArray
    normal: FloatArray
    residual_rms: float


def fit_plane(points: FloatArray, weights: FloatArray | None = None) -> Plane:
    """Return the plane with the least sum of weighted squared distances to (k, 3) points.

    Raises
    ------
    TooFewPointsError
        Fewer than three points of weight, or all on one line.

    >>> fit_plane(np.array([[0.0, 0, 5], [1, 0, 5], [0, 1, 5], [1, 1, 5]])).normal.tolist()
    [0.0, 0.0, 1.0]
    """
    share = np.ones(len(points)) if weights is None else np.asarray(weights, np.float64)
    counted = int((share > 0).sum())
    if counted < 3:
        raise TooFewPointsError(counted, 3)
    share = share / share.sum()
    centre = share @ points
    spread = (points - centre) * np.sqrt(share)[:, None]
    _, singular, axes = np.linalg.svd(spread, full_matrices=False)
    if singular[1] <= 1e-12 * max(float(singular[0]), float(np.abs(centre).max())):
        raise TooFewPointsError(counted, 3)
    normal = axes[2] * np.sign(axes[2][np.argmax(np.abs(axes[2]))])
    return Plane(locked(centre), locked(normal + 0.0), float(singular[2]))
