"""The file a maker writes of a tunnel, in their own unit and in degrees."""

from pathlib import Path
from typing import Any

from app.job import strict_json as strict
from app.job.plain_json import Written, value_of
from app.job.strict_json import BadFieldError
from geometry.scan import MM_PER_UNIT
from geometry.tank import TunnelSpec

LARGEST_TUNNEL_FILE = 2**20


def read_tunnel(path: Path) -> TunnelSpec:
    """Return what a file says of a tunnel; what it leaves out is as usual.

    It is an object with "unit" (mm, cm, m or in) and the fields of `TunnelSpec`, lengths named
    without `_mm`, angles in degrees under `_deg`.

    Raises
    ------
    OSError
    BadFileError
    """
    return strict.read_file(path, "a file of a tunnel", LARGEST_TUNNEL_FILE, _spec)


def _spec(value: Any) -> TunnelSpec:
    if not isinstance(value, dict) or "unit" not in value:
        raise BadFieldError("", 'lacks the field "unit": mm, cm, m or in')
    unit = strict.one_of(value["unit"], "unit", tuple(MM_PER_UNIT))
    fields = {name: found for name, found in value.items() if name != "unit"}
    return value_of(TunnelSpec, fields, "", Written(MM_PER_UNIT[unit]))
