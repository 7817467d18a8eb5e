"""Locked lines once the surface is cut: which run of which line lies on which panel."""

from itertools import pairwise

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import NearestPoint, edge_table
from geometry.panels.cut import CutSurface
from geometry.polyline import line_length

_ON_SEAM_MM = 0.5
"""Points of a line nearer to a seam than this run along it, or cross it."""

_LEAST_MM = 5.0
"""Shorter runs say nothing on a blank."""


def lines_by_panel(cut: CutSurface) -> dict[int, list[FloatArray]]:
    """Return for each panel's label the runs of locked lines that lie on it, (k, 3) each.

    A run reaches to the seam it crosses. What runs along a seam is the panel's edge already and
    left out.
    """
    found: dict[int, list[FloatArray]] = {}
    if not cut.lines:
        return found
    near = NearestPoint(cut.mesh)
    seams = _seam_points(cut)
    for line in cut.lines:
        label = cut.panel_of_face[near.find(line).faces]
        on_seam = _near_any(line, seams)
        for low, high in _runs(np.where(on_seam, -1, label)):
            # one point more on either side, where the line meets the seam
            begin = low - 1 if low > 0 and on_seam[low - 1] else low
            end = high + 1 if high < len(line) and on_seam[high] else high
            run = line[begin:end]
            if line_length(run) >= _LEAST_MM:
                found.setdefault(int(label[low]), []).append(locked(run.copy()))
    return found


def _seam_points(cut: CutSurface) -> tuple[FloatArray, FloatArray]:
    """Return both ends of every edge between two panels."""
    table = edge_table(cut.mesh.faces)
    sides = table.faces_of_edge[table.face_count == 2]
    parts = cut.panel_of_face[sides[:, 0]] != cut.panel_of_face[sides[:, 1]]
    edges = table.edges[table.face_count == 2][parts]
    return cut.mesh.vertices[edges[:, 0]], cut.mesh.vertices[edges[:, 1]]


def _near_any(points: FloatArray, pieces: tuple[FloatArray, FloatArray]) -> BoolArray:
    """Return which points lie on a straight piece, nearly."""
    start, run = pieces[0], pieces[1] - pieces[0]
    if not len(start):
        return np.zeros(len(points), bool)
    square = np.maximum((run * run).sum(axis=1), 1e-300)
    on = np.zeros(len(points), bool)
    for index, point in enumerate(points):
        along = np.clip(((point - start) * run).sum(axis=1) / square, 0.0, 1.0)
        off = np.linalg.norm(start + along[:, None] * run - point, axis=1)
        on[index] = off.min() <= _ON_SEAM_MM
    return on


def _runs(label: IntArray) -> list[tuple[int, int]]:
    """Return where runs of one label start and end; -1 belongs to none.

    >>> _runs(np.array([-1, 0, 0, 1, -1]))
    [(1, 3), (3, 4)]
    """
    breaks = [0, *(np.flatnonzero(np.diff(label)) + 1).tolist(), len(label)]
    return [(low, high) for low, high in pairwise(breaks) if label[low] >= 0]
