"""Readings of grid squares on the worked metal: how far the metal has been moved there.

The grid drawn on the blank is a known square. Its four sides and two diagonals, read on the
formed panel, tell its metric, and that the two principal stretches and their direction.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.mesh import NearestPoint, TriMesh
from geometry.pattern.grid import NamedGrid, named_grid
from geometry.pattern.pattern import Pattern
from geometry.pattern.sources import FlatSheet

Laid = Literal["over", "straight"]
"""A soft tape laid over the metal, or dividers set from corner to corner."""

ROUNDED_MM = 0.25
"""What dividers and a steel rule are read to."""

_PIECES = 16
_MOST_STRETCH = 2.0
_LEAST_STRETCH = 0.5


class BadReadingError(GeometryError):
    """A reading that no worked square can have: typed wrong, or another square was read.

    Attributes
    ----------
    square : str
    reading_mm : float
    side_mm : float
        Of the squares on the blank.
    """

    def __init__(self, square: str, reading_mm: float, side_mm: float) -> None:
        self.square, self.reading_mm, self.side_mm = square, reading_mm, side_mm
        super().__init__(f"square {square}: {reading_mm:g} mm read on a square of {side_mm:g} mm")


@dataclass(frozen=True)
class SquareReading:
    """What was read of one square.

    Attributes
    ----------
    square : str
        Its name, as "C4".
    along_mm : one or two floats
        The sides along a row: the one nearer row 1, then the other; or one for both.
    across_mm : one or two floats
        The sides along a column: the one nearer column A, then the other; or one for both.
    diagonals_mm : two floats or None
        From the corner nearest A1 to the one opposite, then the other; None where the square
        kept its right angles.
    """

    square: str
    along_mm: tuple[float, ...]
    across_mm: tuple[float, ...]
    diagonals_mm: tuple[float, float] | None = None

    @property
    def every_mm(self) -> tuple[float, ...]:
        """All readings."""
        return (*self.along_mm, *self.across_mm, *(self.diagonals_mm or ()))

    def check(self, side_mm: float) -> None:
        """Refuse a reading that cannot be of a square of this side, whichever it is.

        Raises
        ------
        BadReadingError
        """
        if not all(len(sides) in (1, 2) for sides in (self.along_mm, self.across_mm)):
            raise ValueError("a square has one reading for two sides, or two")
        pairs = [(one, side_mm) for one in (*self.along_mm, *self.across_mm)]
        pairs += [(one, np.sqrt(2.0) * side_mm) for one in self.diagonals_mm or ()]
        for length, flat_length in pairs:
            if not _LEAST_STRETCH * flat_length <= length <= _MOST_STRETCH * flat_length:
                raise BadReadingError(self.square, length, side_mm)


@dataclass(frozen=True, eq=False)
class SquareStretch:
    """What readings of one square tell.

    Attributes
    ----------
    square : str
    middle : (2,) float, mm
        On the blank.
    stretches : (2,) float
        Formed over flat, larger first, as read.
    direction_rad : float
        Of the larger one on the blank, from +u to the left seen from outside, in (-pi/2, pi/2].
    unsure : (2,) float
        How far rounding of the readings can have moved each stretch at most.
    asked : (2,) float
        What the pattern asks of the same square, larger first.
    asked_direction_rad : float
    """

    square: str
    middle: FloatArray
    stretches: FloatArray
    direction_rad: float
    unsure: FloatArray
    asked: FloatArray
    asked_direction_rad: float

    @property
    def thickness(self) -> float:
        """What is left of the sheet there, over its thickness: volume is kept."""
        return float(1.0 / self.stretches.prod())


def readings_result(
    flat: FlatSheet,
    pattern: Pattern,
    readings: Iterable[SquareReading],
    *,
    laid: Laid = "over",
    rounded_mm: float = ROUNDED_MM,
) -> tuple[SquareStretch, ...]:
    """Return what readings of squares tell, beside what the pattern asks there.

    Parameters
    ----------
    flat : FlatSheet
        What the pattern was dressed from.
    pattern : Pattern
        Marked out: its grid is the one read.
    readings : iterable of SquareReading
    laid : {"over", "straight"}
        Straight readings are lengthened by as much as the pattern's own square is longer over the
        metal than straight across.
    rounded_mm : float
        What readings are rounded to; only for what rounding leaves.

    Raises
    ------
    NoSuchSquareError, BadReadingError
    """
    grid = named_grid(pattern.net, pattern.centre, pattern.grid_mm)
    carried = _Carried(flat)
    return tuple(_told(carried, grid, reading, laid, rounded_mm) for reading in readings)


def _told(
    carried: "_Carried", grid: NamedGrid, reading: SquareReading, laid: Laid, rounded_mm: float
) -> SquareStretch:
    middle, side = grid.middle(reading.square), grid.side_mm
    reading.check(side)
    over, straight = carried.square(middle, side)
    asked, asked_way = principal(_metric(_RUNS, over / side))
    longer = over / straight if laid == "straight" else np.ones(6)
    runs, lengths = _listed(reading, longer)
    stretches, way = principal(_metric(runs, lengths / side))
    return SquareStretch(
        square=grid.name(middle),
        middle=locked(middle),
        stretches=locked(stretches),
        direction_rad=way,
        unsure=locked(_unsure(runs, lengths / side, rounded_mm / 2.0 / side)),
        asked=locked(asked),
        asked_direction_rad=asked_way,
    )


_RUNS = np.array([[1.0, 0, 0]] * 2 + [[0.0, 0, 1]] * 2 + [[1.0, 2, 1], [1.0, -2, 1]])
"""What each length squared is of E, F, G: two sides along, two across, two diagonals."""


def _listed(reading: SquareReading, longer: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the (k, 3) rows and (k,) lengths of all readings, as a soft tape would read them."""
    runs, lengths = [], []
    for first, given in ((0, reading.along_mm), (2, reading.across_mm)):
        for number, length in enumerate(given):
            ratio = longer[first + number] if len(given) == 2 else longer[first : first + 2].mean()
            runs.append(_RUNS[first])
            lengths.append(length * float(ratio))
    for number, length in enumerate(reading.diagonals_mm or ()):
        runs.append(_RUNS[4 + number])
        lengths.append(length * float(longer[4 + number]))
    return np.array(runs), np.array(lengths)


