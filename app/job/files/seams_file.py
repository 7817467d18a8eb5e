"""The seams file: seams, panel names and directions, read strictly and written again."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.job.choices import BreakUp, Directions, JobState, PanelName, SeamLine, SeamNote
from app.job.files import strict_json as strict
from app.job.files.seams_json import (
    break_up,
    breakup_facts,
    check_twins,
    note_facts,
    seam_facts,
    seams_and_names,
)
from app.job.files.strict_json import BadFieldError, kept_values
from app.job.files.whole_file import written_whole
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
    notes : tuple of SeamNote
    breakups : tuple of BreakUp
        Others to choose among.
    """

    unit: Unit
    seams: tuple[SeamLine, ...]
    panel_names: tuple[PanelName, ...]
    directions: Directions
    notes: tuple[SeamNote, ...] = ()
    breakups: tuple[BreakUp, ...] = ()


def read_seams(path: Path) -> SeamsFile:
    """Return a seams file.

    Raises
    ------
    OSError
    BadFileError
    """
    return strict.read_file(path, "a seams file", LARGEST_SEAMS_FILE, _seams)


def _seams(value: Any) -> SeamsFile:
    allowed = ["panels", "front", "top", "notes", "breakups"]
    found = strict.fields(value, "", ["unit", "seams"], allowed)
    seams, names, notes = seams_and_names(found, "")
    breakups = strict.items(found.get("breakups", []), "breakups", break_up)
    check_twins([each.name for each in breakups], "breakups")
    if not seams and not breakups:
        raise BadFieldError("seams", "holds no seam")
    front, top = (
        strict.direction(found[name], name) if name in found else None for name in ("front", "top")
    )
    unit = strict.one_of(found["unit"], "unit", tuple(MM_PER_UNIT))
    return SeamsFile(unit, seams, names, Directions(front, top), notes, breakups)


def save_seams(state: JobState, unit: str, path: Path) -> None:
    """Write a job's seams; `unit` is the scan's."""
    text = seams_bytes(state, unit)

    def write(file: Any) -> None:
        file.write(text)

    written_whole(path, write)


def seams_bytes(state: JobState, unit: str) -> bytes:
    """Return a job's seams as a seams file holds them; `unit` is the scan's."""
    found: dict[str, Any] = {
        "unit": unit,
        "seams": [seam_facts(seam) for seam in state.seams],
        "panels": [vars(name) for name in state.panel_names],
    }
    if state.seam_notes:
        found["notes"] = [note_facts(note) for note in state.seam_notes]
    if state.breakups:
        found["breakups"] = [breakup_facts(each) for each in state.breakups]
    for name, value in (("front", state.directions.front), ("top", state.directions.top)):
        if value is not None:
            found[name] = value
    return (json.dumps(kept_values(found), indent=1, ensure_ascii=False) + "\n").encode()
