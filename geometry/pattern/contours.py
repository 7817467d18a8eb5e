"""Lines of equal change over the blank, and the patches they bound.

Where the metal gets thinner the larger stretch is what has to be done there, where it gets thicker
the smaller: the sign of the change is the sign of the change of area.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import edge_table
from geometry.polyline import line_length

_SHORTEST_MM = 8.0
"""Shorter lines are left out: specks nobody can work to."""

PER_HUNDRED = (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5)
"""Steps between contours that read as round numbers per 100 of length."""


@dataclass(frozen=True, eq=False)
class Contour:
    """A line along which the change of length is the same.

    Attributes
    ----------
    value : float
        Signed change: 0.02 is 100 stretched to 102.
    points : (k, 2) float, mm
        Higher values on its left.
    closed : bool
        The first point is not repeated.
    """

    value: float
    points: FloatArray
    closed: bool


def vertex_average(
    face_values: FloatArray, face_weights: FloatArray, faces: IntArray, vertex_count: int
) -> FloatArray:
    """Return the (n,) weighted average at every vertex of the faces round it; 0 without faces.

    >>> vertex_average(np.array([1.0, 4.0]), np.array([2.0, 1.0]),
    ...                np.array([[0, 1, 2], [1, 3, 2]]), 4).tolist()
    [1.0, 2.0, 2.0, 4.0]
    """
    corner = faces.ravel()
    weight = np.repeat(face_weights, 3)
    total = np.bincount(corner, weight, minlength=vertex_count)
    value = np.bincount(corner, weight * np.repeat(face_values, 3), minlength=vertex_count)
    return np.divide(value, total, out=np.zeros(vertex_count), where=total > 0)


def fitted_at_vertices(
    flat_vertices: FloatArray, faces: IntArray, face_values: FloatArray
) -> FloatArray:
    """Return values at vertices: a plane laid through those of the faces round about.

    Unlike an average it is not pulled inward at the rim: constant and even fields come out
    exactly. Where the faces round a vertex do not carry a plane it is their average.

    Parameters
    ----------
    flat_vertices : (n, 2) float, mm
    faces : (m, 3) int
    face_values : (m, d) float
        Taken at the middles of faces.

    Returns
    -------
    (n, d) float

    Source: the patch recovery of finite elements (Zienkiewicz and Zhu 1992), two rings of faces.
    """
    count = len(flat_vertices)
    around = coo_array(
        (np.ones(faces.size), (faces.ravel(), np.repeat(np.arange(len(faces)), 3))),
        shape=(count, len(faces)),
    ).tocsr()
    patch = (around @ (around.T @ around)).tocsr()
    patch.data[:] = 1.0
    middles = flat_vertices[faces].mean(axis=1)
    rows = np.repeat(np.arange(count), np.diff(patch.indptr))
    offset = middles[patch.indices] - flat_vertices[rows]  # (p, 2)
    values = face_values[patch.indices]  # (p, d)
    terms = np.column_stack([np.ones(len(rows)), offset])  # (p, 3)
    normal = _row_sums(patch.indptr, (terms[:, :, None] * terms[:, None, :]).reshape(-1, 9))
    right = _row_sums(patch.indptr, (terms[:, :, None] * values[:, None, :]).reshape(len(rows), -1))
    normal, right = normal.reshape(-1, 3, 3), right.reshape(count, 3, -1)
    total = np.maximum(normal[:, 0, 0], 1.0)
    average = right[:, 0] / total[:, None]
    spread = normal[:, 1, 1] + normal[:, 2, 2]
    sound = np.linalg.det(normal) > 1e-4 * total * spread**2
    fitted = average
    if sound.any():
        fitted[sound] = np.linalg.solve(normal[sound], right[sound])[:, 0]
    return np.asarray(fitted)


def _row_sums(pointer: NDArray[np.signedinteger], rows: FloatArray) -> FloatArray:
    """Return sums of runs of rows; a run may be empty."""
    running = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows, axis=0)])
    return np.asarray(running[pointer[1:]] - running[pointer[:-1]])


def contour_levels(
    values: FloatArray, *, most_each_way: int = 5, steps: Sequence[float] = PER_HUNDRED
) -> FloatArray:
    """Return round levels over the values, 0 left out, rising; none where all is under a step.

    Parameters
    ----------
    values : (n,) float
    most_each_way : int
    steps : sequence of float
        Rising; the first that gives no more levels each way than asked is taken, or two, four
        and so on times the last.

    >>> contour_levels(np.array([-0.047, 0.031])).tolist()
    [-0.04, -0.03, -0.02, -0.01, 0.01, 0.02, 0.03]
    >>> contour_levels(np.array([-0.3, 25.0])).tolist()
    [8.0, 16.0, 24.0]
    """
    largest = float(np.abs(values).max(initial=0.0))
    step = next((step for step in steps if largest / step < most_each_way + 1), steps[-1])
    while largest / step >= most_each_way + 1:  # a layout that stands nowhere
        step *= 2.0
    lowest = int(np.ceil(values.min(initial=0.0) / step - 1e-9))
    highest = int(np.floor(values.max(initial=0.0) / step + 1e-9))
    count = np.arange(lowest, highest + 1)
    return np.asarray(np.round(count[count != 0] * step, 9), np.float64)


class ShapeField:
    """Stretch and shrink over the blank, fitted at vertices, with what every level needs kept.

    Parameters
    ----------
    flat_vertices : (n, 2) float, mm
    faces : (m, 3) int
        Counter-clockwise.
    stretches : (m, 2) float
        Formed over flat, larger first.
    """

    def __init__(self, flat_vertices: FloatArray, faces: IntArray, stretches: FloatArray) -> None:
        self._points, self._faces = flat_vertices, faces
        self._table = edge_table(faces)
        rim_side = np.flatnonzero(self._table.face_count[self._table.edge_of_side.ravel()] == 1)
        self._rim_edge = self._table.edge_of_side.ravel()[rim_side]
        self._rim_start = faces.ravel()[rim_side]
        self._rim_end = faces.ravel()[rim_side - rim_side % 3 + (rim_side % 3 + 1) % 3]
        growth = np.log(stretches).sum(axis=1, keepdims=True)
        fitted = fitted_at_vertices(flat_vertices, faces, np.hstack([stretches - 1.0, growth]))
        self._larger, self._smaller, self._growth = np.ascontiguousarray(fitted.T)

    @property
    def change(self) -> FloatArray:
        """Return the (n,) signed change at vertices: above 0 stretch, below 0 shrink."""
        chosen = np.where(self._growth >= 0.0, self._larger, self._smaller)
        return np.asarray(
            np.where(self._growth >= 0.0, np.maximum(chosen, 0.0), np.minimum(chosen, 0.0))
        )

    def contours(self, level: float, *, tolerance: float = 0.002) -> tuple[Contour, ...]:
        """Return the lines along which the change is one level, longest first.

        Where stretch passes to shrink at once no line is drawn: the change jumps over the level.
        """
        excess, change = self._excess(level)
        start, end = self._crossings(excess >= 0.0)
        lines: list[Contour] = []
        for keys, closed in _chains(start, end):
            off = np.abs(self._at(keys, excess, change[:, None])[:, 0] - level) > tolerance
            for piece, whole in _kept(keys, closed, ~off):
                points = _tidy(self._at(piece, excess, self._points), whole)
                if line_length(points) > _SHORTEST_MM:
                    lines.append(Contour(level, points, whole))
        return tuple(sorted(lines, key=lambda line: -line_length(line.points)))

    def loops_beyond(self, level: float) -> tuple[FloatArray, ...]:
        """Return the closed lines round every place that changes by the level or more, its way.

        The places lie on the left. Filled by the even-odd rule the loops cover them.
        """
        excess, _ = self._excess(level)
        inside = excess >= 0.0
        start, end = self._crossings(inside)
        rim_start, rim_end = self._rim_pieces(inside)
        chains = _chains(np.concatenate([start, rim_start]), np.concatenate([end, rim_end]))
        loops = (_tidy(self._at(keys, excess, self._points), closed=True) for keys, _ in chains)
        return tuple(loop for loop in loops if len(loop) > 2)

    def _excess(self, level: float) -> tuple[FloatArray, FloatArray]:
        """Return (n,) how far beyond a level, its way, and (n,) the stretch that counts there."""
        if level > 0.0:
            return np.minimum(self._larger - level, self._growth), self._larger
        return np.minimum(level - self._smaller, -self._growth), self._smaller

    def _crossings(self, above: BoolArray) -> tuple[IntArray, IntArray]:
        """Return start and end keys of the piece in every face the level runs through."""
        high = above[self._faces]
        mixed = np.flatnonzero(high.any(axis=1) & ~high.all(axis=1))
        high = high[mixed]
        one_above = high.sum(axis=1) == 1
        odd = np.where(one_above, high.argmax(axis=1), (~high).argmax(axis=1))
        leaving = self._table.edge_of_side[mixed, odd]  # the side that starts at the odd corner
        arriving = self._table.edge_of_side[mixed, (odd + 2) % 3]
        offset = len(self._points)
        start = np.where(one_above, leaving, arriving) + offset
        end = np.where(one_above, arriving, leaving) + offset
        return start, end

    def _rim_pieces(self, above: BoolArray) -> tuple[IntArray, IntArray]:
        """Return start and end keys of the pieces of rim beside what is above."""
        high_start, high_end = above[self._rim_start], above[self._rim_end]
        keep = high_start | high_end
        crossing = self._rim_edge + len(self._points)
        start = np.where(high_start, self._rim_start, crossing)[keep]
        end = np.where(high_end, self._rim_end, crossing)[keep]
        return start, end

    def _at(self, keys: IntArray, excess: FloatArray, values: FloatArray) -> FloatArray:
        """Return (k, d) values at keys: vertices first, after them the crossings of edges."""
        count = len(self._points)
        found = values[np.minimum(keys, count - 1)].copy()
        crossing = keys >= count
        a, b = self._table.edges[keys[crossing] - count].T
        fraction = excess[a] / (excess[a] - excess[b])
        found[crossing] = values[a] + fraction[:, None] * (values[b] - values[a])
        return np.asarray(found)


def flat_areas(flat_vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return the (m,) areas of faces on the blank, mm2.

    >>> flat_areas(np.array([[0.0, 0], [4, 0], [0, 3]]), np.array([[0, 1, 2]])).tolist()
    [6.0]
    """
    corners = flat_vertices[faces]
    ab, ac = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.asarray(np.abs(ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]) / 2.0)


