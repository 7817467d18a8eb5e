"""Measured stations told as a character line: radius, opening, height, and how sure it is."""

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.surface.character.fit import LEFT, RIGHT, SQUARED, heights
from geometry.surface.character.line import CharacterLine
from geometry.surface.character.stations import Measured
from geometry.surface.locked import smoothed_along

_HEIGHT_MM = 10.0
_CALM_STATIONS = 2.0
_LEAST_ERROR = 1e-3
_LEAST_WIDTH_MM = 0.2
_USUAL_LENGTH_MM, _USUAL_STANDS_OUT = 15.0, 6.0


def told(measured: Measured, kind: int, places: FloatArray | None = None) -> CharacterLine:
    """Return the line that stations show, values where none is good taken from beside.

    Parameters
    ----------
    measured : Measured
    kind : int
    places : (k, 3) float, optional
        Where the line is to run instead of along the tips.
    """
    numbers, closed = measured.numbers, measured.course.closed
    good = measured.good.astype(np.float64) + 1e-9

    def calm(values: FloatArray, error: FloatArray) -> FloatArray:
        counts = good / np.maximum(error, _LEAST_ERROR) ** 2
        total = smoothed_along(values * counts, _CALM_STATIONS, closed=closed)
        return np.asarray(total / smoothed_along(counts, _CALM_STATIONS, closed=closed))

    turn = np.abs(np.arctan(numbers[:, LEFT]) - np.arctan(numbers[:, RIGHT]))
    even = np.ones(len(numbers))
    half = np.sin(turn / 2.0)
    squared_error = np.hypot(measured.error[:, SQUARED], (_LEAST_WIDTH_MM / half) ** 2)
    radius = np.sqrt(calm(numbers[:, SQUARED], squared_error))
    columns = [
        measured.course.places if places is None else places,
        radius,
        np.pi - calm(turn, measured.turn_error),
        calm(_heights(measured), even),
    ]
    if closed:
        columns = [np.concatenate([column, column[:1]]) for column in columns]
    points, radius, opening, height = (locked(np.ascontiguousarray(c)) for c in columns)
    return CharacterLine(
        points=points,
        radius_mm=radius,
        opening_rad=opening,
        height_mm=height,
        standing="ridge" if kind == 0 else "valley",
        confidence=confidence(measured),
        is_closed=closed,
    )


def confidence(measured: Measured) -> float:
    """Return how sure it is that stations show a line, 0 to 1.

    The product of three shares: of the stations that show one; 1 - exp(-z / 6), z being by how many
    standard errors the flanks turn more than a smooth curve would, the middle one of all stations;
    and 1 - exp(-l / 15), l the length that shows a line, mm. Own rule, no source.
    """
    share = float(measured.good.mean())
    stands_out = float(np.median(measured.stands_out))
    length = float(measured.good.sum()) * measured.course.step_mm
    sure = 1.0 - np.exp(-stands_out / _USUAL_STANDS_OUT)
    return float(share * sure * (1.0 - np.exp(-length / _USUAL_LENGTH_MM)))


def _heights(measured: Measured) -> FloatArray:
    """Return how far tips stand over the straights that join their flanks."""
    numbers = measured.numbers
    left = np.maximum(measured.flank[:, 0], -_HEIGHT_MM)
    right = np.minimum(measured.flank[:, 1], _HEIGHT_MM)
    across = np.stack([left, np.zeros(len(left)), right], axis=1)
    z = heights(numbers, across)[0]
    wide = np.maximum(right - left, 1e-9)
    slope = (z[:, 2] - z[:, 0]) / wide
    over = z[:, 1] - (z[:, 0] - slope * left)
    return np.asarray(over / np.hypot(1.0, slope))
