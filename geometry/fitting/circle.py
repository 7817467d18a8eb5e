"""The circle in space nearest to points, as of a filler hole's rim."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.fitting.plane import TooFewPointsError, fit_plane

_MAX_ITERATIONS = 100


@dataclass(frozen=True, eq=False)
class Circle:
    """A circle and how well points lie on it.

    Attributes
    ----------
    centre : (3,) float, mm
    normal : (3,) float
        Unit normal of the circle's plane; its largest component is positive.
    radius : float, mm
    residual_rms : float, mm
        Root of the mean squared distance from the points to the circle.
    roundness : float, mm
        Farthest less nearest distance from the centre, in the plane.
    """

    centre: FloatArray
    normal: FloatArray
    radius: float
    residual_rms: float
    roundness: float


def fit_circle(points: FloatArray) -> Circle:
    """Return the circle in the points' own plane with the least squared distances to them.

    Parameters
    ----------
    points : (k, 3) float, mm
        At least three; the plane is fitted first.

    Raises
    ------
    TooFewPointsError
        Fewer than three points, or all on one line.

    Source: own derivation: algebraic start, then Gauss-Newton on the distances.

    >>> circle = fit_circle(np.array([[2.0, 0, 1], [0, 2, 1], [-2, 0, 1], [0, -2, 1]]))
    >>> round(circle.radius, 9), circle.normal.tolist()
    (2.0, [0.0, 0.0, 1.0])
    """
    plane = fit_plane(points)
    away = points - plane.centre
    _, _, axes = np.linalg.svd(away, full_matrices=False)
    flat = away @ axes[:2].T
    centre, radius = _circle_in_plane(flat)
    distance = np.linalg.norm(flat - centre, axis=1)
    out_of_plane = away @ plane.normal
    residual = np.sqrt(((distance - radius) ** 2 + out_of_plane**2).mean())
    return Circle(
        centre=locked(plane.centre + centre @ axes[:2]),
        normal=plane.normal,
        radius=radius,
        residual_rms=float(residual),
        roundness=float(np.ptp(distance)),
    )


def _circle_in_plane(flat: FloatArray) -> tuple[FloatArray, float]:
    """Return centre (2,) and radius of the circle through (k, 2) points, by distance."""
    scale = float(np.sqrt((flat**2).sum(axis=1).mean()))
    places = flat / scale
    rows = np.column_stack([2.0 * places, np.ones(len(places))])
    found, _, rank, _ = np.linalg.lstsq(rows, (places**2).sum(axis=1), rcond=1e-10)
    if rank < 3:
        raise TooFewPointsError(len(flat), 3)
    x, y = found[:2]
    r = np.sqrt(max(found[2] + x * x + y * y, 0.0))
    for _ in range(_MAX_ITERATIONS):
        away = places - (x, y)
        distance = np.maximum(np.linalg.norm(away, axis=1), 1e-12)
        rows = np.column_stack([away / distance[:, None], np.ones(len(places))])
        step = np.linalg.lstsq(rows, distance - r, rcond=None)[0]
        x, y, r = x + step[0], y + step[1], r + step[2]
        if np.abs(step).max() < 1e-14 * max(1.0, abs(r)):
            break
    return np.array([x, y]) * scale, float(r * scale)
