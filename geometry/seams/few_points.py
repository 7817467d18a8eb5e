"""The fewest points a drawn line needs: those a hand would have set."""

from collections.abc import Callable

import numpy as np

from geometry.arrays import FloatArray
from geometry.errors import GeometryError
from geometry.mesh import SurfacePath
from geometry.polyline import lengths_along, points_along
from geometry.progress import Report, silent
from geometry.seams.course import distance_to_line
from geometry.seams.ground import SeamGround

_LOOKED_AT_MM = 2.0  # apart along either line: where they are compared
_SPAN = 1.6  # how much farther each leg is tried than the one that held, and back by halves


def few_points(
    ground: SeamGround,
    line: FloatArray,
    *,
    off_mm: float = 0.3,
    closed: bool = False,
    report: Report = silent,
) -> FloatArray:
    """Return few of a line's points whose exact line keeps within a distance of the line.

    From each point as far on as one exact leg holds; what lies between goes.

    Parameters
    ----------
    ground : SeamGround
    line : (k, 3) float, mm
        On the surface, its points no farther apart than it bends: a faired line, say.
    off_mm : float
        No place of the exact line through the points is farther from the line, and none of the
        line's farther from it.
    closed : bool
        Whether the last point is joined to the first; three points are kept at least.

    Returns
    -------
    (j, 3) float, mm
        Points of the line, its ends among them.

    Raises
    ------
    PointOffGroundError, NoPathError
    """
    points = _without_repeats(np.asarray(line, np.float64).reshape(-1, 3))
    if len(points) < (4 if closed else 3):
        return points
    drawn = ground.exact(points, closed=closed)
    whole = np.concatenate([points, points[:1]]) if closed else points
    last = len(whole) - 1
    most = -(-last // 3) if closed else last
    kept, reach = [0], 2
    while kept[-1] < last:
        report(kept[-1] / last, "fewer points")
        at = kept[-1]

        def leg_holds(far: int, at: int = at) -> bool:
            return _leg_holds(ground, drawn, (at, at + far), off_mm)

        reach = _farthest(leg_holds, min(most, last - at), reach)
        kept.append(at + reach)
    report(1.0, "fewer points")
    return whole[kept[:-1] if closed else kept].copy()


def _without_repeats(points: FloatArray) -> FloatArray:
    moves = np.linalg.norm(np.diff(points, axis=0), axis=1) > 0.0
    return np.asarray(points[np.concatenate([[True], moves])[: len(points)]])


def _farthest(leg_holds: Callable[[int], bool], most: int, first: int) -> int:
    """Return how many points on one leg from a point holds; the next point always does."""
    holds, fails = 1, most + 1
    tried = min(max(first, 2), most)
    while fails - holds > 1:
        if leg_holds(tried):
            holds = tried
            tried = min(max(int(_SPAN * tried), tried + 1), most)
        else:
            fails = tried
        if not holds < tried < fails:
            tried = (holds + fails) // 2
    return holds


def _leg_holds(
    ground: SeamGround, drawn: SurfacePath, ends: tuple[int, int], off_mm: float
) -> bool:
    """Return whether one exact leg keeps near the line drawn between its ends, and it near that."""
    first, last = drawn.corners[list(ends)].tolist()
    run = drawn.points[first : last + 1]
    try:
        leg = ground.exact(run[[0, -1]]).points
    except GeometryError:  # the ends lie in one place
        return False
    return bool(
        distance_to_line(_close(run), leg).max() <= off_mm
        and distance_to_line(_close(leg), run).max() <= off_mm
    )


def _close(line: FloatArray) -> FloatArray:
    """Return places close along a line."""
    total = float(lengths_along(line)[-1])
    return points_along(line, np.linspace(0.0, total, int(total / _LOOKED_AT_MM) + 2))
