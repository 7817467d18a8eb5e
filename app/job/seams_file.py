"""The seams file: seams, panel names and directions, read strictly and written again."""

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from app.job import strict_json as strict
from app.job.job_file import kept_values, panel_name, seam_line, written_whole
from app.job.state import Directions, JobState, PanelName, SeamLine
from app.job.strict_json import BadFieldError
from geometry.datum import Point3
from geometry.scan import MM_PER_UNIT, Unit

LARGEST_SEAMS_FILE = 32 * 2**20


@dataclass(frozen=True)
class SeamsFile:
    """What a seams file says; points in its own unit.

    Attributes
    ----------
    unit : str
        mm, cm, m or in.
    seams : tuple of SeamLine
    panel_names : tuple of PanelName
    directions : Directions
    """

    unit: Unit
    seams: tuple[SeamLine, ...]
    panel_names: tuple[PanelName, ...]
    directions: Directions


def read_seams(path: Path) -> SeamsFile:
    """Return a seams file.

    Raises
    ------
    OSError
    BadFileError
    """
    return strict.read_file(path, "a seams file", LARGEST_SEAMS_FILE, _seams)


def _seams(value: Any) -> SeamsFile:
    found = strict.fields(value, "", ["unit", "seams"], ["panels", "front", "top"])
    seams = strict.items(found["seams"], "seams", seam_line)
    if not seams:
        raise BadFieldError("seams", "holds no seam")
    names = strict.items(found.get("panels", []), "panels", panel_name)
    _check_twins([seam.name for seam in seams], "seams")
    _check_twins([name.name for name in names], "panels")
    front, top = (
        strict.direction(found[name], name) if name in found else None for name in ("front", "top")
    )
    unit = strict.one_of(found["unit"], "unit", tuple(MM_PER_UNIT))
    return SeamsFile(unit, seams, names, Directions(front, top))


def _check_twins(names: list[str], where: str) -> None:
    for place, name in enumerate(names):
        if name in names[:place]:
            raise BadFieldError(f"{where}[{place}]", f'has the name "{name}", which is taken')


def with_seams_file(state: JobState, file: SeamsFile, mm_per_unit: float) -> JobState:
    """Return the job with a seams file's seams, names and directions.

    Parameters
    ----------
    state : JobState
    file : SeamsFile
    mm_per_unit : float
        Millimetres for one unit of the scan, which may be another than the seams file's.
    """
    factor = MM_PER_UNIT[file.unit] / mm_per_unit

    def moved(point: Point3) -> Point3:
        return point if factor == 1.0 else (point[0] * factor, point[1] * factor, point[2] * factor)

    return replace(
        state,
        seams=tuple(replace(s, points=tuple(map(moved, s.points))) for s in file.seams),
        panel_names=tuple(replace(n, inside=moved(n.inside)) for n in file.panel_names),
        directions=Directions(
            file.directions.front or state.directions.front,
            file.directions.top or state.directions.top,
        ),
    )


def save_seams(state: JobState, unit: str, path: Path) -> None:
    """Write a job's seams; `unit` is the scan's."""
    found: dict[str, Any] = {
        "unit": unit,
        "seams": [vars(seam) for seam in state.seams],
        "panels": [vars(name) for name in state.panel_names],
    }
    for name, value in (("front", state.directions.front), ("top", state.directions.top)):
        if value is not None:
            found[name] = value
    text = (json.dumps(kept_values(found), indent=1, ensure_ascii=False) + "\n").encode()

    def write(file: Any) -> None:
        file.write(text)

    written_whole(path, write)
