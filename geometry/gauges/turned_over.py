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
        The farthest they are apart, square to the outline.
    at : (2,) float, mm
        Where, on the left.
    ends_mm : float
        How far their first ends are apart.
    """

    largest_mm: float
    at: FloatArray
    ends_mm: float

    def __post_init__(self) -> None:
        locked(self.at)


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
    return lines_apart(left, (right * np.array([-1.0, 1.0]))[::-1])


def lines_apart(left: FloatArray, over: FloatArray) -> HandDifference:
    """Return how far a line is from another that runs the same way, already turned over."""
    one, other = shapely.LineString(left), shapely.LineString(over)
    found: list[tuple[float, FloatArray]] = []
    for points, line in ((left, other), (over, one)):
        along = shapely.line_locate_point(line, shapely.points(points))
        beside = (along > 0.0) & (along < line.length)
        if beside.any():
            apart = np.asarray(shapely.distance(shapely.points(points[beside]), line))
            k = int(np.argmax(apart))
            found.append((float(apart[k]), points[beside][k].copy()))
    ends = float(np.linalg.norm(left[0] - over[0]))
    if not found:
        return HandDifference(ends, left[0].copy(), ends)
    largest, at = max(found, key=lambda each: each[0])
    return HandDifference(largest, at, ends)
