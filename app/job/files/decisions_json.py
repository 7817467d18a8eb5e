"""Everything decided in a job as plain JSON values and back again, by the number of its schema."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from app.job.choices import (
    BlankChoice,
    BreakUp,
    Directions,
    JobState,
    MetalChoice,
    RestOfTank,
    ScanFile,
    SizeChoice,
)
from app.job.files import strict_json as strict
from app.job.files.choices_json import (
    allowance,
    choices_facts,
    datum_choice,
    line_choice,
    optional,
    sides_choice,
    tidy_choice,
)
from app.job.files.job_file_faults import NewerJobFileError
from app.job.files.paper_json import paper_choices, paper_facts
from app.job.files.plain_json import facts_of, value_of
from app.job.files.seams_json import (
    break_up,
    breakup_facts,
    check_twins,
    note_facts,
    panel_name,
    seam_facts,
    seam_line,
    seam_note,
)
from app.job.files.strict_json import BadFieldError, kept_values
from geometry.blank import Work, WorkChoiceError
from geometry.datum import TAPE_KINDS, Tape
from geometry.scan import MM_PER_UNIT

SCHEMA = 8
"""Number of the file's own schema. A newer one is refused; older ones go through `MIGRATIONS`."""


def _with_exact(found: dict[str, Any]) -> dict[str, Any]:
    """Add whether the numbers of a work were set by hand: no file of schema 1 says so."""
    blanks = found.get("blanks")
    if isinstance(blanks, list):
        blanks = [
            {**blank, "exact": False} if isinstance(blank, dict) else blank for blank in blanks
        ]
    return {**found, "exact": False, "blanks": blanks}


