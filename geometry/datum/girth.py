"""A girth: the line of a tape pulled tight round the surface in one plane, over holes and hollows.

A tape bridges hollows and spans holes straight across, so a closed girth is the convex outline of
the section. The section's own length, down into every hollow, is kept beside it.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from geometry.arrays import FloatArray
from geometry.datum.smooth_line import smooth_line
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, section
from geometry.polyline import line_length

AT_END_RATIO = 0.02
"""A girth whose first and last points both lie this near, of its length, to the two sides of one
gap runs from the one to the other; otherwise it goes right round and spans the gap."""

_IN_LINE_RAD = np.deg2rad(2.0)
"""Three points nearer to one line than this fix no plane."""

_CLOSED = 1e-9
_EDGE_TURNS = 3
"""An edge rolled in more often than this is followed instead of wrapped tight."""


class GirthError(GeometryError):
    """No girth goes through the points.

    Attributes
    ----------
    reason : "in line" or "apart"
        In line: the points fix no plane. Apart: they lie on separate outlines of the plane.
    points : (k, 3) float
    """

    def __init__(self, reason: str, points: FloatArray) -> None:
        self.reason, self.points = reason, points
        super().__init__(f"no girth through {points.tolist()}: {reason}")


@dataclass(frozen=True, eq=False)
class Girth:
    """A tape's line round the surface, the mesh's unit.

    Attributes
    ----------
    line : (k, 3) float
        Of the tape pulled tight; a closed one repeats its first point.
    followed : float
        Length of the section itself, hollows followed, holes and gaps spanned straight across.
    gap : float
        The longest hole or gap spanned; 0 without.
    is_closed : bool
    """

    line: FloatArray
    followed: float
    gap: float
    is_closed: bool


def plane_through(
    picks: FloatArray, towards: tuple[float, float, float] | None
) -> tuple[FloatArray, FloatArray]:
    """Return a point and the unit normal of the plane through three points, or two and a direction.

    Raises
    ------
    GirthError
        They lie in one line.
    """
    first = picks[1] - picks[0]
    second = picks[2] - picks[0] if towards is None else np.array(towards, np.float64)
    normal = np.cross(first, second)
    size = float(np.linalg.norm(first) * np.linalg.norm(second))
    if not np.linalg.norm(normal) > np.sin(_IN_LINE_RAD) * size:
        raise GirthError("in line", picks)
    return picks[0], normal / np.linalg.norm(normal)


def girth_of(mesh: TriMesh, plane: tuple[FloatArray, FloatArray], picks: FloatArray) -> Girth:
    """Return the line of a tape pulled tight round the mesh in a plane, through the points.

    Parameters
    ----------
    mesh : TriMesh
        Its faces all facing out.
    plane : point (3,) and unit normal (3,)
    picks : (k, 3) float
        On the surface and the plane: they tell which outline, where the plane cuts several, and,
        at the two sides of a gap, that the tape runs from edge to edge.

    Raises
    ------
    GirthError
        The points lie on separate outlines.
    """
    point, normal = plane
    runs = [smooth_line(run) for run in section(mesh, point, normal)]
    if not runs:
        raise GirthError("apart", picks)
    holders = [int(np.argmin([_off_line(run, pick) for run in runs])) for pick in picks]
    chain = _chain(runs, holders[0])
    if not set(holders) <= set(chain):
        raise GirthError("apart", picks)
    axes = _axes(normal)
    if _is_closed(runs[chain[0]]):
        line = runs[chain[0]]
        return Girth(_pulled_tight(line, axes), line_length(line), 0.0, True)
    ordered, ends = _from_edge([runs[run] for run in chain], picks)
    gaps = [
        float(np.linalg.norm(after[0] - before[-1]))
        for before, after in zip(ordered, [*ordered[1:], ordered[0]], strict=True)
    ]
    line = np.concatenate(ordered)
    if ends:
        line = _between(line, picks[0], picks[-1])
        tight = _tight_between_ends(line, axes)
        return Girth(tight, line_length(line), max(gaps[:-1], default=0.0), False)
    line = np.concatenate([line, line[:1]])
    return Girth(_pulled_tight(line, axes), line_length(line), max(gaps), True)


def _is_closed(run: FloatArray) -> bool:
    return len(run) > 2 and bool(
        np.linalg.norm(run[-1] - run[0]) <= _CLOSED * max(line_length(run), 1e-300)
    )


def _off_line(line: FloatArray, point: FloatArray) -> float:
    """Return how far a point lies from a line."""
    return float(_feet(line, point)[1].min())


def _feet(line: FloatArray, point: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return on each piece of a line where a point is nearest, from 0 to 1, and how far off."""
    step = np.diff(line, axis=0)
    square = np.maximum((step**2).sum(axis=1), 1e-300)
    along = np.clip(((point - line[:-1]) * step).sum(axis=1) / square, 0.0, 1.0)
    return along, np.linalg.norm(line[:-1] + along[:, None] * step - point, axis=1)


