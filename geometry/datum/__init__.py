"""Where the tank stands and how big it is: true size from taped distances."""

from geometry.datum.centre_plane import (
    CentrePlane,
    NoSymmetryError,
    PicksDoNotFixPlaneError,
)
from geometry.datum.centre_plane_picks import picks_off, plane_from_picks
from geometry.datum.stand import Datum, DirectionAcrossError
from geometry.datum.symmetry import centre_plane
from geometry.datum.true_size import (
    NoUnitFitsTapesError,
    Point3,
    SeveralUnitsFitTapesError,
    SizeUnknownError,
    Tape,
    TapeCheck,
    TapeOffError,
    TapeTooShortError,
    TrueSize,
    allowed_off_mm,
    taped_length,
    true_size,
)

__all__ = [
    "CentrePlane",
    "Datum",
    "DirectionAcrossError",
    "NoSymmetryError",
    "NoUnitFitsTapesError",
    "PicksDoNotFixPlaneError",
    "Point3",
    "SeveralUnitsFitTapesError",
    "SizeUnknownError",
    "Tape",
    "TapeCheck",
    "TapeOffError",
    "TapeTooShortError",
    "TrueSize",
    "allowed_off_mm",
    "centre_plane",
    "picks_off",
    "plane_from_picks",
    "taped_length",
    "true_size",
]
