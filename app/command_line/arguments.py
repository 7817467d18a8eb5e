"""What can be typed after `lowcrown`, and what it means. Reads no files and computes nothing."""

import argparse
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple, cast

from app.command_line.capacity_arguments import add_capacity_options
from app.command_line.flange_arguments import add_flange_options, wrong_flanges
from app.command_line.gauge_arguments import add_gauge_options, wrong_gauges
from app.command_line.paper_arguments import add_bench_options, add_paper_options, wrong_paper
from app.command_line.seat_fit_arguments import (
    add_fit_options,
    add_seat_options,
    wrong_seat_fit,
)
from app.command_line.standing_arguments import (
    Point,
    add_datum_options,
    add_standing_options,
    point,
    wrong_standing,
)
from app.command_line.tunnel_arguments import add_tunnel_options
from app.units import NotALengthError, parse_length
from app.version import __version__

if TYPE_CHECKING:
    from app.job import HowMade
    from geometry.datum import TapeKind

COMMANDS = (
    "demo",
    "scan",
    "datum",
    "lines",
    "blank",
    "layout",
    "breaks",
    "gauges",
    "seat",
    "fit",
    "flanges",
    "capacity",
    "tunnel",
    "board",
    "readings",
)

_STOOD_UP = ("layout", "breaks", "gauges", "flanges", "capacity")
_ON_A_SCAN = ("scan", "datum", "lines", "blank", *_STOOD_UP)

_HOW: "Mapping[str, HowMade]" = MappingProxyType(
    {
        "mostly stretch": "mostly stretch",
        "stretch": "mostly stretch",
        "both": "both",
        "mostly shrink": "mostly shrink",
        "shrink": "mostly shrink",
    }
)


class TapeWords(NamedTuple):
    """What was said of a tape, in the order a `Tape` takes it."""

    start: Point
    end: Point
    length_mm: float
    over: bool
    kind: "TapeKind"
    points: tuple[Point, ...]
    towards: Point | None


_THINNEST_MM, _THICKEST_MM = 0.2, 10.0
_THICKEST_PAINT_MM = 20.0
_MOST_PIECES = 6
_LOOSEST_MM, _LOOSEST_SHARE = 10.0, 0.02
_ABOUT = """From a scan of a tank to panel patterns you can cut, form and trust.

  lowcrown                   open the window
  lowcrown FILE              open the window on a scan or a job
  lowcrown demo --out DIR    the whole job on the sample tank, so that you see what comes out
  lowcrown scan FILE         look a scan over: pieces, holes, likely unit, doubts
  lowcrown datum FILE        centre plane, level, left against right
  lowcrown lines FILE        character lines and flat faces
  lowcrown blank FILE        lay one ready-cut panel flat
  lowcrown layout FILE --seams SEAMS.json --out DIR
                             cut a scan along seams, lay every panel flat, write paper and DXF
  lowcrown breaks FILE --pieces 2-6 --out DIR
                             propose where to split the tank, on one page and to take one from
  lowcrown gauges FILE --stations 75mm --out DIR
                             station, bottom and side templates, and a checking frame, full size
  lowcrown flanges FILE --along rim --width 1/2in --out DIR
                             how far a tipped edge stretches or shrinks, station by station
  lowcrown seat FILE --out DIR
                             the face the seat meets: flatness, templates of face and line
  lowcrown fit FILE --frame FRAME.json --out DIR
                             least gaps to frame, forks and bars, from lock to lock
  lowcrown capacity FILE --cap flat --tunnel 70x75:60x60
                             litres and gallons, low points, reserve, dip chart
  lowcrown tunnel SPEC.json --tank FILE --out DIR
                             the tunnel's nets, cut-off lines, and what it clears
  lowcrown board DIR         the job files of a folder: next step of each, and what was printed
  lowcrown readings JOB PANEL "C4 26 25.5 24.5 24" ...
                             squares of the grid read on a worked panel: how far it was stretched
"""
_ENDINGS = """exit codes: 0 done; 1 could not, the reason is on standard error; 2 wrong use;
3 the size is not known or a tape does not agree; 130 stopped."""
_TAPE = """a distance you taped on the real tank between two points of the file, as
"x,y,z:x,y,z=560mm" or "...=22 1/16in"; end it in " over" when the tape lay on the surface,
otherwise it was pulled straight. Round the tank in one plane, pulled tight: three points on it, as
"x,y,z:x,y,z:x,y,z=912mm girth", or two and the way the plane lies, "...=912mm girth towards 0,0,1".
Through any number of points on the surface: "x,y,z:x,y,z:x,y,z=560mm along". Give two, in different
directions, and cutting files are made"""

