"""The sheet a command is told of: which metals there are, the one taken, how thick, which face."""

from pathlib import Path

from app.command_line.doing import Doing
from app.job import (
    MetalChoice,
    bent_as_known,
    known_metals,
    metal_named,
    read_metals,
    tunnel_of_metal,
    with_rest,
)
from app.settings import load_settings
from geometry.tank import TunnelSpec


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


def tunnel_as_known(doing: Doing, spec: TunnelSpec, metal: MetalChoice) -> TunnelSpec:
    """Return a tunnel whose own metal, if it has one, is known.

    Raises
    ------
    UnknownMetalError
    """
    if spec.metal is None or spec.bend_ratio is not None:
        return spec
    return tunnel_of_metal(spec, spec.metal, doing.metals, metal.thickness_mm)


def know_tunnels_metal(doing: Doing) -> None:
    """Let the job know the metal its tunnel has of its own, if it has one.

    Raises
    ------
    UnknownMetalError
    """
    state = doing.state
    if state.rest.tunnel is not None:
        known = tunnel_as_known(doing, state.rest.tunnel, state.metal)
        doing.state = with_rest(state, tunnel=known)
