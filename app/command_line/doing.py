"""A command under way: its scan read, its size taken, its steps made, and what is told of them."""

import argparse
import os
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path

from app.command_line.beside import WORTH_IT, Beside, carried_beside, cores
from app.command_line.progress import bar, bars
from app.command_line.size_arguments import TapeWords
from app.exports import Show
from app.job import (
    JobState,
    Metals,
    SizeChoice,
    Task,
    fresh_card,
    made,
    read_scan_file,
    task_for,
    with_card,
    with_name,
    with_result,
    with_scan,
    with_size,
)
from app.settings import load_settings
from app.units import length_text, mm_text
from geometry.datum import Allowance, SizeUnknownError, Tape, TrueSize
from geometry.metal import METALS
from geometry.progress import Report
from geometry.scan import UNIT_WORDS, Unit


@dataclass
class Doing:
    """A command under way: what was asked, and the job as far as it has come.

    Attributes
    ----------
    asked : argparse.Namespace
    state : JobState
        Kept beside a crash report.
    lines : list of str
        What is told on standard output.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    beside : Beside
        Takes on steps of a large job, once `call_beside` has started it.
    """

    asked: argparse.Namespace
    state: JobState = field(default_factory=JobState)
    lines: list[str] = field(default_factory=list)
    metals: Metals = field(default_factory=lambda: METALS)
    beside: Beside = field(default_factory=Beside)

    @property
    def show(self) -> Show:
        """Return which unit comes first."""
        shown: Show = self.asked.show or ("in" if load_settings().show == "in" else "mm")
        return shown

    def tell(self, line: str = "") -> None:
        """Add a line to what is told."""
        self.lines.append(line)


def dated() -> date:
    """Return the date printed on pages: today, or the one SOURCE_DATE_EPOCH fixes."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH", "")
    if fixed.isdigit():
        return datetime.fromtimestamp(int(fixed), UTC).date()
    return date.today()


def read_scan(doing: Doing, path: Path) -> None:
    """Read a scan; the job takes its name from the file."""
    with bar("Scan") as report:
        scan = read_scan_file(path, report=report)
    state = with_name(with_scan(doing.state, scan), path.stem)
    doing.state = with_card(state, fresh_card(load_settings().stages))


def call_beside(doing: Doing) -> None:
    """Start a second process where the scan is large enough for it to be worth its start."""
    scan = doing.state.scan
    if scan is not None and len(scan.raw.faces) >= WORTH_IT and cores() > 1:
        doing.beside.start()


def unit_in_file(doing: Doing) -> Unit | None:
    """Return the unit the scan's own file says, if it says one."""
    scan = doing.state.scan
    return None if scan is None else scan.raw.unit


def read_sized(doing: Doing) -> None:
    """Read the scan asked for and take on its size, which has to be known.

    Raises
    ------
    SizeUnknownError
        Neither unit nor tape was given, and the file says none.
    UnreadableScanError
    """
    asked = doing.asked
    read_scan(doing, asked.file)
    if asked.unit is None and not asked.tapes and unit_in_file(doing) is None:
        raise SizeUnknownError
    with_size_asked(doing)


def with_size_asked(doing: Doing) -> None:
    """Take on the unit, tapes and limit given; a unit the file says where none is given."""
    asked = doing.asked
    tapes = tuple(tape_of(words) for words in asked.tapes)
    said = unit_in_file(doing)
    unit = asked.unit or (None if asked.rescale else said)
    size = SizeChoice(unit, tapes, asked.rescale)
    if asked.tape_limit is not None:
        size = replace(size, allowed=Allowance(*asked.tape_limit))
    doing.state = with_size(doing.state, size)
    if said is not None and asked.unit is not None and asked.unit != said:
        taken = UNIT_WORDS[size.unit or said]
        doing.tell(f"The file says it is in {UNIT_WORDS[said]}; {taken} are taken, as said.")


def tape_of(words: TapeWords) -> Tape:
    """Return a tape as typed."""
    return Tape(*words)


def carry(doing: Doing, until: str) -> None:
    """Make every step up to one, a bar for each that takes long."""
    with bars() as begin:

        def watch(task: Task) -> Report:
            return begin(f"{task.step}, {task.part}" if task.part else task.step)

        doing.state = carried_beside(doing.state, until, doing.beside, watch)


def make_step(doing: Doing, name: str, part: str = "") -> None:
    """Make one part of one step here, where it can be made."""
    task = task_for(doing.state, name, part)
    if task is not None:
        with bar(f"{name}, {part}" if part else name) as report:
            doing.state = with_result(doing.state, task, task.run(report))


_LAID = {"straight": "", "over": " over", "girth": " girth", "along": " along"}


def tell_mended(doing: Doing) -> None:
    """Tell what was mended of the scan."""
    scan = doing.state.scan
    said = () if scan is None else scan.raw.remarks
    for remark in made(doing.state, "Scan").sound.remarks:
        doing.tell(f"  {'note' if remark in said else 'mended, in our copy only'}: {remark}")


def tell_size(doing: Doing, size: TrueSize) -> None:
    """Tell every tape beside the scan, and whether they prove the size."""
    for number, check in enumerate(size.checks, start=1):
        laid = _LAID[check.tape.kind]
        doing.tell(
            f"  tape {number}: {length_text(check.tape.length_mm, doing.show)}{laid}, scan "
            f"{mm_text(check.scan_mm)}: agrees within {mm_text(abs(check.off_mm))}"
        )
    proof = "proved by tape" if size.proved else "SIZE NOT TAPED: paper only, no CUT line"
    doing.tell(f"  size: {proof}")
