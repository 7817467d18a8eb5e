"""Files a maker writes of a decision: plain values in the unit the file says, angles in degrees."""

from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from app.job.files import strict_json as strict
from app.job.files.plain_json import Written, value_of
from app.job.files.strict_json import BadFieldError
from geometry.scan import MM_PER_UNIT

T = TypeVar("T")

LARGEST_WRITTEN_FILE = 4 * 2**20


def read_written(path: Path, kind: type[T], what: str) -> T:
    """Return a decision read from a file: an object with "unit" (mm, cm, m or in) and its fields.

    Lengths are named without `_mm`, angles end in `_deg`; what is left out is as usual.

    Parameters
    ----------
    path : Path
    kind : frozen dataclass of plain values
    what : str
        What the file is, as "a file of a tunnel".

    Raises
    ------
    OSError
    BadFileError
    """
    return strict.read_file(path, what, LARGEST_WRITTEN_FILE, partial(_read, kind))


def _read(kind: type[T], value: Any) -> T:
    if not isinstance(value, dict):
        raise BadFieldError("", "is not an object with fields in braces { }")
    if "unit" not in value:
        raise BadFieldError("", 'lacks the field "unit": mm, cm, m or in')
    unit = strict.one_of(value["unit"], "unit", tuple(MM_PER_UNIT))
    fields = {name: found for name, found in value.items() if name != "unit"}
    return value_of(kind, fields, "", Written(MM_PER_UNIT[unit]))
