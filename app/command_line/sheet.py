"""The sheet a command is told of: which metals there are, the one taken, how thick, which face."""

from pathlib import Path

from app.command_line.doing import Doing
from app.job import MetalChoice, bent_as_known, known_metals, metal_named, read_metals
from app.settings import load_settings


def learn_metals(doing: Doing) -> str:
    """Learn the metals there are; return the one named, or the only one of the file given.

    Raises
    ------
    UnknownMetalError, BadFileError
    """
    asked = doing.asked
    given: list[Path] = [] if asked.metal_facts is None else [asked.metal_facts]
    doing.metals = known_metals(*given)
    if asked.alloy is not None:
        return metal_named(asked.alloy, doing.metals).name
    named = [name for path in given for name in read_metals(path)]
    return named[0] if len(named) == 1 else load_settings().alloy


def metal_asked(doing: Doing, alloy: str, *, face: str) -> MetalChoice:
    """Return the sheet asked for; `face` is the one the file shows unless said."""
    asked, settings = doing.asked, load_settings()
    scanned = asked.face or face
    chosen = MetalChoice(
        thickness_mm=asked.metal if asked.metal is not None else settings.thickness_mm,
        alloy=alloy,
        face="middle" if scanned == "middle" else "outside",
        paint_mm=asked.paint if asked.paint is not None else settings.paint_mm,
    )
    return bent_as_known(chosen, doing.metals)
