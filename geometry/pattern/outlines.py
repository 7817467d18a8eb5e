"""Closed lines on the blank, and patches of it: those nobody scanned, those that get thin."""

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray, IntArray, locked


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
            open_ring(part.exterior, counter_clockwise=True),
            tuple(open_ring(hole, counter_clockwise=False) for hole in part.interiors),
        )
        for part in parts
    )


def open_ring(ring: shapely.LinearRing, *, counter_clockwise: bool) -> FloatArray:
    """Return the (k, 2) points of a ring once each, starting at the lowest, then leftmost."""
    points = np.array(ring.coords, np.float64)[:-1, :2]
    if bool(shapely.is_ccw(ring)) != counter_clockwise:
        points = points[::-1]
    first = int(np.lexsort((points[:, 0], points[:, 1]))[0])
    return locked(np.ascontiguousarray(np.roll(points, -first, axis=0)))
