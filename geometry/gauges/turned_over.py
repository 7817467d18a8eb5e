"""How far one hand's outline differs from the other's turned over: whether one board does both."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from geometry.arrays import FloatArray, locked

Hand = Literal["left", "right", "both", "whole"]
"""Which hand a board is for; "both": made for the left, turned over for the right."""

USUAL_LIMIT_MM = 2.0
"""Up to here a board turned over passes for the other hand. Common practice, no source."""


@dataclass(frozen=True, eq=False)
class HandDifference:
    """The left outline against the right one turned over.

    Attributes
    ----------
    largest_mm : float
        The farthest they are apart, square to the outline, where there are both.
    at : (2,) float, mm
        Where, on the left.
    ends_mm : float
        How much further the longer of them goes on at an end.
    """

    largest_mm: float
    at: FloatArray
    ends_mm: float

    def __post_init__(self) -> None:
        locked(self.at)

    def turns_over(self, limit_mm: float) -> bool:
        """Return whether a board of one hand serves the other, its ends counted."""
        return max(self.largest_mm, self.ends_mm) <= limit_mm


def hand_difference(left: FloatArray, right: FloatArray) -> HandDifference:
    """Return how far the right outline, turned over, is from the left one.

    Parameters
    ----------
    left, right : (k, 2) float, mm
        Halves of an arch: the left one from its low end to the centre, the right one on from there.

    >>> half = np.array([[-90.0, 0.0], [-80.0, 60.0], [0.0, 100.0]])
    >>> hand_difference(half, (half * [-1.0, 1.0])[::-1]).largest_mm
    0.0
    """
    over = (right * np.array([-1.0, 1.0]))[::-1]
    one, other = shapely.LineString(left), shapely.LineString(over)
    longer = max(
        shapely.line_locate_point(line, shapely.Point(end))
        for line, end in ((one, over[0]), (other, left[0]))
    )
    return _apart(left, over, float(longer))


def lines_apart(left: FloatArray, over: FloatArray) -> HandDifference:
    """Return how far a line is from another that runs the same way, already turned over.

    Parameters
    ----------
    left, over : (k, 2) float, mm
        Their ends are compared by how far along the first axis they reach.

    >>> one = np.array([[0.0, 5.0], [100.0, 5.0]])
    >>> found = lines_apart(one, one + [[0.0, 1.0], [30.0, 1.0]])
    >>> (found.largest_mm, found.ends_mm)
    (1.0, 30.0)
    """
    return _apart(left, over, float(np.abs(left[[0, -1], 0] - over[[0, -1], 0]).max()))


def _apart(left: FloatArray, over: FloatArray, ends: float) -> HandDifference:
    one, other = shapely.LineString(left), shapely.LineString(over)
    found: list[tuple[float, FloatArray]] = []
    for points, line in ((left, other), (over, one)):
        along = shapely.line_locate_point(line, shapely.points(points))
        beside = (along > 0.0) & (along < line.length)
        if beside.any():
            apart = np.asarray(shapely.distance(shapely.points(points[beside]), line))
            k = int(np.argmax(apart))
            found.append((float(apart[k]), points[beside][k].copy()))
    if not found:
        whole = float(np.linalg.norm(left[0] - over[0]))
        return HandDifference(whole, left[0].copy(), ends)
    largest, at = max(found, key=lambda each: each[0])
    return HandDifference(largest, at, ends)
