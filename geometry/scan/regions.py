"""Parts of space a maker points out to keep or to take away, and the faces of a scan in them."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.errors import GeometryError
from geometry.mesh import TriMesh

_CELLS = 4_000_000
_PAIRS_AT_ONCE = 4_000_000
_POINTS_AT_ONCE = 200_000
_AS_NEAR = 1e-6
"""Share of the scan's depth within which two faces are met at once."""


class EmptyRegionError(GeometryError):
    """A part of space that holds nothing, whatever the scan.

    Attributes
    ----------
    what : "lasso", "plane" or "ball"
    points : int
        Of a lasso's outline; 0 for the others.
    """

    def __init__(self, what: Literal["lasso", "plane", "ball"], points: int = 0) -> None:
        self.what, self.points = what, points
        super().__init__(f"a {what} of {points} points encloses nothing")


class NothingLeftError(GeometryError):
    """Everything was cropped, cut out or dropped.

    Attributes
    ----------
    by : "crop", "cut" or "drop"
    number : int
        Which crop or cut took the last of it, from 0.
    """

    def __init__(self, by: Literal["crop", "cut", "drop"], number: int = 0) -> None:
        self.by, self.number = by, number
        super().__init__(f"nothing is left after {by} {number}")


@dataclass(frozen=True, eq=False)
class HalfSpace:
    """The side of a plane that its normal points to.

    Attributes
    ----------
    point : (3,) float
    normal : (3,) float
        Of any length.
    """

    point: FloatArray
    normal: FloatArray

    def holds(self, mesh: TriMesh) -> BoolArray:
        """Return which faces have their middle on that side."""
        normal = _direction(self.normal, "plane")
        return np.concatenate(
            [(middles - self.point) @ normal > 0.0 for middles in _middles(mesh)] or [_NONE]
        )


@dataclass(frozen=True, eq=False)
class Ball:
    """Everything within a radius of a place.

    Attributes
    ----------
    centre : (3,) float
    radius_mm : float
    """

    centre: FloatArray
    radius_mm: float

    def holds(self, mesh: TriMesh) -> BoolArray:
        """Return which faces have their middle within it."""
        if not self.radius_mm > 0.0:
            raise EmptyRegionError("ball")
        return np.concatenate(
            [
                np.linalg.norm(middles - self.centre, axis=1) < self.radius_mm
                for middles in _middles(mesh)
            ]
            or [_NONE]
        )


@dataclass(frozen=True, eq=False)
class Lasso:
    """What a closed outline encloses, looked at along one direction.

    Attributes
    ----------
    outline : (k, 3) float
        The last point joins the first. Where it crosses itself, every second area is inside.
    along : (3,) float
        From the eye into the picture, of any length.
    inside : bool
        Whether it means what it encloses, or all the rest.
    front_only : bool
        Whether it encloses only the faces met first, not those behind them.
    """

    outline: FloatArray
    along: FloatArray
    inside: bool = True
    front_only: bool = False

    def holds(self, mesh: TriMesh) -> BoolArray:
        """Return which faces it means, by their middles."""
        frame = _looking(_direction(self.along, "lasso"))
        outline = np.asarray(self.outline, np.float64).reshape(-1, 3) @ frame[:, :2]
        if len(outline) < 3 or not _has_area(outline):
            raise EmptyRegionError("lasso", len(outline))
        enclosed = np.concatenate(
            [within(middles @ frame[:, :2], outline) for middles in _middles(mesh)] or [_NONE]
        )
        if self.front_only:
            chosen = np.flatnonzero(enclosed)
            enclosed[chosen] = _met_first(mesh, frame, chosen)
        return enclosed if self.inside else ~enclosed


Region = HalfSpace | Lasso | Ball
_NONE: BoolArray = np.zeros(0, bool)


def within(points: FloatArray, outline: FloatArray) -> BoolArray:
    """Return which of (k, 2) points lie within a closed outline, (j, 2): even and odd crossings.

    >>> square = np.array([[0.0, 0], [2, 0], [2, 2], [0, 2]])
    >>> within(np.array([[1.0, 1], [3, 1], [1, -1]]), square).tolist()
    [True, False, False]
    """
    low, high = outline.min(axis=0), outline.max(axis=0)
    near = np.flatnonzero(((points >= low) & (points <= high)).all(axis=1))
    x, y = points[near].T
    odd = np.zeros(len(near), bool)
    for (ax, ay), (bx, by) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        spans = (ay > y) != (by > y)
        at = ax + (y[spans] - ay) * ((bx - ax) / (by - ay)) if spans.any() else y[spans]
        odd[np.flatnonzero(spans)[x[spans] < at]] ^= True
    inside = np.zeros(len(points), bool)
    inside[near] = odd
    return inside


def _direction(given: FloatArray, what: Literal["lasso", "plane"]) -> FloatArray:
    vector = np.asarray(given, np.float64)
    length = float(np.linalg.norm(vector))
    if not (np.isfinite(length) and length > 0.0):
        raise EmptyRegionError(what)
    return vector / length


