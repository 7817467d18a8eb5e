"""Whether a blank can be trusted: faces past the limit of stability, overlap of far parts."""

from collections.abc import Sequence

import numpy as np
from shapely import STRtree, area, polygons, union_all
from shapely.geometry import Polygon

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank.work import Density


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
        Where: the middle of the overlap; not-a-number where there is none.
    """
    outline = Polygon(flat_vertices[loops[0]], [flat_vertices[loop] for loop in loops[1:]])
    if outline.is_valid:
        return 0.0, np.full(2, np.nan)
    triangles = polygons(flat_vertices[faces])
    covered = union_all(triangles)
    doubled = float(area(triangles).sum() - covered.area)
    if doubled <= 1e-9 * covered.area:
        return 0.0, np.full(2, np.nan)
    return doubled, _doubled_place(flat_vertices, faces)


def _doubled_place(flat_vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return the mean middle of faces that lie on a face they share no vertex with."""
    triangles = [Polygon(corners) for corners in flat_vertices[faces]]
    one, two = STRtree(triangles).query(triangles, predicate="overlaps")
    strangers = ~(faces[one][:, :, None] == faces[two][:, None, :]).any(axis=(1, 2))
    hit = np.unique(one[strangers])
    return flat_vertices[faces[hit]].mean(axis=(0, 1)) if len(hit) else np.full(2, np.nan)
