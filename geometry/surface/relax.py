"""Sliding a net's vertices along the surface so that triangles even out."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.surface.net import ON_LINE, Net, agreement, area_vectors, columns_of, dot_columns

_STEP = 0.7
_LEAST_AGREEMENT = 0.15


def relaxed(net: Net, lines: Sequence[FloatArray]) -> Net:
    """Return the net with vertices slid towards the middle of the faces around them.

    Parameters
    ----------
    net : Net
    lines : sequence of (k, 3) float, mm
        The lines vertices may slide along, as polylines, numbered as in the net.
    """
    goal = net.vertices + _STEP * _slide(net)
    goal = _along_lines(net, goal, lines)
    goal[net.kind > ON_LINE] = net.vertices[net.kind > ON_LINE]
    return without_new_folds(net, goal)


def _slide(net: Net) -> FloatArray:
    """Return how far each vertex is from the middle of its faces, along the surface.

    A face weighs its area over the area wanted there, so that where smaller triangles are wanted
    vertices gather.
    """
    count = len(net.vertices)
    corners = np.ascontiguousarray(net.faces.T)
    places = columns_of(net.vertices)
    middle = [(axis[corners[0]] + axis[corners[1]] + axis[corners[2]]) / 3.0 for axis in places]
    flat = columns_of(area_vectors(net.vertices, net.faces))
    size = (net.size[corners[0]] + net.size[corners[1]] + net.size[corners[2]]) / 3.0
    weight = np.sqrt(dot_columns(flat, flat)) / size**2
    total = np.zeros(count)
    pull = np.zeros((count, 3))
    for at in corners:
        total += np.bincount(at, weights=weight, minlength=count)
        for axis, (mean, place) in enumerate(zip(middle, places, strict=True)):
            pull[:, axis] += np.bincount(at, weights=weight * (mean - place[at]), minlength=count)
    pull /= np.maximum(total, 1e-300)[:, None]
    return np.asarray(pull - (pull * net.normals).sum(axis=1, keepdims=True) * net.normals)


def _along_lines(net: Net, goal: FloatArray, lines: Sequence[FloatArray]) -> FloatArray:
    """Return the goals with those on lines replaced: evenly spaced along the line, and on it."""
    ends = net.line_edges
    if not len(ends):
        return goal
    x = net.vertices
    n = len(x)
    length = np.linalg.norm(x[ends[:, 1]] - x[ends[:, 0]], axis=1)
    weight = length / net.size[ends].mean(axis=1)
    middle = x[ends].mean(axis=1)
    total = np.bincount(ends.ravel(), weights=np.repeat(weight, 2), minlength=n)
    out = goal.copy()
    moving = np.flatnonzero(net.kind == ON_LINE)
    for axis in range(3):
        pull = np.bincount(
            ends.ravel(), weights=np.repeat(weight * middle[:, axis], 2), minlength=n
        )
        even = pull[moving] / np.maximum(total[moving], 1e-300)
        out[moving, axis] = x[moving, axis] + _STEP * (even - x[moving, axis])
    line = line_of_vertex(net)
    for number, points in enumerate(lines):
        here = moving[line[moving] == number]
        out[here] = nearest_on_polyline(out[here], points)
    return out


def line_of_vertex(net: Net) -> IntArray:
    """Return the line each vertex lies on, -1 for none; one of several at a fixed vertex."""
    line = np.full(len(net.vertices), -1, np.int64)
    line[net.line_edges] = net.line_of_edge[:, None]
    return line


def nearest_on_polyline(points: FloatArray, polyline: FloatArray) -> FloatArray:
    """Return the places on a polyline nearest to (k, 3) points."""
    out = np.empty_like(points)
    start, run = polyline[:-1], np.diff(polyline, axis=0)
    square = np.maximum((run * run).sum(axis=1), 1e-300)
    block = max(1, 2_000_000 // max(len(start), 1))
    for first in range(0, len(points), block):
        p = points[first : first + block]
        along = (p @ run.T - (start * run).sum(axis=1)) / square
        along = np.clip(along, 0.0, 1.0)
        square_off = np.zeros_like(along)
        for axis in range(3):
            gap = p[:, axis, None] - start[:, axis] - along * run[:, axis]
            square_off += gap * gap
        best = np.argmin(square_off, axis=1)
        share = np.take_along_axis(along, best[:, None], 1)
        out[first : first + block] = start[best] + share * run[best]
    return out


def without_new_folds(net: Net, goal: FloatArray, *, max_rounds: int = 6) -> Net:
    """Return the net moved to the goal, except where that would fold a face over."""
    before = agreement(net.vertices, net.normals, net.faces)
    limit = np.minimum(before, _LEAST_AGREEMENT)
    goal = goal.copy()
    for _ in range(max_rounds):
        bad = agreement(goal, net.normals, net.faces) < limit
        if not bad.any():
            return replace(net, vertices=goal)
        stay = net.faces[bad].ravel()
        goal[stay] = net.vertices[stay]
    return net
