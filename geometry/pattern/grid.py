"""Straight lines over the blank: the measuring grid, its squares by name, the mark it hangs on."""

import re
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError

_SHORTEST_MM = 1.0
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which read as 1 and 0: common practice, no source."""


class NoSuchSquareError(GeometryError):
    """A name that is no square of a grid.

    Attributes
    ----------
    name : str
        As it was typed.
    last : str
        The square at the far end of columns and rows.
    """

    def __init__(self, name: str, last: str) -> None:
        self.name, self.last = name, last
        super().__init__(f"no square {name!r} in a grid from A1 to {last}")


@dataclass(frozen=True, eq=False)
class NamedGrid:
    """The grid's squares by name: columns by letters from the +u end, rows by numbers from the top.

    Names do not hang on the face the blank is seen from.

    Attributes
    ----------
    centre : (2,) float, mm
        A crossing of its lines.
    side_mm : float
    first : (int, int)
        Column and row, counted from the centre, of the square A1.
    columns, rows : int
        How many there are.
    """

    centre: FloatArray
    side_mm: float
    first: tuple[int, int]
    columns: int
    rows: int

    def column_name(self, column: int) -> str:
        """Return the letters of a column, counted from 0 at the +u end."""
        more, letter = divmod(column, len(_LETTERS))
        return (_LETTERS[more - 1] if more else "") + _LETTERS[letter]

    def name(self, middle: FloatArray) -> str:
        """Return the name of the square that holds a place on the blank."""
        column, row = np.floor((middle - self.centre) / self.side_mm).astype(int).tolist()
        return f"{self.column_name(self.first[0] - column)}{self.first[1] - row + 1}"

    def middle(self, name: str) -> FloatArray:
        """Return the (2,) middle of a square.

        Raises
        ------
        NoSuchSquareError
        """
        found = re.fullmatch(r"([A-Z]{1,2})([1-9]\d{0,3})", name.strip().upper())
        names = {self.column_name(column): column for column in range(self.columns)}
        if found is None or found[1] not in names or int(found[2]) > self.rows:
            raise NoSuchSquareError(name, f"{self.column_name(self.columns - 1)}{self.rows}")
        return self.middle_of(names[found[1]], int(found[2]) - 1)

    def middle_of(self, column: int, row: int) -> FloatArray:
        """Return the (2,) middle of a square, both counted from 0 at A1."""
        at = np.array([self.first[0] - column + 0.5, self.first[1] - row + 0.5])
        return np.asarray(self.centre + self.side_mm * at)


def named_grid(net: FloatArray, centre: FloatArray, side_mm: float) -> NamedGrid:
    """Return the names of the squares that cover a blank.

    >>> net = np.array([[0.0, 0], [60, 0], [60, 60], [0, 60]])
    >>> grid = named_grid(net, np.array([30.0, 30.0]), 25.0)
    >>> grid.name(np.array([31.0, 29.0])), grid.middle("C2").tolist(), grid.columns
    ('B3', [17.5, 42.5], 4)
    """
    low = np.floor((net.min(axis=0) - centre) / side_mm + 1e-9).astype(int)
    high = np.ceil((net.max(axis=0) - centre) / side_mm - 1e-9).astype(int) - 1
    columns, rows = (high - low + 1).tolist()
    return NamedGrid(
        locked(np.array(centre, np.float64)), side_mm, (int(high[0]), int(high[1])), columns, rows
    )


def centre_of(net: FloatArray) -> FloatArray:
    """Return the (2,) balance point of the blank, or, where that falls outside, a point within."""
    shape = shapely.make_valid(shapely.Polygon(net))
    point = shape.centroid if shape.contains(shape.centroid) else shape.representative_point()
    return locked(np.array([point.x, point.y]))


def grid_lines(net: FloatArray, centre: FloatArray, spacing_mm: float) -> tuple[FloatArray, ...]:
    """Return the grid through the centre, clipped to the net: (2, 2) pieces, upright ones first.

    >>> net = np.array([[0.0, 0], [60, 0], [60, 60], [0, 60]])
    >>> len(grid_lines(net, np.array([30.0, 30.0]), 25.0))
    6
    """
    shape = shapely.make_valid(shapely.Polygon(net))
    (low, high) = net.min(axis=0), net.max(axis=0)
    pieces: list[FloatArray] = []
    for axis in (0, 1):
        first = np.ceil((low[axis] - centre[axis]) / spacing_mm)
        last = np.floor((high[axis] - centre[axis]) / spacing_mm)
        for step in np.arange(first, last + 1):
            ends = np.stack([low - 1.0, high + 1.0])
            ends[:, axis] = centre[axis] + step * spacing_mm
            clipped = shape.intersection(shapely.LineString(ends))
            for part in shapely.get_parts(clipped):
                if part.geom_type == "LineString" and part.length >= _SHORTEST_MM:
                    pieces.append(locked(np.array(part.coords, np.float64)))
    return tuple(pieces)
