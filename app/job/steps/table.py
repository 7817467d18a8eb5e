"""The one table of steps: what each is made from, how, and what is told about it.

Window and command line both walk `STEPS`. A step is done in one part, or in one part per panel.
A result counts only while the inputs it was made from are still the job's inputs; then it is made,
otherwise out of date: shown as such and never exported. `lines` tells what came of a step,
`standing` how it stands, `tasks` makes it.
"""

from collections.abc import Sequence
from enum import Enum
from typing import Any
from weakref import WeakKeyDictionary

from app.job.choices import Directions, JobState, RestOfTank
from app.job.making import (
    JudgedBy,
    Leaving,
    NoCut,
    Skin,
    Step,
    advice_step,
    ask_nothing,
    blank_step,
    coarse_step,
    costs_step,
    datum_step,
    deep_words,
    difference_step,
    edges_from_notes,
    flats_step,
    halves_step,
    judged_step,
    lines_step,
    no_cut,
    overlap_words,
    paper_step,
    scan_step,
    seams_step,
    seen_marks,
    sides_step,
    size_step,
    stock_of,
    sure_step,
    surface_step,
    thickness_step,
    tidy_step,
)
from app.job.rest import (
    capacity_row,
    fittings_row,
    flanges_row,
    frame_row,
    gauges_row,
    seat_row,
    stood_step,
    tunnel_row,
)
from app.job.steps.lines import (
    advice_line,
    blanks_line,
    coarse_line,
    costs_line,
    datum_line,
    difference_line,
    flats_line,
    halves_line,
    judged_line,
    lines_line,
    scan_line,
    seams_line,
    sides_line,
    size_line,
    stood_line,
    sure_line,
    surface_line,
    thickness_line,
    tidy_line,
)
from geometry.datum import Datum, point3
from geometry.panels import Panel
from geometry.pattern import Pattern


class PaperKind(Enum):
    """What may leave the program for a panel."""

    NOTHING = "nothing"
    PAPER_ONLY = "paper only, saying SIZE NOT TAPED, without a cut line"
    ALL = "paper and cutting files"


def _scan_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    return None if state.scan is None else (state.scan,)


def _size_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    scanned = made(state, "Scan")
    if scanned is None or (state.size.unit is None and not state.size.tapes):
        return None
    return (scanned, state.size)


def _tidy_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    scanned, size = made(state, "Scan"), made(state, "Size")
    if scanned is None or size is None:
        return None
    return (scanned, size.mm_per_unit, state.tidy)


def _datum_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    tidied, size = made(state, "Tidy"), made(state, "Size")
    if tidied is None or size is None or _awaited_picks(state):
        return None
    return (tidied, size.mm_per_unit, state.datum, state.directions)


def _awaited_picks(state: JobState) -> str:
    """Return what has to be picked or said before a datum can be tried; "" if nothing."""
    choice = state.datum
    if choice.how == "none":
        return "Say how to find the centre plane, or go on without one."
    if choice.how == "picks" and len(choice.on_centre) + len(choice.pairs) == 0:
        return "Pick three places on the centre line, or pairs of like places left and right."
    if choice.how == "given" and choice.plane is None:
        return "Give a place on the centre plane and the way to the left."
    if choice.level == "given" and choice.up is None and state.directions.top is None:
        return "Say which way is up."
    if choice.level == "picks" and len(choice.level_picks) < 2:
        return "Pick two places that stand equally high, one behind the other."
    return ""


def _halves_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    tidied, datum = made(state, "Tidy"), made(state, "Datum")
    return None if tidied is None or datum is None else (tidied, datum)


def _sides_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    inputs, halves, size = _halves_inputs(state, part), made(state, "Halves"), made(state, "Size")
    if inputs is None or halves is None or size is None:
        return None
    return (*inputs, halves, size.mm_per_unit, state.sides)


def _skin_inputs(state: JobState) -> tuple[Any, ...] | None:
    """Return what the tank's skin is made from: the scan, and its sides where one is copied."""
    tidied, size = made(state, "Tidy"), made(state, "Size")
    sides = made(state, "Sides") if state.sides.copies else None
    if tidied is None or size is None or (state.sides.copies and sides is None):
        return None
    return (Skin(tidied, sides), size.mm_per_unit)


def _lines_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    return _skin_inputs(state) if state.find_lines else None


