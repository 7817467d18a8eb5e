"""The skin a tape is laid on, in the tank's axes: what of it was scanned, its lines and holes."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from scipy.spatial import ConvexHull, QhullError, cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.gauges.edge_blocks import EdgeBlocks
from geometry.gauges.feature_curves import (
    STEP_MM,
    FeatureCurve,
    calmed,
    circle_of,
    evenly,
    found_part,
    raggedness,
    rim_course,
    which_curve,
)
from geometry.gauges.tank_axes import TankAxes
from geometry.gauges.tape_value import Which
from geometry.mesh import TriMesh, edge_table, rims, vertex_normals
from geometry.surface import CharacterLine, Opening

NEAR_UNSURE_MM = 4.0
"""A tape keeps so far from what was not scanned. Own choice: more than a triangle of the skin."""

SMALLEST_HOLE_MM = 25.0
"""Round holes below this are stickers and screws, nothing to hold a tape to. Own choice."""

_ROUGH_EDGES = 30_000

_MOST_LINES = 8
"""Of more lines only the longest are held to: every pair of them is looked at. Own choice: four
edges left and right are more than ten tapes need."""

_SLACK_RATIO = 0.3
_LEAST_SLACK_MM = 0.3
"""How far off the middle of a round edge a tape is held, of its radius, and at least. Own choice.
"""

_SHORTEST_RIM_MM = 200.0
_RAGGED_MM = 0.8
"""A rim less ragged than this is a metal's edge; a scan that just ends is ragged. Own choice."""

