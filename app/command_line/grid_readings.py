"""`lowcrown readings`: squares of the grid read on a worked panel, beside what its pattern asks."""

import math

from app.command_line.doing import Doing, make_step
from app.command_line.progress import bar
from app.delivery import SCHEMA, Json
from app.exports import GRID_MM, marked_out_as_shown
from app.job import (
    STEPS,
    Blank,
    JobState,
    NoSuchPanelError,
    ReadingWordsError,
    is_print_current,
    made,
    open_job,
    panel_names,
    reading_typed,
)
from app.settings import load_settings
from app.units import angle_text, counted, mm_text, plain_number
from geometry.arrays import FloatArray
from geometry.datum import SizeUnknownError
from geometry.pattern import SquareReading, SquareStretch, readings_result

_ALONG_RAD = math.radians(10.0)
_ALIKE = 0.002
"""Stretches nearer to each other than this have no direction worth telling."""


def readings(doing: Doing) -> Json:
    """Tell how far the metal was moved in squares of the grid, and how thick it is left.

    A job file holds decisions and the scan, no pattern: the one panel asked for is laid flat anew.
    """
    asked = doing.asked
    taken = _typed(doing)
    with bar("Job"):
        doing.state = open_job(asked.job)
    _lay_flat(doing, asked.panel)
    state: JobState = doing.state
    blank: Blank = made(state, "Blanks", asked.panel)
    pattern = marked_out_as_shown(
        made(state, "Paper", asked.panel),
        blank.flat,
        show=doing.show,
        sheet_mm=state.metal.thickness_mm,
        least_mm=load_settings().least_thickness_mm,
    )
    found = readings_result(blank.flat, pattern, taken, laid=asked.laid)
    side = "1 in" if doing.show == "in" else mm_text(pattern.grid_mm)
    doing.tell(f"{state.name}, {asked.panel}: {counted(len(found), 'square')} of its grid read")
    doing.tell(
        f"  squares of {side} on the blank; bare numbers are "
        f"{'inches' if doing.show == 'in' else 'mm'}; the tape {_LAID[asked.laid]}"
    )
    doing.tell(f"  {asked.panel} was laid flat anew: a job file holds no patterns.")
    _tell_print(doing)
    if not blank.flat.converged:
        doing.tell("  NOT SETTLED: what the pattern asks is not to be relied on.")
    for read in found:
        _tell_square(doing, read)
    return {
        "schema": SCHEMA,
        "job": state.name,
        "panel": asked.panel,
        "side": pattern.grid_mm,
        "laid": asked.laid,
        "converged": blank.flat.converged,
        "revision": state.prints[-1].revision if state.prints else None,
        "print_is_current": is_print_current(state) if state.prints else None,
        "squares": [_square_json(read, state.metal.thickness_mm) for read in found],
    }


_TOLD_BESIDE = ("Lines", "Flat faces", "Difference", "Coarse", "Judged", "Costs")
"""No pattern hangs on them."""

_LEFT_OUT = ("Halves", "Sides")
"""They reach no pattern unless a side is copied."""

_LAID = {"over": "lay over the metal", "straight": "went straight across"}


def _typed(doing: Doing) -> list[SquareReading]:
    """Return the readings typed, each square once."""
    taken = [reading_typed(words, doing.show) for words in doing.asked.readings]
    for reading in taken:
        reading.check(GRID_MM[doing.show])
    names = [reading.square for reading in taken]
    for words, name in zip(doing.asked.readings, names, strict=True):
        if names.count(name) > 1:
            raise ReadingWordsError(words, f"square {name} is read twice: once is enough")
    return taken


def _lay_flat(doing: Doing, panel: str) -> None:
    """Make what the panel's pattern hangs on, and of the panels that one alone.

    Raises
    ------
    NoSuchPanelError, SizeUnknownError
    """
    if doing.state.size.unit is None and not doing.state.size.tapes:
        raise SizeUnknownError
    for row in STEPS:
        if row.name in _LEFT_OUT and not doing.state.sides.copies:
            continue
        if not row.per_panel and row.name not in _TOLD_BESIDE:
            make_step(doing, row.name)
    if panel not in panel_names(doing.state):
        raise NoSuchPanelError(panel, panel_names(doing.state))
    for name in ("Blanks", "Sure", "Paper"):
        make_step(doing, name, panel)


def _tell_print(doing: Doing) -> None:
    """Say where what hangs on the wall may not be what is decided now."""
    state = doing.state
    if state.prints and not is_print_current(state):
        doing.tell(
            f"  The job has changed since rev {state.prints[-1].revision} was printed: squares of "
            "that print may lie elsewhere."
        )


def _tell_square(doing: Doing, read: SquareStretch) -> None:
    unsure = plain_number(100.0 * float(max(read.unsure)))
    reached = _pair(read.stretches)
    way = ""
    if float(read.stretches[0] - read.stretches[1]) > max(_ALIKE, float(max(read.unsure))):
        way = f", the larger {way_words(read.direction_rad)}"
    left_mm = doing.state.metal.thickness_mm * read.thickness
    doing.tell(
        f"  {read.square}: 100 became {reached} (within {unsure}){way}; "
        f"asked {_pair(read.asked)}; sheet left {mm_text(left_mm, 2)}"
    )


def way_words(direction_rad: float) -> str:
    """Return a direction on a square as it lies on paper, whichever face is seen.

    >>> way_words(0.05), way_words(-1.5), way_words(math.radians(-30.0))
    ('along its row', 'along its column', '30\u00b0 off its row, towards the second diagonal')
    """
    off = abs(direction_rad)
    if off < _ALONG_RAD:
        return "along its row"
    if off > math.pi / 2.0 - _ALONG_RAD:
        return "along its column"
    diagonal = "first" if direction_rad > 0.0 else "second"
    return f"{angle_text(off, 0)} off its row, towards the {diagonal} diagonal"


def _pair(stretches: FloatArray) -> str:
    return " x ".join(plain_number(100.0 * float(value)) for value in stretches)


def _square_json(read: SquareStretch, sheet_mm: float) -> Json:
    return {
        "square": read.square,
        "middle": read.middle.tolist(),
        "stretch": read.stretches.tolist(),
        "unsure": read.unsure.tolist(),
        "direction_degrees": math.degrees(read.direction_rad),
        "asked": read.asked.tolist(),
        "asked_direction_degrees": math.degrees(read.asked_direction_rad),
        "thickness": read.thickness,
        "thickness_mm": sheet_mm * read.thickness,
    }