_READING = """a square and what its sides measure, as "C4 26 25.5 24.5 24 / 36 35": two lengths
along its row, the one nearer row 1 first, two along its column, the one nearer column A first, and
after the stroke both diagonals, the one from the corner nearest A1 first. "C4 26 24.5" where both
sides of a way are alike and it kept its right angles. Bare numbers are in the unit of --show"""


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
        "datum",
        "find how the tank stands",
        "Finds the plane between left and right, what is level, and how the two sides differ.\n"
        "With --json its output can be given to layout --datum. Points are given in the file's\n"
        "own numbers; places come out in mm, in the file's axes.",
    ),
    _Command(
        "lines",
        "find character lines and flat faces",
        "Finds the crisp lines of a tank, with tip radius, angle between the flanks and height\n"
        "along them, and its flat faces.",
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
    _Command(
        "breaks",
        "propose where to split a tank",
        "Proposes break-ups into so many pieces, none beaten by another in pieces, shrink and\n"
        "weld, and writes them to compare on one page and to lay one out by its name.",
    ),
    _Command(
        "gauges",
        "cut templates to the tank's outlines",
        "Cuts boards to the tank's outlines at stations, along its bottom edge and its sides, and\n"
        "on request a slotted frame that stands up to check panels on. The tank is stood up by\n"
        "itself unless --datum says how.",
    ),
    _Command(
        "flanges",
        "tell what tipped edges take",
        "Tells flanges along the open edge, seams or crisp lines, station by station and hand by\n"
        "hand: turn, radius, stretch or shrink, lip thickness, and what the metal allows. A lip\n"
        "the scan shows is cut off or kept, never counted twice.",
    ),
    _Command(
        "seat",
        "find the face the seat meets",
        "Finds the flat the seat meets on the scan itself: its plane, its edge, how flat it is to\n"
        "0.1 mm, and the line ahead of it that the seat's lip follows. With --out its map and\n"
        "templates of both are written.",
    ),
    _Command(
        "fit",
        "measure gaps to the frame",
        "Tells the least gap between the tank and each body beside it, where it is, and how far\n"
        "what goes through reaches; what turns with the bars is tried from lock to lock. Bodies\n"
        "are typed in a file, or are a second scan. No proof of fit.",
    ),
    _Command(
        "capacity",
        "count what a tank holds",
        "Counts what the tank holds inside its metal, less the tunnel: litres and gallons, the\n"
        "reserve, a dip chart; where fuel gathers on the level, on the side stand, nose up and\n"
        "nose down, and what no tap lets out. With --out its pages and a dip stick are written.",
    ),
    _Command(
        "tunnel",
        "lay out the tunnel the frame runs through",
        "Lays a tunnel flat, rolled or folded, tapered, flared or stepped, from its own sizes or\n"
        "over a frame tube with every clearance a line of the sum. With a tank: where its legs\n"
        "are cut off, where its ends meet the skin. Gaps are told before and after welding.",
    ),
    _Command(
        "board",
        "list the jobs of a folder",
        "Lists the job files of a folder: the next step of each, the latest revision printed, and\n"
        "older ones to be thrown away. Nothing is kept that is not in the files.",
    ),
    _Command(
        "readings",
        "read the grid back from a worked panel",
        "Tells from squares of the grid, measured on a worked panel, how far the metal was moved\n"
        "there, beside what the pattern asks, and how thick it is left. A job file holds no\n"
        "patterns: the panel is laid flat anew from what the job decides.",
    ),
)


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
    for name in _ON_A_SCAN:
        made[name].add_argument("file", metavar="FILE", type=Path, help="STL, PLY, OBJ, OFF or 3MF")
        _add_size(made[name])
    _add_seams(made["layout"])
    add_datum_options(made["datum"])
    for name in _STOOD_UP:
        add_standing_options(made[name])
    add_gauge_options(made["gauges"])
    _add_pieces(made["breaks"])
    for name in ("blank", "layout"):
        _add_work(made[name], per_panel=name == "layout")
    for name in ("blank", *_STOOD_UP, "demo"):
        _add_out(made[name])
        if name != "demo":
            _add_metal(made[name])
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
        _add_size(command)
        add_standing_options(command)
        _add_out(command)
        _add_metal(command)
        add_paper_options(command)


