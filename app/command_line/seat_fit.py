"""`lowcrown seat` and `lowcrown fit`: the face the seat meets; gaps to frame, forks and bars."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from app.command_line.doing import Doing, tell_size
from app.command_line.paper import output_asked
from app.command_line.rest_step import make_rest, step_files, take_tank
from app.command_line.sheet import learn_metals
from app.delivery import (
    FIT_JSON,
    SEAT_JSON,
    Json,
    check_folder,
    frame_told,
    seat_told,
    write_result,
)
from app.job import (
    FRAME_FIT,
    SEAT_FACE,
    FrameFit,
    FrameFitChoice,
    RestOfTank,
    SeatChoice,
    SecondScan,
    TankSpot,
    gap_place_words,
    lock_words,
    made,
    position_words,
    read_rest,
    seat_words,
)
from app.units import counted, length_text

_CAUTION = (
    "  look: no proof of fit. Check full lock, cables and hot parts on the machine, by somebody "
    "competent; local code comes first."
)


def seat(doing: Doing) -> Json:
    """Find the face the seat meets; write its templates where a folder is named."""
    written = _written(doing).seat or SeatChoice()
    asked = doing.asked
    if asked.near is not None:
        ahead, left, up = asked.near
        written = replace(written, near=TankSpot(ahead, left, up))
    if asked.line is not None:
        written = replace(written, line_ahead_mm=asked.line)
    files = _made(doing, SEAT_FACE, SEAT_JSON, seat=written)
    found = made(doing.state, SEAT_FACE)
    doing.tell(f"  seat face {seat_words(found, doing.show)}")
    if found.line_filled.any():
        doing.tell("  look: part of the line the lip follows was not scanned")
    _tell_files(doing, files)
    return {"seat": seat_told(doing.state), "files": files}


def fit(doing: Doing) -> Json:
    """Measure the gaps to what a tank stands beside; write the list where a folder is named."""
    written = _written(doing)
    choice = written.frame_fit or FrameFitChoice()
    asked = doing.asked
    if asked.second is not None:
        before = choice.second or SecondScan("")
        unit = asked.second_unit or before.unit
        choice = replace(choice, second=replace(before, path=str(asked.second), unit=unit))
    decided = {"frame_fit": choice, "tunnel": written.tunnel, "capacity": written.capacity}
    files = _made(doing, FRAME_FIT, FIT_JSON, **decided)
    _tell_gaps(doing, made(doing.state, FRAME_FIT))
    doing.tell(_CAUTION)
    _tell_files(doing, files)
    return {"fit": frame_told(doing.state), "files": files}


def _written(doing: Doing) -> RestOfTank:
    """Return what a file decides, read before anything takes long."""
    asked: Path | None = doing.asked.rest
    return RestOfTank() if asked is None else read_rest(asked)


def _made(doing: Doing, step: str, result: str, **decided: Any) -> list[str]:
    """Make a step of a tank as it stands; return the names of the files written."""
    asked = doing.asked
    if asked.out is not None:
        check_folder(asked.out, replace=asked.replace, result=result)
    output = output_asked(asked)
    take_tank(doing, learn_metals(doing))
    make_rest(doing, "Tunnel", step, **decided)
    tell_size(doing, made(doing.state, "Size"))
    if asked.out is None:
        return []
    files = step_files(doing, step, result, output)
    write_result(asked.out, files, replace=asked.replace, result=result)
    return sorted(files)


def _tell_gaps(doing: Doing, found: FrameFit) -> None:
    if not found.gaps:
        doing.tell("  nothing to measure to")
    for each, filled in zip(found.gaps, found.filled_near, strict=True):
        gap = length_text(each.gap_mm, doing.show)
        if each.gap.side == "through":
            gap = f"{length_text(each.gap.reach_mm, doing.show)} through"
        guess = "; not scanned there" if filled else ""
        doing.tell(
            f"  {position_words(each)}: {gap}, {each.verdict}; "
            f"{gap_place_words(each, doing.show)}{guess}"
        )
    if not found.bottom_held:
        doing.tell("  look: not held against the bottom: nobody said what goes through it")
    if lock_words(found.choice):
        doing.tell(f"  look: {lock_words(found.choice)}")
    if found.placed_off_mm is not None:
        doing.tell(f"  second scan placed to {length_text(found.placed_off_mm, doing.show)}")


def _tell_files(doing: Doing, files: list[str]) -> None:
    if files:
        doing.tell(f"{counted(len(files), 'file')} written to {doing.asked.out}")
