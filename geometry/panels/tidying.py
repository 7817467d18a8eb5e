"""After the cut: the pieces of each face beside a seam made as well shaped as they can be.

A seam that crosses an edge hard by its end leaves needles. They stay: vertices are never moved or
drawn together, since off a flat place that moves the surface, and panels would no longer add up to
it. Only diagonals between pieces of one face are turned. What then is left is short on one side,
which a blank bears; blunt triangles, which it would not, are turned away.
"""

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from geometry.arrays import IntArray
from geometry.panels.growing import Growing

_GAIN_RAD = 1e-9  # the smaller of the two faces' least angles must grow by this, so that turns end
_ROUNDS = 12

Vector = tuple[float, float, float]
Face = tuple[int, int, int]


def tidied(grown: Growing) -> Growing:
    """Return the surface with better triangles beside its seams; no vertex and no seam moves."""
    count = np.bincount(grown.parent)
    cut = np.flatnonzero(count[grown.parent] > 1)
    if not len(cut):
        return grown
    cut = cut[np.argsort(grown.parent[cut], kind="stable")]
    families = np.split(cut, np.flatnonzero(np.diff(grown.parent[cut])) + 1)
    used = np.unique(grown.faces[cut])
    place = dict(zip(used.tolist(), map(tuple, grown.vertices[used].tolist()), strict=True))
    barred = {(a, b) for seam in grown.seams for a, b in np.sort(seam.edges, axis=1).tolist()}
    faces = grown.faces.copy()
    for family in families:
        faces[family] = _turned(faces[family], place, barred)
    return replace(grown, faces=faces)


def _turned(pieces: IntArray, place: dict[int, Vector], barred: set[tuple[int, int]]) -> list[Face]:
    """Return the pieces of one flat face with its diagonals turned, the worst of each two first."""
    faces: list[Face] = [(a, b, c) for a, b, c in pieces.tolist()]
    out = max((_cross(place, face) for face in faces), key=lambda normal: math.hypot(*normal))
    for _ in range(_ROUNDS):
        changed = False
        for (a, b), (one, other) in _diagonals(faces).items():
            if (min(a, b), max(a, b)) in barred or not {a, b} <= set(faces[one]) & set(
                faces[other]
            ):
                continue
            (c,), (d,) = set(faces[one]) - {a, b}, set(faces[other]) - {a, b}
            new = (a, d, c), (d, b, c)
            if not all(_dot(_cross(place, face), out) > 0.0 for face in new):
                continue
            worst = min(_least_angle(place, faces[one]), _least_angle(place, faces[other]))
            if min(_least_angle(place, face) for face in new) > worst + _GAIN_RAD:
                faces[one], faces[other] = new
                changed = True
        if not changed:
            break
    return faces


def _diagonals(faces: Iterable[Face]) -> dict[tuple[int, int], tuple[int, int]]:
    """Return the edges two faces share, as the first has them, with the faces' numbers."""
    owner: dict[tuple[int, int], int] = {}
    found: dict[tuple[int, int], tuple[int, int]] = {}
    for number, (a, b, c) in enumerate(faces):
        for start, end in ((a, b), (b, c), (c, a)):
            if (end, start) in owner:
                found[end, start] = owner[end, start], number
            owner[start, end] = number
    return found


def _cross(place: dict[int, Vector], face: Face) -> Vector:
    """Return twice the area along the normal."""
    a, b, c = (place[corner] for corner in face)
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    wx, wy, wz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    return uy * wz - uz * wy, uz * wx - ux * wz, ux * wy - uy * wx


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _least_angle(place: dict[int, Vector], face: Face) -> float:
    """Return the smallest angle: opposite the shortest side, radians."""
    a, b, c = (place[corner] for corner in face)
    sides = sorted((math.dist(a, b), math.dist(b, c), math.dist(c, a)))
    if sides[1] == 0:
        return 0.0
    return math.asin(min(1.0, math.hypot(*_cross(place, face)) / (sides[1] * sides[2])))