def _flats_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    skin = _skin_inputs(state)
    wanted = state.find_lines or state.rest.seat is not None
    return None if skin is None or not wanted else skin[:1]


def _surface_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    skin = _skin_inputs(state)
    if skin is None:
        return None
    locked = tuple(line.points for line in state.lines if line.state == "locked")
    return (*skin, state.metal.inward_mm, state.tidy, locked)


def _seams_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    surface, size = made(state, "Surface"), made(state, "Size")
    if surface is None or size is None or not state.seams:
        return None
    return (surface, size.mm_per_unit, state.seams, state.panel_names)


def _panel(state: JobState, name: str) -> Panel | None:
    cut = made(state, "Seams")
    if cut is None:
        return None
    return next((panel for panel in cut.panels if panel.name == name), None)


def _blank_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    panel, choice = _panel(state, part), state.choice_for(part)
    if panel is None:
        return None
    return (panel, choice.work, choice.exact, directions_of(state).front)


def _sure_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    surface, panel, blank = made(state, "Surface"), _panel(state, part), made(state, "Blanks", part)
    if surface is None or panel is None or blank is None:
        return None
    size, scanned = made(state, "Size"), made(state, "Scan")
    tapes = tuple(check.tape.length_mm for check in size.checks)
    return (surface, panel, blank, scanned.report.spacing * size.mm_per_unit, tapes)


def _stood_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    surface = made(state, "Surface")
    if surface is None or state.rest == RestOfTank() or _awaits_datum(state):
        return None
    return (surface, made(state, "Datum"), state.directions)


def _awaits_datum(state: JobState) -> bool:
    """Return whether a datum is asked for and neither made nor refused yet."""
    wanted = _datum_inputs(state, "") is not None
    return wanted and made(state, "Datum") is None and failure(state, "Datum") is None


def _paper_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    cut, panel = made(state, "Seams"), _panel(state, part)
    blank, found = made(state, "Blanks", part), made(state, "Sure", part)
    if panel is None or blank is None or found is None:
        return None
    chosen = tuple(edge for edge in state.edges if edge.panel == part)
    edges = edges_from_notes(cut, panel, state.seam_notes, chosen)
    fitted = made(state, "Fittings")
    if fitted is None and state.rest.fittings is not None:
        return None  # its holes are part of the pattern
    cuts = None if fitted is None else fitted.cuts
    return (cut, panel, blank, found, Leaving(state.trim_mm, edges, stock_of(state.metal), cuts))


def _thickness_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    blank = made(state, "Blanks", part)
    return None if blank is None else (blank,)


def _coarse_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    surface = made(state, "Surface")
    return None if surface is None else (surface,)


def _judged_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    coarse, size = made(state, "Coarse"), made(state, "Size")
    if coarse is None or size is None or not state.seams:
        return None
    return (coarse, size.mm_per_unit, state.seams, state.panel_names, judged_by(state))


def _advice_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    coarse, size = made(state, "Coarse"), made(state, "Size")
    if coarse is None or size is None or not state.seams:
        return None
    crisp = tuple(line.points for line in state.lines if line.state == "locked")
    return (coarse, size.mm_per_unit, state.seams, crisp)


def _costs_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    cut = made(state, "Seams")
    if cut is None:
        return None
    blanks = tuple(made(state, "Blanks", panel.name) for panel in cut.panels)
    if any(blank is None for blank in blanks):
        return None
    return (cut, blanks, judged_by(state))


def judged_by(state: JobState) -> JudgedBy:
    """Return what the figures of break-ups hang on beside seams and surface."""
    return JudgedBy(
        directions=directions_of(state),
        marks=seen_marks(state.seam_notes),
        sheet_mm=state.metal.thickness_mm,
        trim_mm=state.trim_mm,
        work=state.work,
    )


def _difference_inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
    surface = made(state, "Surface")
    return None if surface is None else (surface,)


def _ask_for_scan(state: JobState) -> str:
    return "" if state.scan is not None else "Open a scan, or drop its file here."


def _ask_for_size(state: JobState) -> str:
    if state.size.unit is None and not state.size.tapes:
        return "Say the unit of the file, or tape two distances on the tank."
    size = made(state, "Size")
    if size is not None and not size.proved:
        return "Tape two distances in different directions: until they agree nothing is cut."
    return ""


