"""`GaugedSkin`: the face of the tank gauges are laid on, and what planes cut out of it.

A gauge's plane is not square to the skin, so a face of the sheet other than the one scanned is
moved as a surface first and cut after: moving the outline instead would be short by the slope.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import NearestPoint, TriMesh, section
from geometry.surface import offset_inward

_FOLD_SHARE = 0.03
"""A place of the moved face nearer to the scanned one, by this share of the distance, is folded."""

_AXES_ON_BOARD = ((1, 2), (0, 2), (0, 1))
_SIGNS = ((-1.0, 1.0), (1.0, 1.0), (1.0, 1.0))


def on_board(points: FloatArray, axis: int) -> FloatArray:
    """Return (k, 2) places on a board square to an axis, of (k, 3) in tank axes.

    Boards across are seen from behind, left on the left; boards along from the right side, front
    on the right; plan curves from above, front on the right.

    >>> on_board(np.array([[100.0, 40.0, 9.0]]), 0).tolist()
    [[-40.0, 9.0]]
    """
    across, up = _AXES_ON_BOARD[axis]
    return np.asarray(points[:, [across, up]] * np.array(_SIGNS[axis]))


def in_tank(places: FloatArray, axis: int, at_mm: float) -> FloatArray:
    """Return (k, 3) places in tank axes of (k, 2) on a board that stands at a plane."""
    found = np.full((len(places), 3), at_mm)
    across, up = _AXES_ON_BOARD[axis]
    found[:, [across, up]] = places * np.array(_SIGNS[axis])
    return found


@dataclass(frozen=True, eq=False)
class PlaneCut:
    """What a plane cuts out of the skin, on the board.

    Attributes
    ----------
    lines : tuple of (k, 2) float, mm
        The outlines, the longest first; closed ones repeat their first point.
    filled, copied : tuple of (k, 2) float, mm
        The stretches of them that nobody scanned, and that were made from the other side.
    folds : int
        Bends where the sheet is thicker than they are round, drawn to a corner.
    """

    lines: tuple[FloatArray, ...]
    filled: tuple[FloatArray, ...]
    copied: tuple[FloatArray, ...]
    folds: int


@dataclass(frozen=True, eq=False)
class GaugedSkin:
    """The skin in tank axes, and which of its faces a gauge touches.

    Attributes
    ----------
    scanned : TriMesh
        The scanned face: x ahead, y left, z up, mm.
    inward_mm : float
        How far below it the face lies that the gauge touches.
    filled, copied : (m,) bool
    ends_mm : tuple of float or None
        Where its rear and its front end stand; as far as its vertices go where nobody says.
    """

    scanned: TriMesh
    inward_mm: float
    filled: BoolArray
    copied: BoolArray
    ends_mm: tuple[float, float] | None = None

    @cached_property
    def vertices(self) -> FloatArray:
        """(n, 3) of the face the gauge touches."""
        if self.inward_mm == 0.0:
            return self.scanned.vertices
        return locked(offset_inward(self.scanned, self.inward_mm))

    @cached_property
    def length_mm(self) -> float:
        """From its rear end to its front end."""
        rear, front = self._ends
        return front - rear

    @cached_property
    def front_mm(self) -> float:
        """Where its front end stands."""
        return self._ends[1]

    @cached_property
    def _ends(self) -> tuple[float, float]:
        if self.ends_mm is not None:
            return self.ends_mm
        ahead = self.scanned.vertices[self.scanned.faces.ravel(), 0]
        return float(ahead.min()), float(ahead.max())

    @cached_property
    def _spans(self) -> tuple[tuple[FloatArray, FloatArray], ...]:
        """For each axis (m,) from where to where along it every face reaches."""
        corners = [self.vertices[:, axis][self.scanned.faces] for axis in range(3)]
        return tuple((places.min(axis=1), places.max(axis=1)) for places in corners)

    def cut(self, axis: int, at_mm: float) -> PlaneCut:
        """Return what the plane square to an axis cuts out."""
        crossed = self._crossed(axis, at_mm)
        folds = 0
        lines: list[FloatArray] = []
        for line in self._lines(crossed, axis, at_mm):
            clean, found = self._without_folds(line, axis, at_mm)
            folds += found
            if len(clean) > 1:
                lines.append(on_board(clean, axis))
        marks = [
            tuple(on_board(line, axis) for line in self._lines(crossed[mask[crossed]], axis, at_mm))
            for mask in (self.filled, self.copied)
        ]
        return PlaneCut(tuple(lines), marks[0], marks[1], folds)

    def _crossed(self, axis: int, at_mm: float) -> IntArray:
        low, high = self._spans[axis]
        return np.flatnonzero((low < at_mm) & (high >= at_mm))

    def _lines(self, faces: IntArray, axis: int, at_mm: float) -> tuple[FloatArray, ...]:
        if not len(faces):
            return ()
        normal = np.eye(3)[axis]
        return section(_part(self.vertices, self.scanned.faces[faces]), at_mm * normal, normal)

    def _without_folds(self, line: FloatArray, axis: int, at_mm: float) -> tuple[FloatArray, int]:
        """Return a line of the moved face without what folded over, and how often it did."""
        reach = abs(self.inward_mm)
        if reach == 0.0:
            return line, 0
        height = (self.scanned.vertices[:, axis] - at_mm)[self.scanned.faces]
        near = (height.min(axis=1) < 2.0 * reach) & (height.max(axis=1) > -2.0 * reach)
        if not near.any():
            return line, 0
        strip = NearestPoint(_part(self.scanned.vertices, self.scanned.faces[near]))
        kept = strip.find(line).distances > (1.0 - _FOLD_SHARE) * reach
        if kept.all():
            return line, 0
        return _bridged(line, kept)


def _part(vertices: FloatArray, faces: IntArray) -> TriMesh:
    used, renumbered = np.unique(faces, return_inverse=True)
    return TriMesh(vertices[used], renumbered.reshape(-1, 3))


def _bridged(line: FloatArray, kept: BoolArray) -> tuple[FloatArray, int]:
    """Return a line without some places, its two sides drawn on to where they meet."""
    pieces: list[FloatArray] = []
    folds = 0
    ends = np.flatnonzero(np.diff(np.concatenate([[False], kept, [False]]).astype(int)))
    for start, stop in ends.reshape(-1, 2).tolist():
        piece = line[start:stop]
        if pieces:
            folds += 1
            meeting = _meeting(pieces[-1], piece)
            if meeting is not None:
                pieces.append(meeting[None])
        pieces.append(piece)
    if not pieces:
        return line[:0], 0
    return np.concatenate(pieces), folds


def _meeting(before: FloatArray, after: FloatArray) -> FloatArray | None:
    """Return where the ends of two lines, drawn on, meet; None where they do not nearby."""
    if len(before) < 2 or len(after) < 2:
        return None
    one, other = before[-1] - before[-2], after[0] - after[1]
    gap = after[0] - before[-1]
    (s, t), *_ = np.linalg.lstsq(np.stack([one, -other], axis=1), gap, rcond=None)
    meeting = before[-1] + s * one
    reach = 3.0 * float(np.linalg.norm(gap))
    is_near = s >= 0.0 and t >= 0.0 and float(np.linalg.norm(meeting - before[-1])) <= reach
    return np.asarray(meeting) if is_near else None
