"""`Template`: a flat board cut to an outline, so that it goes on and comes off again.

A female one lies over the outside, a male one inside. What would lock it is cleared: the board's
edge runs straight, the way it comes off, past every place that hangs over.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import Polygon

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.gauges.gauge_faults import GaugeSizeError

Kind = Literal["female", "male"]
Part = Literal["left", "right", "whole"]

_SAME_MM = 1e-6
_TOUCHES_MM = 0.005
"""So near to the outline a board's edge is the outline's: what noise of the scan hangs over by less
is cleared without a word."""

_CLEARED_MM = 0.05
"""A board's edge further off than this does not touch any more."""

_TURNS_RAD = tuple(np.deg2rad([45.0, 30.0, 60.0, 15.0, 75.0, 0.0, 90.0]))
"""Ways a half may come off, from sideways to straight up or down; the first is the handiest."""

NOTCH_MM = 5.0

LEAST_AREA_MM2 = 100.0
"""A smaller board is none."""

LEAST_BOARD_MM, MOST_BOARD_MM = 15.0, 300.0


@dataclass(frozen=True, eq=False)
class Template:
    """A board's outline.

    Attributes
    ----------
    outline : (k, 2) float, mm
        Counter-clockwise, the first point not repeated.
    corners : (c,) int
        Which of its points are corners.
    edges : tuple of (j, 2) float, mm
        The stretches of it that touch the metal.
    off_way : (2,) float
        Which way it comes off: a unit vector on the board.
    cleared_mm : float
        How far the board's edge stands off the metal at most, so that it comes off.
    cleared_length_mm : float
        Over how much of the metal it stands off.
    """

    outline: FloatArray
    corners: IntArray
    edges: tuple[FloatArray, ...]
    off_way: FloatArray
    cleared_mm: float
    cleared_length_mm: float

    def __post_init__(self) -> None:
        locked(self.outline)
        locked(self.corners)
        locked(self.off_way)

    @property
    def is_board(self) -> bool:
        """Whether there is a board at all that touches the metal somewhere."""
        return bool(self.edges)

    def flipped(self) -> "Template":
        """Return it upside down: up and down changed over."""
        flip = np.array([1.0, -1.0])
        return Template(
            (self.outline * flip)[::-1].copy(),
            len(self.outline) - 1 - self.corners[::-1],
            tuple((each * flip)[::-1].copy() for each in self.edges),
            self.off_way * flip,
            self.cleared_mm,
            self.cleared_length_mm,
        )


def template(
    line: FloatArray,
    *,
    kind: Kind,
    part: Part,
    board_mm: float = 40.0,
    foot_mm: float = 0.0,
    notches: FloatArray | None = None,
) -> Template:
    """Return the board for an outline.

    Parameters
    ----------
    line : (k, 2) float, mm
        From the left end over the top to the right one, the outside to its left; of a half as
        far as the centre line, u = 0.
    kind : "female" or "male"
    part : "left", "right" or "whole"
    board_mm : float
        How wide a female board is at its narrowest beyond the outline.
    foot_mm : float
        How far a male board of a whole outline goes down below its lowest place.
    notches : (j, 2) float, mm, optional
        Places on the board's outer edge where a notch points at a line.

    Raises
    ------
    GaugeSizeError
        The board has no such width.
    """
    if not LEAST_BOARD_MM <= board_mm <= MOST_BOARD_MM:
        raise GaugeSizeError("width of the board", board_mm, LEAST_BOARD_MM, MOST_BOARD_MM)
    way = _off_way(line, kind, part)
    whole = _box(line, part, board_mm) if kind == "female" else under(line, part, foot_mm)
    board = whole.difference(_swept(line, -way))
    if notches is not None and len(notches):
        board = board.difference(shapely.union_all([_notch(at) for at in notches]))
    return template_of(board, line, way)


def _off_way(line: FloatArray, kind: Kind, part: Part) -> FloatArray:
    """Return the way a board comes off best: the one in which least of the metal locks it."""
    steps = np.diff(line, axis=0)
    outward = np.stack([-steps[:, 1], steps[:, 0]], axis=1)  # of a step's length
    outward = outward if kind == "female" else -outward
    sideways = {"left": -1.0, "right": 1.0, "whole": 0.0}[part]
    upward = 1.0
    if kind == "male":
        sideways, upward = -sideways, -1.0
    if part == "whole":
        return np.array([0.0, upward])
    ways = np.array([[sideways * np.cos(t), upward * np.sin(t)] for t in _TURNS_RAD])
    locked_by = np.maximum(-(outward @ ways.T), 0.0).sum(axis=0)
    return np.asarray(ways[int(np.argmin(np.round(locked_by, 3)))])


