"""The datum file: how a tank stands, as `lowcrown datum --json` tells it, read strictly."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.job.files import strict_json as strict
from app.job.files.strict_json import BadFieldError
from geometry.datum import Point3

LARGEST_DATUM_FILE = 4 * 2**20
KIND = "a datum file"
_SCHEMA = "lowcrown/1"
_NEEDED = ("schema", "plane", "up", "front")
_TOLD = (
    "left", "origin", "guessed", "level_spread_deg", "left_right", "others", "scan", "size",
    "triangles", "seconds",
)  # fmt: skip
_PLANE = ("point", "normal")
_PLANE_TOLD = ("spread_deg", "spread_mm", "weak", "matched_share", "residual_mm")
_SQUARE = 1e-3


@dataclass(frozen=True)
class ScanMark:
    """Which scan something belongs to.

    Attributes
    ----------
    sha256 : str
        Of its file's bytes, in hexadecimal.
    triangles : int
        As the file holds them.
    """

    sha256: str
    triangles: int


@dataclass(frozen=True)
class DatumFile:
    """What a datum file says; places in mm, in the axes of the scan's file.

    Attributes
    ----------
    path : Path
        Of the datum file.
    point, normal : three floats
        Of the centre plane; the normal points to the maker's left.
    up, front : three floats
    scan : ScanMark or None
        The scan it was found on; None where it does not say.
    """

    path: Path
    point: Point3
    normal: Point3
    up: Point3
    front: Point3
    scan: ScanMark | None = None


def read_datum(path: Path) -> DatumFile:
    """Return a datum file.

    Raises
    ------
    OSError
    BadFileError
    """
    return strict.read_file(path, KIND, LARGEST_DATUM_FILE, lambda value: _datum(path, value))


def _datum(path: Path, value: Any) -> DatumFile:
    found = strict.fields(value, "", _NEEDED, _TOLD)
    strict.one_of(found["schema"], "schema", (_SCHEMA,))
    plane = strict.fields(found["plane"], "plane", _PLANE, _PLANE_TOLD)
    ways = {
        "plane.normal": strict.direction(plane["normal"], "plane.normal"),
        "up": strict.direction(found["up"], "up"),
        "front": strict.direction(found["front"], "front"),
    }
    names = list(ways)
    for at, one in enumerate(names):
        for other in names[:at]:
            if _cosine(ways[one], ways[other]) > _SQUARE:
                raise BadFieldError(one, f"is not square to {other}")
    return DatumFile(
        path,
        strict.point(plane["point"], "plane.point"),
        ways["plane.normal"],
        ways["up"],
        ways["front"],
        _scan(found["scan"]) if "scan" in found else None,
    )


def _scan(value: Any) -> ScanMark:
    found = strict.fields(value, "scan", ("sha256", "triangles"))
    return ScanMark(
        strict.text(found["sha256"], "scan.sha256"),
        strict.whole(found["triangles"], "scan.triangles"),
    )


def _cosine(one: Point3, other: Point3) -> float:
    across = sum(a * b for a, b in zip(one, other, strict=True))
    return abs(across) / (math.hypot(*one) * math.hypot(*other))
