"""A tank's open rims, and caps over them: what a space has to be closed by to hold anything."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from geometry.arrays import FloatArray, IntArray, locked
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, loop_length, rims

_END_SHARE = 0.02
"""So much of a rim's length at either end runs across rather than along."""

CapKind = Literal["flat", "ruled"]
"""Flat: laid across the rim as one sheet. Ruled: straight from left to right, station by station,
for a bottom edge that is far from flat."""


@dataclass(frozen=True, eq=False)
class OpenRim:
    """One edge at which the skin ends.

    Attributes
    ----------
    number : int
        From 1, the longest first.
    vertices : (k,) int
        In order, as `rims` gives them.
    length_mm : float
    centre : (3,) float
    off_flat_mm : float
        How far the rim leaves its best flat at the most.
    """

    number: int
    vertices: IntArray
    length_mm: float
    centre: FloatArray
    off_flat_mm: float

    def __post_init__(self) -> None:
        locked(self.vertices)
        locked(self.centre)


class OpenTankError(GeometryError):
    """Rims of the tank are open and nobody said how they are closed.

    Attributes
    ----------
    rims : tuple of OpenRim
    """

    def __init__(self, open_rims: tuple[OpenRim, ...]) -> None:
        self.rims = open_rims
        super().__init__(f"{len(open_rims)} open rims")


class CapFoldsError(GeometryError):
    """A cap of the kind asked for would fold over itself.

    Attributes
    ----------
    rim : OpenRim
    kind : "flat" or "ruled"
    """

    def __init__(self, rim: OpenRim, kind: CapKind) -> None:
        self.rim, self.kind = rim, kind
        super().__init__(f"a {kind} cap over rim {rim.number} folds")


def open_rims(mesh: TriMesh) -> tuple[OpenRim, ...]:
    """Return the rims at which a skin ends, the longest first; none of a closed one."""
    found = []
    for number, loop in enumerate(rims(mesh), start=1):
        points = mesh.vertices[loop]
        centre, _, normal = _flat_of(points)
        off = np.abs((points - centre) @ normal).max()
        length = loop_length(mesh.vertices, loop)
        found.append(OpenRim(number, loop, length, points.mean(axis=0), float(off)))
    return tuple(found)


def capped(mesh: TriMesh, caps: Mapping[int, CapKind]) -> TriMesh:
    """Return the skin with its rims closed; its own faces first, as they were.

    Parameters
    ----------
    mesh : TriMesh
    caps : mapping of rim number to kind
        0 stands for every rim not named.

    Raises
    ------
    OpenTankError
        Rims no cap is named for.
    CapFoldsError
    """
    found = open_rims(mesh)
    left = tuple(rim for rim in found if rim.number not in caps and 0 not in caps)
    if left:
        raise OpenTankError(left)
    faces = [mesh.faces]
    for rim in found:
        kind = caps.get(rim.number, caps.get(0, "flat"))
        over = _flat_cap if kind == "flat" else _ruled_cap
        faces.append(_facing_out(rim, over(mesh, rim)))
    return TriMesh(mesh.vertices, np.concatenate(faces))


