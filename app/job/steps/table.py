"""The one table of steps: what each is made from, how, and what is told about it.

Window and command line both walk `STEPS`. A step is done in one part, or in one part per panel.
A result counts only while the inputs it was made from are still the job's inputs; then it is made,
otherwise out of date: shown as such and never exported. Nothing here starts threads or processes:
a `Task` carries a module-level function and its inputs, so any caller may run it anywhere.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from types import MappingProxyType
from typing import Any
from weakref import WeakKeyDictionary

from app.job.choices import Directions, EdgeChoice, JobState, Made, RestOfTank
from app.job.making import (
    JudgedBy,
    Leaving,
    Lines,
    NoCut,
    Panels,
    Sides,
    Skin,
    Step,
    StepState,
    Surface,
    Tidied,
    advice_step,
    ask_nothing,
    blank_step,
    breakup_line,
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
from app.units import angle_text, counted, decimal_inch_text, mm_text, upward_text
from geometry.datum import Datum, LeftRight, TrueSize, point3
from geometry.panels import Panel
from geometry.pattern import Pattern, edge_key
from geometry.progress import Report, silent
from geometry.scan import UNIT_WORDS, ScanReport
from geometry.surface import Difference

_FOOT_MM = 304.8
_LEAST_TURN_RAD, _LEAST_OFF_MM = math.radians(0.01), 0.01
"""What is told of a centre plane that is surer than anybody could use."""


class PaperKind(Enum):
    """What may leave the program for a panel."""

    NOTHING = "nothing"
    PAPER_ONLY = "paper only, saying SIZE NOT TAPED, without a cut line"
    ALL = "paper and cutting files"


# ---- what each step is made from


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


def _fine(length_mm: float, show: str, decimals: int = 2) -> str:
    return decimal_inch_text(length_mm) if show == "in" else mm_text(length_mm, decimals)


def _scan_line(state: JobState, show: str) -> str:
    report: ScanReport = made(state, "Scan").report
    return f"{counted(report.triangles, 'triangle')}, {counted(report.hole_count, 'open edge')}"


def _size_line(state: JobState, show: str) -> str:
    size: TrueSize = made(state, "Size")
    what = "scaled to the tapes" if size.unit is None else f"file is in {UNIT_WORDS[size.unit]}"
    how = f"{len(size.checks)} tapes agree" if size.proved else "SIZE NOT TAPED"
    return f"{what}; {how}"


def _tidy_line(state: JobState, show: str) -> str:
    tidied: Tidied = made(state, "Tidy")
    filled = sum(fate == "filled" for fate in tidied.hole_fates)
    kept = sum(tidied.kept)
    return (
        f"{kept} of {counted(len(tidied.pieces), 'piece')} kept; "
        f"{counted(filled, 'hole')} to be filled"
    )


def _datum_line(state: JobState, show: str) -> str:
    plane = made(state, "Datum").plane
    if state.datum.how == "given":
        return "centre plane as given"
    if plane.weak:
        return f"centre plane not fixed: {plane.weak[0]}"
    turn, off = max(plane.spread_rad, _LEAST_TURN_RAD), max(plane.spread_mm, _LEAST_OFF_MM)
    return f"centre plane sure to {angle_text(turn, 2)} and {_fine(off, show)}"


def _halves_line(state: JobState, show: str) -> str:
    found: LeftRight | None = made(state, "Halves").left_right
    if found is None:
        return "one side alone was scanned"
    most, nearly_all = _fine(found.largest, show, 1), _fine(found.p95, show, 1)
    return f"sides differ by {most} at most, {nearly_all} nearly all over"


def _sides_line(state: JobState, show: str) -> str:
    sides: Sides = made(state, "Sides")
    if sides.copied is None:
        return _halves_line(state, show)
    hand = state.sides.copy
    return f"{hand} side copied to the other" if hand != "none" else "copied place by place"


def _lines_line(state: JobState, show: str) -> str:
    found: Lines = made(state, "Lines")
    locked = sum(line.state == "locked" for line in state.lines)
    return f"{counted(len(found.found), 'line')} found, {locked} locked"


def _flats_line(state: JobState, show: str) -> str:
    return counted(len(made(state, "Flat faces")), "flat face")


def _coarse_line(state: JobState, show: str) -> str:
    return counted(len(made(state, "Coarse").mesh.faces), "coarse triangle")


def _judged_line(state: JobState, show: str) -> str:
    return "about " + breakup_line(made(state, "Judged"), show)


def _advice_line(state: JobState, show: str) -> str:
    return counted(len(made(state, "Advice")), "thing") + " to think over"


def _costs_line(state: JobState, show: str) -> str:
    return breakup_line(made(state, "Costs"), show)


def _surface_line(state: JobState, show: str) -> str:
    surface: Surface = made(state, "Surface")
    return counted(len(surface.working.mesh.faces), "even triangle")


def _seams_line(state: JobState, show: str) -> str:
    cut: Panels = made(state, "Seams")
    return f"{counted(len(state.seams), 'seam')}, {counted(len(cut.panels), 'panel')}"


def _blanks_line(state: JobState, show: str) -> str:
    blanks = [made(state, "Blanks", name) for name in panel_names(state)]
    area = sum(blank.flat.blank_area for blank in blanks)
    sheet = f"{area / _FOOT_MM**2:.1f} sq ft" if show == "in" else f"{area / 1e6:.2f} m2"
    return f"{counted(len(blanks), 'blank')}, {sheet} of sheet"


def _sure_line(state: JobState, show: str) -> str:
    found = [made(state, "Sure", name).bands for name in panel_names(state)]
    least = max((bands.measuring_mm for bands in found if bands is not None), default=None)
    return "not known" if least is None else f"sizes sure to {upward_text(least, show)}"


def _stood_line(state: JobState, show: str) -> str:
    guessed = made(state, "Stood").guessed
    return f"{' and '.join(guessed)} guessed" if guessed else "stands in its own axes"


def _paper_line(state: JobState, show: str) -> str:
    kinds = {paper_kind(state, name) for name in panel_names(state)}
    if kinds == {PaperKind.ALL}:
        return "ready to print and cut"
    return "paper only, not to be cut from" if PaperKind.PAPER_ONLY in kinds else "not ready"


def _thickness_line(state: JobState, show: str) -> str:
    return counted(len(panel_names(state)), "panel") + " made three ways"


def _difference_line(state: JobState, show: str) -> str:
    found: Difference = made(state, "Difference")
    return f"nearly all of the scan within {_fine(found.p95, show)} of it"


def _read(state: JobState, name: str) -> Any:
    return made(state, name)


STEPS: tuple[Step, ...] = (
    Step(
        "Scan", "Read the scan and look it over.", (), True, False,
        _scan_inputs, scan_step, _ask_for_scan, _scan_line,
    ),
    Step(
        "Size", "Prove the size with a tape.", ("Scan",), True, False,
        _size_inputs, size_step, _ask_for_size, _size_line,
    ),
    Step(
        "Tidy", "Keep the tank, and say what becomes of its holes.", ("Scan", "Size"), True, False,
        _tidy_inputs, tidy_step, ask_nothing, _tidy_line,
    ),
    Step(
        "Datum", "Stand the tank up: centre plane, level, front.", ("Size", "Tidy"), True, False,
        _datum_inputs, datum_step, _ask_for_datum, _datum_line,
    ),
    Step(
        "Halves", "Lay left against right.", ("Tidy", "Datum"), False, False,
        _halves_inputs, halves_step, ask_nothing, _halves_line,
    ),
    Step(
        "Sides", "Hold left against right, and say which is to be copied.", ("Halves",), True,
        False, _sides_inputs, sides_step, ask_nothing, _sides_line,
    ),
    Step(
        "Lines", "Find the crisp lines and lock those to be kept.", ("Size", "Tidy"), True, False,
        _lines_inputs, lines_step, ask_nothing, _lines_line,
    ),
    Step(
        "Flat faces", "Find the flat faces.", ("Size", "Tidy"), False, False,
        _flats_inputs, flats_step, ask_nothing, _flats_line,
    ),
    Step(
        "Surface", "Lay a smooth surface through the middle of the metal.", ("Size", "Tidy"),
        False, False, _surface_inputs, surface_step, _ask_for_surface, _surface_line,
    ),
    Step(
        "Seams", "Draw where the panels part.", ("Surface", "Size"), True, False,
        _seams_inputs, seams_step, _ask_for_seams, _seams_line,
    ),
    Step(
        "Blanks", "Lay every panel flat.", ("Seams",), True, True,
        _blank_inputs, blank_step, ask_nothing, _blanks_line,
    ),
    Step(
        "Sure", "Work out how sure every blank's size is.", ("Surface", "Seams", "Blanks"),
        False, True, _sure_inputs, sure_step, ask_nothing, _sure_line,
    ),
    Step(
        "Stood", "Stand the tank in its own axes, for all that is made besides the panels.",
        ("Surface",), False, False, _stood_inputs, stood_step, ask_nothing, _stood_line,
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
        _thickness_inputs, thickness_step, ask_nothing, _thickness_line,
    ),
    Step(
        "Difference", "Tell how far the smooth surface lies off the scan.", ("Surface",),
        False, False, _difference_inputs, difference_step, ask_nothing, _difference_line,
    ),
    Step(
        "Coarse", "Lay larger triangles, to judge seams by while they are drawn.", ("Surface",),
        False, False, _coarse_inputs, coarse_step, ask_nothing, _coarse_line,
    ),
    Step(
        "Judged", "Tell roughly what the seams cost.", ("Coarse", "Size"),
        False, False, _judged_inputs, judged_step, ask_nothing, _judged_line,
    ),
    Step(
        "Advice", "Say of the seams what a shaper would.", ("Coarse", "Size"),
        False, False, _advice_inputs, advice_step, ask_nothing, _advice_line,
    ),
    Step(
        "Costs", "Tell what the seams cost as the blanks were laid.", ("Seams", "Blanks"),
        False, False, _costs_inputs, costs_step, ask_nothing, _costs_line,
    ),
)  # fmt: skip


def step(name: str) -> Step:
    """Return a row of the table by name."""
    return next(row for row in STEPS if row.name == name)


# ---- reading results


def latest(state: JobState, name: str, part: str = "") -> Any:
    """Return a step's last result even when it is out of date: to be looked at, never exported."""
    entry = state.results.get((name, part))
    if entry is None:
        return None
    return entry.earlier if entry.error is not None else entry.value


