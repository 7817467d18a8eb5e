"""Seams, their notes, panel names and break-ups as plain JSON values and back again.

The job file and the seams file keep them alike. What nobody said is left out.
"""

from typing import Any

from app.job.choices import (
    REACHES,
    SEAM_EDGES,
    SIGHTS,
    STIFFNESSES,
    BreakUp,
    PanelName,
    SeamLine,
    SeamNote,
)
from app.job.files import strict_json as strict
from app.job.files.strict_json import BadFieldError
from app.units import counted

_NOTED = ("sight", "stiffness", "reach", "closing", "edge", "allowance_mm", "hushed", "note")


def seam_facts(seam: SeamLine) -> dict[str, Any]:
    """Return a seam as plain values.

    >>> list(seam_facts(SeamLine("top", ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)))))
    ['name', 'points', 'closed']
    """
    found: dict[str, Any] = {"name": seam.name, "points": seam.points, "closed": seam.closed}
    if any(seam.on):
        found["on"] = [each or None for each in seam.on]
    if seam.mirror_of:
        found["mirror_of"] = seam.mirror_of
    return found


def seam_line(value: Any, where: str) -> SeamLine:
    """Return a seam from checked JSON: at least 2 points, 3 when closed."""
    found = strict.fields(value, where, ["name", "points"], ["closed", "on", "mirror_of"])
    name = strict.text(found["name"], f"{where}.name")
    points = strict.items(found["points"], f"{where}.points", strict.point)
    closed = strict.flag(found.get("closed", False), f"{where}.closed")
    least = 3 if closed else 2
    if len(points) < least:
        raise BadFieldError(
            f"{where}.points", f"holds {counted(len(points), 'point')}, fewer than {least}"
        )
    on = strict.items(found.get("on", []), f"{where}.on", _text_or_none)
    if on and len(on) != len(points):
        raise BadFieldError(
            f"{where}.on", f"holds {counted(len(on), 'name')} for {counted(len(points), 'point')}"
        )
    twin = _text_or_none(found.get("mirror_of"), f"{where}.mirror_of")
    if twin == name:
        raise BadFieldError(f"{where}.mirror_of", "names the seam itself")
    return SeamLine(name, points, closed, on if any(on) else (), twin)


def panel_name(value: Any, where: str) -> PanelName:
    """Return a panel's name from checked JSON."""
    found = strict.fields(value, where, ["name", "inside"])
    return PanelName(
        strict.text(found["name"], f"{where}.name"),
        strict.point(found["inside"], f"{where}.inside"),
    )


def note_facts(note: SeamNote) -> dict[str, Any]:
    """Return a note as plain values.

    >>> note_facts(SeamNote("top", sight="seen", hushed=("low crown",)))
    {'seam': 'top', 'sight': 'seen', 'hushed': ('low crown',)}
    """
    plain = vars(SeamNote(note.seam))
    return {
        name: value for name, value in vars(note).items() if name == "seam" or value != plain[name]
    }


def seam_note(value: Any, where: str) -> SeamNote:
    """Return a note from checked JSON."""
    found = strict.fields(value, where, ["seam"], _NOTED)

    def chosen(name: str, among: tuple[str, ...]) -> Any:
        return strict.one_of(found.get(name), f"{where}.{name}", (*among, None))

    return SeamNote(
        strict.text(found["seam"], f"{where}.seam"),
        chosen("sight", SIGHTS),
        chosen("stiffness", STIFFNESSES),
        chosen("reach", REACHES),
        strict.flag(found.get("closing", False), f"{where}.closing"),
        chosen("edge", SEAM_EDGES),
        _both_sides(found.get("allowance_mm"), f"{where}.allowance_mm"),
        strict.items(found.get("hushed", []), f"{where}.hushed", strict.text),
        _text_or_none(found.get("note"), f"{where}.note"),
    )


def breakup_facts(breakup: BreakUp) -> dict[str, Any]:
    """Return a break-up as plain values."""
    return {
        "name": breakup.name,
        "seams": [seam_facts(seam) for seam in breakup.seams],
        "panels": [vars(name) for name in breakup.panel_names],
        "notes": [note_facts(note) for note in breakup.notes],
    }


def break_up(value: Any, where: str) -> BreakUp:
    """Return a break-up from checked JSON."""
    found = strict.fields(value, where, ["name", "seams"], ["panels", "notes"])
    return BreakUp(strict.text(found["name"], f"{where}.name"), *seams_and_names(found, where))


def seams_and_names(
    found: dict[str, Any], where: str
) -> tuple[tuple[SeamLine, ...], tuple[PanelName, ...], tuple[SeamNote, ...]]:
    """Return the fields `seams`, `panels` and `notes` of an object; no name stands twice."""
    inside = f"{where}." if where else ""
    seams = strict.items(found["seams"], f"{inside}seams", seam_line)
    names = strict.items(found.get("panels", []), f"{inside}panels", panel_name)
    notes = strict.items(found.get("notes", []), f"{inside}notes", seam_note)
    check_twins([seam.name for seam in seams], f"{inside}seams")
    check_twins([name.name for name in names], f"{inside}panels")
    check_twins([note.seam for note in notes], f"{inside}notes")
    known = {seam.name for seam in seams}
    for place, note in enumerate(notes):
        if note.seam not in known:
            raise BadFieldError(f"{inside}notes[{place}].seam", "names a seam that is not there")
    return seams, names, notes


def check_twins(names: list[str], where: str) -> None:
    """Refuse a name that stands twice."""
    for place, name in enumerate(names):
        if name in names[:place]:
            raise BadFieldError(f"{where}[{place}]", f'has the name "{name}", which is taken')


def _both_sides(value: Any, where: str) -> tuple[float, float] | None:
    if value is None:
        return None
    sides = strict.items(value, where, strict.not_below_nothing)
    if len(sides) != 2:
        raise BadFieldError(where, "does not hold two widths, left and right of the seam")
    return sides[0], sides[1]


def _text_or_none(value: Any, where: str) -> str:
    return "" if value is None else strict.text(value, where)
