"""From a scanner's file to a sound mesh: reading, mending, and saying what is in it."""

from geometry.scan.raw_scan import RawScan
from geometry.scan.read import read_scan
from geometry.scan.scale import scaled
from geometry.scan.scan_report import (
    MM_PER_UNIT,
    UNIT_WORDS,
    Hole,
    Piece,
    ScanReport,
    Unit,
    likely_unit,
    report_on,
)
from geometry.scan.sound import Repairs, SoundScan, sound_mesh
from geometry.scan.tidy import SeveralTanksError, TidyScan, tidy_for_panels
from geometry.scan.unreadable import (
    BadIndexError,
    BadLineError,
    DecimalCommaError,
    DiskError,
    EmptyFileError,
    MissingFileError,
    NoPermissionError,
    NoSurfaceError,
    NotAFileError,
    NotFiniteScanError,
    OutsizeScanError,
    PointsOnlyError,
    TruncatedScanError,
    UnknownKindError,
    UnreadableScanError,
    WrongContentError,
)

__all__ = [
    "MM_PER_UNIT",
    "UNIT_WORDS",
    "BadIndexError",
    "BadLineError",
    "DecimalCommaError",
    "DiskError",
    "EmptyFileError",
    "Hole",
    "MissingFileError",
    "NoPermissionError",
    "NoSurfaceError",
    "NotAFileError",
    "NotFiniteScanError",
    "OutsizeScanError",
    "Piece",
    "PointsOnlyError",
    "RawScan",
    "Repairs",
    "ScanReport",
    "SeveralTanksError",
    "SoundScan",
    "TidyScan",
    "TruncatedScanError",
    "Unit",
    "UnknownKindError",
    "UnreadableScanError",
    "WrongContentError",
    "likely_unit",
    "read_scan",
    "report_on",
    "scaled",
    "sound_mesh",
    "tidy_for_panels",
]