def _metric(runs: FloatArray, lengths: FloatArray) -> FloatArray:
    """Return E, F, G by least squares.

    An error of a length comes twice the length in its square: rows are weighed by that.
    """
    weight = 1.0 / (2.0 * lengths) ** 2
    matrix = runs.T @ (runs * weight[:, None])
    if not matrix[1, 1]:
        matrix[1, 1] = 1.0  # right angles kept: F is 0
    return np.asarray(np.linalg.solve(matrix, runs.T @ (lengths**2 * weight)), np.float64)


def principal(metric: FloatArray) -> tuple[FloatArray, float]:
    """Return the (2,) principal stretches of a metric E, F, G, and the direction of the larger.

    >>> stretches, way = principal(np.array([1.1**2, 0.0, 0.9**2]))
    >>> stretches.round(6).tolist(), way
    ([1.1, 0.9], 0.0)
    """
    along, slant, across = metric.tolist()
    half_sum, half_gap = (along + across) / 2.0, (along - across) / 2.0
    root = np.hypot(half_gap, slant)
    stretches = np.sqrt(np.maximum([half_sum + root, half_sum - root], 1e-12))
    return stretches, float(np.arctan2(slant, half_gap) / 2.0)


def _unsure(runs: FloatArray, lengths: FloatArray, off: float) -> FloatArray:
    """Return the (2,) sum of what each reading's rounding moves the stretches by, to first order.

    No rounding can do worse.
    """
    middle = principal(_metric(runs, lengths))[0]
    moved = np.zeros(2)
    for row in range(len(lengths)):
        other = lengths.copy()
        other[row] += off
        moved += np.abs(principal(_metric(runs, other))[0] - middle)
    return moved


class _Carried:
    """Squares of the blank as they lie on the formed panel."""

    def __init__(self, flat: FlatSheet) -> None:
        self._flat = flat
        raised = np.pad(flat.flat_vertices, ((0, 0), (0, 1)))
        self._nearest = NearestPoint(TriMesh(raised, flat.faces))

    def square(self, middle: FloatArray, side: float) -> tuple[FloatArray, FloatArray]:
        """Return the six lengths of a square over the metal, and straight, mm."""
        lines = self.formed(square_lines(middle, side))
        steps = np.linalg.norm(np.diff(lines, axis=1), axis=2).sum(axis=1)
        return np.asarray(steps), np.asarray(np.linalg.norm(lines[:, -1] - lines[:, 0], axis=1))

    def formed(self, lines: FloatArray) -> FloatArray:
        """Return (c, k, 2) places on the blank as (c, k, 3) on the formed panel."""
        found = self._nearest.find(np.pad(lines.reshape(-1, 2), ((0, 0), (0, 1))))
        corners = self._flat.vertices[self._flat.faces[found.faces]]
        places = np.einsum("kc,kcd->kd", found.barycentric, corners)
        return np.asarray(places.reshape(*lines.shape[:2], 3))


def square_lines(middle: FloatArray, side: float) -> FloatArray:
    """Return the (6, k, 2) lines that are read of a square, in the order of a reading."""
    half = side / 2.0
    ends = half * np.array(
        [
            [[1, 1], [-1, 1]],
            [[1, -1], [-1, -1]],
            [[1, 1], [1, -1]],
            [[-1, 1], [-1, -1]],
            [[1, 1], [-1, -1]],
            [[1, -1], [-1, 1]],
        ]
    )
    part = np.linspace(0.0, 1.0, _PIECES + 1)[None, :, None]
    return np.asarray(middle + ends[:, :1] + part * (ends[:, 1:] - ends[:, :1]))


def formed_readings(
    flat: FlatSheet, pattern: Pattern, squares: Sequence[str]
) -> tuple[SquareReading, ...]:
    """Return what squares read, over the metal, on a panel formed just as the pattern asks."""
    grid = named_grid(pattern.net, pattern.centre, pattern.grid_mm)
    carried = _Carried(flat)
    found = []
    for square in squares:
        lengths, _ = carried.square(grid.middle(square), grid.side_mm)
        a, b, c, d, e, f = lengths.tolist()
        found.append(SquareReading(square, (a, b), (c, d), (e, f)))
    return tuple(found)
