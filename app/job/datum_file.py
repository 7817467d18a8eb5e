"""The datum file: how a tank stands, as `lowcrown datum --json` tells it, read strictly."""

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from app.job import strict_json as strict
from app.job.choices import DatumChoice
from app.job.state import JobState
from app.job.strict_json import BadFieldError
from geometry.datum import Point3

LARGEST_DATUM_FILE = 4 * 2**20
_SCHEMA = "lowcrown/1"
_NEEDED = ("schema", "plane", "up", "front")
_TOLD = (
    "left", "origin", "guessed", "level_spread_deg", "left_right", "others", "size", "triangles",
    "seconds",
)  # fmt: skip
_PLANE = ("point", "normal")
_PLANE_TOLD = ("spread_deg", "spread_mm", "weak", "matched_share", "residual_mm")
_SQUARE = 1e-3


@dataclass(frozen=True)
class DatumFile:
    """What a datum file says; places in mm, in the axes of the scan's file.

    Attributes
    ----------
    point, normal : three floats
        Of the centre plane; the normal points to the maker's left.
    up, front : three floats
    """

    point: Point3
    normal: Point3
    up: Point3
    front: Point3


def read_datum(path: Path) -> DatumFile:
    """Return a datum file.

    Raises
    ------
    OSError
    BadFileError
    """
    return strict.read_file(path, "a datum file", LARGEST_DATUM_FILE, _datum)


def _datum(value: Any) -> DatumFile:
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
        strict.point(plane["point"], "plane.point"),
        ways["plane.normal"],
        ways["up"],
        ways["front"],
    )


def _cosine(one: Point3, other: Point3) -> float:
    across = sum(a * b for a, b in zip(one, other, strict=True))
    return abs(across) / (math.hypot(*one) * math.hypot(*other))


def with_datum_file(state: JobState, file: DatumFile, mm_per_unit: float) -> JobState:
    """Return the job standing as a datum file says; `mm_per_unit` is the scan's."""
    x, y, z = (value / mm_per_unit for value in file.point)
    choice = DatumChoice(
        "given", plane=((x, y, z), file.normal), level="given", up=file.up, front=file.front
    )
    return replace(state, datum=choice)
