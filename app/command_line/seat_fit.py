"""`lowcrown seat` and `lowcrown fit`: the face the seat meets; gaps to frame, forks and bars."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from app.command_line.doing import Doing, carry, dated, make_step, read_sized, tell_size
from app.command_line.paper import output_asked
from app.command_line.progress import bar
from app.command_line.sheet import know_tunnels_metal, learn_metals, metal_asked
from app.command_line.standing import take_standing
from app.delivery import (
    FIT_JSON,
    SEAT_JSON,
    Json,
    check_folder,
    files_of_step,
    frame_told,
    seat_told,
    write_result,
)
from app.job import (
    FRAME_FIT,
    SEAT_FACE,
    Directions,
    FrameFit,
    FrameFitChoice,
    RestOfTank,
    SeatChoice,
    SecondScan,
    TankSpot,
    gap_place_words,
    made,
    position_words,
    read_rest,
    seat_words,
    with_directions,
    with_metal,
    with_rest,
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
    files = _made(doing, FRAME_FIT, FIT_JSON, frame_fit=choice, tunnel=written.tunnel)
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
    alloy = learn_metals(doing)
    read_sized(doing)
    carry(doing, "Size")
    doing.state = with_metal(doing.state, metal_asked(doing, alloy, face="outside"))
    doing.state = with_directions(doing.state, Directions(asked.front, asked.up))
    take_standing(doing)
    doing.state = with_rest(doing.state, **decided)
    know_tunnels_metal(doing)
    carry(doing, "Surface")
    for name in ("Stood", "Tunnel", step):
        make_step(doing, name)
    tell_size(doing, made(doing.state, "Size"))
    if asked.out is None:
        return []
    with bar("Files") as report:
        files = files_of_step(
            doing.state, step, result, dated=dated(), show=doing.show, output=output, report=report
        )
    write_result(asked.out, files, replace=asked.replace, alone=False)
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
    if found.placed_off_mm is not None:
        doing.tell(f"  second scan placed to {length_text(found.placed_off_mm, doing.show)}")


def _tell_files(doing: Doing, files: list[str]) -> None:
    if files:
        doing.tell(f"{counted(len(files), 'file')} written to {doing.asked.out}")
