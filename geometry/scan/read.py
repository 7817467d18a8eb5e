"""From a path to a `RawScan`: which reader, and what the system says when there is nothing."""

import os
from collections.abc import Callable
from pathlib import Path

from geometry.progress import Report, silent
from geometry.scan.obj import read_obj
from geometry.scan.off import read_off
from geometry.scan.ply import read_ply
from geometry.scan.raw_scan import RawScan
from geometry.scan.stl import read_stl
from geometry.scan.three_mf import read_3mf
from geometry.scan.unreadable import (
    DiskError,
    EmptyFileError,
    MissingFileError,
    NoPermissionError,
    NotAFileError,
    UnknownKindError,
    UnreadableScanError,
)

_READERS: dict[str, Callable[[Path, Report], RawScan]] = {
    ".stl": read_stl,
    ".ply": read_ply,
    ".obj": read_obj,
    ".off": read_off,
    ".3mf": read_3mf,
}


def read_scan(path: str | os.PathLike[str], *, report: Report = silent) -> RawScan:
    """Return the triangles that stand in an STL, PLY, OBJ, OFF or 3MF file.

    The file is opened for reading only. Coordinates stay in its unit, which only a 3MF says.

    Raises
    ------
    UnreadableScanError
        One of its kinds, for every file that is not a scan; the path is carried.
    """
    file = Path(path)
    try:
        if not file.exists():
            raise MissingFileError(file)
        if not file.is_file():
            raise NotAFileError(file)
        suffix = file.suffix.lower()
        if suffix not in _READERS:
            raise UnknownKindError(file, suffix, tuple(_READERS))
        if file.stat().st_size == 0:
            raise EmptyFileError(file)
        report(0.0, "Reading the scan")
        return _READERS[suffix](file, report)
    except OSError as reason:
        raise unreadable(file, reason) from reason


def unreadable(path: Path, reason: OSError) -> UnreadableScanError:
    """Return our error for what the system said about a file."""
    if isinstance(reason, FileNotFoundError):
        return MissingFileError(path)
    if isinstance(reason, IsADirectoryError):
        return NotAFileError(path)
    if isinstance(reason, PermissionError):
        return NoPermissionError(path)
    return DiskError(path, reason.strerror or type(reason).__name__)
