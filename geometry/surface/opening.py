"""`Opening`: a hole in the skin (filler, marker, shadow), measured along its rim."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.fitting import Circle, TooFewPointsError, fit_circle

_ROUND_WITHIN_MM = 0.5
_ROUND_WITHIN_SHARE = 0.04
_ROUND_LENGTH_WITHIN = 0.2


@dataclass(frozen=True, eq=False)
class Opening:
    """A hole in the skin, as large as its rim.

    Attributes
    ----------
    outline : (k, 3) float, mm
        The rim, counter-clockwise seen from outside; the first point is not repeated.
    centre : (3,) float, mm
        Of the circle nearest to the outline.
    normal : (3,) float
        Unit, outward.
    diameter_mm : float
        Of that circle.
    roundness_mm : float
        Farthest less nearest distance of the outline from the centre, in the circle's plane.
    is_round : bool
        Whether the outline goes round, within 4 % of its diameter, or 0.5 mm, of that circle.
    """

    outline: FloatArray
    centre: FloatArray
    normal: FloatArray
    diameter_mm: float
    roundness_mm: float
    is_round: bool


def opening_within(outline: FloatArray) -> Opening:
    """Return the opening whose rim is (k, 3) points, counter-clockwise seen from outside.

    >>> square = np.array([[1.0, 1, 0], [-1, 1, 0], [-1, -1, 0], [1, -1, 0]])
    >>> found = opening_within(square)
    >>> found.normal.tolist(), round(found.diameter_mm, 9)
    ([0.0, 0.0, 1.0], 2.828427125)
    """
    around = _area_vector(outline)
    try:
        circle = fit_circle(outline)
    except TooFewPointsError:  # a slit: all of its rim on one line
        length = float(np.linalg.norm(np.ptp(outline, axis=0)))
        return Opening(
            locked(outline.copy()),
            locked(outline.mean(axis=0)),
            locked(around),
            length,
            length,
            False,
        )
    outward = circle.normal if circle.normal @ around >= 0.0 else -circle.normal
    allowed = max(_ROUND_WITHIN_MM, _ROUND_WITHIN_SHARE * 2.0 * circle.radius)
    return Opening(
        outline=locked(outline.copy()),
        centre=circle.centre,
        normal=locked(outward + 0.0),
        diameter_mm=2.0 * circle.radius,
        roundness_mm=circle.roundness,
        is_round=len(outline) >= 6 and circle.roundness <= allowed and _goes_round(outline, circle),
    )


def _goes_round(outline: FloatArray, circle: Circle) -> bool:
    """Return whether the outline is about as long as the circle: an arc there and back is not."""
    step = np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1)
    around = 2.0 * np.pi * circle.radius
    return bool(abs(step.sum() - around) < _ROUND_LENGTH_WITHIN * around)


def _area_vector(outline: FloatArray) -> FloatArray:
    """Return the unit normal of a closed outline that encloses the most area."""
    away = outline - outline.mean(axis=0)
    total = np.cross(away, np.roll(away, -1, axis=0)).sum(axis=0)
    length = float(np.linalg.norm(total))
    return total / length if length > 0 else np.array([0.0, 0.0, 1.0])
