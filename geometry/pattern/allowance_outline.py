"""The outline to cut: the net with a strip along every edge, its corners made, folds parted."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, locked
from geometry.pattern.allowance import AllowanceCorner
from geometry.pattern.allowance_notches import (
    STRAIGHT_ON_RAD,
    Notch,
    goes_on,
    hole_outline,
    notch,
)
from geometry.pattern.allowance_strips import (
    Meeting,
    Strip,
    corner_pieces,
    lasting_meeting,
    meeting,
    outward,
    strip_pieces,
)
from geometry.pattern.outlines import open_ring

THINNING_MM = 0.002
"""Points of the cut line closer to its course than this are left out."""

_SPOT_MM2 = 1.0
"""A spot shut in between strips is told from this area on."""

_FACING = -0.5
"""Walls whose outward directions have no more than this product face each other: 120 degrees."""


@dataclass(frozen=True, eq=False)
class CutCorner:
    """Where two edges meet, as it is cut.

    Attributes
    ----------
    place : (2,) float, mm
        On the net line.
    before, after : int
        Which edges, in the order of the pattern's.
    turn_rad : float
        How far the net line turns left: above 0 at an outward corner.
    made : {"mitred", "notched", "round", "slit", "inward"}
        "inward": two strips run into each other and nothing is done about it.
    """

    place: FloatArray
    before: int
    after: int
    turn_rad: float
    made: Literal["mitred", "notched", "round", "slit", "inward"]


@dataclass(frozen=True, eq=False)
class Relief:
    """A hole to drill where folds cross, before they are folded.

    Attributes
    ----------
    place : (2,) float, mm
    diameter_mm : float
    before, after : int
        Which edges meet there.
    on_outline : bool
        Whether the cut line runs into it, and round it.
    """

    place: FloatArray
    diameter_mm: float
    before: int
    after: int
    on_outline: bool


@dataclass(frozen=True, eq=False)
class CutOutline:
    """The line to cut a blank by.

    Attributes
    ----------
    points : (j, 2) float, mm
        Closed, counter-clockwise, the first point not repeated.
    closes_over : bool
        Whether it bridges a gap in the net that no snips could follow.
    corners : tuple of CutCorner
    reliefs : tuple of Relief
    passes_nicks : bool
        Whether it is led past a nick in the net, farther outside it than its width.
    """

    points: FloatArray
    closes_over: bool
    corners: tuple[CutCorner, ...]
    reliefs: tuple[Relief, ...]
    passes_nicks: bool = False


def cut_outline(net: FloatArray, strips: Sequence[Strip]) -> CutOutline | None:
    """Return the outline of a blank with a strip of metal along every edge.

    It lies its width from the edge, everywhere but at corners and where folds are parted. Where two
    parts of the net lie within the widths of their strips of each other the gap closes over.

    Parameters
    ----------
    net : (k, 2) float, mm
        Closed, the first point not repeated.
    strips : sequence of Strip
        Edge by edge along the whole net line, in its order.

    Returns
    -------
    CutOutline or None
        None where the net line crosses itself, for then no line is right.
    """
    shape = shapely.Polygon(net)
    if not shape.is_valid:
        return None
    if all(strip.width_mm <= 0.0 for strip in strips):
        return CutOutline(open_ring(shape.exterior, counter_clockwise=True), False, (), ())
    metal = [strip_pieces(strip) for strip in strips]
    corners: list[CutCorner] = []
    notches: list[tuple[CutCorner, Notch]] = []
    for before, after in _neighbours(strips):
        one, other = strips[before], strips[after]
        lasting = lasting_meeting(one.points, other.points)
        turn, made = lasting.turn_rad, _made(lasting, one, other)
        corner = CutCorner(lasting.place, before, after, turn, made)
        corners.append(corner)
        if made in ("notched", "slit") and (one.fold or other.fold):
            notches.append((corner, notch(lasting, one, other)))
        elif made != "notched":
            joint = meeting(one.points, other.points)
            kind: AllowanceCorner = "mitred" if made == "mitred" else "round"
            metal[before] += corner_pieces(joint, one.width_mm, other.width_mm, kind)
    grown = _outermost(_joined(shape, metal, notches))
    trim = shapely.simplify(shapely.polygons(shapely.get_exterior_ring(grown)), THINNING_MM)
    reliefs = tuple(
        _relief(corner, found, grown) for corner, found in notches if found.hole is not None
    )
    return CutOutline(
        open_ring(shapely.get_exterior_ring(trim), counter_clockwise=True),
        _shuts_a_spot_in(grown, reliefs) or _walls_meet(strips),
        tuple(corners),
        reliefs,
    )


def _neighbours(strips: Sequence[Strip]) -> list[tuple[int, int]]:
    """Return every strip and the next one; nothing for one that is closed."""
    count = len(strips)
    alone = count == 1 and strips[0].is_closed
    return [] if alone else [(index, (index + 1) % count) for index in range(count)]


def _made(
    joint: Meeting, one: Strip, other: Strip
) -> Literal["mitred", "notched", "round", "slit", "inward"]:
    """Return what is made of a corner of two strips."""
    straight_on = goes_on(joint, one, other)
    folded = (one.fold is not None or other.fold is not None) and not straight_on
    if folded:
        return "notched" if joint.turn_rad >= STRAIGHT_ON_RAD else "slit"
    if joint.turn_rad <= 0.0:
        return "inward"
    if straight_on or joint.turn_rad < STRAIGHT_ON_RAD:
        return "round"  # there is no corner to speak of
    asked: set[AllowanceCorner] = {one.corner, other.corner}
    return "notched" if "notched" in asked else "mitred" if "mitred" in asked else "round"


def _joined(
    shape: shapely.Polygon,
    metal: Sequence[Sequence[shapely.Polygon]],
    notches: Sequence[tuple[CutCorner, Notch]],
) -> shapely.Geometry:
    """Return the net and its strips as one shape, less what notches take from each."""
    if not notches:
        every = [piece for pieces in metal for piece in pieces]
        return shapely.union_all(np.array([shape, *every], object))
    from_blank: list[shapely.Geometry] = []
    from_strip: list[list[shapely.Geometry]] = [[] for _ in metal]
    for corner, found in notches:
        hole = [] if found.hole is None else [hole_outline(found.hole, found.hole_mm)]
        from_blank += [*found.from_blank, *hole]
        from_strip[corner.before] += found.from_before
        from_strip[corner.after] += found.from_after
    parts = [_less([shape], from_blank)]
    for pieces, taken in zip(metal, from_strip, strict=True):
        if pieces:
            parts.append(_less(pieces, [*taken, *from_blank]))
    return shapely.union_all(np.array(parts, object))


def _less(
    pieces: Sequence[shapely.Geometry], taken: Sequence[shapely.Geometry]
) -> shapely.Geometry:
    """Return pieces as one shape, less what is taken."""
    whole = shapely.union_all(np.array(pieces, object))
    return shapely.difference(whole, shapely.union_all(np.array(taken, object)))


def _outermost(grown: shapely.Geometry) -> shapely.Polygon:
    """Return the largest polygon of a shape: slivers a notch leaves behind fall off."""
    parts = [part for part in shapely.get_parts(grown) if isinstance(part, shapely.Polygon)]
    return max(parts, key=lambda part: float(part.area))


def _relief(corner: CutCorner, found: Notch, grown: shapely.Polygon) -> Relief:
    hole = found.hole if found.hole is not None else corner.place
    off = shapely.distance(shapely.Point(hole), shapely.get_exterior_ring(grown))
    return Relief(
        locked(np.array(hole, np.float64)),
        found.hole_mm,
        corner.before,
        corner.after,
        bool(off < found.hole_mm / 2.0 + 1e-3),
    )


def _shuts_a_spot_in(grown: shapely.Polygon, reliefs: Sequence[Relief]) -> bool:
    """Return whether strips meet round a spot that stays open; relief holes are none."""
    for ring in grown.interiors:
        spot = shapely.Polygon(ring)
        if spot.area <= _SPOT_MM2:
            continue
        if not any(spot.contains(shapely.Point(relief.place)) for relief in reliefs):
            return True
    return False


def _walls_meet(strips: Sequence[Strip]) -> bool:
    """Return whether strips on walls of the net that face each other across a gap meet in it."""
    widest = max(strip.width_mm for strip in strips)
    step = max(2.0, widest / 6.0)
    middles, out, width = [], [], []
    for strip in strips:
        dense = np.array(shapely.segmentize(shapely.LineString(strip.points), step).coords)
        along = np.diff(dense, axis=0)
        length = np.linalg.norm(along, axis=1)
        kept = length > 0.0
        middles.append((dense[:-1] + dense[1:])[kept] / 2.0)
        out.append(outward(along[kept] / length[kept, None]))
        width.append(np.full(int(kept.sum()), strip.width_mm))
    at, normal, wide = np.concatenate(middles), np.concatenate(out), np.concatenate(width)
    i, j = cKDTree(at).query_pairs(2.0 * widest, output_type="ndarray").T
    facing = (normal[i] * normal[j]).sum(axis=1) < _FACING
    i, j = i[facing], j[facing]
    across = at[j] - at[i]
    gap = np.linalg.norm(across, axis=1)
    outside = ((across * normal[i]).sum(axis=1) > 0.0) & ((across * normal[j]).sum(axis=1) < 0.0)
    # A round that touches both walls has the radius gap / |difference of their directions|.
    room = 2.0 * gap / np.linalg.norm(normal[i] - normal[j], axis=1)
    return bool((outside & (room < wide[i] + wide[j] - 1e-9)).any())
