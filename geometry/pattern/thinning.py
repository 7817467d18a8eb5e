"""How thin the finished panel gets: the thinnest place, and where metal falls below a least."""

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import FloatArray, IntArray, locked
from geometry.pattern.contours import flat_areas, vertex_average
from geometry.pattern.outlines import Region, as_regions
from geometry.pattern.sources import FlatSheet

UNTOUCHED = 0.997
"""A thickness ratio above this is the sheet's own: 0.005 mm of 1.6 mm cannot be measured."""

SPECK_MM2 = 20.0
"""Smaller regions are left out, unless the thinnest place lies in one."""


@dataclass(frozen=True, eq=False)
class ThinMark:
    """The thinnest place of a finished panel.

    Attributes
    ----------
    place : (2,) float, mm
        On the blank, seen from outside.
    ratio : float
        Its thickness over the sheet's.
    """

    place: FloatArray
    ratio: float


def thickness_at_vertices(flat: FlatSheet) -> FloatArray:
    """Return the (n,) thickness over the sheet's, averaged round each vertex by blank area.

    Metal keeps its volume: what both stretches make wider gets thinner by their product.
    """
    ratios = 1.0 / flat.stretches.prod(axis=1)
    areas = flat_areas(flat.flat_vertices, flat.faces)
    return vertex_average(ratios, areas, flat.faces, len(flat.flat_vertices))


def thinnest_place(flat: FlatSheet) -> ThinMark | None:
    """Return the thinnest place, or None where nothing gets thinner than the sheet."""
    thickness = thickness_at_vertices(flat)
    at = int(np.argmin(thickness))
    if thickness[at] > UNTOUCHED:
        return None
    return ThinMark(locked(flat.flat_vertices[at].copy()), float(thickness[at]))


def thin_regions(flat: FlatSheet, least_ratio: float) -> tuple[Region, ...]:
    """Return where the finished panel is thinner than a least, largest region first.

    Thickness runs evenly across each triangle between its corners' values, so that outlines follow
    the level and not the triangles.

    Parameters
    ----------
    flat : FlatSheet
    least_ratio : float
        The least thickness over the sheet's.
    """
    thickness = thickness_at_vertices(flat)
    below = thickness[flat.faces] < least_ratio
    pieces = [shapely.Polygon(flat.flat_vertices[face]) for face in flat.faces[below.all(axis=1)]]
    pieces += [
        _below_in_face(flat.flat_vertices, thickness, face, least_ratio)
        for face in flat.faces[below.any(axis=1) & ~below.all(axis=1)]
    ]
    if not pieces:
        return ()
    merged = shapely.union_all(pieces)
    lowest = shapely.Point(flat.flat_vertices[int(np.argmin(thickness))])
    kept = [
        part
        for part in shapely.get_parts(merged)
        if part.area >= SPECK_MM2 or part.distance(lowest) < 1e-5
    ]
    return as_regions(shapely.MultiPolygon([part for part in kept if part.area > 0.0]))


def _below_in_face(
    places: FloatArray, values: FloatArray, face: IntArray, level: float
) -> shapely.Polygon:
    """Return the part of a triangle below a level."""
    ring: list[FloatArray] = []
    for one, two in zip(face.tolist(), np.roll(face, -1).tolist(), strict=True):
        if values[one] < level:
            ring.append(places[one])
        if (values[one] < level) != (values[two] < level):
            first, second = sorted((one, two))  # the same crossing from both sides of an edge
            part = (level - values[first]) / (values[second] - values[first])
            ring.append(places[first] + part * (places[second] - places[first]))
    return shapely.Polygon(ring)
