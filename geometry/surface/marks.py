"""Marks of a scan's faces (a guess, a copy of the other side) carried to the working surface."""

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import NearestPoint, TriMesh


def faces_on(
    scan: TriMesh, marked: BoolArray | None, vertices: FloatArray, faces: IntArray
) -> BoolArray:
    """Return which faces over a scan have their middle on one of its marked faces."""
    out = np.zeros(len(faces), bool)
    if marked is None or not marked.any() or not len(faces):
        return out
    middles = vertices[faces].mean(axis=1)
    close = np.flatnonzero(_near_marked(scan, marked, middles))
    out[close] = marked[NearestPoint(scan).find(middles[close]).faces]
    return out


def faces_touching(
    scan: TriMesh, marked: BoolArray | None, vertices: FloatArray, faces: IntArray
) -> BoolArray:
    """Return which faces over a scan lie on its marked faces, even in part.

    A strip narrower than the faces holds no middle of one; so the faces under the marked faces'
    middles count as well. What is a guess is never shown as scanned.
    """
    out = faces_on(scan, marked, vertices, faces)
    if marked is not None and marked.any() and len(faces):
        middles = scan.vertices[scan.faces[marked]].mean(axis=1)
        out[NearestPoint(TriMesh(vertices, faces)).find(middles).faces] = True
    return out


def _near_marked(scan: TriMesh, marked: BoolArray, points: FloatArray) -> BoolArray:
    """Return which points lie in the box around the marked faces, with some room."""
    corners = scan.vertices[scan.faces[marked].ravel()]
    low, high = corners.min(axis=0), corners.max(axis=0)
    room = 0.05 * float(np.linalg.norm(high - low)) + 10.0
    return np.asarray(((points > low - room) & (points < high + room)).all(axis=1))
