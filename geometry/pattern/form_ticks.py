"""Where the blank lies in the form: ticks that meet along the rim, a middle, the deepest place.

Ticks stand at round lengths along the formed edge, where a tape lies on the form's rim; on the
blank the same ticks stand wherever the metal that goes there is now.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import FloatArray, locked
from geometry.fitting import fit_plane
from geometry.mesh import TriMesh, face_areas, face_middles, face_normals, section
from geometry.pattern.edges import PatternEdge
from geometry.pattern.pattern import Pattern, carried_points
from geometry.pattern.sources import FlatSheet
from geometry.polyline import lengths_along

_LEAST_SPACE = 0.4
"""A tick nearer to the edge's end than this part of the spacing is left out."""

_APART_MM = 1e-3
_ALIKE_MM = 0.05
_FITTED_MM = 12.0
_FITTED_BY = 16
_FLAT_MM = 1.0
"""A panel less deep than this has no deepest place worth marking."""


@dataclass(frozen=True, eq=False)
class FormTick:
    """One tick: here on the blank, there on the form.

    Attributes
    ----------
    number : int
        From 1 round the whole rim; an edge's first tick stands at its first corner.
    letter : str
        The edge's.
    is_corner : bool
    on_net, on_cut : (2,) float, mm
        On the blank's net line, and square outside it on the line to cut; alike without one.
    outward : (2,) float
        Unit: from the one to the other, or square out of the net line where they are alike.
    formed : (3,) float, mm
        On the formed panel's rim.
    formed_mm : float
        Along the formed edge from its first corner: where a tape on the form shows it.
    flat_mm : float
        Along the blank's net line from the same corner.
    """

    number: int
    letter: str
    is_corner: bool
    on_net: FloatArray
    on_cut: FloatArray
    outward: FloatArray
    formed: FloatArray
    formed_mm: float
    flat_mm: float


@dataclass(frozen=True, eq=False)
class Deepest:
    """The deepest place of the formed panel below the flat plane nearest to its rim.

    Attributes
    ----------
    place : (2,) float, mm
        On the blank.
    formed : (3,) float, mm
    depth_mm : float
        Square to the plane, towards the outside.
    rim_off_mm : float
        How far the rim leaves that plane at most.
    """

    place: FloatArray
    formed: FloatArray
    depth_mm: float
    rim_off_mm: float


@dataclass(frozen=True, eq=False)
class MiddleEnd:
    """Where a middle line meets the rim.

    Attributes
    ----------
    letter : str
        Of the edge it meets.
    place : (2,) float, mm
        On the blank.
    formed_mm, flat_mm : float
        Along the formed edge, and along the net line, from the edge's first corner.
    """

    letter: str
    place: FloatArray
    formed_mm: float
    flat_mm: float


@dataclass(frozen=True, eq=False)
class FormGuide:
    """Everything that tells where the blank lies in the form.

    Attributes
    ----------
    ticks : tuple of FormTick
        Round the rim, counter-clockwise seen from outside.
    middle : tuple of (k, 2) float, mm
        The middle line on the blank.
    is_tank_centre : bool
        Whether it is the tank's centre plane's; else the panel's own middle.
    ends : tuple of MiddleEnd
    deepest : Deepest or None
        None where the panel lies all but flat, or hollow.
    """

    ticks: tuple[FormTick, ...]
    middle: tuple[FloatArray, ...]
    is_tank_centre: bool
    ends: tuple[MiddleEnd, ...]
    deepest: Deepest | None


def form_guide(
    flat: FlatSheet,
    pattern: Pattern,
    *,
    spacing_mm: float = 50.0,
    ahead: FloatArray | None = None,
) -> FormGuide:
    """Return how the blank is found in the form.

    Parameters
    ----------
    flat : FlatSheet
    pattern : Pattern
        Dressed from it.
    spacing_mm : float
        From tick to tick along the formed edge.
    ahead : (3,) float, optional
        Which way the panel's own middle runs; its longest way if not given.
    """
    middle = pattern.centre_lines or own_middle(flat, ahead)
    return FormGuide(
        ticks=form_ticks(flat, pattern, spacing_mm=spacing_mm),
        middle=middle,
        is_tank_centre=bool(pattern.centre_lines),
        ends=_ends(flat, pattern.edges, middle),
        deepest=deepest(flat),
    )


