"""Where a maker would part this tank: four seams, five panels, in the tank's frame, mm.

Round the top runs one seam, 9 mm inside the side line so the line stays crisp, further in where
the line melts into the nose; the seat face is parted 9 mm inside its edge; behind the nose one
seam on each side runs down to the bottom edge.
"""

from dataclasses import dataclass

import numpy as np

from sample_data.generate.sampling import evenly_along, on_bottom_rim
from sample_data.generate.shape import (
    LINE_RADIUS,
    SEAT_NORMAL,
    SEAT_POINT,
    SEAT_RISE,
    FloatArray,
    bottom_height,
    line_radius,
    on_skin,
    top_and_wall,
    top_height,
    top_sheet,
    wall_sheet,
)

STAND_OFF = 9.0
POINT_SPACING = 8.0
NOSE_SEAM_STATION = 462.0


@dataclass(frozen=True)
class DrawnSeam:
    """A seam as drawn: its name and points (k, 3) on the skin."""

    name: str
    points: FloatArray


def side_line_corner(angles: FloatArray) -> FloatArray:
    """Return where top and wall would meet unrounded, at plan angles about x = 280, y = 0."""
    ray = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    near, far = np.full(len(ray), 40.0), np.full(len(ray), 340.0)
    for _ in range(40):
        half = (near + far) / 2
        inside = wall_sheet(_on_top(ray * half[:, None])).distance < 0
        near, far = np.where(inside, half, near), np.where(inside, far, half)
    return _on_top(ray * near[:, None])


def _on_top(plan: FloatArray) -> FloatArray:
    x, y = plan[:, 0] + 280.0, plan[:, 1]
    return np.stack([x, y, top_height(x, y)], axis=1)


def _stand_off_line() -> FloatArray:
    """Return the line round the top that keeps its distance from the side line, left to right."""
    corner = side_line_corner(np.linspace(0.94 * np.pi, -0.94 * np.pi, 3000))
    top = top_sheet(corner).normal
    wall = wall_sheet(corner).normal
    along = np.gradient(corner, axis=0)
    inward = np.cross(along, top)
    inward /= np.linalg.norm(inward, axis=1)[:, None]
    inward *= np.sign(-np.einsum("ij,ij->i", inward, wall))[:, None]
    turn = np.arccos(np.einsum("ij,ij->i", top, wall))
    off = STAND_OFF + (line_radius(corner[:, 0]) - LINE_RADIUS) * np.tan(turn / 2)
    return on_skin(corner + off[:, None] * inward)


def on_seat(across: FloatArray, up: FloatArray) -> FloatArray:
    """Return places of the seat face's plane, across to the left and up from its lowest middle."""
    across_axis = np.array([0.0, 1.0, 0.0])
    return np.asarray(SEAT_POINT + across[:, None] * across_axis + up[:, None] * SEAT_RISE)


def seat_edge_corner(angles: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return across and up, mm, of the seat face's unrounded edge, at angles about its middle."""
    near, far = np.full(len(angles), 10.0), np.full(len(angles), 160.0)
    for _ in range(40):
        half = (near + far) / 2
        place = on_seat(half * np.cos(angles), 55.0 + half * np.sin(angles))
        inside = top_and_wall(place).distance < 0
        near, far = np.where(inside, half, near), np.where(inside, far, half)
    return near * np.cos(angles), 55.0 + near * np.sin(angles)


def _seat_seam() -> FloatArray:
    """Return the seam on the seat face, from the bottom edge left over the top to the right."""
    across, up = seat_edge_corner(np.linspace(-0.30 * np.pi, 1.30 * np.pi, 3000))
    step_across, step_up = np.gradient(across), np.gradient(up)
    size = np.hypot(step_across, step_up)
    across, up = across - STAND_OFF * step_up / size, up + STAND_OFF * step_across / size
    line = on_seat(across, up)
    line = line[line[:, 2] - bottom_height(line[:, 0]) > 12.0]
    ends = on_bottom_rim(line[[0, -1]] - np.array([0.0, 0.0, 5.0]))
    return np.concatenate([ends[:1], line, ends[1:]])


def _nearest(line: FloatArray, place: FloatArray) -> int:
    return int(np.linalg.norm(line - place, axis=1).argmin())


def _top_seam(seat_seam: FloatArray) -> FloatArray:
    """Return the seam round the top, both ends on the seat seam, past the crisp seat edge."""
    line = _stand_off_line()
    line = line[-(line - SEAT_POINT) @ SEAT_NORMAL > 4.0]
    down = line[[0, -1]] - ((line[[0, -1]] - SEAT_POINT) @ SEAT_NORMAL)[:, None] * SEAT_NORMAL
    ends = seat_seam[[_nearest(seat_seam, place) for place in down]]
    return np.concatenate([ends[:1], line, ends[1:]])


def _nose_seam(top_seam: FloatArray, side: float) -> FloatArray:
    """Return the seam down one side behind the nose, from the top seam to the bottom edge."""
    beside = np.flatnonzero(top_seam[:, 1] * side > 0)
    start = top_seam[beside[np.abs(top_seam[beside, 0] - NOSE_SEAM_STATION).argmin()]]
    height = np.linspace(start[2] - 4.0, bottom_height(start[:1])[0] + 5.0, 60)
    x = NOSE_SEAM_STATION + 0.06 * (start[2] - height)
    near, far = np.zeros(60), np.full(60, 200.0)
    for _ in range(40):
        half = (near + far) / 2
        inside = wall_sheet(np.stack([x, side * half, height], axis=1)).distance < 0
        near, far = np.where(inside, half, near), np.where(inside, far, half)
    line = on_skin(np.stack([x, side * near, height], axis=1), rounds=20)
    end = on_bottom_rim(line[-1:])
    return np.concatenate([start[None], line, end])


def _dotted(line: FloatArray) -> FloatArray:
    """Return the line as a maker dots it: places on the skin, evenly, both ends kept."""
    dots = on_skin(evenly_along(line, POINT_SPACING, closed=False), rounds=20)
    return np.concatenate([line[:1], dots[1:-1], line[-1:]])


def drawn_seams() -> tuple[DrawnSeam, ...]:
    """Return the four seams, points on the skin every 8 mm or so."""
    seat = _seat_seam()
    top = _top_seam(seat)
    return (
        DrawnSeam("top seam", _dotted(top)),
        DrawnSeam("seat seam", _dotted(seat)),
        DrawnSeam("left nose seam", _dotted(_nose_seam(top, 1.0))),
        DrawnSeam("right nose seam", _dotted(_nose_seam(top, -1.0))),
    )


def panel_places() -> dict[str, FloatArray]:
    """Return a place inside every panel."""
    rough = {
        "left side": [300.0, 128.0, 90.0],
        "right side": [300.0, -128.0, 90.0],
        "top strip": [250.0, 40.0, 210.0],
        "front end": [555.0, 0.0, 70.0],
        "seat end": [15.0, 10.0, 80.0],
    }
    places = on_skin(np.array(list(rough.values())), rounds=20)
    return dict(zip(rough, places, strict=True))
