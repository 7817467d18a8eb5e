"""Where the tank stands and how big it is: true size from taped distances."""

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
