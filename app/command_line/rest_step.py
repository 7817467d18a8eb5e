"""What every command of the rest of a tank does: the tank taken on, its steps made, its files."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from app.command_line.doing import Doing, carry, dated, make_step, read_sized
from app.command_line.progress import bar
from app.command_line.sheet import know_tunnels_metal, metal_asked
from app.command_line.standing import take_standing
from app.delivery import check_folder, files_of_step
from app.exports import Output
from app.job import (
    Directions,
    SeamsFile,
    made,
    with_directions,
    with_metal,
    with_rest,
    with_seams_file,
    with_second_read,
)


def folder_asked(doing: Doing, after: Path, what: str, result: str) -> Path:
    """Return the folder files go to, one named after a file where none is asked for; check it.

    Parameters
    ----------
    doing : Doing
    after : Path
        The file it is named after, with `what` behind.
    what : str
    result : str
        The file that shows an earlier result.

    Raises
    ------
    ResultExistsError, NoFolderError
    """
    asked = doing.asked
    if asked.out is None:
        asked.out = Path(f"{after.stem} {what}")
    out: Path = asked.out
    check_folder(out, replace=asked.replace, result=result)
    return out


def take_tank(doing: Doing, alloy: str, *, seams: SeamsFile | None = None) -> None:
    """Read the scan asked for, and take on its size, its sheet and which way it faces.

    Parameters
    ----------
    doing : Doing
    alloy : str
        As `learn_metals` gives it.
    seams : SeamsFile, optional
        What it says of the way the tank faces counts where nothing is typed.

    Raises
    ------
    SizeUnknownError, UnreadableScanError, GeometryError
    """
    asked = doing.asked
    read_sized(doing)
    carry(doing, "Size")
    if seams is not None:
        doing.state = with_seams_file(doing.state, seams, made(doing.state, "Size").mm_per_unit)
    doing.state = with_metal(doing.state, metal_asked(doing, alloy, face="outside"))
    said = doing.state.directions
    ways = Directions(asked.front or said.front, asked.up or said.top)
    doing.state = with_directions(doing.state, ways)


def make_rest(doing: Doing, *steps: str, **decided: Any) -> None:
    """Stand up a tank taken on, and make steps of its rest.

    Parameters
    ----------
    doing : Doing
    *steps : str
        After the step "Stood", one by one.
    **decided : field of RestOfTank and its value

    Raises
    ------
    GeometryError, UnknownMetalError
    """
    take_standing(doing)
    doing.state = with_rest(doing.state, **decided)
    know_tunnels_metal(doing)
    keep_second_scan(doing)
    carry(doing, "Surface")
    make_step(doing, "Stood")
    _tell_how_it_stands(doing)
    for name in steps:
        make_step(doing, name)


def _tell_how_it_stands(doing: Doing) -> None:
    """Tell where a centre plane the shape does not hold is stood by, or what was said instead."""
    stood, datum = made(doing.state, "Stood"), made(doing.state, "Datum")
    if stood.loose:
        doing.tell(
            f"  look: stood by a centre plane the shape does not hold ({'; '.join(stood.loose)}): "
            "front and up may lean with it (--front and --up, both)"
        )
    elif datum is not None and not np.allclose(stood.axes.axes, datum.axes, atol=1e-9):
        doing.tell("  stood as --front and --up say, not by the centre plane, which is not held")


def keep_second_scan(doing: Doing) -> None:
    """Read the scan the tank is held against, if there is one: the job keeps it.

    Raises
    ------
    UnreadableScanError
    """
    with bar("Second scan") as report:
        doing.state = with_second_read(doing.state, report=report)


def step_files(
    doing: Doing, step: str, result: str, output: Output, *, more: Sequence[str] = ()
) -> dict[str, bytes]:
    """Return the files of a step that is made by name, with those of `more` steps that are made.

    Their numbers stand in `result`.
    """
    with bar("Files") as report:
        return files_of_step(
            doing.state,
            step,
            result,
            dated=dated(),
            show=doing.show,
            output=output,
            metals=doing.metals,
            more=more,
            report=report,
        )
