"""Where the tank stands and how big it is: true size from taped distances."""

from geometry.datum.true_size import (
    MM_PER_UNIT,
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
    "MM_PER_UNIT",
    "NoUnitFitsTapesError",
    "Point3",
    "SeveralUnitsFitTapesError",
    "SizeUnknownError",
    "Tape",
    "TapeCheck",
    "TapeOffError",
    "TapeTooShortError",
    "TrueSize",
    "allowed_off_mm",
    "taped_length",
    "true_size",
]