def _add_tunnel(command: Parser) -> None:
    add_tunnel_options(command)
    _add_size(command)
    add_standing_options(command)
    _add_out(command)
    _add_metal(command)
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
    group.add_argument(
        "--tape-limit",
        type=tape_limit,
        metavar="1mm,0.002",
        help="how far a tape may be off: a length, and a share of what was taped; the larger "
        "counts",
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
    top, commands = _parsers()
    asked = top.parse_args(joined(argv))
    checks = (
        _wrong_size,
        _wrong_making,
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


def _wrong_size(asked: argparse.Namespace) -> str:
    """Return what contradicts itself in how big a scan is, or ""."""
    if getattr(asked, "rescale", False) and asked.unit is not None:
        return "--unit and --rescale contradict each other: a scan has a unit, or no scale"
    return ""


def _wrong_making(asked: argparse.Namespace) -> str:
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


_HOW_LAID = re.compile(r"\s+(over|girth|along)(?:\s+towards\s+(.+?))?\s*\Z")


def tape(words: str) -> TapeWords:
    """Return where a tape lay, its length in mm and how it lay.

    >>> tape("0,0,0:1,-2.5,3e1=22 1/2in over")[:5]
    ((0.0, 0.0, 0.0), (1.0, -2.5, 30.0), 571.5, True, 'over')
    >>> tape("0,0,0:1,0,0=912 mm girth towards 0,0,1").towards
    (0.0, 0.0, 1.0)
    """
    laid, equals, taped = words.partition("=")
    points = tuple(point(place) for place in laid.split(":")) if equals and ":" in laid else ()
    if not points:
        raise argparse.ArgumentTypeError(
            f'"{words}" is not a tape: write it as "x,y,z:x,y,z=560mm"'
        )
    told = _HOW_LAID.search(taped)
    length_mm = _length(taped[: told.start()] if told else taped, "the tape's length")
    if length_mm <= 0.0:
        raise argparse.ArgumentTypeError("a tape's length must be above 0")
    kind = cast("TapeKind", told[1] if told else "straight")
    towards = point(told[2]) if told and told[2] else None
    _check_points(kind, points, towards)
    between = points if kind in ("girth", "along") else ()
    return TapeWords(points[0], points[-1], length_mm, kind == "over", kind, between, towards)


def _check_points(kind: str, points: tuple[Point, ...], towards: Point | None) -> None:
    """Refuse a tape with more or fewer points than its kind has."""
    if towards is not None and kind != "girth":
        raise argparse.ArgumentTypeError('only a girth goes "towards" a direction')
    if kind == "girth" and len(points) != (3 if towards is None else 2):
        raise argparse.ArgumentTypeError(
            "a girth takes three points on the tank, or two and the way its plane lies: "
            '"x,y,z:x,y,z=912mm girth towards 0,0,1"'
        )
    if kind in ("straight", "over") and len(points) != 2:
        raise argparse.ArgumentTypeError(
            f'{len(points)} points are too many for this tape: end it in " girth" when it went '
            'round the tank, in " along" when it lay along the surface through them all'
        )


def tape_limit(words: str) -> "tuple[float, float]":
    """Return how far a tape may be off: mm, and a share of its length.

    >>> tape_limit("1mm"), tape_limit("1/16in, 0.001")
    ((1.0, 0.002), (1.5875, 0.001))
    """
    length, comma, share = words.partition(",")
    limit_mm = _length(length, "the limit")
    try:
        ratio = float(share) if comma else 0.002
    except ValueError:
        raise argparse.ArgumentTypeError(f'"{share}" is not a number, as 0.002') from None
    if not 0.0 < limit_mm <= _LOOSEST_MM or not 0.0 <= ratio <= _LOOSEST_SHARE:
        raise argparse.ArgumentTypeError(
            f'"{words}": a tape may be off by up to {_LOOSEST_MM:g} mm and {_LOOSEST_SHARE:g} of '
            "its length, written as 1mm or 1mm,0.002"
        )
    return limit_mm, ratio


def _length(words: str, what: str) -> float:
    if not re.search(r"[a-z#\"'\u2032\u2033]", words.lower()):
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
