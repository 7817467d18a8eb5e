"""The file that says what a tank has besides its panels, in the maker's own unit and in degrees."""

from pathlib import Path
from typing import Any

from app.job import strict_json as strict
from app.job.plain_json import Written, value_of
from app.job.rest_choices import RestOfTank
from app.job.strict_json import BadFieldError
from geometry.scan import MM_PER_UNIT

LARGEST_REST_FILE = 4 * 2**20


def read_rest(path: Path) -> RestOfTank:
    """Return what a file decides besides the panels; what it does not name is not begun.

    It is an object with "unit" (mm, cm, m or in) and the fields of `RestOfTank`, lengths named
    without `_mm`, angles in degrees.

    Raises
    ------
    OSError
    BadFileError
    """
    return strict.read_file(path, "a file of the rest of a tank", LARGEST_REST_FILE, _rest)


def _rest(value: Any) -> RestOfTank:
    if not isinstance(value, dict) or "unit" not in value:
        raise BadFieldError("", 'lacks the field "unit": mm, cm, m or in')
    unit = strict.one_of(value["unit"], "unit", tuple(MM_PER_UNIT))
    fields = {name: found for name, found in value.items() if name != "unit"}
    return value_of(RestOfTank, fields, "", Written(MM_PER_UNIT[unit]))