def made(state: JobState, name: str, part: str = "") -> Any:
    """Return a step's result, or None when there is none or it is out of date."""
    entry = state.results.get((name, part))
    return entry.value if entry is not None and _is_current(state, name, part) else None


def failure(state: JobState, name: str, part: str = "") -> Exception | None:
    """Return the error that came of the step's present inputs, if one did."""
    entry = state.results.get((name, part))
    return entry.error if entry is not None and _is_current(state, name, part) else None


_FOUND: WeakKeyDictionary[JobState, dict[tuple[str, str], bool]] = WeakKeyDictionary()
"""Of each state in use, which results were found current: a state never changes, and every result
is asked for again and again through all it hangs on."""


def _is_current(state: JobState, name: str, part: str) -> bool:
    found = _FOUND.setdefault(state, {})
    if (name, part) not in found:
        inputs = step(name).inputs(state, part)
        found[name, part] = inputs is not None and _same(
            inputs, state.results[name, part].made_from
        )
    return found[name, part]


def _same(one: tuple[Any, ...], other: tuple[Any, ...]) -> bool:
    """Return whether two sets of inputs are the same: results by identity, decisions by value."""
    return len(one) == len(other) and all(a is b or a == b for a, b in zip(one, other, strict=True))


def panel_names(state: JobState) -> tuple[str, ...]:
    """Return the panels' names, of the last cut made, in its order."""
    last = latest(state, "Seams")
    return () if last is None else tuple(panel.name for panel in last.panels)


