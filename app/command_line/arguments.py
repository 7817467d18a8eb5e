"""What can be typed after `lowcrown`, and what it means. Reads no files and computes nothing."""

import argparse
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from app.units import NotALengthError, parse_length
from app.version import __version__

if TYPE_CHECKING:
    from app.job import HowMade

COMMANDS = ("demo", "scan", "blank", "layout")

_HOW: "Mapping[str, HowMade]" = MappingProxyType(
    {
        "mostly stretch": "mostly stretch",
        "stretch": "mostly stretch",
        "both": "both",
        "mostly shrink": "mostly shrink",
        "shrink": "mostly shrink",
    }
)

TapeWords = tuple[tuple[float, float, float], tuple[float, float, float], float, bool]

_THINNEST_MM, _THICKEST_MM = 0.2, 10.0
_THICKEST_PAINT_MM = 20.0
_ABOUT = """From a scan of a tank to panel patterns you can cut, form and trust.

  lowcrown                   open the window
  lowcrown FILE              open the window on a scan or a job
  lowcrown demo --out DIR    the whole job on the sample tank, so that you see what comes out
  lowcrown scan FILE         look a scan over: pieces, holes, likely unit, doubts
  lowcrown blank FILE        lay one ready-cut panel flat
  lowcrown layout FILE --seams SEAMS.json --out DIR
                             cut a scan along seams, lay every panel flat, write paper and DXF
"""
_ENDINGS = """exit codes: 0 done; 1 could not, the reason is on standard error; 2 wrong use;
3 the size is not known or a tape does not agree; 130 stopped."""
_TAPE = """a distance you taped on the real tank between two points of the file, as
"x,y,z:x,y,z=560mm" or "...=22 1/16in"; end it in " over" when the tape lay on the surface,
otherwise it was pulled straight; give two, in different directions, and cutting files are made"""


@dataclass(frozen=True)
class _Command:
    name: str
    does: str
    told: str


_TOLD = (
    _Command(
        "demo", "do the whole job on the sample tank", "Does the main job on the sample tank."
    ),
    _Command(
        "scan",
        "look a scan over",
        "Reports what a scan holds: triangles, pieces, holes, noise, likely unit, doubts.\n"
        "Without a unit or a tape no sizes are given. The file itself is never changed.",
    ),
    _Command(
        "blank",
        "lay one ready-cut panel flat",
        "Lays one panel flat, as it stands in the file. Without --metal the file is taken as the\n"
        "middle of the metal. Holes stay solid metal unless --open-holes is given.",
    ),
    _Command(
        "layout",
        "from a scan and its seams to patterns",
        "Cuts a scan along seams, lays every panel flat, writes paper, cutting files and tables.",
    ),
)


class Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in a sentence and ends with exit code 2."""

    def error(self, message: str) -> None:  # type: ignore[override]
        """Print the usage and the sentence; exit."""
        self.print_usage()
        self.exit(2, f"lowcrown: {message}\n")

    def print_usage(self, file: object = None) -> None:
        """Print the usage on standard error."""
        import sys

        super().print_usage(sys.stderr)


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    top = Parser(
        prog="lowcrown",
        description=_ABOUT,
        epilog=_ENDINGS,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"lowcrown {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    made = {
        command.name: commands.add_parser(
            command.name,
            help=command.does,
            description=command.told,
            epilog=_ENDINGS,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        for command in _TOLD
    }
    for name in ("scan", "blank", "layout"):
        made[name].add_argument("file", metavar="FILE", type=Path, help="STL, PLY, OBJ or OFF")
        _add_size(made[name])
    _add_seams(made["layout"])
    for name in ("blank", "layout"):
        _add_metal(made[name])
        _add_work(made[name], per_panel=name == "layout")
        _add_out(made[name])
    made["blank"].add_argument(
        "--open-holes",
        action="store_true",
        help="leave holes open in the blank instead of solid metal to be cut after forming",
    )
    _add_out(made["demo"])
    for command in made.values():
        command.add_argument(
            "--show", choices=("mm", "in"), help="which unit comes first in what is printed"
        )
        command.add_argument(
            "--json",
            action="store_true",
            help="print one JSON object (mm, mm2, ratios) on standard output and nothing else",
        )
    return top


def _add_size(command: argparse.ArgumentParser) -> None:
    group = command.add_argument_group("how big it is")
    group.add_argument(
        "--unit", choices=("mm", "cm", "m", "in"), help="what a coordinate in the file means"
    )
    group.add_argument(
        "--tape", action="append", default=[], type=tape, metavar="TAPE", dest="tapes", help=_TAPE
    )
    group.add_argument(
        "--rescale",
        action="store_true",
        help="the scan has no scale of its own: take it from the tapes",
    )


def _add_seams(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--seams",
        required=True,
        type=Path,
        metavar="SEAMS.json",
        help="where the panels part: see the guide for what stands in it",
    )


def _add_metal(command: argparse.ArgumentParser) -> None:
    group = command.add_argument_group("the sheet")
    group.add_argument(
        "--metal", type=metal, metavar="1.6mm", help="sheet thickness, with its unit"
    )
    group.add_argument(
        "--face",
        choices=("outside", "middle"),
        help="which face of the metal the file shows; a scan shows the outside",
    )
    group.add_argument(
        "--paint", type=paint, metavar="0.3mm", help="paint or filler on what was scanned"
    )
    group.add_argument(
        "--alloy",
        type=plain_words,
        metavar="NAME",
        help="which metal, as 3003-H14: printed on every page, and how far it stretches is told",
    )
    group.add_argument(
        "--metal-facts",
        type=Path,
        metavar="FILE.json",
        help="metals of your own with their facts: see the guide for what stands in it",
    )
    group.add_argument(
        "--mark",
        choices=("inside", "outside"),
        help="which face of the blank you mark; paper is seen from there (inside unless said)",
    )


def _add_work(command: argparse.ArgumentParser, *, per_panel: bool) -> None:
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


def _add_out(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for the files; made if it is not there"
    )
    command.add_argument(
        "--replace", action="store_true", help="overwrite an earlier result in that folder"
    )


def parsed(argv: list[str]) -> argparse.Namespace:
    """Return what was asked for; wrong use ends in `SystemExit` with a sentence."""
    top = parser()
    asked = top.parse_args(joined(argv))
    if getattr(asked, "rescale", False) and asked.unit is not None:
        top.error("--unit and --rescale contradict each other: a scan has a unit, or no scale")
    if getattr(asked, "weight", None) == "formed" and (asked.hardening or 1.0) < 1.0:
        top.error("--hardening below 1 goes with --weight blank only")
    wrong = _wrong_making(asked)
    if wrong:
        top.error(wrong)
    return asked


def _wrong_making(asked: argparse.Namespace) -> str:
    """Return what is wrong with how panels are to be made, or ""."""
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


def joined(argv: list[str]) -> list[str]:
    """Return the words with every tape joined to its option, so that -1,2,3 is no option.

    >>> joined(["scan", "a.ply", "--tape", "-1,2,3:4,5,6=56mm", "--bias", "-0.5"])
    ['scan', 'a.ply', '--tape=-1,2,3:4,5,6=56mm', '--bias=-0.5']
    """
    found: list[str] = []
    for word in argv:
        if found and found[-1] in ("--tape", "--bias") and re.match(r"-[\d.]", word):
            found[-1] = f"{found[-1]}={word}"
        else:
            found.append(word)
    return found


def tape(words: str) -> TapeWords:
    """Return a tape's ends, its length in mm and whether it lay on the surface.

    >>> tape("0,0,0:1,-2.5,3e1=22 1/2in over")
    ((0.0, 0.0, 0.0), (1.0, -2.5, 30.0), 571.5, True)
    """
    ends, equals, taped = words.partition("=")
    start, colon, end = ends.partition(":")
    if not equals or not colon:
        raise argparse.ArgumentTypeError(
            f'"{words}" is not a tape: write it as "x,y,z:x,y,z=560mm"'
        )
    over = re.fullmatch(r"(.*\S)\s+over\s*", taped)
    length_mm = _length(over.group(1) if over else taped, "the tape's length")
    if length_mm <= 0.0:
        raise argparse.ArgumentTypeError("a tape's length must be above 0")
    return _point(start), _point(end), length_mm, over is not None


def _point(words: str) -> tuple[float, float, float]:
    numbers = words.split(",")
    try:
        x, y, z = (float(number) for number in numbers)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f'"{words}" is not a point: write three numbers with commas between, as 12.5,0,-3'
        ) from None
    if not all(abs(number) < 1e9 for number in (x, y, z)):
        raise argparse.ArgumentTypeError(f'"{words}" is not a point: a number in it is too large')
    return x, y, z


def _length(words: str, what: str) -> float:
    if not re.search(r"[a-z\"'\u2032\u2033]", words.lower()):
        raise argparse.ArgumentTypeError(f'{what} "{words}" needs its unit, as 1.6mm or 1/16in')
    try:
        return parse_length(words)
    except NotALengthError as error:
        raise argparse.ArgumentTypeError(
            f'{what} "{words}" cannot be read: {error.reason}'
        ) from None


def metal(words: str) -> float:
    """Return a sheet thickness in mm.

    >>> metal("1.6mm"), metal("1/16 in")
    (1.6, 1.5875)
    """
    thickness_mm = _length(words, "the sheet thickness")
    if not _THINNEST_MM <= thickness_mm <= _THICKEST_MM:
        raise argparse.ArgumentTypeError(
            f'the sheet thickness "{words}" is not between {_THINNEST_MM} and {_THICKEST_MM} mm'
        )
    return thickness_mm


def paint(words: str) -> float:
    """Return a thickness of paint or filler in mm."""
    thickness_mm = _length(words, "the paint's thickness")
    if not 0.0 <= thickness_mm <= _THICKEST_PAINT_MM:
        raise argparse.ArgumentTypeError(
            f'the paint\'s thickness "{words}" is not between 0 and {_THICKEST_PAINT_MM} mm'
        )
    return thickness_mm


def plain_words(words: str) -> str:
    """Return words that can stand on a page."""
    if not words.strip() or not words.isprintable() or len(words) > 60:
        raise argparse.ArgumentTypeError("the alloy must be a few printable words")
    return words