def _flat_of(points: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the middle, the two ways along (2, 3) and the normal of the best flat."""
    centre = points.mean(axis=0)
    ways = np.linalg.svd(points - centre, full_matrices=False)[2]
    return centre, ways[:2], ways[2]


def _flat_cap(mesh: TriMesh, rim: OpenRim) -> IntArray:
    points = mesh.vertices[rim.vertices]
    centre, ways, _ = _flat_of(points)
    return _filled_in((points - centre) @ ways.T, rim.vertices, rim, "flat")


def _filled_in(outline: FloatArray, vertices: IntArray, rim: OpenRim, kind: CapKind) -> IntArray:
    """Return triangles that fill an outline in a plane, counter-clockwise there.

    Parameters
    ----------
    outline : (k, 2) float
    vertices : (k,) int
        Of the outline's points.
    rim : OpenRim
    kind : str
        For the error.
    """
    polygon = shapely.Polygon(outline)
    if not polygon.is_valid:
        raise CapFoldsError(rim, kind)
    pieces = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    index = dict(zip(map(tuple, outline.tolist()), vertices.tolist(), strict=True))
    corners = shapely.get_coordinates(pieces).reshape(-1, 4, 2)[:, :3]
    side = np.diff(corners, axis=1)
    back = side[:, 0, 0] * side[:, 1, 1] - side[:, 0, 1] * side[:, 1, 0] < 0
    corners[back] = corners[back][:, ::-1]
    found = [[index[place] for place in map(tuple, three)] for three in corners.tolist()]
    if len(found) != len(outline) - 2:
        raise CapFoldsError(rim, kind)
    return np.array(found, np.int64)


def _ruled_cap(mesh: TriMesh, rim: OpenRim) -> IntArray:
    """Return triangles straight across from one side of the rim to the other, rear to front.

    The rim's two ends, which run across themselves, are filled in as seen from above, and so is
    all of a rim whose sides have no points to rule between.
    """
    rear = int(np.argmin(mesh.vertices[rim.vertices, 0]))
    order = np.roll(rim.vertices, -rear)
    points = mesh.vertices[order]
    if not shapely.Polygon(points[:, :2]).is_valid:
        raise CapFoldsError(rim, "ruled")
    front = int(np.argmax(points[:, 0]))
    sides = (np.arange(front + 1), np.append(0, np.arange(len(order) - 1, front - 1, -1)))
    spans = [_between_ends(points[side, 0]) for side in sides]
    if all(last > first for first, last in spans):
        (one, other), ((one_at, one_to), (other_at, other_to)) = sides, spans
        ends = (
            np.concatenate([other[other_at::-1], one[1 : one_at + 1]]),
            np.concatenate([one[one_to:], other[other_to:-1][::-1]]),
        )
        if all(shapely.Polygon(points[end, :2]).is_valid for end in ends):
            ruled = _ladder(points, one[one_at : one_to + 1], other[other_at : other_to + 1])
            filled = [_filled_in(points[end, :2], end, rim, "ruled") for end in ends]
            return np.asarray(order[np.concatenate([ruled, *filled])])
    return _filled_in(points[:, :2], order, rim, "ruled")


def _between_ends(ahead: FloatArray) -> tuple[int, int]:
    """Return the first and the last point of a side that lie clear of the rim's ends."""
    clear = _END_SHARE * float(np.ptp(ahead))
    first = int(np.argmax(ahead >= ahead[0] + clear))
    last = len(ahead) - 1 - int(np.argmax(ahead[::-1] <= ahead[-1] - clear))
    return first, last


def _ladder(points: FloatArray, one: IntArray, other: IntArray) -> IntArray:
    """Return triangles between two sides, counter-clockwise from above, by how far ahead."""
    along_one, along_other = _shares(points[one]), _shares(points[other])
    faces, i, j = [], 0, 0
    while i < len(one) - 1 or j < len(other) - 1:
        step_one = j == len(other) - 1 or (
            i < len(one) - 1 and along_one[i + 1] <= along_other[j + 1]
        )
        faces.append((one[i], other[j], one[i + 1] if step_one else other[j + 1]))
        i, j = (i + 1, j) if step_one else (i, j + 1)
    found = np.array(faces, np.int64)
    side = np.diff(points[found][:, :, :2], axis=1)
    area = (side[:, 0, 0] * side[:, 1, 1] - side[:, 0, 1] * side[:, 1, 0]).sum()
    return found[:, ::-1] if area < 0.0 else found


def _shares(points: FloatArray) -> FloatArray:
    """Return how far ahead each point of a side lies, never falling back, 0 to 1."""
    ahead = np.maximum.accumulate(points[:, 0])
    return np.asarray((ahead - ahead[0]) / max(ahead[-1] - ahead[0], 1e-12))


def _facing_out(rim: OpenRim, cap: IntArray) -> IntArray:
    """Return a cap's faces turned to run on from the skin's: each rim edge the other way round."""
    following = dict(zip(rim.vertices.tolist(), np.roll(rim.vertices, -1).tolist(), strict=True))
    sides = zip(cap.ravel().tolist(), np.roll(cap, -1, axis=1).ravel().tolist(), strict=True)
    as_skin = any(following.get(one) == other for one, other in sides)
    return cap[:, ::-1] if as_skin else cap
