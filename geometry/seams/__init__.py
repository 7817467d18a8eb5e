"""Lines drawn over a surface before anything is cut: exact, snapped, faired, slid, stood off."""

from geometry.seams.course import piece_between
from geometry.seams.fair import Faired, faired
from geometry.seams.few_points import few_points
from geometry.seams.ground import (
    OFF_GROUND_MM,
    LineHasNoLengthError,
    PointOffGroundError,
    SeamGround,
)
from geometry.seams.meetings import Meeting, meetings, point_inserted
from geometry.seams.mirror import Mirrored, mirror_images, mirrored
from geometry.seams.self_meetings import self_meetings
from geometry.seams.slide import Slid, slid_to_least_shape
from geometry.seams.snapping import Caught, SnapKind, SnapLine, SnapLines, plane_lines
from geometry.seams.stand_off import NothingStandsOffError, Side, stood_off

__all__ = [
    "OFF_GROUND_MM",
    "Caught",
    "Faired",
    "LineHasNoLengthError",
    "Meeting",
    "Mirrored",
    "NothingStandsOffError",
    "PointOffGroundError",
    "SeamGround",
    "Side",
    "Slid",
    "SnapKind",
    "SnapLine",
    "SnapLines",
    "faired",
    "few_points",
    "meetings",
    "mirror_images",
    "mirrored",
    "piece_between",
    "plane_lines",
    "point_inserted",
    "self_meetings",
    "slid_to_least_shape",
    "stood_off",
]