def _box(line: FloatArray, part: Part, board_mm: float) -> Polygon:
    """Return the rectangle a female board is cut from: square to the centre line."""
    low, high = line.min(axis=0), line.max(axis=0)
    left = 0.0 if part == "right" else low[0] - board_mm
    right = 0.0 if part == "left" else high[0] + board_mm
    return shapely.box(left, low[1], right, high[1] + board_mm)


def under(line: FloatArray, part: Part, foot_mm: float = 0.0) -> Polygon:
    """Return what lies within an outline: straight from end to end, or to the centre line.

    With a foot the whole goes down so far below the outline's lowest place.
    """
    closing: list[list[float]] = []
    foot = float(line[:, 1].min()) - foot_mm
    if part == "whole" and foot_mm > 0.0:
        closing = [[float(line[-1, 0]), foot], [float(line[0, 0]), foot]]
    elif part == "left":
        closing = [[0.0, float(line[0, 1])]]
    elif part == "right":
        closing = [[0.0, float(line[-1, 1])]]
    ring = np.concatenate([line, np.array(closing).reshape(-1, 2)])
    return largest_part(shapely.make_valid(Polygon(ring)))


def _swept(line: FloatArray, way: FloatArray) -> shapely.Geometry:
    """Return what a line runs over when it is moved far along a way."""
    far = way * 4.0 * float(np.ptp(line, axis=0).max() + 1000.0)
    starts, ends = line[:-1], line[1:]
    quads = np.stack([starts, ends, ends + far, starts + far], axis=1)
    steps = ends - starts
    is_flat = np.abs(steps[:, 0] * far[1] - steps[:, 1] * far[0]) < 1e-12 * np.hypot(*far)
    return shapely.union_all(shapely.polygons(quads[~is_flat]))


def _notch(at: FloatArray) -> Polygon:
    """Return a square on its corner at a place of an edge: what is left is a notch."""
    reach = NOTCH_MM * np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]])
    return Polygon(np.asarray(at) + reach)


def largest_part(shape: shapely.Geometry) -> Polygon:
    """Return the largest polygon of a shape; an empty one where it has none."""
    parts = [each for each in shapely.get_parts(shape) if isinstance(each, Polygon)]
    if not parts:
        return Polygon()
    return max(parts, key=lambda each: float(each.area))


def template_of(board: shapely.Geometry, line: FloatArray, way: FloatArray) -> Template:
    """Return a board as a template: its outline, and where that touches a line.

    Parameters
    ----------
    board : Polygon
        The largest piece counts.
    line : (k, 2) float, mm
    way : (2,) float
        Which way it comes off.
    """
    board = largest_part(board)
    if board.area < LEAST_AREA_MM2:
        nothing = np.empty((0, 2))
        return Template(nothing, np.empty(0, np.int64), (), way, 0.0, 0.0)
    outline, corners = _outline(board)
    course = shapely.LineString(line)
    ring = np.concatenate([outline, outline[:1]])
    middles = shapely.points((ring[:-1] + ring[1:]) / 2.0)
    touches = np.asarray(shapely.distance(middles, course) <= _TOUCHES_MM)
    edges = _runs(outline, touches)
    ends = [
        int(np.linalg.norm(outline - each[k], axis=1).argmin()) for each in edges for k in (0, -1)
    ]
    places = np.asarray(shapely.distance(shapely.points(line), board))
    is_off = places > _CLEARED_MM
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    off_length = float(steps[is_off[:-1] & is_off[1:]].sum())
    return Template(
        outline,
        np.union1d(corners, np.array(ends, np.int64)),
        edges,
        way,
        float(places.max()) if is_off.any() else 0.0,
        off_length,
    )


def _outline(board: Polygon) -> tuple[FloatArray, IntArray]:
    """Return a board's outline, its points, and which of them are corners."""
    ring = shapely.get_coordinates(shapely.orient_polygons(board).exterior)[:-1]
    apart = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1)
    ring = ring[apart > _SAME_MM]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.abs(
        np.arctan2(
            before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1)
        )
    )
    return ring, np.flatnonzero(turn > np.deg2rad(40.0))


def _runs(outline: FloatArray, touches: BoolArray) -> tuple[FloatArray, ...]:
    """Return the stretches of a closed outline whose steps touch."""
    if touches.all():
        return (np.concatenate([outline, outline[:1]]),)
    if not touches.any():
        return ()
    first = int(np.flatnonzero(~touches)[0])
    turned, steps = np.roll(outline, -first, axis=0), np.roll(touches, -first)
    ring = np.concatenate([turned, turned[:1]])
    ends = np.flatnonzero(np.diff(np.concatenate([[False], steps, [False]]).astype(int)))
    return tuple(ring[start : stop + 1].copy() for start, stop in ends.reshape(-1, 2).tolist())
