"""What is known for certain about the Brackwater 225 tank before it was scanned.

All in the tank's frame, mm: x to the front, y to the left, z up. `to_file` and `from_file` take
places to the scan's own coordinates and back.
"""

from dataclasses import dataclass

import numpy as np

from sample_data.generate.pose import direction_to_file, from_file, to_file
from sample_data.generate.sampling import bottom_rim, filler_rim, seen_along
from sample_data.generate.seams import on_seat, seat_edge_corner, side_line_corner
from sample_data.generate.shape import (
    DENT_CENTRE,
    DENT_DEPTH,
    DENT_RADIUS,
    FILLER_AXIS,
    FILLER_CENTRE,
    FILLER_DIAMETER,
    LINE_CRISP_FROM,
    LINE_CRISP_TO,
    LINE_RADIUS,
    SEAT_NORMAL,
    SEAT_POINT,
    FloatArray,
    kept,
    on_skin,
    skin,
    undented,
)

__all__ = [
    "CENTRE_PLANE_NORMAL",
    "CENTRE_PLANE_POINT",
    "DENT_CENTRE",
    "DENT_DEPTH",
    "DENT_RADIUS",
    "FILLER_AXIS",
    "FILLER_CENTRE",
    "FILLER_DIAMETER",
    "LINE_CRISP_FROM",
    "LINE_CRISP_TO",
    "LINE_RADIUS",
    "SEAT_NORMAL",
    "SEAT_POINT",
    "Taped",
    "bottom_rim",
    "centre_profile",
    "direction_to_file",
    "distance_to_tank",
    "filler_rim",
    "from_file",
    "overall_size",
    "seat_edge",
    "side_line",
    "tape_checks",
    "to_file",
    "undented",
]

CENTRE_PLANE_POINT = np.zeros(3)
CENTRE_PLANE_NORMAL = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True)
class Taped:
    """A straight length between two places on the tank's skin, as taped on the real thing."""

    name: str
    start: FloatArray  # (3,) tank frame, mm
    end: FloatArray

    @property
    def length_mm(self) -> float:
        """The true length."""
        return float(np.linalg.norm(self.end - self.start))


def distance_to_tank(points: FloatArray) -> FloatArray:
    """Return how far places (k, 3) near the skin lie outside it, mm; below zero inside."""
    return skin(points).distance


def side_line(side: float, count: int = 400) -> FloatArray:
    """Return the tip of the crisp side line, rear to front; side +1 left, -1 right."""
    angle = np.linspace(0.995 * np.pi, 0.05 * np.pi, 6 * count)
    line = on_skin(side_line_corner(angle), rounds=12)
    line = line[(line[:, 0] >= LINE_CRISP_FROM) & (line[:, 0] <= LINE_CRISP_TO)]
    line = line[np.linspace(0, len(line) - 1, count).round().astype(int)]
    return np.asarray(line * np.array([1.0, np.sign(side), 1.0]))


def seat_edge(count: int = 400) -> FloatArray:
    """Return the seat face's edge, as if not rounded, from left low over the top to right low."""
    across, up = seat_edge_corner(np.linspace(-0.2 * np.pi, 1.2 * np.pi, count))
    return on_seat(across, up)


def centre_profile(count: int = 600) -> FloatArray:
    """Return places of the metal on the centre plane, from the seat over the top to the nose."""
    angle = np.linspace(np.pi * 1.1, -0.2 * np.pi, count)
    rays = np.stack([np.cos(angle), np.zeros(count), np.sin(angle)], axis=1)
    profile = on_skin(seen_along(rays))
    return np.asarray(profile[kept(profile)])


def overall_size() -> FloatArray:
    """Return length, width and height of the tank, mm.

    The box is found from the curves that touch it: centre profile, side lines, bottom edge.
    """
    curves = (centre_profile(), side_line(1), side_line(-1), bottom_rim(2.0))
    return np.asarray(np.ptp(np.concatenate(curves), axis=0))


def tape_checks() -> tuple[Taped, ...]:
    """Return lengths anybody can tape on the tank."""
    left, right = side_line(1), side_line(-1)
    wide = np.abs(left[:, 0] - 360.0).argmin()
    rear = np.abs(right[:, 0] - 120.0).argmin()
    nose, seat = on_skin(np.array([[560.0, 0.0, 75.0], [24.0, 0.0, 96.0]]), rounds=30)
    return (
        Taped("length, nose to seat face on the centre line", nose, seat),
        Taped("width, side line to side line at the shoulders", left[wide], right[wide]),
        Taped("slantwise, left shoulder to right side line at the rear", left[wide], right[rear]),
    )
