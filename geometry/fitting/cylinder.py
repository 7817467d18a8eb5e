"""The round cylinder nearest to points, as of a scanned frame tube."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from geometry.arrays import FloatArray, locked
from geometry.fitting.plane import TooFewPointsError

_NEEDED = 5
_FIRST_TRY = 400
"""So many points choose the start; all of them the end."""


@dataclass(frozen=True, eq=False)
class Cylinder:
    """A round cylinder and how well points lie on it.

    Attributes
    ----------
    start, end : (3,) float, mm
        On the axis, as far as the points reach either way.
    radius : float, mm
    residual_rms : float, mm
        Root of the mean squared distance from the points to the cylinder.
    seen_rad : float
        How much of the way round the points lie on; a full turn is 2 pi.
    """

    start: FloatArray
    end: FloatArray
    radius: float
    residual_rms: float
    seen_rad: float

    def __post_init__(self) -> None:
        locked(self.start)
        locked(self.end)

    @property
    def direction(self) -> FloatArray:
        """(3,) unit, from start to end."""
        along = self.end - self.start
        return np.asarray(along / np.linalg.norm(along))


def fit_cylinder(points: FloatArray, normals: FloatArray | None = None) -> Cylinder:
    """Return the round cylinder with the least squared distances to points.

    Parameters
    ----------
    points : (k, 3) float, mm
        Five or more, not all on one line or plane.
    normals : (k, 3) float, optional
        Square to the surface at the points, of any sign: the axis is then sure even where the
        points cover a short piece or less than half of the way round.

    Raises
    ------
    TooFewPointsError
        Too few points, or all on one plane.

    Source: own derivation: distances made least by Levenberg-Marquardt from several first axes.

    >>> turn = np.linspace(0.0, 3.0, 12)
    >>> ring = np.column_stack([9.0 * np.cos(turn), 9.0 * np.sin(turn), 0.0 * turn])
    >>> fitted = fit_cylinder(np.concatenate([ring, ring + [0.0, 0.0, 40.0]]))
    >>> round(fitted.radius, 6), np.round(np.abs(fitted.direction), 6).tolist()
    (9.0, [0.0, 0.0, 1.0])
    """
    if len(points) < _NEEDED:
        raise TooFewPointsError(len(points), _NEEDED)
    middle = points.mean(axis=0)
    away = points - middle
    _, singular, ways = np.linalg.svd(away, full_matrices=False)
    if singular[2] <= 1e-9 * singular[0]:
        raise TooFewPointsError(len(points), _NEEDED)
    size = float(singular[0] / np.sqrt(len(points)))
    few = away[:: max(1, len(away) // _FIRST_TRY)] / size
    first = [_settled(few, axis) for axis in _first_axes(ways, normals)]
    axis, centre, _, _ = min(first, key=lambda fit: fit[3])
    axis, centre, radius, _ = _settled(away / size, axis, centre)
    return _described(points, axis, middle + size * centre, size * radius)


def _first_axes(ways: FloatArray, normals: FloatArray | None) -> FloatArray:
    """Return axes to begin from: those of the points, and what normals are square to."""
    tilted = [ways[0] + ways[1], ways[0] - ways[1], ways[1] + ways[2], ways[1] - ways[2]]
    found = [*ways, *tilted]
    if normals is not None:
        found = [np.linalg.svd(normals, full_matrices=False)[2][2]]
    return np.array([axis / np.linalg.norm(axis) for axis in found])


def _settled(
    points: FloatArray, axis: FloatArray, centre: FloatArray | None = None
) -> tuple[FloatArray, FloatArray, float, float]:
    """Return axis, a place on it, radius and mean squared distance at the least nearby."""
    across = _square_to(axis)
    flat = points @ across.T
    begun = _circle(flat) if centre is None else across @ centre
    radius = float(np.linalg.norm(flat - begun, axis=1).mean())

    def placed(values: FloatArray) -> tuple[FloatArray, FloatArray]:
        turned = axis + values[0] * across[0] + values[1] * across[1]
        return turned / np.linalg.norm(turned), values[2] * across[0] + values[3] * across[1]

    def off(values: FloatArray) -> FloatArray:
        way, place = placed(values)
        return np.asarray(np.linalg.norm(np.cross(points - place, way), axis=1) - values[4])

    start = np.array([0.0, 0.0, *begun, radius])
    found = least_squares(off, start, method="trf", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    way, place = placed(found.x)
    return way, place, float(abs(found.x[4])), float((found.fun**2).mean())


def _square_to(axis: FloatArray) -> FloatArray:
    """Return (2, 3) unit rows square to an axis and to each other."""
    side = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    side = side / np.linalg.norm(side)
    return np.stack([side, np.cross(axis, side)])


def _circle(flat: FloatArray) -> FloatArray:
    """Return the middle of the circle through flat points, by the equation linear in it."""
    rows = np.column_stack([2.0 * flat, np.ones(len(flat))])
    return np.asarray(np.linalg.lstsq(rows, (flat**2).sum(axis=1), rcond=None)[0][:2])


def _described(points: FloatArray, axis: FloatArray, place: FloatArray, radius: float) -> Cylinder:
    """Return the cylinder with its reach, its larger component of direction positive."""
    axis = axis * np.sign(axis[np.argmax(np.abs(axis))])
    along = (points - place) @ axis
    outward = (points - place) - along[:, None] * axis
    off = np.linalg.norm(outward, axis=1) - radius
    turn = np.sort(np.arctan2(*(_square_to(axis) @ outward.T)))
    widest = float(np.diff(np.append(turn, turn[0] + 2.0 * np.pi)).max())
    return Cylinder(
        start=place + float(along.min()) * axis,
        end=place + float(along.max()) * axis,
        radius=radius,
        residual_rms=float(np.sqrt((off**2).mean())),
        seen_rad=2.0 * np.pi - widest,
    )