def _looking(along: FloatArray) -> FloatArray:
    """Return (3, 3) columns: across the picture, up it, and into it."""
    least = np.eye(3)[np.argmin(np.abs(along))]
    across = np.cross(least, along)
    across /= np.linalg.norm(across)
    return np.stack([across, np.cross(along, across), along], axis=1)


def _has_area(outline: FloatArray) -> bool:
    """Return whether an outline is more than a line."""
    away = outline - outline.mean(axis=0)
    spread = np.linalg.svd(away, compute_uv=False)
    return bool(np.isfinite(spread).all() and spread[1] > 1e-6 * spread[0])


def _middles(mesh: TriMesh) -> Iterator[FloatArray]:
    for start in range(0, len(mesh.faces), _POINTS_AT_ONCE):
        yield mesh.vertices[mesh.faces[start : start + _POINTS_AT_ONCE]].mean(axis=1)


def _met_first(mesh: TriMesh, frame: FloatArray, chosen: IntArray) -> BoolArray:
    """Return which of some faces have no other face before their middle.

    The picture is divided into cells; each face is listed in every cell that its box reaches into,
    and a middle is held against the faces listed in its own cell.
    """
    seen = mesh.vertices @ frame
    middles = seen[mesh.faces[chosen]].mean(axis=1)
    depth = float(np.ptp(seen[:, 2]))
    size = _cell_size(seen, mesh.faces)
    low = seen[:, :2].min(axis=0)
    columns = int(np.ptp(seen[:, 0]) // size) + 1
    listed, starts = _listed_by_cell(seen, mesh.faces, low, size, columns)
    place = ((middles[:, :2] - low) // size).astype(np.int64)
    cell = place[:, 1] * columns + place[:, 0]
    count = starts[cell + 1] - starts[cell]
    behind = np.zeros(len(chosen), bool)
    ends = np.cumsum(count)
    begin = 0
    while begin < len(chosen):
        limit = (ends[begin - 1] if begin else 0) + _PAIRS_AT_ONCE
        end = max(begin + 1, int(np.searchsorted(ends, limit, side="right")))
        row = np.repeat(np.arange(begin, end), count[begin:end])
        step = np.arange(len(row)) - np.repeat(
            ends[begin:end] - count[begin:end] - (ends[begin] - count[begin]), count[begin:end]
        )
        other = listed[starts[cell[row]] + step]
        before = _covers(seen[mesh.faces[other]], middles[row], _AS_NEAR * depth)
        behind[row[before & (other != chosen[row])]] = True
        begin = end
    return ~behind


def _cell_size(seen: FloatArray, faces: IntArray) -> float:
    """Return how wide a cell is: twice a typical face, or more for a wide picture."""
    some = seen[faces[:: max(1, len(faces) // 20_000)]][:, :, :2]
    typical = float(np.median(np.ptp(some, axis=1).max(axis=1)))
    wide = np.ptp(seen[:, :2], axis=0)
    return max(2.0 * typical, float(np.sqrt(wide[0] * wide[1] / _CELLS)), 1e-9 * float(wide.max()))


def _listed_by_cell(
    seen: FloatArray, faces: IntArray, low: FloatArray, size: float, columns: int
) -> tuple[IntArray, IntArray]:
    """Return faces listed cell by cell, and where each cell's list starts."""
    rows = int(np.ptp(seen[:, 1]) // size) + 1
    corner = seen[faces][:, :, :2]
    first = ((corner.min(axis=1) - low) // size).astype(np.int64)
    wide = ((corner.max(axis=1) - low) // size).astype(np.int64) - first + 1
    count = wide[:, 0] * wide[:, 1]
    face = np.repeat(np.arange(len(faces)), count)
    step = np.arange(len(face)) - np.repeat(np.cumsum(count) - count, count)
    x = first[face, 0] + step % wide[face, 0]
    y = first[face, 1] + step // wide[face, 0]
    cell = y * columns + x
    order = np.argsort(cell, kind="stable")
    starts = np.zeros(rows * columns + 1, np.int64)
    np.cumsum(np.bincount(cell, minlength=rows * columns), out=starts[1:])
    return face[order], starts


def _covers(corners: FloatArray, points: FloatArray, as_near: float) -> BoolArray:
    """Return whether each triangle, seen along z, lies over its point and nearer to the eye."""
    a, b, c = (corners[:, k, :2] for k in range(3))
    p = points[:, :2]
    shares = np.stack([_turn(b, c, p), _turn(c, a, p), _turn(a, b, p)], axis=1)
    whole = shares.sum(axis=1)
    over = (whole != 0.0) & ((shares > 0.0).all(axis=1) | (shares < 0.0).all(axis=1))
    depth = np.divide(
        (shares * corners[:, :, 2]).sum(axis=1), whole, out=np.full(len(p), np.inf), where=over
    )
    return np.asarray(over & (depth < points[:, 2] - as_near))


def _turn(a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
    u, v = b - a, c - a
    return np.asarray(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
