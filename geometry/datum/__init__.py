"""Where the tank stands and how big it is: true size from taped distances."""

from geometry.datum.axis_off import AxisOff
from geometry.datum.centre_plane import (
    CentrePlane,
    NoSymmetryError,
    PicksDoNotFixPlaneError,
)
from geometry.datum.centre_plane_picks import picks_off, plane_from_picks
from geometry.datum.copy_side import (
    Copied,
    PlaceNotJoinedError,
    PlaceOffTankError,
    SideMissingError,
    SideZone,
    ZonesClashError,
    copied_side,
)
from geometry.datum.left_right import (
    NO_BAND,
    LeftRight,
    NothingFacesError,
    bands_of,
    left_right,
)
from geometry.datum.left_right_stations import StationDifference
from geometry.datum.level import (
    Level,
    LevelPicksError,
    NoLevelError,
    level_from_edge,
    level_from_picks,
)
from geometry.datum.point import Point3, point3, point_array
from geometry.datum.stand import Datum, DirectionAcrossError
from geometry.datum.standing import PickOffTankError, datum_of
from geometry.datum.symmetry import SEVERAL_PLANES, centre_plane
from geometry.datum.tape import (
    TAPE_KINDS,
    Tape,
    TapeKind,
    TapeOffSurfaceError,
    TapeTooShortError,
    tape_through,
    taped_length,
)
from geometry.datum.true_size import (
    Allowance,
    NoUnitFitsTapesError,
    SeveralUnitsFitTapesError,
    SizeOutOfReasonError,
    SizeUnknownError,
    TapeCheck,
    TapeGirthError,
    TapeOffError,
    TrueSize,
    allowed_off_mm,
    true_size,
)

__all__ = [
    "NO_BAND",
    "SEVERAL_PLANES",
    "TAPE_KINDS",
    "Allowance",
    "AxisOff",
    "CentrePlane",
    "Copied",
    "Datum",
    "DirectionAcrossError",
    "LeftRight",
    "Level",
    "LevelPicksError",
    "NoLevelError",
    "NoSymmetryError",
    "NoUnitFitsTapesError",
    "NothingFacesError",
    "PickOffTankError",
    "PicksDoNotFixPlaneError",
    "PlaceNotJoinedError",
    "PlaceOffTankError",
    "Point3",
    "SeveralUnitsFitTapesError",
    "SideMissingError",
    "SideZone",
    "SizeOutOfReasonError",
    "SizeUnknownError",
    "StationDifference",
    "Tape",
    "TapeCheck",
    "TapeGirthError",
    "TapeKind",
    "TapeOffError",
    "TapeOffSurfaceError",
    "TapeTooShortError",
    "TrueSize",
    "ZonesClashError",
    "allowed_off_mm",
    "bands_of",
    "centre_plane",
    "copied_side",
    "datum_of",
    "left_right",
    "level_from_edge",
    "level_from_picks",
    "picks_off",
    "plane_from_picks",
    "point3",
    "point_array",
    "tape_through",
    "taped_length",
    "true_size",
]
