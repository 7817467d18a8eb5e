"""Where the scanner put the tank: from the tank's frame in mm to the file's, in inches."""

import numpy as np

from sample_data.generate.shape import FloatArray

MM_PER_INCH = 25.4
UNIT = "in"
SHIFT = np.array([312.4, -187.9, 641.7])  # mm


def _turned(axis: int, angle_deg: float) -> FloatArray:
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    turn = np.eye(3)
    i, j = (axis + 1) % 3, (axis + 2) % 3
    turn[i, i], turn[i, j], turn[j, i], turn[j, j] = c, -s, s, c
    return turn


TURN = _turned(2, 128.0) @ _turned(0, -37.0) @ _turned(1, 21.0)


def to_file(points: FloatArray) -> FloatArray:
    """Return places (..., 3) of the tank's frame, mm, in the file's coordinates, inches."""
    return np.asarray((points @ TURN.T + SHIFT) / MM_PER_INCH)


def from_file(points: FloatArray) -> FloatArray:
    """Return places (..., 3) of the file, inches, in the tank's frame, mm."""
    return np.asarray((points * MM_PER_INCH - SHIFT) @ TURN)


def direction_to_file(direction: FloatArray) -> FloatArray:
    """Return a direction of the tank's frame as the file has it."""
    return np.asarray(TURN @ direction)
