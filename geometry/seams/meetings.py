"""Where a drawn line meets itself, and on which of its legs a place lies."""

from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.mesh import SurfacePath
from geometry.polyline import lengths_along

_SAME_MM = 1e-6
_ALIKE = np.sin(np.radians(1.0))  # pieces that open by less than this run one over the other
_ONE_PLACE_MM = 1.0


@dataclass(frozen=True, eq=False)
class Meeting:
    """A place at which a line meets itself.

    Attributes
    ----------
    kind : str
        "crosses", or "doubles back": it runs along where it has been.
    point : (3,) float, mm
    along_mm : (float, float)
        How far along the line the place is, the first time and the second.
    """

    kind: Literal["crosses", "doubles back"]
    point: FloatArray
    along_mm: tuple[float, float]


def meetings(path: SurfacePath) -> tuple[Meeting, ...]:
    """Return where a line meets itself, in order along it; one for each crossing or way back.

    A ring's end that meets its beginning is not told.
    """
    gone = lengths_along(path.points)
    found = [*_in_faces(path, gone), *_at_vertices(path, gone)]
    ring = bool((path.points[0] == path.points[-1]).all())
    total = float(gone[-1])
    kept: list[Meeting] = []
    for meeting in sorted(found, key=lambda each: (each.kind == "crosses", each.along_mm)):
        first, second = meeting.along_mm
        if ring and first < _SAME_MM and second > total - _SAME_MM:
            continue
        if not any(_is_same(meeting, other) for other in kept):
            kept.append(meeting)
    return tuple(sorted(kept, key=lambda each: each.along_mm))


def _is_same(one: Meeting, other: Meeting) -> bool:
    """Return whether two meetings are told once: near each other, or of one way back."""
    near = np.abs(np.subtract(one.along_mm, other.along_mm)) < _ONE_PLACE_MM
    turning = abs(sum(one.along_mm) - sum(other.along_mm)) < _ONE_PLACE_MM
    back = "doubles back" in (one.kind, other.kind)
    return bool(near.all() or (back and turning))


def _in_faces(path: SurfacePath, gone: FloatArray) -> list[Meeting]:
    """Return the meetings of pieces that lie in one face."""
    order = np.argsort(path.faces, kind="stable")
    groups = np.split(order, np.flatnonzero(np.diff(path.faces[order])) + 1)
    found = []
    for group in groups:
        for one, other in combinations(sorted(group.tolist()), 2):
            meeting = _of_pieces(path.points, gone, one, other)
            if meeting is not None:
                found.append(meeting)
    return found


def _of_pieces(points: FloatArray, gone: FloatArray, one: int, other: int) -> Meeting | None:
    """Return where two straight pieces of one plane meet, the ends they share left out."""
    start, step = points[one], points[one + 1] - points[one]
    begin, stride = points[other], points[other + 1] - points[other]
    lengths = float(np.linalg.norm(step)), float(np.linalg.norm(stride))
    if min(lengths) == 0.0:
        return None
    normal = np.cross(step, stride)
    opening = float(np.linalg.norm(normal)) / (lengths[0] * lengths[1])
    if opening < _ALIKE:
        return _one_over_other(points, gone, one, other)
    if other == one + 1:
        return None
    square = float(normal @ normal)
    share = float(np.cross(begin - start, stride) @ normal) / square
    part = float(np.cross(begin - start, step) @ normal) / square
    slack = _SAME_MM / lengths[0], _SAME_MM / lengths[1]
    if not (-slack[0] <= share <= 1 + slack[0] and -slack[1] <= part <= 1 + slack[1]):
        return None
    along = float(gone[one] + share * lengths[0]), float(gone[other] + part * lengths[1])
    return Meeting("crosses", locked(start + share * step), along)


def _one_over_other(points: FloatArray, gone: FloatArray, one: int, other: int) -> Meeting | None:
    """Return the middle of what two all but parallel pieces share, None where they lie apart."""
    start, step = points[one], points[one + 1] - points[one]
    length = float(np.linalg.norm(step))
    ends = np.stack([points[other] - start, points[other + 1] - start])
    along = ends @ step / length
    off = np.linalg.norm(ends - along[:, None] * step / length, axis=1)
    low, high = max(0.0, float(along.min())), min(length, float(along.max()))
    if off.min() > _SAME_MM or high - low <= _SAME_MM:
        return None
    middle = (low + high) / 2.0
    back = abs(middle - float(along[0]))
    place = start + middle / length * step
    return Meeting(
        "doubles back", locked(place), (float(gone[one]) + middle, float(gone[other]) + back)
    )


def _at_vertices(path: SurfacePath, gone: FloatArray) -> list[Meeting]:
    """Return the meetings at vertices the line runs through twice."""
    at = np.flatnonzero(path.vertex >= 0)
    order = at[np.argsort(path.vertex[at], kind="stable")]
    twice = np.flatnonzero(path.vertex[order[1:]] == path.vertex[order[:-1]])
    found = []
    for one, other in zip(order[twice].tolist(), order[twice + 1].tolist(), strict=True):
        if other > one + 1:
            along = float(gone[one]), float(gone[other])
            found.append(Meeting("crosses", locked(path.points[one].copy()), along))
    return found


def point_inserted(points: FloatArray, path: SurfacePath, place: FloatArray) -> FloatArray:
    """Return a line's points with one more, between the two whose leg runs nearest to it.

    Parameters
    ----------
    points : (k, 3) float, mm
        Those the path was drawn through, without repeats.
    path : SurfacePath
    place : (3,) float, mm
    """
    start, step = path.points[:-1], np.diff(path.points, axis=0)
    square = np.maximum((step * step).sum(axis=1), 1e-300)
    share = np.clip(((place - start) * step).sum(axis=1) / square, 0.0, 1.0)
    piece = int(np.linalg.norm(start + share[:, None] * step - place, axis=1).argmin())
    leg = int(np.searchsorted(path.corners, piece, side="right"))
    return np.insert(np.asarray(points, np.float64), leg, place, axis=0)
