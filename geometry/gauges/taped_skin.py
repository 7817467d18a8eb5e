"""The skin a tape is laid on, in the tank's axes: what of it was scanned, its lines and holes."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.ndimage import uniform_filter1d
from scipy.spatial import ConvexHull, QhullError, cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.gauges.tank_axes import TankAxes
from geometry.mesh import TriMesh, edge_table, rims, vertex_normals
from geometry.surface import CharacterLine, Opening

NEAR_UNSURE_MM = 4.0
"""A tape keeps so far from what was not scanned. Own choice: more than a triangle of the skin."""

SMALLEST_HOLE_MM = 25.0
"""Round holes below this are stickers and screws, nothing to hold a tape to. Own choice."""

STEP_MM = 1.0
"""Lines and holes are looked at in steps of this."""

_CALM_MM = 12.0
"""Tips are averaged over so much of a line: one by one they scatter with the scan's noise."""

_SOFT_END_MM = 12.0
"""So much at the end of a line nobody finds on the tank: it fades out there."""

_ROUGH_EDGES = 30_000

_MOST_LINES = 8
"""Of more lines only the longest are held to: every pair of them is looked at. Own choice: four
edges left and right are more than ten tapes need."""

_SLACK_RATIO = 0.3
_LEAST_SLACK_MM = 0.3
"""How far off the middle of a round edge a tape is held, of its radius, and at least. Own choice.
"""

_CORNER_MM = 8.0
"""A line that ends so near to another meets it at a corner."""

_RUN = 12
"""A line runs at its end as its last so many steps do."""

_RIM_MM = 4.0
"""So much of the skin along its rim may be missing, and the tape must read the same: otherwise it
hangs on where the scan happens to end."""


@dataclass(frozen=True, eq=False)
class FeatureCurve:
    """What an end of a tape can be held to: a character line, or the edge of a round hole.

    Attributes
    ----------
    on : "line" or "hole"
    number : int
        As given, from 0.
    points : (k, 3) float, mm
        Evenly apart, ahead, left and up; a closed one does not repeat its first.
    slack : (k, 3) float, mm
        How far, and which way, an end of a tape lies off across it without anybody noticing: a
        round edge is found less surely than a sharp one.
    closed : bool
    corners : (bool, bool)
        Of an open line: whether it begins, and ends, at a corner, where it meets another.
    """

    on: str
    number: int
    points: FloatArray
    slack: FloatArray
    closed: bool
    corners: tuple[bool, bool] = (False, False)


