"""What stands in a scanner's file, checked but not mended; and polygons split into triangles."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import FloatArray, IntArray
from geometry.scan.unit import Unit
from geometry.scan.unreadable import (
    BadIndexError,
    NoSurfaceError,
    NotFiniteScanError,
    OutsizeScanError,
    PointsOnlyError,
)

RawFloats = NDArray[np.floating[Any]]
RawInts = NDArray[np.integer[Any]]

_LARGEST_COORDINATE = 1e7
"""Ten kilometres in mm: beyond it no scan of a tank lies, whatever its unit."""


@dataclass(frozen=True, eq=False)
class RawScan:
    """The triangles of a file as they stand there.

    Attributes
    ----------
    vertices : (n, 3) float, file's unit
        As precise as the file (float32 from a binary STL). Read-only.
    faces : (m, 3) int
        32-bit where that is enough. Read-only.
    kind : str
        What kind of file it was, such as "binary STL".
    remarks : tuple of str
        What had to be decided while reading, in plain words.
    path : Path
        Where it was read from.
    unit : "mm", "cm", "m", "in" or None
        What the file says a coordinate means; None where its kind says nothing.
    """

    vertices: RawFloats
    faces: RawInts
    kind: str
    remarks: tuple[str, ...]
    path: Path
    unit: Unit | None = None


def raw_scan(
    path: Path,
    vertices: RawFloats,
    faces: RawInts,
    kind: str,
    remarks: tuple[str, ...] = (),
    *,
    unit: Unit | None = None,
) -> RawScan:
    """Return the arrays as a `RawScan` after the checks that every kind of file goes through.

    Raises
    ------
    PointsOnlyError, NoSurfaceError
        No faces, with or without points.
    NotFiniteScanError, OutsizeScanError
        Coordinates that cannot be worked with.
    BadIndexError
        Faces that name a vertex which is not there.
    """
    if len(faces) == 0:
        raise PointsOnlyError(path, len(vertices)) if len(vertices) else NoSurfaceError(path)
    if len(vertices) == 0:
        raise BadIndexError(path, len(faces), 0)
    low, high = float(vertices.min()), float(vertices.max())  # either is NaN if one number is
    if not (np.isfinite(low) and np.isfinite(high)):
        raise NotFiniteScanError(path, int((~np.isfinite(vertices).all(axis=1)).sum()))
    largest = max(-low, high)
    if largest > _LARGEST_COORDINATE:
        beyond = (np.abs(vertices) > _LARGEST_COORDINATE).any(axis=1)
        raise OutsizeScanError(path, largest, int(beyond.sum()))
    if int(faces.min()) < 0 or int(faces.max()) >= len(vertices):
        outside = ((faces < 0) | (faces >= len(vertices))).any(axis=1)
        raise BadIndexError(path, int(outside.sum()), len(vertices))
    vertices.setflags(write=False)
    faces.setflags(write=False)
    return RawScan(vertices, faces, kind, remarks, path, unit)


def polygons_split(
    vertices: RawFloats, corners: IntArray, counts: IntArray
) -> tuple[IntArray, tuple[str, ...]]:
    """Return polygons as (m, 3) triangles, and remarks that say what was split or left out.

    Parameters
    ----------
    vertices : (n, 3) float
        Quads are split along their shorter diagonal; larger polygons fan out from a corner.
    corners : (s,) int
        The corners of all polygons, one polygon after another. Indices are not checked.
    counts : (p,) int
        How many corners each has; s in all.

    >>> square = np.array([[0.0, 0, 0], [3, 0, 0], [3, 1, 0], [0, 1, 0]])
    >>> faces, remarks = polygons_split(square, np.arange(4), np.array([4]))
    >>> faces.tolist(), remarks
    ([[0, 1, 2], [0, 2, 3]], ('1 face of more than three corners was split into triangles.',))
    """
    starts = np.cumsum(counts) - counts
    triangles_of = np.maximum(counts - 2, 0)
    polygon = np.repeat(np.arange(len(counts)), triangles_of)
    step = np.arange(len(polygon)) - np.repeat(np.cumsum(triangles_of) - triangles_of, triangles_of)
    turned = np.zeros(len(counts), np.int64)
    turned[counts == 4] = _second_diagonal_shorter(vertices, corners, starts[counts == 4])
    ring, begin, first = counts[polygon], starts[polygon], turned[polygon]
    faces = np.stack(
        [corners[begin + (first + ahead) % ring] for ahead in (0 * step, step + 1, step + 2)],
        axis=1,
    )
    remarks = []
    split = int((counts > 3).sum())
    if split:
        were = "1 face of more than three corners was" if split == 1 else _many(split)
        remarks.append(f"{were} split into triangles.")
    short = int((counts < 3).sum())
    if short:
        remarks.append(f"Faces of fewer than three corners left out: {short}.")
    return faces, tuple(remarks)


def _many(count: int) -> str:
    return f"{count} faces of more than three corners were"


def _second_diagonal_shorter(vertices: RawFloats, corners: IntArray, starts: IntArray) -> IntArray:
    quad = corners[starts[:, None] + np.arange(4)]  # (q, 4)
    sound = ((quad >= 0) & (quad < len(vertices))).all(axis=1)
    places: FloatArray = vertices[np.where(sound[:, None], quad, 0)].astype(np.float64)
    first = np.linalg.norm(places[:, 2] - places[:, 0], axis=1)
    second = np.linalg.norm(places[:, 3] - places[:, 1], axis=1)
    shorter: IntArray = (second < first * (1.0 - 1e-9)).astype(np.int64)
    return shorter