def parts_of(state: JobState, name: str) -> tuple[str, ...]:
    """Return a step's parts: the panels' names, or one nameless part."""
    return panel_names(state) if step(name).per_panel else ("",)


def part_state(state: JobState, name: str, part: str = "") -> StepState:
    """Return how one part of a step stands."""
    if made(state, name, part) is not None:
        return StepState.MADE
    if failure(state, name, part) is not None:
        return StepState.NEEDS_YOU
    return StepState.TO_DO if latest(state, name, part) is None else StepState.OUT_OF_DATE


def state_of(state: JobState, name: str) -> StepState:
    """Return how a step stands, all its parts together."""
    states = {part_state(state, name, part) for part in parts_of(state, name)}
    reached = all(all_made(state, before) for before in step(name).hangs_on)
    if StepState.NEEDS_YOU in states or (reached and step(name).asks(state)):
        return StepState.NEEDS_YOU
    if StepState.OUT_OF_DATE in states:
        return StepState.OUT_OF_DATE
    return StepState.MADE if states == {StepState.MADE} else StepState.TO_DO


def all_made(state: JobState, name: str) -> bool:
    """Return whether every part of a step is made."""
    parts = parts_of(state, name)
    return bool(parts) and all(made(state, name, part) is not None for part in parts)


def needed(state: JobState, name: str) -> str:
    """Return what the shaper has to do for a step, in a sentence; "" when nothing.

    For a step that failed see `failure`; its sentence is made by `app.messages`.
    """
    if not all(all_made(state, before) for before in step(name).hangs_on):
        return ""
    return step(name).asks(state)


