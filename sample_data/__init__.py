"""The invented Brackwater 225 scrambler tank: its scan, seams and taped lengths as plain files."""

import json
from pathlib import Path

_HERE = Path(__file__).resolve().parent


def scan_path() -> Path:
    """Return where the scan lies: a binary PLY, its unit (inches) not stated in the file."""
    return _HERE / "brackwater_scan.ply"


def seams_path() -> Path:
    """Return where the seams lie that part the tank into five panels."""
    return _HERE / "brackwater_seams.json"


def rest_path() -> Path:
    """Return where it is written what the tank has besides its panels."""
    return _HERE / "brackwater_rest.json"


def job_path() -> Path:
    """Return where the job lies: scan, tapes and seams together, nothing else decided."""
    return _HERE / "brackwater.lowcrown"


def tapes() -> tuple[str, ...]:
    """Return taped lengths as the command line takes them: ``x,y,z:x,y,z=560mm``.

    >>> all(tape.endswith("mm") and tape.count(",") == 4 for tape in tapes())
    True
    """
    content = json.loads((_HERE / "brackwater_tapes.json").read_text(encoding="utf-8"))
    return tuple(
        f"{_joined(tape['from'])}:{_joined(tape['to'])}={tape['length_mm']}mm"
        for tape in content["tapes"]
    )


def _joined(place: list[float]) -> str:
    return ",".join(f"{value:.4f}" for value in place)
