"""Panels too narrow to be any: what is left where two seams all but lie on each other."""

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import edge_lengths, face_areas
from geometry.panels.growing import Growing
from geometry.panels.seam import SeamLeavesSliverError

LEAST_WIDTH_MM = 1.0
LEAST_BESIDE_HOLE_MM = 3.0
"""Between a seam and an open hole: a narrower rim can be neither cut nor held (common practice)."""


def check_wide_enough(grown: Growing, labels: IntArray) -> None:
    """Refuse seams that cut off what is too narrow to be a panel.

    How wide a panel is: its area over half the length of its edge, which is the width of a long
    strip, and half the radius of a disk. What no seam borders, a scrap of the scan, is let be.
    Beside an open hole more is asked.

    Parameters
    ----------
    grown : Growing
        With all seams laid.
    labels : (m,) int
        The panel of each face.

    Raises
    ------
    SeamLeavesSliverError
        Of the last seam beside the narrowest.
    """
    width, borders = _widths(grown, labels)
    seams = [_keys(grown, path.edges) for path in grown.seams]
    for label in np.argsort(width, kind="stable"):
        if width[label] >= LEAST_BESIDE_HOLE_MM:
            return
        own = grown.table.edges[borders[label]]
        hole_mm = _hole_across(grown, own)
        if width[label] >= LEAST_WIDTH_MM and not hole_mm:
            continue
        needed = LEAST_BESIDE_HOLE_MM if hole_mm else LEAST_WIDTH_MM
        beside = [np.isin(_keys(grown, own), keys) for keys in seams]
        touched = [k for k, here in enumerate(beside) if here.any()]
        if touched:
            last = touched[-1]
            other = grown.seams[touched[-2]].name if len(touched) > 1 else ""
            place = _middle(grown, own[beside[last]])
            raise SeamLeavesSliverError(
                grown.seams[last].name,
                place,
                float(width[label]),
                other,
                hole_mm=hole_mm,
                needed_mm=needed,
            )


def _widths(grown: Growing, labels: IntArray) -> tuple[FloatArray, dict[int, IntArray]]:
    """Return how wide each panel is, and for narrow ones which edges border it."""
    table = grown.table
    areas = np.bincount(labels, face_areas(grown.vertices, grown.faces))
    sides = np.where(table.faces_of_edge >= 0, labels[table.faces_of_edge], -1)
    border: BoolArray = sides[:, 0] != sides[:, 1]
    lengths = edge_lengths(grown.vertices, table.edges)
    around = np.zeros(len(areas))
    for column in sides[border].T:
        there = column >= 0
        around += np.bincount(column[there], lengths[border][there], minlength=len(areas))
    width = np.where(around > 0.0, 2.0 * areas / np.maximum(around, 1e-300), np.inf)
    rows = np.flatnonzero(border)
    narrow = np.flatnonzero(width < LEAST_BESIDE_HOLE_MM).tolist()
    return width, {label: rows[(sides[rows] == label).any(axis=1)] for label in narrow}


def _hole_across(grown: Growing, border: IntArray) -> float:
    """Return how far across the open hole is that a panel's border runs along, 0 for none."""
    across = 0.0
    keys = _keys(grown, border)
    for rim in grown.hole_rims:
        edges = np.stack([rim, np.roll(rim, -1)], axis=1)
        if np.isin(keys, _keys(grown, edges)).any():
            place = grown.outside[rim]
            off = np.linalg.norm(place - place.mean(axis=0), axis=1)
            across = max(across, 2.0 * float(off.mean()))
    return across


def _keys(grown: Growing, edges: IntArray) -> IntArray:
    return np.asarray(np.sort(edges, axis=1) @ np.array([len(grown.vertices), 1]))


def _middle(grown: Growing, edges: IntArray) -> FloatArray:
    """Return the end of an edge nearest to the middle of them all, outside."""
    ends = grown.outside[np.unique(edges)]
    place = ends[int(np.argmin(np.linalg.norm(ends - ends.mean(axis=0), axis=1)))]
    return np.asarray(place)
