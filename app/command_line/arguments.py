"""What can be typed after `lowcrown`, and what it means. Reads no files and computes nothing."""

import argparse
import re
from collections.abc import Mapping
from pathlib import Path

from app.command_line.capacity_arguments import add_capacity_options
from app.command_line.command_words import ABOUT, ENDINGS, TOLD
from app.command_line.flange_arguments import add_flange_options, wrong_flanges
from app.command_line.gauge_arguments import add_gauge_options, wrong_gauges
from app.command_line.making_arguments import add_making_options, wrong_making
from app.command_line.paper_arguments import add_bench_options, add_paper_options, wrong_paper
from app.command_line.seat_fit_arguments import add_fit_options, add_seat_options, wrong_seat_fit
from app.command_line.sheet_arguments import add_sheet_options
from app.command_line.size_arguments import add_size_options, wrong_size
from app.command_line.standing_arguments import (
    add_datum_options,
    add_standing_options,
    wrong_standing,
)
from app.command_line.tunnel_arguments import add_tunnel_options
from app.version import __version__

_STOOD_UP = ("layout", "breaks", "gauges", "flanges", "capacity")

_ON_A_SCAN = ("scan", "datum", "lines", "blank", *_STOOD_UP)

_MOST_PIECES = 6

_READING = """a square and what its sides measure, as "C4 26 25.5 24.5 24 / 36 35": two lengths
along its row, the one nearer row 1 first, two along its column, the one nearer column A first, and
after the stroke both diagonals, the one from the corner nearest A1 first. "C4 26 24.5" where both
sides of a way are alike and it kept its right angles. Bare numbers are in the unit of --show"""


class Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in a sentence and ends with exit code 2."""

    def error(self, message: str) -> None:  # type: ignore[override]
        """Say on standard error how the command is written, in a line, and what is wrong; exit."""
        given = [action.metavar or action.dest for action in self._get_positional_actions()]
        usage = " ".join(["usage:", self.prog, "[options]", *map(str, given)])
        self.exit(2, f"{usage}\nlowcrown: {message}\n{self.prog} --help tells every option.\n")


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    return _parsers()[0]


def _parsers() -> tuple[Parser, dict[str, Parser]]:
    """Return the parser of the whole command line, and each command's own."""
    top = Parser(
        prog="lowcrown",
        description=ABOUT,
        epilog=ENDINGS,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"lowcrown {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    made = {
        command.name: commands.add_parser(
            command.name,
            help=command.does,
            description=command.told,
            epilog=ENDINGS,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        for command in TOLD
    }
    for name in _ON_A_SCAN:
        made[name].add_argument("file", metavar="FILE", type=Path, help="STL, PLY, OBJ, OFF or 3MF")
        add_size_options(made[name])
    _add_seams(made["layout"])
    add_datum_options(made["datum"])
    for name in _STOOD_UP:
        add_standing_options(made[name])
    add_gauge_options(made["gauges"])
    _add_pieces(made["breaks"])
    for name in ("blank", "layout"):
        add_making_options(made[name], per_panel=name == "layout")
    for name in ("blank", *_STOOD_UP, "demo"):
        _add_out(made[name])
        if name != "demo":
            add_sheet_options(made[name])
    made["blank"].add_argument(
        "--open-holes",
        action="store_true",
        help="leave holes open in the blank instead of solid metal to be cut after forming",
    )
    _add_paper(made)
    _add_telling(made)
    return top, made


def _add_telling(made: Mapping[str, Parser]) -> None:
    """Add how every command tells what it has done."""
    for command in made.values():
        command.add_argument(
            "--show", choices=("mm", "in"), help="which unit comes first in what is printed"
        )
        command.add_argument(
            "--json",
            action="store_true",
            help="print one JSON object (mm, mm2, ratios) on standard output and nothing else",
        )


def _add_paper(made: Mapping[str, Parser]) -> None:
    """Add what is said of paper and of the bench, the folder of a board, and of capacity."""
    made["board"].add_argument("folder", metavar="DIR", type=Path, help="where job files are kept")
    _add_readings(made["readings"])
    add_capacity_options(made["capacity"])
    add_flange_options(made["flanges"])
    for name in ("blank", "layout", "gauges", "flanges", "capacity", "demo"):
        add_paper_options(made[name])
    for name in ("layout", "demo"):
        add_bench_options(made[name])
    _add_tunnel(made["tunnel"])
    _add_seat_and_fit(made)


def _add_seat_and_fit(made: Mapping[str, Parser]) -> None:
    add_seat_options(made["seat"])
    add_fit_options(made["fit"])
    for command in (made["seat"], made["fit"]):
        command.add_argument("file", metavar="FILE", type=Path, help="STL, PLY, OBJ, OFF or 3MF")
        add_size_options(command)
        add_standing_options(command)
        _add_out(command)
        add_sheet_options(command)
        add_paper_options(command)


def _add_tunnel(command: Parser) -> None:
    add_tunnel_options(command)
    add_size_options(command)
    add_standing_options(command)
    _add_out(command)
    add_sheet_options(command)
    add_paper_options(command)


def _add_readings(command: Parser) -> None:
    command.add_argument("job", metavar="JOB", type=Path, help="the job file of the tank")
    command.add_argument("panel", metavar="PANEL", help="the panel's name, as on its pattern")
    command.add_argument("readings", metavar="READING", nargs="+", help=_READING)
    command.add_argument(
        "--laid",
        choices=("over", "straight"),
        default="over",
        help="a soft tape laid over the metal (unless said), or dividers straight across",
    )


def _add_seams(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--seams",
        required=True,
        type=Path,
        metavar="SEAMS.json",
        help="where the panels part: see the guide for what stands in it",
    )
    command.add_argument(
        "--rest",
        type=Path,
        metavar="REST.json",
        help="what the tank has besides its panels: see the guide for what stands in it",
    )
    command.add_argument(
        "--breakup",
        metavar="NAME",
        help="which of the break-ups kept in it: its own seams if not given",
    )


def _add_pieces(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--pieces",
        type=pieces,
        default=(2, 3, 4, 5, 6),
        metavar="2-6",
        help="how many pieces the tank may be in: a number, or from and to, 1 to 6; 2-6 unless "
        "said",
    )


def pieces(text: str) -> tuple[int, ...]:
    """Return counts of pieces as typed.

    >>> pieces("3"), pieces("2-4")
    ((3,), (2, 3, 4))
    """
    first, dash, last = text.strip().partition("-")
    try:
        least, most = int(first), int(last if dash else first)
    except ValueError:
        least, most = 0, 0
    if not 1 <= least <= most <= _MOST_PIECES:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no count of pieces: say a number from 1 to {_MOST_PIECES}, or two as 2-6"
        )
    return tuple(range(least, most + 1))


def _add_out(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for the files; made if it is not there"
    )
    command.add_argument(
        "--replace", action="store_true", help="overwrite an earlier result in that folder"
    )


def parsed(argv: list[str]) -> argparse.Namespace:
    """Return what was asked for; wrong use ends in `SystemExit` with a sentence."""
    top, commands = _parsers()
    asked = top.parse_args(joined(argv))
    checks = (
        wrong_size,
        wrong_making,
        wrong_standing,
        wrong_paper,
        wrong_gauges,
        wrong_flanges,
        wrong_seat_fit,
    )
    wrong = next((words for check in checks if (words := check(asked))), "")
    if wrong:
        commands[asked.command].error(wrong)
    return asked


def joined(argv: list[str]) -> list[str]:
    """Return the words with what begins as a negative number joined to its option.

    Else -1,2,3 would be taken for an option of its own.

    >>> joined(["scan", "a.ply", "--tape", "-1,2,3:4,5,6=56mm", "--bias", "-0.5"])
    ['scan', 'a.ply', '--tape=-1,2,3:4,5,6=56mm', '--bias=-0.5']
    """
    found: list[str] = []
    for word in argv:
        if found and re.match(r"--[a-z-]+\Z", found[-1]) and re.match(r"-[\d.]", word):
            found[-1] = f"{found[-1]}={word}"
        else:
            found.append(word)
    return found
