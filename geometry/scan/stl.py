"""STL files: the binary kind by its exact size, the text kind line by line."""

import re
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import FloatArray
from geometry.progress import Report
from geometry.scan.raw_scan import RawScan, raw_scan
from geometry.scan.text_lines import blocks_of_lines, first_bad_line, numbers
from geometry.scan.unreadable import (
    BadLineError,
    NoSurfaceError,
    TruncatedScanError,
    WrongContentError,
)

_HEADER, _COUNT, _FACET = 80, 4, 50
_FACETS_AT_ONCE = 500_000
_FACET_LAYOUT = np.dtype(
    [("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
)
_VERTEX = re.compile(rb"^[ \t]*vertex[ \t]+(\S+)[ \t]+(\S+)[ \t]+(\S+)[ \t]*$", re.M | re.I)
_VERTEX_WORD = re.compile(rb"^[ \t]*vertex\b", re.M | re.I)
_FACET_WORD = re.compile(rb"^[ \t]*facet\b", re.M | re.I)
_PRINTABLE = bytes(range(32, 127)) + b"\t\r\n\f\v"


def read_stl(path: Path, report: Report) -> RawScan:
    """Return what an STL file holds.

    A file of exactly 84 + 50 x count bytes is binary, also when it begins with "solid".

    Raises
    ------
    TruncatedScanError
        Binary, and its size is not the one its count asks for.
    WrongContentError
        Neither kind.
    BadLineError, NoSurfaceError
        Text with a line that cannot be understood, or without triangles.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        start = file.read(1024)
    declared = int.from_bytes(start[_HEADER : _HEADER + _COUNT], "little")
    if size >= _HEADER + _COUNT and size == _HEADER + _COUNT + _FACET * declared:
        return _read_binary(path, declared, report)
    if not start.translate(None, _PRINTABLE) or _looks_like_text_stl(start):
        if not start.lstrip().lower().startswith(b"solid"):
            found = "it is a PLY" if start.startswith(b"ply") else "it is some other text"
            raise WrongContentError(path, "STL", found)
        return _read_text(path, report)
    whole = max(size - _HEADER - _COUNT, 0) // _FACET
    raise TruncatedScanError(path, declared if size >= _HEADER + _COUNT else 0, whole)


def _looks_like_text_stl(start: bytes) -> bool:
    """Allow for names in other alphabets on the first line."""
    return start.lstrip().lower().startswith(b"solid") and b"\0" not in start


def _read_binary(path: Path, count: int, report: Report) -> RawScan:
    if count == 0:
        raise NoSurfaceError(path)
    corners = np.empty((count, 3, 3), np.float32)
    with path.open("rb") as file:
        file.seek(_HEADER + _COUNT)
        for start in range(0, count, _FACETS_AT_ONCE):
            report(start / count, "Reading the scan")
            wanted = min(_FACETS_AT_ONCE, count - start)
            facets = np.fromfile(file, _FACET_LAYOUT, wanted)
            if len(facets) < wanted:
                raise TruncatedScanError(path, count, start + len(facets))
            corners[start : start + wanted] = facets["corners"]
    report(1.0, "Reading the scan")
    narrow = count < 2**31 // 3
    faces: NDArray[Any] = np.arange(3 * count, dtype=np.int32 if narrow else np.int64)
    return raw_scan(path, corners.reshape(-1, 3), faces.reshape(-1, 3), "binary STL")


def _read_text(path: Path, report: Report) -> RawScan:
    parts: list[FloatArray] = []
    facets, vertices, last_line, tail = 0, 0, 1, b""
    for first, block in blocks_of_lines(path, report):
        found = _VERTEX.findall(block)
        if len(found) != len(_VERTEX_WORD.findall(block)):
            raise first_bad_line(path, first, block, _VERTEX, b"vertex")
        try:
            parts.append(numbers([word for vertex in found for word in vertex]).reshape(-1, 3))
        except ValueError:
            raise first_bad_line(path, first, block, _VERTEX, b"vertex") from None
        facets += len(_FACET_WORD.findall(block))
        vertices += len(found)
        last_line = first + block.count(b"\n") - 1
        tail = block.rstrip().rpartition(b"\n")[2]
    if vertices != 3 * facets:
        raise BadLineError(path, last_line, f"{facets} facets have {vertices} vertices")
    if facets == 0:
        raise NoSurfaceError(path)
    ended = tail.strip().lower().startswith(b"endsolid")
    remarks = () if ended else ("The file has no closing line; all its triangles are whole.",)
    faces = np.arange(vertices, dtype=np.int64).reshape(-1, 3)
    return raw_scan(path, np.concatenate(parts), faces, "text STL", remarks)
