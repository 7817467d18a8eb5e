"""`lowcrown breaks`: ways of splitting a tank, proposed, compared and written to choose from."""

import multiprocessing
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from app.command_line.beside import cores
from app.command_line.doing import Doing, carry, dated, make_step, read_sized, tell_size
from app.command_line.progress import bar
from app.command_line.sheet import learn_metals, metal_asked
from app.command_line.standing import take_standing
from app.delivery import (
    BREAKS_JSON,
    BREAKS_SEAMS,
    Json,
    breaks_files,
    breaks_result,
    check_folder,
    write_result,
)
from app.job import (
    Proposed,
    breakup_line,
    made,
    move_words,
    proposed,
    to_propose,
    with_metal,
)
from app.units import counted

_TELLING = 0.05
"""Of the work: a move that changes it by less is told as changing little."""


def breaks(doing: Doing) -> Json:
    """Propose where to split a tank, and write the choices to compare and to take one from."""
    asked = doing.asked
    out = asked.out if asked.out is not None else Path(f"{asked.file.stem} breaks")
    doing.asked.out = out
    check_folder(out, replace=asked.replace, result=BREAKS_JSON)
    alloy = learn_metals(doing)
    read_sized(doing)
    carry(doing, "Size")
    doing.state = with_metal(doing.state, metal_asked(doing, alloy, face="outside"))
    take_standing(doing)
    carry(doing, "Surface")
    make_step(doing, "Coarse")
    ground = to_propose(doing.state)
    if ground is None:
        raise RuntimeError("the surface was laid and is not there")
    with workers() as several, bar("Break-ups") as report:
        found = proposed(ground, asked.pieces, several, report=report)
    files = breaks_files(doing.state, ground, found, dated=dated(), show=doing.show)
    write_result(out, files, replace=asked.replace, result=BREAKS_JSON)
    tell_size(doing, made(doing.state, "Size"))
    if not ground.has_plane:
        doing.tell("  no centre plane: the two sides are not held alike (--datum)")
    _tell_choices(doing, found)
    doing.tell(f"{counted(len(files), 'file')} written to {out}")
    if found.breakups:
        doing.tell(
            f'  take one: lowcrown layout {asked.file} --seams "{out / BREAKS_SEAMS}" '
            f'--breakup "{found.breakups[0].name}"'
        )
    return {**breaks_result(found), "files": sorted(files)}


@contextmanager
def workers() -> Iterator[Executor | None]:
    """Give processes to study with, as many as there are cores; None where there is one.

    Those under way are let finish their piece, what waits is dropped.
    """
    if cores() < 2:
        yield None
        return
    pool = ProcessPoolExecutor(cores(), mp_context=multiprocessing.get_context("spawn"))
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _tell_choices(doing: Doing, found: Proposed) -> None:
    doing.tell(
        f"{counted(len(found.breakups), 'break-up')} to choose from, none beaten by another in "
        "pieces, shrink and weld:"
    )
    for choice, breakup, figures in zip(
        found.study.choices, found.breakups, found.figures, strict=True
    ):
        doing.tell(f"  {breakup.name}: {breakup_line(figures, doing.show)}")
        if figures.held:
            doing.tell(f"    locked in the form: {', '.join(figures.held)}")
        for move in choice.moves:
            words = move_words(move, choice, found.axes, doing.show)
            if words and abs(move.work / choice.work - 1.0) > _TELLING:
                doing.tell(f"    {words}")
    if found.study.none_found:
        counts = ", ".join(str(count) for count in found.study.none_found)
        doing.tell(f"  in {counts} pieces: nothing that is not beaten")