_RIM_MM = 4.0
"""So much of the skin along its rim may be missing, and the tape must read the same: otherwise it
hangs on where the scan happens to end."""


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
        edges = edge_table(mesh.faces).edges
        self._blocks = EdgeBlocks(self.mesh.vertices, edges)
        self._some = EdgeBlocks(self.mesh.vertices, edges[:: max(1, len(edges) // _ROUGH_EDGES)])
        self._unsure = mesh.faces[unsure]
        self.tips = tuple(calmed(axes.to_tank(line.points), line.is_closed) for line in lines)
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
        found = [(self._some if roughly else self._blocks).crossing(point, normal)]
        for line, tips in zip(self._lines, self.tips, strict=True):
            if line.standing == "ridge":
                found.append(_through(tips, point, normal))
        return np.concatenate(found)

    def is_clear(
        self,
        line: FloatArray,
        spare_ends: tuple[bool, bool] = (False, False),
        *,
        bridged_mm: float = 0.0,
    ) -> bool:
        """Return whether a tape keeps off what was not scanned.

        Parameters
        ----------
        line : (k, 3) float
        spare_ends : (bool, bool)
            Ends held to the edge of a hole, beyond which nothing was scanned: they may be near.
        bridged_mm : float
            So long a stretch may lie on what was not scanned: a nick in an edge, bridged straight.
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
        near: BoolArray = np.asarray(away <= NEAR_UNSURE_MM)
        if bridged_mm == 0.0 or not near.any():
            return not near.any()
        step = float(along[-1]) / max(len(places) - 1, 1)
        width = max(1, round((bridged_mm + 2.0 * NEAR_UNSURE_MM) / max(step, 1e-9)))
        runs = np.convolve(near.astype(np.float64), np.ones(width + 1), "valid")
        return bool(len(runs) > 0 and runs.max() <= width)

    def away(self, point: FloatArray) -> float:
        """Return roughly how far a place lies off the skin along its normal, mm."""
        at = self._vertex_tree.query(point, k=6)[1]
        arms = np.abs(np.einsum("ij,ij->i", point - self.mesh.vertices[at], self._normals[at]))
        return float(np.median(arms))

    def is_held_clear(self, point: FloatArray, curve: FeatureCurve | None) -> bool:
        """Return whether an end of a tape keeps off what was not scanned."""
        on_hole = curve is not None and curve.on == "hole"
        return on_hole or self.is_clear(np.stack([point, point]))

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
        """What ends of tapes are held to: character lines, round holes, the metal's own edge."""
        rim = self._rim_curve
        found = [*self._line_curves(rim), *self._hole_curves(), *([] if rim is None else [rim])]
        return tuple(curve for curve in found if len(curve.points) > 10)

    def _line_curves(self, rim: FeatureCurve | None) -> list[FeatureCurve]:
        courses = [
            evenly(tips, STEP_MM)[: -1 if line.is_closed else None]
            for line, tips in zip(self._lines, self.tips, strict=True)
        ]
        found = []
        longest = sorted(range(len(courses)), key=lambda k: -len(courses[k]))[:_MOST_LINES]
        for number in sorted(longest):
            line = self._lines[number]
            points, ends = found_part(number, courses, line.is_closed, rim)
            slack = self._slack(points, float(np.median(line.radius_mm)))
            which = self._which(points)
            found.append(
                FeatureCurve("line", number, points, slack, line.is_closed, ends, which=which)
            )
        return found

    def _hole_curves(self) -> list[FeatureCurve]:
        found = []
        for number, hole in enumerate(self._openings):
            if hole.is_round and hole.diameter_mm >= SMALLEST_HOLE_MM:
                ring = self.axes.to_tank(circle_of(hole))
                slack = _LEAST_SLACK_MM * (ring - ring.mean(axis=0)) / (hole.diameter_mm / 2.0)
                found.append(FeatureCurve("hole", number, ring, slack, True))
        return found

    @cached_property
    def _rim_curve(self) -> FeatureCurve | None:
        """The metal's own edge, where the skin ends in one that is no round hole and not ragged."""
        if not self._rim_loops:
            return None
        loop = self.mesh.vertices[self._rim_loops[0]]
        for hole in self._openings:
            away = np.linalg.norm(self.axes.to_tank(hole.outline) - loop.mean(axis=0), axis=1)
            if hole.is_round and np.ptp(away) < 3.0:
                return None
        if raggedness(loop) > _RAGGED_MM:
            return None
        course, turns = rim_course(loop)
        if len(course) * STEP_MM < _SHORTEST_RIM_MM:
            return None
        slack = self._slack(course, 0.0)
        return FeatureCurve("rim", -1, course, slack, True, turns=turns, which=self._which(course))

    def _which(self, points: FloatArray) -> Which:
        return which_curve(points, self.size) if self.axes.named and len(points) else ""

    def which_of(self, point: FloatArray) -> Which:
        """Return where a corner lies on the tank: its end and its side."""
        if not self.axes.named:
            return ""
        ahead = "front" if point[0] > self.size[0] / 2.0 else "rear"
        if abs(point[1]) < 8.0:
            return "front" if ahead == "front" else "rear"
        if ahead == "front":
            return "front left" if point[1] > 0.0 else "front right"
        return "rear left" if point[1] > 0.0 else "rear right"

    def _slack(self, points: FloatArray, radius_mm: float) -> FloatArray:
        """Return how far off across a line an end may be: square to it, along the skin."""
        if len(points) < 2:
            return np.zeros_like(points)
        across = np.cross(np.gradient(points, axis=0), self.normal_at(points))
        size = max(_LEAST_SLACK_MM, _SLACK_RATIO * radius_mm)
        return np.asarray(size * across / np.maximum(np.linalg.norm(across, axis=1), 1e-9)[:, None])

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


def spread_of(line: FloatArray) -> FloatArray:
    """Return (3, 3) the mean of u uT along a line, u its direction.

    >>> spread_of(np.array([[0.0, 0, 0], [3, 0, 0], [3, 1, 0]])).diagonal().tolist()
    [0.75, 0.25, 0.0]
    """
    steps = np.diff(line, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    steps, lengths = steps[lengths > 0.0], lengths[lengths > 0.0]
    return np.asarray((steps / lengths[:, None]).T @ steps / lengths.sum())


def _through(line: FloatArray, point: FloatArray, normal: FloatArray) -> FloatArray:
    """Return (k, 3) where a line passes a plane."""
    height = (line - point) @ normal
    at = np.flatnonzero((height[:-1] >= 0.0) != (height[1:] >= 0.0))
    share = (height[at] / (height[at] - height[at + 1]))[:, None]
    return np.asarray(line[at] + share * (line[at + 1] - line[at]))
