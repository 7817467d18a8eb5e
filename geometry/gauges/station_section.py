"""`StationSection`: the outline of the skin at a station, from bottom edge to bottom edge."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.gauges.gauge_faults import NoSectionError
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.polyline import line_length

_LEAST_MM = 8.0
"""Shorter pieces of an outline are left out where there are longer ones."""

_CLOSED_MM = 1e-6
_BRIDGED_MM = 0.5
"""A wider gap between two pieces of an outline is told."""


@dataclass(frozen=True, eq=False)
class StationSection:
    """The outline of the skin in one plane.

    Attributes
    ----------
    axis : int
        0 across the tank, 1 along it.
    at_mm : float
        Where the plane stands, in tank axes.
    arch : (k, 2) float, mm
        On the board, from its low end on the left over the top to that on the right: the outside
        lies to the left of it.
    filled, copied : tuple of (k, 2) float, mm
        Stretches nobody scanned (gaps bridged straight among them), and those made from the
        other side.
    folds : int
        Bends drawn to a corner: the sheet is thicker than they are round.
    was_closed : bool
        Whether the skin has a bottom there: the arch is what lies above its bottom edges.
    """

    axis: int
    at_mm: float
    arch: FloatArray
    filled: tuple[FloatArray, ...]
    copied: tuple[FloatArray, ...]
    folds: int
    was_closed: bool

    def __post_init__(self) -> None:
        locked(self.arch)

    def half(self, hand: str) -> FloatArray | None:
        """Return the part of the arch on the left or right hand, up to the centre line at the top.

        None where the arch does not reach over the centre line.
        """
        cut = _cut_at_centre(self.arch)
        if cut is None:
            return None
        left, right = cut
        return left if hand == "left" else right


def station_section(skin: GaugedSkin, axis: int, at_mm: float) -> StationSection:
    """Return the outline in which a plane cuts the skin.

    Parameters
    ----------
    skin : GaugedSkin
    axis : int
        0 for a station across the tank, 1 for one along it.
    at_mm : float

    Raises
    ------
    NoSectionError
    """
    cut = skin.cut(axis, at_mm)
    lines = [line for line in cut.lines if line_length(line) >= _LEAST_MM]
    if not lines:
        raise NoSectionError(at_mm)
    closed = [line for line in lines if np.linalg.norm(line[0] - line[-1]) <= _CLOSED_MM]
    was_closed = bool(closed) and lines[0] is closed[0]
    gaps: list[FloatArray] = []
    if was_closed:
        arch = _above_bottom(lines[0])
    else:
        opened = [line for line in lines if not any(line is each for each in closed)]
        arch, gaps = _chained(opened)
    # From the left end over the top: clockwise about what is under it.
    if arch[0, 0] > arch[-1, 0]:
        arch = arch[::-1].copy()
    return StationSection(
        axis, at_mm, arch, (*cut.filled, *gaps), cut.copied, cut.folds, was_closed
    )


def _above_bottom(ring: FloatArray) -> FloatArray:
    """Return what of a closed outline lies above its two bottom edges.

    A bottom edge is where the outline reaches furthest outward and down, half way between.
    """
    ring = ring[:-1]
    low = [int((ring @ np.array([side, -1.0])).argmax()) for side in (-1.0, 1.0)]
    turned = np.roll(ring, -low[0], axis=0)
    at = (low[1] - low[0]) % len(ring)
    ways = [turned[: at + 1], np.concatenate([turned[at:], turned[:1]])[::-1]]
    return max(ways, key=lambda way: float(way[:, 1].max())).copy()


def _chained(lines: Sequence[FloatArray]) -> tuple[FloatArray, list[FloatArray]]:
    """Return open pieces of one outline joined in their order, and the gaps bridged.

    All run the same way round. The widest gap is the tank's open bottom.
    """
    left = list(lines)
    if len(left) == 1:
        return left[0], []
    lonely = [
        min(float(np.linalg.norm(other[-1] - line[0])) for other in left if other is not line)
        for line in left
    ]
    chain = left.pop(int(np.argmax(lonely)))
    gaps: list[FloatArray] = []
    while left:
        apart = [float(np.linalg.norm(line[0] - chain[-1])) for line in left]
        following = left.pop(int(np.argmin(apart)))
        if min(apart) > _BRIDGED_MM:
            gaps.append(np.stack([chain[-1], following[0]]))
        chain = np.concatenate([chain, following])
    return chain, gaps


def _cut_at_centre(arch: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """Return the parts of an arch left and right of the highest place it crosses the centre."""
    u = arch[:, 0]
    steps = np.flatnonzero((u[:-1] < 0.0) & (u[1:] >= 0.0))
    if not len(steps):
        return None
    share = u[steps] / (u[steps] - u[steps + 1])
    height = arch[steps, 1] + share * (arch[steps + 1, 1] - arch[steps, 1])
    best = int(height.argmax())
    at, top = int(steps[best]), np.array([[0.0, height[best]]])
    after = arch[at + 1 :]
    right = after if after[0, 0] == 0.0 else np.concatenate([top, after])
    return np.concatenate([arch[: at + 1], top]), right