class TapedSkin:
    """A tank's outside, ready for tapes.

    Parameters
    ----------
    mesh : TriMesh
        The outside as scanned, paint included, noise out, mm; holes of the scan filled.
    unsure : (m,) bool
        Faces no tape may lie on or near: filled by guess, made from the other side.
    axes : TankAxes
    lines : sequence of CharacterLine
    openings : sequence of Opening
        On the outside.
    """

    def __init__(
        self,
        mesh: TriMesh,
        unsure: BoolArray,
        axes: TankAxes,
        lines: Sequence[CharacterLine],
        openings: Sequence[Opening],
    ) -> None:
        self.axes = axes
        self.mesh = TriMesh(axes.to_tank(mesh.vertices), mesh.faces)
        self._edges = edge_table(mesh.faces).edges.T.copy()
        self._some_edges = self._edges[:, :: max(1, len(self._edges.T) // _ROUGH_EDGES)].copy()
        self._unsure = mesh.faces[unsure]
        self.tips = tuple(_calm(axes.to_tank(line.points), line.is_closed) for line in lines)
        self._lines, self._openings = lines, openings

    @cached_property
    def size(self) -> FloatArray:
        """(3,) length, width and height."""
        return np.asarray(np.ptp(self.mesh.vertices[np.unique(self.mesh.faces)], axis=0))

    @cached_property
    def middle(self) -> FloatArray:
        """(3,) half of its length, its centre plane, half of its height."""
        used = self.mesh.vertices[np.unique(self.mesh.faces)]
        half = (used.min(axis=0) + used.max(axis=0)) / 2.0
        return np.array([half[0], 0.0, half[2]])

    @cached_property
    def hull(self) -> FloatArray:
        """(k, 4) the planes of the convex hull, lines' tips within: outward normal and offset."""
        used = self.mesh.vertices[np.unique(self.mesh.faces)]
        try:
            return np.asarray(ConvexHull(np.concatenate([used, *self.tips])).equations)
        except QhullError:  # flat: nothing is deep within it
            return np.zeros((1, 4))

    def depth(self, points: FloatArray) -> FloatArray:
        """Return how far (k, 3) places lie inside the convex hull, mm."""
        return np.asarray(-(points @ self.hull[:, :3].T + self.hull[:, 3]).max(axis=1))

    def crossing(
        self, point: FloatArray, normal: FloatArray, *, roughly: bool = False
    ) -> FloatArray:
        """Return (k, 3) places where a plane cuts the skin's edges, and the tips of its lines.

        Triangles cut the tip of a sharp line off, so the tips found for it are added.

        Parameters
        ----------
        point, normal : (3,) float
        roughly : bool
            Of a fine skin only some of its edges.
        """
        height = (self.mesh.vertices - point) @ normal
        above = height >= 0.0
        one, other = self._some_edges if roughly else self._edges
        cut = np.flatnonzero(above.take(one) != above.take(other))
        one, other = one[cut], other[cut]
        share = (height[one] / (height[one] - height[other]))[:, None]
        places = self.mesh.vertices
        found = [places[one] + share * (places[other] - places[one])]
        for line, tips in zip(self._lines, self.tips, strict=True):
            if line.standing == "ridge":
                found.append(_through(tips, point, normal))
        return np.concatenate(found)

    def is_clear(self, line: FloatArray, spare_ends: tuple[bool, bool] = (False, False)) -> bool:
        """Return whether a tape keeps off what was not scanned.

        Parameters
        ----------
        line : (k, 3) float
        spare_ends : (bool, bool)
            Ends held to the edge of a hole, beyond which nothing was scanned: they may be near.
        """
        if self._unsure_tree is None:
            return True
        places = evenly(line, 2.0)
        run = np.linalg.norm(np.diff(places, axis=0), axis=1).cumsum()
        along = np.concatenate([[0.0], run])
        spare = 1.7 * NEAR_UNSURE_MM
        asked: BoolArray = np.ones(len(places), np.bool_)
        if spare_ends[0]:
            asked &= along > spare
        if spare_ends[1]:
            asked &= along < along[-1] - spare
        away = self._unsure_tree.query(places[asked])[0]
        return bool(np.all(away > NEAR_UNSURE_MM))

    def off_rim(self, points: FloatArray) -> BoolArray:
        """Return which of (k, 3) places lie well within the skin, off the rim where it ends."""
        if self._rim_tree is None:
            return np.ones(len(points), bool)
        return np.asarray(self._rim_tree.query(points)[0] > _RIM_MM)

    @cached_property
    def _rim_loops(self) -> tuple[IntArray, ...]:
        return tuple(sorted(rims(self.mesh), key=len, reverse=True))

    @cached_property
    def _rim_tree(self) -> cKDTree | None:
        loops = [self.mesh.vertices[[*loop, loop[0]]] for loop in self._rim_loops]
        return cKDTree(np.concatenate([evenly(loop, 1.0) for loop in loops])) if loops else None

    @cached_property
    def _unsure_tree(self) -> cKDTree | None:
        """What was not scanned: places all over such faces, and the rims of holes left open."""
        open_holes = [self.mesh.vertices[loop] for loop in self._rim_loops[1:]]
        points = np.concatenate([_all_over(self.mesh.vertices[self._unsure]), *open_holes])
        return cKDTree(points) if len(points) else None

    @cached_property
    def curves(self) -> tuple[FeatureCurve, ...]:
        """What ends of tapes are held to: character lines, then round holes."""
        courses = [
            evenly(tips, STEP_MM)[: -1 if line.is_closed else None]
            for line, tips in zip(self._lines, self.tips, strict=True)
        ]
        found = []
        longest = sorted(range(len(courses)), key=lambda k: -len(courses[k]))[:_MOST_LINES]
        for number in sorted(longest):
            line = self._lines[number]
            points, corners = _found_part(number, courses, line.is_closed)
            slack = self._slack(points, float(np.median(line.radius_mm)))
            found.append(FeatureCurve("line", number, points, slack, line.is_closed, corners))
        for number, hole in enumerate(self._openings):
            if hole.is_round and hole.diameter_mm >= SMALLEST_HOLE_MM:
                ring = self.axes.to_tank(_circle(hole))
                slack = _LEAST_SLACK_MM * (ring - ring.mean(axis=0)) / (hole.diameter_mm / 2.0)
                found.append(FeatureCurve("hole", number, ring, slack, True, (False, False)))
        return tuple(curve for curve in found if len(curve.points) > 10)

    def _slack(self, points: FloatArray, radius_mm: float) -> FloatArray:
        """Return how far off across a line an end may be: square to it, along the skin."""
        if len(points) < 2:
            return np.zeros_like(points)
        across = np.cross(np.gradient(points, axis=0), self.normal_at(points))
        size = max(_LEAST_SLACK_MM, _SLACK_RATIO * radius_mm)
        return np.asarray(size * across / np.linalg.norm(across, axis=1)[:, None])

    def normal_at(self, points: FloatArray) -> FloatArray:
        """Return (k, 3) the way out at places, both flanks of a sharp line taken together."""
        near = self._vertex_tree.query(points, k=12)[1]
        return np.asarray(self._normals[near].mean(axis=1))

    @cached_property
    def _vertex_tree(self) -> cKDTree:
        return cKDTree(self.mesh.vertices)

    @cached_property
    def _normals(self) -> FloatArray:
        return vertex_normals(self.mesh.vertices, self.mesh.faces)


def _found_part(
    number: int, courses: Sequence[FloatArray], closed: bool
) -> tuple[FloatArray, tuple[bool, bool]]:
    """Return what a tape finds of a line: to its corners, where it has them; no faded ends."""
    course = courses[number]
    if closed:
        return course, (False, False)
    others = [other for k, other in enumerate(courses) if k != number]
    soft = int(_SOFT_END_MM / STEP_MM)
    points, corners = course, []
    for at in (0, -1):
        corner = _corner(course if at == 0 else course[::-1], others)
        corners.append(corner is not None)
        if corner is None:
            points = points[soft:] if at == 0 else points[:-soft]
        else:
            points = np.insert(points, 0 if at == 0 else len(points), corner, axis=0)
    return evenly(points, STEP_MM) if len(points) > 1 else points, (corners[0], corners[1])


def _corner(course: FloatArray, others: Sequence[FloatArray]) -> FloatArray | None:
    """Return where a line, drawn on beyond its first point, meets another; None without one near.

    Both are drawn on as straight as they run there: lines fade out before a corner.
    """
    gaps = [np.linalg.norm(other - course[0], axis=1) for other in others]
    if min((gap.min() for gap in gaps), default=np.inf) > _CORNER_MM:
        return None
    nearest = int(np.argmin([gap.min() for gap in gaps]))
    at = int(gaps[nearest].argmin())
    one = course[0] - course[min(_RUN, len(course) - 1)]
    low, high = max(at - _RUN, 0), min(at + _RUN, len(others[nearest]) - 1)
    other = others[nearest][high] - others[nearest][low]
    one, other = one / np.linalg.norm(one), other / np.linalg.norm(other)
    square = 1.0 - float(one @ other) ** 2
    if square < 0.1:  # they run on into each other: one line, no corner
        return None
    between = others[nearest][at] - course[0]
    along = (between @ one - (between @ other) * (one @ other)) / square
    beside = ((between @ one) * (one @ other) - between @ other) / square
    meets = (course[0] + along * one + others[nearest][at] + beside * other) / 2.0
    return np.asarray(meets) if abs(along) < 2.0 * _CORNER_MM else None


def evenly(line: FloatArray, step_mm: float) -> FloatArray:
    """Return points evenly along a line, about a step apart, its ends among them.

    >>> evenly(np.array([[0.0, 0, 0], [2, 0, 0], [2, 1, 0]]), 1.0).tolist()
    [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0], [2.0, 1.0, 0.0]]
    """
    run = np.concatenate([[0.0], np.linalg.norm(np.diff(line, axis=0), axis=1).cumsum()])
    places = np.linspace(0.0, run[-1], max(2, round(run[-1] / step_mm) + 1))
    return np.stack([np.interp(places, run, line[:, axis]) for axis in range(3)], axis=1)


def _all_over(corners: FloatArray) -> FloatArray:
    """Return (k, 3) places no further apart than a tape keeps off, on (m, 3, 3) triangles."""
    if not len(corners):
        return np.empty((0, 3))
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    parts = np.ceil(longest / (0.9 * NEAR_UNSURE_MM)).astype(np.int64)
    found = []
    for count in np.unique(parts):
        i, j = np.indices((count + 1, count + 1)).reshape(2, -1)
        inside = i + j <= count
        weights = np.stack([i, j, count - i - j], axis=1)[inside] / count
        found.append(np.einsum("wc,mcx->mwx", weights, corners[parts == count]).reshape(-1, 3))
    return np.concatenate(found)


def line_length(line: FloatArray) -> float:
    """Return the length of a line through points."""
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def spread_of(line: FloatArray) -> FloatArray:
    """Return (3, 3) the mean of u uT along a line, u its direction.

    >>> spread_of(np.array([[0.0, 0, 0], [3, 0, 0], [3, 1, 0]])).diagonal().tolist()
    [0.75, 0.25, 0.0]
    """
    steps = np.diff(line, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    steps, lengths = steps[lengths > 0.0], lengths[lengths > 0.0]
    return np.asarray((steps / lengths[:, None]).T @ steps / lengths.sum())


def _calm(points: FloatArray, closed: bool) -> FloatArray:
    step = float(np.linalg.norm(np.diff(points, axis=0), axis=1).mean())
    width = 2 * round(_CALM_MM / step / 2.0) + 1
    if len(points) <= 2 * width:
        return points
    if not closed:
        # The ends stay: each place is averaged over as much as lies on both sides of it.
        calm = np.asarray(uniform_filter1d(points, width, axis=0, mode="nearest"))
        half = width // 2
        for at in range(half):
            calm[at] = points[: 2 * at + 1].mean(axis=0)
            calm[-1 - at] = points[len(points) - 2 * at - 1 :].mean(axis=0)
        return calm
    calm = np.asarray(uniform_filter1d(points[:-1], width, axis=0, mode="wrap"))
    return np.concatenate([calm, calm[:1]])


def _through(line: FloatArray, point: FloatArray, normal: FloatArray) -> FloatArray:
    """Return (k, 3) where a line passes a plane."""
    height = (line - point) @ normal
    at = np.flatnonzero((height[:-1] >= 0.0) != (height[1:] >= 0.0))
    share = (height[at] / (height[at] - height[at + 1]))[:, None]
    return np.asarray(line[at] + share * (line[at + 1] - line[at]))


def _circle(hole: Opening) -> FloatArray:
    """Return the hole's edge as the circle nearest to it, counter-clockwise from outside."""
    normal = hole.normal / np.linalg.norm(hole.normal)
    across = np.cross(normal, np.eye(3)[int(np.abs(normal).argmin())])
    across /= np.linalg.norm(across)
    count = max(24, round(np.pi * hole.diameter_mm / STEP_MM))
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)[:, None]
    radius = hole.diameter_mm / 2.0
    ring = np.cos(turn) * across + np.sin(turn) * np.cross(normal, across)
    return np.asarray(hole.centre + radius * ring)
