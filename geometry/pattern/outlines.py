"""Closed lines on the blank: the trim line round the net line, and patches nobody scanned."""

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray, IntArray, locked

_ARC_STEPS_PER_QUARTER = 24
"""Chords of a half-inch corner then lie within 0.007 mm of the arc."""

_THINNING_MM = 0.002
"""Points of the trim line closer to its course than this are left out."""


@dataclass(frozen=True, eq=False)
class Region:
    """A patch of the blank.

    Attributes
    ----------
    outline : (k, 2) float, mm
        Counter-clockwise, the first point not repeated.
    holes : tuple of (j, 2) float, mm
    """

    outline: FloatArray
    holes: tuple[FloatArray, ...] = ()


def trim_outline(net: FloatArray, allowance_mm: float) -> FloatArray | None:
    """Return the line that lies the allowance outside the net line, everywhere.

    Corners are rounded, so no point of it is nearer to or farther from the net than asked. Where
    two parts of the net lie within two allowances of each other the gap closes over.

    Parameters
    ----------
    net : (k, 2) float, mm
        Closed, the first point not repeated.
    allowance_mm : float

    Returns
    -------
    (j, 2) float, mm, or None
        One closed line, counter-clockwise, the first point not repeated; None where the net
        line crosses itself, for then no line is right.

    >>> square = np.array([[0.0, 0], [100, 0], [100, 50], [0, 50]])
    >>> box = trim_outline(square, 12.7)
    >>> [round(float(side), 6) for side in (*box.min(axis=0), *box.max(axis=0))]
    [-12.7, -12.7, 112.7, 62.7]
    """
    shape = shapely.Polygon(net)
    if not shape.is_valid:
        return None
    if allowance_mm <= 0:
        return _open_ring(shape.exterior, counter_clockwise=True)
    # The library thins the line it offsets by a hundredth of the distance; piece by piece it
    # has nothing to thin.
    pieces = shapely.linestrings(np.stack([net, np.roll(net, -1, axis=0)], axis=1))
    around = shapely.buffer(pieces, allowance_mm, quad_segs=_ARC_STEPS_PER_QUARTER)
    grown = shapely.union(shapely.union_all(np.asarray(around, object)), shape)
    outer = shapely.simplify(shapely.polygons(shapely.get_exterior_ring(grown)), _THINNING_MM)
    return _open_ring(shapely.get_exterior_ring(outer), counter_clockwise=True)


def closes_over(net: FloatArray, trim: FloatArray, allowance_mm: float) -> bool:
    """Return whether the trim line bridges a gap in the net that no snips could follow.

    Own derivation: growing by a distance d adds perimeter * d + pi * d^2 to a shape without
    inward corners; a bridged gap leaves spots inside the trim line farther than d from the net.
    """
    shape = shapely.Polygon(net)
    beyond = shapely.Polygon(trim).difference(shape.buffer(allowance_mm * 1.05, quad_segs=16))
    return bool(beyond.area > 1.0)


def patches(flat_vertices: FloatArray, faces: IntArray, chosen: BoolArray) -> tuple[Region, ...]:
    """Return the regions some faces cover on the blank, largest first.

    Parameters
    ----------
    flat_vertices : (n, 2) float, mm
    faces : (m, 3) int
    chosen : (m,) bool
    """
    if not chosen.any():
        return ()
    return as_regions(shapely.union_all(shapely.polygons(flat_vertices[faces[chosen]])))


def as_regions(merged: shapely.Geometry) -> tuple[Region, ...]:
    """Return the polygons of a shape as regions, largest first."""
    parts = [part for part in shapely.get_parts(merged) if part.geom_type == "Polygon"]
    parts.sort(key=lambda part: -part.area)
    return tuple(
        Region(
            _open_ring(part.exterior, counter_clockwise=True),
            tuple(_open_ring(hole, counter_clockwise=False) for hole in part.interiors),
        )
        for part in parts
    )


def _open_ring(ring: shapely.LinearRing, *, counter_clockwise: bool) -> FloatArray:
    """Return the (k, 2) points of a ring once each, starting at the lowest, then leftmost."""
    points = np.array(ring.coords, np.float64)[:-1, :2]
    if bool(shapely.is_ccw(ring)) != counter_clockwise:
        points = points[::-1]
    first = int(np.lexsort((points[:, 0], points[:, 1]))[0])
    return locked(np.ascontiguousarray(np.roll(points, -first, axis=0)))
