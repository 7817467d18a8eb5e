"""Whether a blank can be trusted: faces past the limit of stability, overlap of far parts."""

import math
from collections.abc import Sequence

import numpy as np
from shapely import area, get_coordinates, get_parts, point_on_surface, polygonize
from shapely.geometry import LinearRing, Polygon
from shapely.ops import polylabel, unary_union

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank.work import Density

PLACING = 0.01
"""How near to the middle of an overlap its place is put, over the root of its area."""

PAIRS_AT_ONCE = 4_000_000


def unsound_faces(stretches: FloatArray, d: Density) -> BoolArray:
    """Return (m,) where the acoustic tensor of the work density is not positive.

    Parameters
    ----------
    stretches : (m, 2) float
        Principal stretches flat over formed, larger first.
    d : Density
        There.

    There the layout could gain by crumpling, so the least work means nothing. Closed form in two
    dimensions. Source: [knowles1976] conditions for ordinary and strong ellipticity.
    """
    s1, s2 = stretches[:, 0], stretches[:, 1]
    p1, p2 = d.first[:, 0], d.first[:, 1]
    p11, p12, p22 = d.second.T
    apart = s1 - s2
    close = apart < 1e-6 * s1
    safe = np.where(close, 1.0, apart)
    flip = np.where(close, p11 - p12, (p1 - p2) / safe)
    shear = np.where(close, (p1 / s1 + p11), (s1 * p1 - s2 * p2) / (safe * (s1 + s2)))
    root = np.sqrt(np.maximum(p11, 0.0) * np.maximum(p22, 0.0))
    sound = (p11 > 0.0) & (p22 > 0.0) & (shear > 0.0)
    sound &= root + p12 + flip > 0.0
    sound &= root - p12 + (p1 + p2) / (s1 + s2) > 0.0
    return np.asarray(~sound)


def overlap(
    flat_vertices: FloatArray, faces: IntArray, loops: Sequence[IntArray]
) -> tuple[float, FloatArray]:
    """Return how much metal is counted twice because far parts of the blank lie on each other.

    Parameters
    ----------
    flat_vertices : (n, 2) float, mm
        No face folded.
    faces : (m, 3) int
    loops : sequence of (k,) int
        Its rims, the outer one first, then holes left open.

    Returns
    -------
    float, mm2
        Sum of the faces' areas less the area they cover: 0 where the rim does not cross itself.
    (2,) float, mm
        Where: a point well inside the largest part of the overlap; not-a-number where there is
        none.

    Where no face is folded the faces on top of each other at a point are as many as the rims run
    round it; so the rims alone, crossed with each other, tell the overlap exactly.
    """
    nowhere = np.full(2, np.nan)
    rings = [flat_vertices[loop] for loop in loops]
    if Polygon(rings[0], rings[1:]).is_valid:
        return 0.0, nowhere
    parts = get_parts(polygonize([unary_union([LinearRing(ring) for ring in rings])]))
    extra = windings(rings, get_coordinates(point_on_surface(parts))) - 1
    parts, extra = parts[extra > 0], extra[extra > 0]
    if not len(parts):
        return 0.0, nowhere
    areas = area(parts)
    largest = parts[int(np.argmax(areas))]
    place = polylabel(largest, PLACING * math.sqrt(float(areas.max())))
    return float(areas @ extra), np.array(place.coords[0])


def windings(rings: Sequence[FloatArray], points: FloatArray) -> IntArray:
    """Return (k,): how often closed rings run counter-clockwise round points that lie on none.

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> windings([square, square, square[::-1] + 0.6], np.array([[0.5, 0.5], [0.7, 0.7], [2, 0.5]]))
    array([2, 1, 0])
    """
    x1, y1 = np.concatenate(rings).T
    x2, y2 = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]).T
    total = np.empty(len(points), np.int64)
    at_once = max(1, PAIRS_AT_ONCE // len(x1))
    for first in range(0, len(points), at_once):
        x, y = points[first : first + at_once].T[:, :, None]
        below, after = y1 <= y, y2 <= y
        which, edge = np.nonzero(below != after)
        px, py = x[which, 0], y[which, 0]
        across = (x1[edge] - px) * (y2[edge] - py) - (y1[edge] - py) * (x2[edge] - px)
        upward = np.where(below[which, edge], 1, -1)
        counted = np.where(across * upward > 0.0, upward, 0)
        total[first : first + at_once] = np.bincount(which, counted, len(x))
    return total
