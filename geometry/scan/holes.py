"""Holes of a scan and its own outer edge: how long, how wide, where, which way they face."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import FloatArray, IntArray, locked
from geometry.fitting import Circle, TooFewPointsError, fit_circle
from geometry.mesh import TriMesh, face_areas
from geometry.scan.pairing import OPEN, SideArray, next_side, partners, piece_of_each_face

LARGEST_HOLE_SHARE = 0.2
"""Of the piece's area: a hole whose patch would be larger is taken for the piece's own edge."""

_FACING = 0.3
_ROUND_SHARE = 0.04
_ROUND_EDGES = 1.5
"""Of the rim's own edges: rims of whole triangles are that ragged."""
_ROUND_LENGTH = 0.35
_FEWEST_ROUND = 6
_CALMING_ROUNDS = 3


@dataclass(frozen=True, eq=False)
class Hole:
    """One rim, the scan's own outer edge included; lengths in the unit of the mesh.

    Attributes
    ----------
    rim_length : float
    centre : (3,) float
        Middle of the rim, every part of it counting by its length.
    normal : (3,) float
        Unit, as the skin around faces: out of the hole.
    across : float
        Diameter of the circle nearest to the rim where that is round, else its longest width.
    off_plane : float
        How far the rim reaches off its own plane, to the farther side.
    is_round : bool
    is_edge : bool
        Whether it is the outer edge of its piece and not a hole in it: its longest rim, and the
        piece lies within it, or is not much larger than a patch over it would be.
    goes_round_piece : bool
        Whether the piece lies within the rim: seen from outside it runs counter-clockwise.
    rim : (k,) int
        Vertices in order, the surface on the left.
    """

    rim_length: float
    centre: FloatArray
    normal: FloatArray
    across: float
    off_plane: float
    is_round: bool
    is_edge: bool
    goes_round_piece: bool
    rim: IntArray


@dataclass(frozen=True, eq=False)
class _OpenSides:
    """Sides of faces without a neighbour, and which rim each belongs to, rims longest first."""

    start: IntArray
    end: IntArray
    face: IntArray
    rim: IntArray
    length: FloatArray


def holes_of(mesh: TriMesh) -> tuple[Hole, ...]:
    """Return the rims of a sound mesh, longest first."""
    partner = partners(mesh.faces)
    return listed_holes(mesh, partner, piece_of_each_face(partner))


def rim_count(mesh: TriMesh, partner: SideArray) -> int:
    """Return how many rims a mesh has."""
    return len(_open_sides(mesh, partner).length)


def listed_holes(
    mesh: TriMesh, partner: SideArray, piece: IntArray, at_most: int | None = None
) -> tuple[Hole, ...]:
    """Return the longest rims, given the partners of sides and the piece of each face."""
    sides = _open_sides(mesh, partner)
    count = len(sides.length) if at_most is None else min(at_most, len(sides.length))
    if not count:
        return ()
    area = np.bincount(piece, face_areas(mesh.vertices, mesh.faces))
    order = np.argsort(sides.rim, kind="stable")
    ends = np.searchsorted(sides.rim[order], np.arange(count + 1))
    found: list[Hole] = []
    seen: set[int] = set()
    for rim in range(count):
        rows = order[ends[rim] : ends[rim + 1]]
        of_piece = int(piece[sides.face[rows[0]]])
        loop = _in_order(sides.start[rows], sides.end[rows])
        skin = _area_vectors(mesh, sides.face[rows]).sum(axis=0)
        longest = of_piece not in seen
        seen.add(of_piece)
        found.append(_measured(mesh.vertices, loop, skin, float(area[of_piece]), longest))
    return tuple(found)