def _chain(runs: list[FloatArray], first: int) -> list[int]:
    """Return the runs of one outline in order: from each end on to the nearest beginning.

    Every run goes the same way round the metal, so an end is followed by a beginning; the outline
    is complete when the nearest beginning is its own first.
    """
    if _is_closed(runs[first]):
        return [first]
    left = [run for run in range(len(runs)) if not _is_closed(runs[run])]
    chain = [first]
    while True:
        end = runs[chain[-1]][-1]
        gaps = [float(np.linalg.norm(runs[run][0] - end)) for run in left]
        nearest = left[int(np.argmin(gaps))]
        if nearest == first:
            return chain
        chain.append(nearest)
        left.remove(nearest)


def _from_edge(runs: list[FloatArray], picks: FloatArray) -> tuple[list[FloatArray], bool]:
    """Return the runs, begun after the gap where the tape ends, and whether there is one."""
    reach = AT_END_RATIO * sum(line_length(run) for run in runs)
    first, last = picks[0], picks[-1]
    for place in range(len(runs)):
        turned = [*runs[place:], *runs[:place]]
        start, end = turned[0][0], turned[-1][-1]
        if np.linalg.norm(start - end) <= 2.0 * reach:
            continue
        for one, other in ((first, last), (last, first)):
            near = max(np.linalg.norm(start - one), np.linalg.norm(end - other))
            if near <= reach:
                return turned, True
    return runs, False


def _between(line: FloatArray, one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the part of a line between the places nearest to two points."""
    feet = []
    for point in (one, other):
        along, off = _feet(line, point)
        piece = int(off.argmin())
        place = line[piece] + along[piece] * (line[piece + 1] - line[piece])
        feet.append((piece + float(along[piece]), place))
    (low, start), (high, end) = sorted(feet, key=lambda foot: foot[0])
    inner = line[int(np.floor(low)) + 1 : int(np.ceil(high))]
    return np.concatenate([start[None], inner, end[None]])


def _axes(normal: FloatArray) -> FloatArray:
    """Return (2, 3) axes in a plane, counter-clockwise when its normal points at the viewer."""
    across = np.cross(normal, np.eye(3)[int(np.abs(normal).argmin())])
    across /= np.linalg.norm(across)
    return np.stack([across, np.cross(normal, across)])


def _pulled_tight(line: FloatArray, axes: FloatArray) -> FloatArray:
    """Return the convex outline of a closed line, its first point repeated."""
    corners = ConvexHull(line @ axes.T).vertices
    return line[[*corners, corners[0]]]


def _tight_between_ends(line: FloatArray, axes: FloatArray) -> FloatArray:
    """Return the line a tape takes from the first to the last point, over hollows.

    The metal lies to the left of the line, so the tape takes that side of the convex outline on
    which the line goes on and on; an edge turned in, off the outline, is wrapped the same way.
    """
    return line[_tight_part(line @ axes.T, 0, len(line) - 1, _EDGE_TURNS)]


def _tight_part(flat: FloatArray, low: int, high: int, turns: int) -> list[int]:
    """Return which points of a part of the line a tight tape touches, both ends among them."""
    if high - low < 2:
        return list(range(low, high + 1))
    if not turns:
        return list(range(low, high + 1))
    try:
        corners = ConvexHull(flat[low : high + 1]).vertices + low
    except QhullError:  # all in one line
        return [low, high]
    kept = _longest_rise([int(corner) for corner in corners])
    before = _tight_part(flat, low, kept[0], turns - 1)
    after = _tight_part(flat, kept[-1], high, turns - 1)
    return [*before[:-1], *kept, *after[1:]]


def _longest_rise(ring: list[int]) -> list[int]:
    """Return the part of a ring of numbers that rises the farthest.

    >>> _longest_rise([7, 9, 6, 2, 0, 3])
    [0, 3, 7, 9]
    """
    rises: list[list[int]] = [[]]
    start = ring.index(min(ring))
    for number in (*ring[start:], *ring[:start]):
        if rises[-1] and number < rises[-1][-1]:
            rises.append([])
        rises[-1].append(number)
    return max(rises, key=lambda rise: rise[-1] - rise[0])
