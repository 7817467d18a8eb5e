"""One hand of a tank made into both: cut at the centre plane, calmed there, turned over, joined.

Both halves share the vertices on the plane, so no step can be left; what could be left is a kink.
Near the plane the hand kept is led over into the mean of both hands, and the mean meets its own
mirror image at the very angle the scan has there: none, on a smooth tank.
"""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.datum.centre_plane import CentrePlane
from geometry.datum.copy_body import Body, cut_off_below, rim_sides, together
from geometry.datum.left_right_skin import Skin, standing_out
from geometry.mesh import typical_edge_length, vertex_normals
from geometry.progress import Report, silent

_SNAPPED_SHARE = 0.15
_LEAST_SQUARE = 0.5
_FADES_MM = 40.0


def smooth_rise(along: FloatArray) -> FloatArray:
    """Return a rise from 0 to 1, level at both ends in slope and bend.

    >>> smooth_rise(np.array([-1.0, 0.0, 0.5, 1.0, 2.0])).tolist()
    [0.0, 0.0, 0.5, 1.0, 1.0]
    """
    t = np.clip(along, 0.0, 1.0)
    return np.asarray(t**3 * (10.0 - 15.0 * t + 6.0 * t**2))


def led_into_mean(
    body: Body,
    skin: Skin,
    plane: CentrePlane,
    *,
    blend_mm: float,
    report: Report = silent,
) -> Body:
    """Return the body with both hands led into their mean near the plane.

    All of the way at the plane, not at all `blend_mm` from it. Where nothing faces a place it
    follows the nearest that is faced, less and less the farther that is.
    """
    away = np.abs(plane.off(body.vertices))
    near = np.flatnonzero(away < blend_mm)
    normals = vertex_normals(body.vertices, body.faces)[near]
    found = standing_out(skin, skin.mirrored(plane), body.vertices[near], normals, report=report)
    share = 0.5 * (1.0 - smooth_rise(away[near] / blend_mm))
    vertices = body.vertices.copy()
    vertices[near] -= (share * carried_on(vertices[near], found.value))[:, None] * normals
    return body.moved(vertices)


def carried_on(places: FloatArray, values: FloatArray) -> FloatArray:
    """Return values with those that are nan taken from the nearest that is not, fading with it."""
    known = np.isfinite(values)
    if not known.any():
        return np.zeros(len(values))
    away, nearest = cKDTree(places[known]).query(places)
    return np.asarray(values[known][nearest] * (1.0 - smooth_rise(np.asarray(away) / _FADES_MM)))


def both_from_one(body: Body, plane: CentrePlane, hand: float) -> Body:
    """Return what lies on one hand (+1 left, -1 right) and its image, joined at the plane."""
    body, off = _slid_on_to(body, plane)
    half, at_plane = cut_off_below(body, hand * off)
    vertices = half.vertices.copy()
    vertices[at_plane] -= plane.off(vertices[at_plane])[:, None] * plane.normal
    half = half.moved(vertices)
    shared = _shared(half, at_plane)
    both = together(half, half.on_other_hand(plane))
    number = np.arange(len(both.vertices))
    number[len(vertices) :][shared] = np.flatnonzero(shared)
    joined = Body(both.vertices, number[both.faces], both.scan_face, both.copied, both.guessed)
    return joined.part(np.arange(len(joined.faces)))


def _slid_on_to(body: Body, plane: CentrePlane) -> tuple[Body, FloatArray]:
    """Slide vertices that are nearly on the plane along the skin on to it; return how far all are.

    Cutting beside them would leave slivers. Not where the skin runs along the plane.
    """
    off = plane.off(body.vertices)
    near = np.abs(off) < _SNAPPED_SHARE * typical_edge_length(body.mesh)
    normals = vertex_normals(body.vertices, body.faces)[near]
    square = normals @ plane.normal
    along = plane.normal - square[:, None] * normals
    climb = 1.0 - square**2
    slides = climb > _LEAST_SQUARE
    rows = np.flatnonzero(near)[slides]
    vertices = body.vertices.copy()
    vertices[rows] -= (off[rows] / climb[slides])[:, None] * along[slides]
    off[rows] = 0.0
    return body.moved(vertices), off


def _shared(half: Body, at_plane: BoolArray) -> BoolArray:
    """Return which vertices of a half are those of its mirror image too: ends of rims there.

    Not where an edge that is no rim lies in the plane as well: four faces would meet at it.
    """
    sides = rim_sides(half.faces)
    joint = sides[at_plane[sides].all(axis=1)]
    shared = np.zeros(len(half.vertices), bool)
    shared[joint] = True
    every: IntArray = np.stack([half.faces, np.roll(half.faces, -1, axis=1)], 2).reshape(-1, 2)
    inside = every[shared[every].all(axis=1)]
    size = len(half.vertices)
    on_rim = np.isin(
        inside.min(axis=1) * size + inside.max(axis=1), joint.min(axis=1) * size + joint.max(axis=1)
    )
    shared[inside[~on_rim]] = False
    return shared
