"""Lines drawn over a surface before anything is cut: exact, snapped, faired, slid, stood off."""

from geometry.seams.ground import (
    OFF_GROUND_MM,
    LineHasNoLengthError,
    PointOffGroundError,
    SeamGround,
)

__all__ = [
    "OFF_GROUND_MM",
    "LineHasNoLengthError",
    "PointOffGroundError",
    "SeamGround",
]