def _ask_for_seams(state: JobState) -> str:
    return "" if state.seams else "Draw the first seam on the tank."


def _ask_for_datum(state: JobState) -> str:
    datum: Datum | None = made(state, "Datum")
    if state.datum.how == "none" or datum is None:
        return "" if state.datum.how == "none" else _awaited_picks(state)
    if "front" in datum.guessed:
        return "Say which end is FRONT: it is a guess until you do."
    return "Say which way is up: it is a guess until you do." if "up" in datum.guessed else ""


def _ask_for_surface(state: JobState) -> str:
    if state.sides.copies and made(state, "Sides") is None:
        return "Stand the tank up first: a side is copied about its centre plane."
    return ""


def _paper_line(patterns: Sequence[Pattern], state: JobState, show: str) -> str:
    kinds = {paper_kind(state, name) for name in panel_names(state)}
    if kinds == {PaperKind.ALL}:
        return "ready to print and cut"
    return "paper only, not to be cut from" if PaperKind.PAPER_ONLY in kinds else "not ready"


def _read(state: JobState, name: str) -> Any:
    return made(state, name)


STEPS: tuple[Step, ...] = (
    Step(
        "Scan", "Read the scan and look it over.", (), True, False,
        _scan_inputs, scan_step, _ask_for_scan, scan_line,
    ),
    Step(
        "Size", "Prove the size with a tape.", ("Scan",), True, False,
        _size_inputs, size_step, _ask_for_size, size_line,
    ),
    Step(
        "Tidy", "Keep the tank, and say what becomes of its holes.", ("Scan", "Size"), True, False,
        _tidy_inputs, tidy_step, ask_nothing, tidy_line,
    ),
    Step(
        "Datum", "Stand the tank up: centre plane, level, front.", ("Size", "Tidy"), True, False,
        _datum_inputs, datum_step, _ask_for_datum, datum_line,
    ),
    Step(
        "Halves", "Lay left against right.", ("Tidy", "Datum"), False, False,
        _halves_inputs, halves_step, ask_nothing, halves_line,
    ),
    Step(
        "Sides", "Hold left against right, and say which is to be copied.", ("Halves",), True,
        False, _sides_inputs, sides_step, ask_nothing, sides_line,
    ),
    Step(
        "Lines", "Find the crisp lines and lock those to be kept.", ("Size", "Tidy"), True, False,
        _lines_inputs, lines_step, ask_nothing, lines_line,
    ),
    Step(
        "Flat faces", "Find the flat faces.", ("Size", "Tidy"), False, False,
        _flats_inputs, flats_step, ask_nothing, flats_line,
    ),
    Step(
        "Surface", "Lay a smooth surface through the middle of the metal.", ("Size", "Tidy"),
        False, False, _surface_inputs, surface_step, _ask_for_surface, surface_line,
    ),
    Step(
        "Seams", "Draw where the panels part.", ("Surface", "Size"), True, False,
        _seams_inputs, seams_step, _ask_for_seams, seams_line,
    ),
    Step(
        "Blanks", "Lay every panel flat.", ("Seams",), True, True,
        _blank_inputs, blank_step, ask_nothing, blanks_line,
    ),
    Step(
        "Sure", "Work out how sure every blank's size is.", ("Surface", "Seams", "Blanks"),
        False, True, _sure_inputs, sure_step, ask_nothing, sure_line,
    ),
    Step(
        "Stood", "Stand the tank in its own axes, for all that is made besides the panels.",
        ("Surface",), False, False, _stood_inputs, stood_step, ask_nothing, stood_line,
    ),
    tunnel_row(_read),
    flanges_row(_read),
    gauges_row(_read),
    seat_row(_read),
    fittings_row(_read),
    capacity_row(_read),
    frame_row(_read),
    Step(
        "Paper", "Dress the blanks for paper and cutting.", ("Seams", "Blanks", "Sure"), True, True,
        _paper_inputs, paper_step, ask_nothing, _paper_line,
    ),
    Step(
        "Thickness", "Tell how thick a panel ends, made three ways.", ("Blanks",), False, True,
        _thickness_inputs, thickness_step, ask_nothing, thickness_line,
    ),
    Step(
        "Difference", "Tell how far the smooth surface lies off the scan.", ("Surface",),
        False, False, _difference_inputs, difference_step, ask_nothing, difference_line,
    ),
    Step(
        "Coarse", "Lay larger triangles, to judge seams by while they are drawn.", ("Surface",),
        False, False, _coarse_inputs, coarse_step, ask_nothing, coarse_line,
    ),
    Step(
        "Judged", "Tell roughly what the seams cost.", ("Coarse", "Size"),
        False, False, _judged_inputs, judged_step, ask_nothing, judged_line,
    ),
    Step(
        "Advice", "Say of the seams what a shaper would.", ("Coarse", "Size"),
        False, False, _advice_inputs, advice_step, ask_nothing, advice_line,
    ),
    Step(
        "Costs", "Tell what the seams cost as the blanks were laid.", ("Seams", "Blanks"),
        False, False, _costs_inputs, costs_step, ask_nothing, costs_line,
    ),
)  # fmt: skip


