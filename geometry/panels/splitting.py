"""Cutting one flat face into triangles along lines that run across it."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import FloatArray

Polygon = list[int]


class ChainsCrossError(Exception):
    """A line across a face cannot be laid without crossing an earlier one.

    Attributes
    ----------
    node : int
        Where the line enters the face.
    """

    def __init__(self, node: int) -> None:
        self.node = node
        super().__init__(f"lines cross in the face entered at node {node}")


def face_polygon(corners: Sequence[int], on_side: Sequence[Sequence[int]]) -> Polygon:
    """Return the outline of a face: its corners, and the nodes on each side in order.

    >>> face_polygon([0, 1, 2], [[7], [], [8, 9]])
    [0, 7, 1, 2, 8, 9]
    """
    outline: Polygon = []
    for corner, nodes in zip(corners, on_side, strict=True):
        outline += [corner, *nodes]
    return outline


def split_by(polygons: list[Polygon], chain: Sequence[int]) -> list[Polygon]:
    """Return the polygons after a chain of nodes, from outline to outline, parts one of them.

    Raises
    ------
    ChainsCrossError
        No polygon has both ends of the chain on its outline.

    >>> split_by([[0, 1, 2, 3]], [0, 9, 2])
    [[0, 9, 2, 3], [0, 1, 2, 9]]
    """
    first, last = chain[0], chain[-1]
    for index, outline in enumerate(polygons):
        if first not in outline or last not in outline:
            continue
        a, b = outline.index(first), outline.index(last)
        size = len(outline)
        if len(chain) == 2 and (b - a) % size in (1, size - 1):
            return polygons  # the chain lies along the outline
        forward = [outline[(a + k) % size] for k in range((b - a) % size + 1)]
        backward = [outline[(b + k) % size] for k in range((a - b) % size + 1)]
        inner = list(chain[1:-1])
        one = [first, *inner, *backward[:-1]] if first != last else backward
        two = [*forward, *reversed(inner)]
        parts = [part for part in (one, two) if len(part) > 2]
        return polygons[:index] + parts + polygons[index + 1 :]
    raise ChainsCrossError(first)


def triangulated(outline: Polygon, place: dict[int, FloatArray]) -> list[tuple[int, int, int]]:
    """Return triangles that fill a simple polygon, the best-shaped ear cut first.

    Parameters
    ----------
    outline : list of int
        Counter-clockwise.
    place : dict of (2,) float
        Where each node lies in the face's plane.
    """
    left = list(outline)
    triangles: list[tuple[int, int, int]] = []
    while len(left) > 3:
        best, at = -np.inf, -1
        for k in range(len(left)):
            ear = left[k - 1], left[k], left[(k + 1) % len(left)]
            quality = _ear_quality(ear, left, place)
            if quality > best:
                best, at = quality, k
        triangles.append((left[at - 1], left[at], left[(at + 1) % len(left)]))
        del left[at]
    triangles.append((left[0], left[1], left[2]))
    return triangles


def _ear_quality(ear: tuple[int, int, int], left: Polygon, place: dict[int, FloatArray]) -> float:
    """Return area over longest side squared of an ear and its remainder's worst; low if no ear."""
    a, b, c = (place[node] for node in ear)
    area = _twice_area(a, b, c)
    longest = max(_square(b - a), _square(c - b), _square(a - c))
    if area <= 1e-12 * longest:
        return -1.0 + area / longest
    for node in left:
        if node in ear:
            continue
        p = place[node]
        inside = min(_twice_area(a, b, p), _twice_area(b, c, p), _twice_area(c, a, p))
        if inside >= -1e-12 * longest:
            return -0.5
    return area / longest


def _twice_area(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _square(v: FloatArray) -> float:
    return float(v[0] * v[0] + v[1] * v[1])