def _open_sides(mesh: TriMesh, partner: SideArray) -> _OpenSides:
    side = np.flatnonzero(partner == OPEN)
    corners = mesh.faces.ravel()
    start, end = corners[side], corners[next_side(side)]
    names, rows = np.unique(np.concatenate([start, end]), return_inverse=True)
    ones = np.ones(len(side), np.int8)
    graph = coo_array((ones, (rows[: len(side)], rows[len(side) :])), shape=(len(names),) * 2)
    count, label = connected_components(graph, directed=False)
    rim: IntArray = label[rows[: len(side)]].astype(np.int64)
    length = np.linalg.norm(mesh.vertices[end] - mesh.vertices[start], axis=1)
    total: FloatArray = np.bincount(rim, length, count).astype(np.float64)
    order = np.argsort(-total, kind="stable")
    rank = np.empty(count, np.int64)
    rank[order] = np.arange(count)
    return _OpenSides(start, end, (side // 3).astype(np.int64), rank[rim], total[order])


def _in_order(start: IntArray, end: IntArray) -> IntArray:
    """Return the vertices of one rim in order, from its smallest."""
    following = dict(zip(start.tolist(), end.tolist(), strict=True))
    first = at = int(start.min())
    loop = []
    while at in following:
        loop.append(at)
        at = following.pop(at)
        if at == first:
            break
    return np.array(loop, np.int64)


def _measured(
    vertices: FloatArray, loop: IntArray, skin: FloatArray, piece_area: float, longest: bool
) -> Hole:
    points = vertices[loop]
    after = np.roll(points, -1, axis=0)
    step = np.linalg.norm(after - points, axis=1)
    length = float(step.sum())
    weight = step / max(length, np.finfo(float).tiny)
    centre = ((points + after) / 2.0 * weight[:, None]).sum(axis=0)
    around = np.cross(points - centre, after - centre).sum(axis=0)
    facing = float(around @ skin) / max(
        float(np.linalg.norm(around) * np.linalg.norm(skin)), np.finfo(float).tiny
    )
    patch = length**2 / (4.0 * np.pi)
    is_edge = longest and (facing > _FACING or patch > LARGEST_HOLE_SHARE * piece_area)
    away = points - centre
    _, _, axes = np.linalg.svd(away, full_matrices=False)
    outward = around if facing > _FACING else -around
    across, is_round = _across(points, away @ axes[:2].T, step)
    size = float(np.linalg.norm(outward))
    normal = outward / size if size > 0.0 else _unit(skin)
    return Hole(
        rim_length=length,
        centre=locked(centre),
        normal=locked(np.asarray(normal + 0.0)),
        across=across,
        off_plane=float(np.abs(away @ axes[-1]).max()) if len(axes) > 2 else 0.0,
        is_round=is_round,
        is_edge=bool(is_edge),
        goes_round_piece=facing > _FACING,
        rim=locked(loop),
    )


def _unit(vector: FloatArray) -> FloatArray:
    size = float(np.linalg.norm(vector))
    return vector / size if size > 0.0 else np.array([0.0, 0.0, 1.0])


def _across(points: FloatArray, flat: FloatArray, step: FloatArray) -> tuple[float, bool]:
    """Return how wide a rim is, and whether it is round once its teeth are taken off."""
    widest = float(np.ptp(flat, axis=0).max())
    try:
        circle = fit_circle(points)
    except TooFewPointsError:
        return widest, False
    ragged = max(_ROUND_SHARE * 2.0 * circle.radius, _ROUND_EDGES * float(np.median(step)))
    calm = points
    for _ in range(_CALMING_ROUNDS):
        calm = (np.roll(calm, 1, axis=0) + 2.0 * calm + np.roll(calm, -1, axis=0)) / 4.0
    away = calm - circle.centre
    off = np.linalg.norm(away - (away @ circle.normal)[:, None] * circle.normal, axis=1)
    is_round = len(points) >= _FEWEST_ROUND and float(np.ptp(off)) <= ragged
    is_round = is_round and _goes_round(circle, calm)
    return (2.0 * circle.radius, True) if is_round else (widest, False)


def _goes_round(circle: Circle, rim: FloatArray) -> bool:
    """Return whether a rim is about as long as its circle: an arc there and back is not."""
    length = float(np.linalg.norm(np.roll(rim, -1, axis=0) - rim, axis=1).sum())
    around = 2.0 * np.pi * circle.radius
    return abs(length - around) < _ROUND_LENGTH * around


def _area_vectors(mesh: TriMesh, faces: IntArray) -> FloatArray:
    a, b, c = (mesh.vertices[mesh.faces[faces, corner]] for corner in range(3))
    return np.asarray(np.cross(b - a, c - a))