def step(name: str) -> Step:
    """Return a row of the table by name."""
    return next(row for row in STEPS if row.name == name)


def latest(state: JobState, name: str, part: str = "") -> Any:
    """Return a step's last result even when it is out of date: to be looked at, never exported."""
    entry = state.results.get((name, part))
    if entry is None:
        return None
    return entry.earlier if entry.error is not None else entry.value


def made(state: JobState, name: str, part: str = "") -> Any:
    """Return a step's result, or None when there is none or it is out of date."""
    entry = state.results.get((name, part))
    return entry.value if entry is not None and is_current(state, name, part) else None


def failure(state: JobState, name: str, part: str = "") -> Exception | None:
    """Return the error that came of the step's present inputs, if one did."""
    entry = state.results.get((name, part))
    return entry.error if entry is not None and is_current(state, name, part) else None


_FOUND: WeakKeyDictionary[JobState, dict[tuple[str, str], bool]] = WeakKeyDictionary()
"""Of each state in use, which results were found current: a state never changes, and every result
is asked for again and again through all it hangs on."""


def is_current(state: JobState, name: str, part: str) -> bool:
    """Return whether a result that is kept was made from the inputs as they are now."""
    found = _FOUND.setdefault(state, {})
    if (name, part) not in found:
        inputs = step(name).inputs(state, part)
        found[name, part] = inputs is not None and are_same(
            inputs, state.results[name, part].made_from
        )
    return found[name, part]


def are_same(one: tuple[Any, ...], other: tuple[Any, ...]) -> bool:
    """Return whether two sets of inputs are the same: results by identity, decisions by value."""
    return len(one) == len(other) and all(a is b or a == b for a, b in zip(one, other, strict=True))


def panel_names(state: JobState) -> tuple[str, ...]:
    """Return the panels' names, of the last cut made, in its order."""
    last = latest(state, "Seams")
    return () if last is None else tuple(panel.name for panel in last.panels)


def directions_of(state: JobState) -> Directions:
    """Return which way FRONT and up are: as the datum stands, else as the maker said.

    A direction the datum only guessed does not count.
    """
    datum: Datum | None = made(state, "Datum")
    said = state.directions
    if datum is None:
        return said
    front = said.front if "front" in datum.guessed else point3(datum.front)
    top = said.top if "up" in datum.guessed else point3(datum.up)
    return Directions(front, top)


def why_no_cut(state: JobState, panel: str) -> str:
    """Return why a panel may not be cut from yet, in a sentence; "" when it may."""
    size, blank = made(state, "Size"), made(state, "Blanks", panel)
    pattern: Pattern | None = made(state, "Paper", panel)
    if size is None or blank is None or pattern is None:
        return "Its pattern is not made, or out of date."
    reason = no_cut(
        blank.flat,
        size_proved=size.proved,
        trim_mm=pattern.trim_mm,
        has_trim=pattern.trim is not None,
    )
    if reason is None:
        return ""
    where = ""
    if reason is NoCut.OVERLAP:
        where = overlap_words(blank.flat)
    elif reason is NoCut.DEEP:
        where = deep_words(blank.flat)
    return where or reason.sentence


def paper_kind(state: JobState, panel: str) -> PaperKind:
    """Return what may leave the program for a panel."""
    if made(state, "Paper", panel) is None or made(state, "Size") is None:
        return PaperKind.NOTHING
    return PaperKind.PAPER_ONLY if why_no_cut(state, panel) else PaperKind.ALL
