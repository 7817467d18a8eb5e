"""Lines drawn over a surface before anything is cut: exact, snapped, faired, slid, stood off."""

from geometry.seams.ground import (
    OFF_GROUND_MM,
    LineHasNoLengthError,
    PointOffGroundError,
    SeamGround,
)
from geometry.seams.meetings import Meeting, meetings, point_inserted
from geometry.seams.mirror import Mirrored, mirror_images, mirrored
from geometry.seams.snapping import Caught, SnapKind, SnapLine, SnapLines, plane_lines

__all__ = [
    "OFF_GROUND_MM",
    "Caught",
    "LineHasNoLengthError",
    "Meeting",
    "Mirrored",
    "PointOffGroundError",
    "SeamGround",
    "SnapKind",
    "SnapLine",
    "SnapLines",
    "meetings",
    "mirror_images",
    "mirrored",
    "plane_lines",
    "point_inserted",
]
