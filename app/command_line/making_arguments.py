"""How panels will be made, as it is typed: in words or by its numbers."""

import argparse
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.job import HowMade


_HOW: "Mapping[str, HowMade]" = MappingProxyType(
    {
        "mostly stretch": "mostly stretch",
        "stretch": "mostly stretch",
        "both": "both",
        "mostly shrink": "mostly shrink",
        "shrink": "mostly shrink",
    }
)


def add_making_options(command: argparse.ArgumentParser, *, per_panel: bool) -> None:
    """Add how panels will be made; `per_panel` where there may be several."""
    group = command.add_argument_group("how it will be made")
    told = (
        '"mostly stretch" (sink, wheel), "both", or "mostly shrink" (tuck the edges first); '
        "goes as far that way as the panel lets"
    )
    if per_panel:
        told += '; repeatable, for one panel as "left side=mostly stretch"'
    group.add_argument(
        "--making", "--how", action="append", default=[], type=making, metavar="HOW", help=told
    )
    inner = command.add_argument_group("how this is worked out (leave alone unless you know)")
    inner.add_argument(
        "--measure",
        choices=("von_mises", "hencky"),
        help="von_mises: the change of thickness counts too; hencky: lengths on the sheet only",
    )
    inner.add_argument(
        "--weight",
        choices=("blank", "formed"),
        help="each bit counts by its area on the blank, or on the finished panel",
    )
    inner.add_argument(
        "--hardening",
        type=_within(0.25, 1.0),
        metavar="N",
        help="1 down to 0.25: how much harder worked metal gets; below 1 with --weight blank only",
    )
    inner.add_argument(
        "--bias",
        type=_within(-0.7, 0.7),
        metavar="B",
        help="-0.7 to 0.7; above 0 shrink-led; taken as it stands, also where the panel cannot",
    )


def wrong_making(asked: argparse.Namespace) -> str:
    """Return what is wrong with how panels are to be made, or ""."""
    if getattr(asked, "weight", None) == "formed" and (asked.hardening or 1.0) < 1.0:
        return "--hardening below 1 goes with --weight blank only"
    panels = [panel for panel, _ in getattr(asked, "making", [])]
    twice = next((panel for panel in panels if panels.count(panel) > 1), None)
    if twice is not None:
        return f"--making is said twice{f' for panel {twice}' if twice else ''}: once is enough"
    if asked.command == "blank" and any(panels):
        return "--making for one panel by name is for layout: a ready-cut panel is alone"
    if "" in panels and asked.bias is not None:
        return "--making and --bias contradict each other: say how in words or by its number"
    return ""


def making(words: str) -> "tuple[str, HowMade]":
    """Return a panel's name, or "" for all, and how it will be made.

    >>> making("mostly stretch"), making("left side=Both")
    (('', 'mostly stretch'), ('left side', 'both'))
    """
    panel, equals, how = words.rpartition("=")
    found = _HOW.get(" ".join(how.lower().split()))
    if found is None:
        raise argparse.ArgumentTypeError(
            f'"{how}" is no way to make a panel: say "mostly stretch", "both" or "mostly shrink"'
        )
    if equals and not panel.strip():
        raise argparse.ArgumentTypeError(f'"{words}" names no panel before its =')
    return panel.strip(), found


def _within(low: float, high: float) -> Callable[[str], float]:
    """Return a reader of numbers between two bounds."""

    def number(words: str) -> float:
        try:
            value = float(words.replace(",", "."))
        except ValueError:
            raise argparse.ArgumentTypeError(f'"{words}" is not a number') from None
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"{words} is not between {low:g} and {high:g}")
        return value

    return number
