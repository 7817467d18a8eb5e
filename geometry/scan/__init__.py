"""From a scanner's file to a sound mesh: reading, mending, and saying what is in it."""

from geometry.scan.holes import Hole, holes_of
from geometry.scan.noise import scan_noise
from geometry.scan.pieces import Piece, pieces_of
from geometry.scan.raw_scan import RawScan
from geometry.scan.read import read_scan
from geometry.scan.regions import (
    Ball,
    EmptyRegionError,
    HalfSpace,
    Lasso,
    NothingLeftError,
    Region,
)
from geometry.scan.scale import scaled
from geometry.scan.scan_report import ScanReport, likely_unit, report_on
from geometry.scan.sound import RepairPlaces, Repairs, SoundScan, sound_mesh
from geometry.scan.tidy import (
    NoPieceNearError,
    OnlyScrapsError,
    SeveralTanksError,
    TidyAreas,
    TidyScan,
    WrongSizeError,
    tidy_for_panels,
)
from geometry.scan.unit import MM_PER_UNIT, UNIT_WORDS, Unit
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
    "Ball",
    "DecimalCommaError",
    "DiskError",
    "EmptyFileError",
    "EmptyRegionError",
    "HalfSpace",
    "Hole",
    "Lasso",
    "MissingFileError",
    "NoPermissionError",
    "NoPieceNearError",
    "NoSurfaceError",
    "NotAFileError",
    "NotFiniteScanError",
    "NothingLeftError",
    "OnlyScrapsError",
    "OutsizeScanError",
    "Piece",
    "PointsOnlyError",
    "RawScan",
    "Region",
    "RepairPlaces",
    "Repairs",
    "ScanReport",
    "SeveralTanksError",
    "SoundScan",
    "TidyAreas",
    "TidyScan",
    "TruncatedScanError",
    "Unit",
    "UnknownKindError",
    "UnreadableScanError",
    "WrongContentError",
    "WrongSizeError",
    "holes_of",
    "likely_unit",
    "pieces_of",
    "read_scan",
    "report_on",
    "scaled",
    "scan_noise",
    "sound_mesh",
    "tidy_for_panels",
]