def _kept(keys: IntArray, closed: bool, keep: BoolArray) -> list[tuple[IntArray, bool]]:
    """Return the runs of a chain that are kept, and whether each closes."""
    if keep.all():
        return [(keys, closed)]
    if closed:
        first = int(np.argmin(keep))
        keys, keep = np.roll(keys, -first), np.roll(keep, -first)
    breaks = np.flatnonzero(np.diff(keep.astype(np.int64)) != 0) + 1
    runs = zip(np.split(keys, breaks), np.split(keep, breaks), strict=True)
    return [(run, False) for run, kept in runs if kept[0] and len(run) > 1]


def _tidy(points: FloatArray, closed: bool) -> FloatArray:
    """Return points without any that repeat the one before."""
    moved = np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-9
    points = points[np.concatenate([[True], moved])]
    if closed and len(points) > 1 and np.linalg.norm(points[0] - points[-1]) <= 1e-9:
        points = points[:-1]
    return locked(np.ascontiguousarray(points))


def _chains(start: IntArray, end: IntArray) -> list[tuple[IntArray, bool]]:
    """Join directed pieces end to start: keys along each chain, and whether it closes."""
    following = dict(zip(start.tolist(), end.tolist(), strict=True))
    chains: list[tuple[IntArray, bool]] = []
    ends = set(end.tolist())
    open_starts = [key for key in following if key not in ends]
    for first in [*open_starts, *list(following)]:
        if first not in following:
            continue
        keys = [first]
        while keys[-1] in following:
            keys.append(following.pop(keys[-1]))
        closed = keys[-1] == first
        chains.append((np.array(keys[:-1] if closed else keys, np.int64), closed))
    return chains