def form_ticks(
    flat: FlatSheet, pattern: Pattern, *, spacing_mm: float = 50.0
) -> tuple[FormTick, ...]:
    """Return the ticks of every edge, each edge's first at its corner."""
    ring = None if pattern.trim is None else shapely.LinearRing(pattern.trim)
    cut_of = {cut.letter: cut.cut_mm for cut in pattern.allowance_of_edge}
    ticks: list[FormTick] = []
    for edge in pattern.edges:
        formed = flat.vertices[edge.vertices]
        formed_at, flat_at = lengths_along(formed), lengths_along(edge.points)
        count = int((formed_at[-1] - _LEAST_SPACE * spacing_mm) // spacing_mm)
        for step in range(max(count, 0) + 1):
            at = spacing_mm * step
            on_net = _at(at, formed_at, edge.points)
            outward = _outward(at, formed_at, edge.points)
            on_cut = _on_cut(ring, on_net, outward, cut_of.get(edge.letter, pattern.trim_mm))
            apart = float(np.linalg.norm(on_cut - on_net))
            ticks.append(
                FormTick(
                    number=len(ticks) + 1,
                    letter=edge.letter,
                    is_corner=step == 0,
                    on_net=locked(on_net),
                    on_cut=locked(on_cut),
                    outward=locked((on_cut - on_net) / apart if apart > _APART_MM else outward),
                    formed=locked(_at(at, formed_at, formed)),
                    formed_mm=at,
                    flat_mm=float(np.interp(at, formed_at, flat_at)),
                )
            )
    return tuple(ticks)


def _at(at: float, along: FloatArray, values: FloatArray) -> FloatArray:
    return np.array([np.interp(at, along, column) for column in values.T])


def _outward(at: float, along: FloatArray, points: FloatArray) -> FloatArray:
    """Return the unit direction away from the blank, square to its edge over a few millimetres."""
    reach = min(3.0, float(along[-1]) / 4.0)
    before, after = (_at(float(at + side * reach), along, points) for side in (-1.0, 1.0))
    way = after - before
    way = way / max(float(np.linalg.norm(way)), 1e-9)
    return np.array([way[1], -way[0]])


def _on_cut(
    ring: shapely.LinearRing | None, place: FloatArray, outward: FloatArray, reach: float
) -> FloatArray:
    """Return where the line to cut is met square outside a place; the nearest of it at a corner."""
    if ring is None:
        return place
    ray = shapely.LineString([place, place + (1.5 * reach + 2.0) * outward])
    met = shapely.get_coordinates(shapely.intersection(ray, ring))
    if len(met):
        return np.asarray(met[np.argmin(np.linalg.norm(met - place, axis=1))])
    nearest = ring.interpolate(ring.project(shapely.Point(place)))
    return np.array([nearest.x, nearest.y])


def own_middle(flat: FlatSheet, ahead: FloatArray | None = None) -> tuple[FloatArray, ...]:
    """Return on the blank the line through the panel's middle that halves it, upright on it.

    Parameters
    ----------
    flat : FlatSheet
    ahead : (3,) float, optional
        Which way it runs; the panel's longest way where not given, or where that stands upright.
    """
    areas = face_areas(flat.vertices, flat.faces)
    middles = face_middles(flat.vertices, flat.faces)
    centre = np.average(middles, axis=0, weights=areas)
    up = np.average(face_normals(flat.vertices, flat.faces), axis=0, weights=areas)
    up = up / max(float(np.linalg.norm(up)), 1e-9)
    way = np.zeros(3) if ahead is None else ahead - (ahead @ up) * up
    if np.linalg.norm(way) < 0.5:
        spread = middles - centre
        spread = spread - (spread @ up)[:, None] * up
        way = np.linalg.svd(spread * np.sqrt(areas)[:, None], full_matrices=False)[2][0]
    normal = np.cross(up, way)
    found = section(TriMesh(flat.vertices, flat.faces), centre, normal / np.linalg.norm(normal))
    if not found:
        return ()
    return (locked(carried_points(flat, found[0])),)


def _ends(
    flat: FlatSheet, edges: Sequence[PatternEdge], lines: Sequence[FloatArray]
) -> tuple[MiddleEnd, ...]:
    """Return where lines end on the rim."""
    ends: list[MiddleEnd] = []
    for line in lines:
        for place in (line[0], line[-1]):
            courses = [shapely.LineString(edge.points) for edge in edges]
            off = [course.distance(shapely.Point(place)) for course in courses]
            nearest = int(np.argmin(off))
            if off[nearest] > 1.0:
                continue
            edge = edges[nearest]
            flat_mm = float(courses[nearest].project(shapely.Point(place)))
            formed_at = lengths_along(flat.vertices[edge.vertices])
            formed_mm = float(np.interp(flat_mm, lengths_along(edge.points), formed_at))
            ends.append(MiddleEnd(edge.letter, locked(place.copy()), formed_mm, flat_mm))
    return tuple(ends)


def deepest(flat: FlatSheet) -> Deepest | None:
    """Return the place farthest outside the plane nearest to the rim, if the panel is deep at all.

    The rim's plane is fitted by least squares, every piece of rim by its length. Of vertices within
    0.05 mm of the deepest the one nearest to their middle is taken: on a rolled panel, deep all
    along a line, the line's middle. About it a quadric in the blank's u, v is laid through those
    within 12 mm, 16 at least, and its top is taken.
    """
    rim = flat.vertices[flat.rim]
    pieces = np.roll(rim, -1, axis=0) - rim
    plane = fit_plane((rim + np.roll(rim, -1, axis=0)) / 2.0, np.linalg.norm(pieces, axis=1))
    areas = face_areas(flat.vertices, flat.faces)
    out = np.average(face_normals(flat.vertices, flat.faces), axis=0, weights=areas)
    normal = plane.normal if plane.normal @ out >= 0.0 else -plane.normal
    depth = (flat.vertices - plane.centre) @ normal
    most = float(depth.max())
    if most < _FLAT_MM:
        return None
    alike = np.flatnonzero(depth >= most - _ALIKE_MM)
    places = flat.flat_vertices[alike]
    top = int(alike[np.linalg.norm(places - places.mean(axis=0), axis=1).argmin()])
    place, most = _top_of(flat.flat_vertices, depth, top)
    near = int(np.argmin(np.linalg.norm(flat.flat_vertices - place, axis=1)))
    off = float(np.abs((rim - plane.centre) @ normal).max())
    return Deepest(locked(place), locked(flat.vertices[near].copy()), most, off)


def _top_of(places: FloatArray, depth: FloatArray, top: int) -> tuple[FloatArray, float]:
    """Return the top of a quadric about a vertex, or the vertex where it has none nearby."""
    away = places - places[top]
    far = np.linalg.norm(away, axis=1)
    reach = max(_FITTED_MM, float(np.sort(far)[min(_FITTED_BY, len(far) - 1)]))
    near = np.flatnonzero(far <= reach)
    x, y = (away[near] / reach).T
    rows = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
    c = np.linalg.lstsq(rows, depth[near], rcond=None)[0]
    bend = np.array([[2.0 * c[3], c[4]], [c[4], 2.0 * c[5]]])
    if np.linalg.eigvalsh(bend).max() >= -1e-6:
        return places[top].copy(), float(depth[top])
    at = np.linalg.solve(bend, -c[1:3])
    if np.linalg.norm(at) > 1.0:
        return places[top].copy(), float(depth[top])
    return places[top] + reach * at, float(c[0] + c[1:3] @ at / 2.0)
