"""What the maker said of single holes, fill or leave, kept with their rims as triangles change."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray, locked
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, face_areas, loop_length, piece_of_face
from geometry.scan import Hole, holes_of

Places = FloatArray | Sequence[Sequence[float]]
"""(k, 3) places, mm; () for none."""

FILLED_BELOW_MM = 400.0
"""Holes with shorter rims are filled unless the maker says otherwise."""

_LARGEST_FILLED_SHARE = 0.2
_CALM_POINTS = 2
_NEAR_MM = 10.0
_NEAR_SHARE = 0.25
"""A place means a hole if it lies this near its rim or middle: mm, or share of the way across.

No place within a round hole is farther than a quarter of the way across from both.
"""


class NoHoleNearError(GeometryError):
    """A place said to be a hole to fill or to leave has no rim near.

    Attributes
    ----------
    point : (3,) float, mm
    distance_mm : float
        To the nearest rim; infinite where the surface has none.
    """

    def __init__(self, point: FloatArray, distance_mm: float) -> None:
        self.point = locked(np.array(point, np.float64))
        self.distance_mm = distance_mm
        place = ", ".join(f"{value:.1f}" for value in self.point)
        super().__init__(f"no hole near ({place}), the nearest rim is {distance_mm:.1f} mm away")


@dataclass(frozen=True, eq=False)
class ChosenHoles:
    """Holes to fill or to leave, whatever the usual rule says.

    Attributes
    ----------
    fill, leave : frozenset of int
        Rims of the scan, counted as by `holes_of`.
    tree : cKDTree
        Vertices of all rims.
    rim_of_point : (k,) int
    """

    fill: frozenset[int]
    leave: frozenset[int]
    tree: cKDTree
    rim_of_point: IntArray

    def sorted_out(self, vertices: FloatArray, loop: IntArray) -> bool | None:
        """Return whether a rim near the scan's own is to be filled; None where nothing was said."""
        near = np.asarray(self.tree.query(vertices[loop])[1], np.int64)
        return self.said_of(int(np.bincount(self.rim_of_point[near]).argmax()))

    def said_of(self, rim: int) -> bool | None:
        """Return whether a rim of the scan is to be filled; None where nothing was said."""
        if rim in self.leave:
            return False
        return True if rim in self.fill else None


def chosen_holes(scan: TriMesh, fill: Places, leave: Places) -> ChosenHoles | None:
    """Return the holes meant by (k, 3) places near their rims or middles; None for no places.

    A hole said to be left is left, even where another place says to fill it.

    Raises
    ------
    NoHoleNearError
        A place has no rim near.
    """
    said = [np.asarray(places, np.float64).reshape(-1, 3) for places in (fill, leave)]
    every = np.concatenate(said)
    if not len(every):
        return None
    holes = holes_of(scan)
    if not holes:
        raise NoHoleNearError(every[0], float("inf"))
    meant = [{_rim_near(scan, holes, place) for place in places} for places in said]
    points = np.concatenate([scan.vertices[hole.rim] for hole in holes])
    owner = np.repeat(np.arange(len(holes)), [len(hole.rim) for hole in holes])
    return ChosenHoles(frozenset(meant[0] - meant[1]), frozenset(meant[1]), cKDTree(points), owner)


def _rim_near(scan: TriMesh, holes: Sequence[Hole], place: FloatArray) -> int:
    """Return which rim a place lies nearest to; a hole's middle counts as its rim does."""
    best, number, allowed = np.inf, -1, 0.0
    for rim, hole in enumerate(holes):
        away = float(np.linalg.norm(scan.vertices[hole.rim] - place, axis=1).min())
        if not hole.goes_round_piece:
            away = min(away, float(np.linalg.norm(hole.centre - place)))
        if away < best:
            across = hole.rim_length / np.pi
            best, number, allowed = away, rim, max(_NEAR_MM, _NEAR_SHARE * across)
    if best > allowed:
        raise NoHoleNearError(place, best)
    return number


def hole_fates(
    mesh: TriMesh,
    *,
    fill: Places = (),
    leave: Places = (),
    fill_rim_below_mm: float = FILLED_BELOW_MM,
) -> tuple[tuple[Hole, bool], ...]:
    """Return the holes of a scan, longest rim first, and whether each will be filled.

    Raises
    ------
    NoHoleNearError
        A place of `fill` or `leave` has no rim near.
    """
    chosen = chosen_holes(mesh, fill, leave)
    holes = holes_of(mesh)
    rule = usual_holes(mesh, [hole.rim for hole in holes], fill_rim_below_mm, calmed=True)
    said = [chosen.said_of(number) if chosen else None for number in range(len(holes))]
    return tuple(
        (hole, usual if word is None else word)
        for hole, usual, word in zip(holes, rule, said, strict=True)
    )


def usual_holes(
    mesh: TriMesh, loops: Sequence[IntArray], below_mm: float, *, calmed: bool = False
) -> list[bool]:
    """Return which rims are shorter than a length, and small beside the piece they are in.

    `calmed`: rims are as ragged as they were scanned; they count as long as they run.
    """
    length = [
        _run_of(mesh.vertices[loop]) if calmed else loop_length(mesh.vertices, loop)
        for loop in loops
    ]
    if not any(each < below_mm for each in length):
        return [False] * len(loops)
    piece = piece_of_face(mesh.faces)
    area = np.bincount(piece, face_areas(mesh.vertices, mesh.faces))
    piece_of_vertex = np.zeros(len(mesh.vertices), np.int64)
    piece_of_vertex[mesh.faces] = piece[:, None]
    return [
        bool(each < below_mm)
        and bool(each**2 / (4.0 * np.pi) / area[piece_of_vertex[loop[0]]] < _LARGEST_FILLED_SHARE)
        for each, loop in zip(length, loops, strict=True)
    ]


def _run_of(points: FloatArray) -> float:
    """Return the length of a ragged loop, its points averaged with those beside them."""
    wide = min(_CALM_POINTS, len(points) // 4)
    calm = sum(np.roll(points, step, axis=0) for step in range(-wide, wide + 1)) / (2 * wide + 1)
    return float(np.linalg.norm(calm - np.roll(calm, 1, axis=0), axis=1).sum())