def _with_choices(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is decided between scan and seams: as every file of schema 2 was made."""
    return {**found, **kept_values(choices_facts(JobState()))}


def _with_paper(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is decided for paper: as every file of schema 3 was printed, nothing on record."""
    return {**found, **kept_values(paper_facts(JobState()))}


def _with_bends(found: dict[str, Any]) -> dict[str, Any]:
    """Add the radius a metal of the maker's own is bent over: no file of schema 4 kept one."""
    metal = found.get("metal")
    return (
        {**found, "metal": {**metal, "bend_radius_mm": None}} if isinstance(metal, dict) else found
    )


def _with_seam_notes(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is said of seams and the break-ups kept: no file of schema 5 has any."""
    return {**found, "seam_notes": [], "breakups": []}


def _with_rest(found: dict[str, Any]) -> dict[str, Any]:
    """Add what is decided besides the panels: in no file of schema 6 is anything."""
    return {**found, "rest": {}}


def _with_frame_scan(found: dict[str, Any]) -> dict[str, Any]:
    """Add the second scan: no file of schema 7 keeps one."""
    return {**found, "frame_scan": None}


MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {
    1: _with_exact,
    2: _with_choices,
    3: _with_paper,
    4: _with_bends,
    5: _with_seam_notes,
    6: _with_rest,
    7: _with_frame_scan,
}
"""From schema k to schema k + 1, one function each."""

_TAPE_FIELDS = ("start", "end", "length_mm", "over")

_LAID_FIELDS = ("kind", "points", "towards")
"""Of a tape round the tank, or along it through many points."""


def decisions(state: JobState) -> dict[str, Any]:
    """Return everything decided in a job as plain JSON values, schema number first."""
    found = {
        "schema": SCHEMA,
        "name": state.name,
        "scan": _scan_facts(state.scan),
        "frame_scan": _scan_facts(state.frame_scan),
        "unit": state.size.unit,
        "rescale": state.size.rescale,
        "tapes": [_tape_facts(tape) for tape in state.size.tapes],
        **choices_facts(state),
        "metal": vars(state.metal),
        "front": state.directions.front,
        "top": state.directions.top,
        "seams": [seam_facts(seam) for seam in state.seams],
        "panels": [vars(name) for name in state.panel_names],
        "seam_notes": [note_facts(note) for note in state.seam_notes],
        "breakups": [breakup_facts(each) for each in state.breakups],
        "work": vars(state.work),
        "exact": state.exact,
        "blanks": [
            {"panel": c.panel, "work": vars(c.work), "exact": c.exact} for c in state.blank_choices
        ],
        "marked_face": state.marked_face,
        "trim_mm": state.trim_mm,
        "revision": state.revision,
        **paper_facts(state),
        "rest": facts_of(state.rest),
    }
    kept: dict[str, Any] = kept_values(found)
    return kept


def _scan_facts(scan: ScanFile | None) -> dict[str, Any] | None:
    if scan is None:
        return None
    return {
        "file_name": scan.file_name,
        "sha256": scan.sha256,
        "kind": scan.raw.kind,
        "remarks": list(scan.raw.remarks),
        "unit": scan.raw.unit,
    }


def migrated(value: Any, path: Path) -> dict[str, Any]:
    """Return the decisions of a job file as those of the present schema.

    Raises
    ------
    NewerJobFileError
        A later version wrote them.
    BadFieldError
    """
    if not isinstance(value, dict):
        raise BadFieldError("job.json", "is not an object with fields in braces { }")
    found: dict[str, Any] = value
    schema = strict.whole(found.get("schema"), "schema")
    if schema > SCHEMA:
        raise NewerJobFileError(path, schema)
    while schema < SCHEMA:
        if schema not in MIGRATIONS:
            raise BadFieldError("schema", f"is {schema}, which was never written")
        found = dict(MIGRATIONS[schema](found))
        schema += 1
    return found


def job_decided(found: dict[str, Any]) -> JobState:
    """Return the job without its scan from checked JSON fields."""
    needed = list(decisions(JobState()))
    strict.fields(found, "", needed)
    units = [*MM_PER_UNIT, None]
    return JobState(
        name=strict.text(found["name"], "name"),
        size=SizeChoice(
            strict.one_of(found["unit"], "unit", units),
            strict.items(found["tapes"], "tapes", _tape),
            strict.flag(found["rescale"], "rescale"),
            allowance(found["allowed"]),
        ),
        tidy=tidy_choice(found["tidy"]),
        datum=datum_choice(found["datum"]),
        sides=sides_choice(found["sides"]),
        lines=strict.items(found["lines"], "lines", line_choice),
        find_lines=strict.flag(found["find_lines"], "find_lines"),
        metal=_metal(found["metal"]),
        directions=Directions(
            optional(found["front"], "front", strict.direction),
            optional(found["top"], "top", strict.direction),
        ),
        seams=strict.items(found["seams"], "seams", seam_line),
        panel_names=strict.items(found["panels"], "panels", panel_name),
        seam_notes=strict.items(found["seam_notes"], "seam_notes", seam_note),
        breakups=_breakups(found["breakups"]),
        work=_work(found["work"], "work"),
        exact=strict.flag(found["exact"], "exact"),
        blank_choices=strict.items(found["blanks"], "blanks", _blank_choice),
        marked_face=strict.one_of(found["marked_face"], "marked_face", ("inside", "outside")),
        trim_mm=strict.not_below_nothing(found["trim_mm"], "trim_mm"),
        revision=strict.whole(found["revision"], "revision"),
        **paper_choices(found),
        rest=value_of(RestOfTank, found["rest"], "rest"),
    )


def _breakups(value: Any) -> tuple[BreakUp, ...]:
    found = strict.items(value, "breakups", break_up)
    check_twins([each.name for each in found], "breakups")
    return found


def _tape_facts(tape: Tape) -> dict[str, Any]:
    """Return a tape as plain values; one between two points is written as it always was."""
    found = {name: getattr(tape, name) for name in _TAPE_FIELDS}
    if tape.points:
        found |= {name: getattr(tape, name) for name in _LAID_FIELDS}
    return found


def _tape(value: Any, where: str) -> Tape:
    found = strict.fields(value, where, _TAPE_FIELDS, _LAID_FIELDS)
    try:
        return Tape(
            strict.point(found["start"], f"{where}.start"),
            strict.point(found["end"], f"{where}.end"),
            strict.positive(found["length_mm"], f"{where}.length_mm"),
            strict.flag(found["over"], f"{where}.over"),
            strict.one_of(found.get("kind", "straight"), f"{where}.kind", TAPE_KINDS),
            strict.items(found.get("points", []), f"{where}.points", strict.point),
            optional(found.get("towards"), f"{where}.towards", strict.direction),
        )
    except ValueError as error:
        raise BadFieldError(where, f"does not hold together: {error}") from error


def _metal(value: Any) -> MetalChoice:
    names = ["thickness_mm", "alloy", "face", "paint_mm", "bend_radius_mm"]
    found = strict.fields(value, "metal", names)
    return MetalChoice(
        strict.not_below_nothing(found["thickness_mm"], "metal.thickness_mm"),
        strict.text(found["alloy"], "metal.alloy"),
        strict.one_of(found["face"], "metal.face", ("outside", "middle")),
        strict.not_below_nothing(found["paint_mm"], "metal.paint_mm"),
        optional(found["bend_radius_mm"], "metal.bend_radius_mm", strict.not_below_nothing),
    )


def _blank_choice(value: Any, where: str) -> BlankChoice:
    found = strict.fields(value, where, ["panel", "work", "exact"])
    return BlankChoice(
        strict.text(found["panel"], f"{where}.panel"),
        _work(found["work"], f"{where}.work"),
        strict.flag(found["exact"], f"{where}.exact"),
    )


def _work(value: Any, where: str) -> Work:
    found = strict.fields(value, where, ["measure", "weight", "hardening", "bias"])
    try:
        return Work(
            measure=strict.one_of(found["measure"], f"{where}.measure", ("von_mises", "hencky")),
            weight=strict.one_of(found["weight"], f"{where}.weight", ("blank", "formed")),
            hardening=strict.number(found["hardening"], f"{where}.hardening"),
            bias=strict.number(found["bias"], f"{where}.bias"),
        )
    except WorkChoiceError as error:
        raise BadFieldError(where, str(error)) from error
