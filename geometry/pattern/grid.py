"""Straight lines over the blank: the measuring grid and the centre mark it hangs on."""

import numpy as np
import shapely

from geometry.arrays import FloatArray, locked

_SHORTEST_MM = 1.0


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