def line_of(state: JobState, name: str, show: str = "mm") -> str:
    """Return a step's one-line result, lengths in "mm" or "in"; "" unless all of it is made."""
    return step(name).line(state, show) if all_made(state, name) else ""


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


# ---- making results


@dataclass(frozen=True, eq=False)
class Task:
    """One part of a step, ready to run: `function(*inputs, report=report)`, all of it picklable."""

    step: str
    part: str
    function: Callable[..., Any]
    inputs: tuple[Any, ...]

    def run(self, report: Report = silent) -> Any:
        """Return the result."""
        return self.function(*self.inputs, report=report)


def task_for(state: JobState, name: str, part: str = "") -> Task | None:
    """Return the task that makes a part, or None while what it hangs on is not made."""
    inputs = step(name).inputs(state, part)
    return None if inputs is None else Task(name, part, step(name).function, inputs)


def next_tasks(state: JobState, until: str = "Paper") -> tuple[Task, ...]:
    """Return the tasks that can run now on the way to a step: neither made nor failed yet."""
    tasks = []
    for row in STEPS:
        for part in parts_of(state, row.name):
            tried = (row.name, part) in state.results and _is_current(state, row.name, part)
            task = None if tried else task_for(state, row.name, part)
            if task is not None:
                tasks.append(task)
        if row.name == until:
            break
    return tuple(tasks)


def with_result(state: JobState, task: Task, value: Any) -> JobState:
    """Return the job with a task's result, or the same job when its inputs have changed since."""
    return _with(state, task, Made(task.inputs, value))


def with_failure(state: JobState, task: Task, error: Exception) -> JobState:
    """Return the job with the error a task ended in, unless its inputs have changed since.

    What the step made before stays to be looked at.
    """
    earlier = latest(state, task.step, task.part)
    return _with(state, task, Made(task.inputs, None, error, earlier))


def _with(state: JobState, task: Task, entry: Made) -> JobState:
    inputs = step(task.step).inputs(state, task.part)
    if inputs is None or not _same(inputs, task.inputs):
        return state
    results = dict(state.results)
    results[task.step, task.part] = entry
    return replace(state, results=MappingProxyType(results))


def carried_through(
    state: JobState, until: str, watch: Callable[[Task], Report] = lambda task: silent
) -> JobState:
    """Return the job with every step up to one made, here and now; the first error is raised.

    Parameters
    ----------
    state : JobState
    until : str
        Name of the last step wanted.
    watch : function of task
        Called before each task; returns the report to run it with.
    """
    while tasks := next_tasks(state, until):
        task = tasks[0]
        state = with_result(state, task, task.run(watch(task)))
    return state


# ---- how panels are made


class NoSuchPanelError(Exception):
    """A way to make a panel was given for a name no panel has.

    Attributes
    ----------
    panel : str
    names : tuple of str
        Those there are.
    """

    def __init__(self, panel: str, names: tuple[str, ...]) -> None:
        self.panel, self.names = panel, names
        super().__init__(f"no panel {panel!r} among {names}")


def check_choices(state: JobState) -> None:
    """Refuse a way to make a panel, or an allowance for one, that is not among those cut.

    Raises
    ------
    NoSuchPanelError
    """
    names = panel_names(state)
    for panel in (*(c.panel for c in state.blank_choices), *(e.panel for e in state.edges)):
        if panel not in names:
            raise NoSuchPanelError(panel, names)


def idle_edges(state: JobState) -> tuple[EdgeChoice, ...]:
    """Return allowances that count for nothing: no panel that is cut has such an edge.

    They stay in the job, as a seam may be moved back, and have to be told. Of panels without a
    pattern nothing is known.
    """
    names = panel_names(state)
    if not names:
        return ()
    patterns = {edge.panel: made(state, "Paper", edge.panel) for edge in state.edges}
    return tuple(
        edge
        for edge in state.edges
        if edge.panel not in names
        or (
            patterns[edge.panel] is not None
            and edge.edge not in {edge_key(each) for each in patterns[edge.panel].edges}
        )
    )


# ---- what may leave


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
