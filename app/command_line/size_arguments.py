"""How big a scan is, as it is typed: its unit, tapes, how far one may be off."""

import argparse
import re
from typing import TYPE_CHECKING, NamedTuple, cast

from app.command_line.length_argument import length_with_unit
from app.command_line.standing_arguments import Point, point

if TYPE_CHECKING:
    from geometry.datum import TapeKind


class TapeWords(NamedTuple):
    """What was said of a tape, in the order a `Tape` takes it."""

    start: Point
    end: Point
    length_mm: float
    over: bool
    kind: "TapeKind"
    points: tuple[Point, ...]
    towards: Point | None


_LOOSEST_MM, _LOOSEST_SHARE = 10.0, 0.02

_TAPE = """a distance you taped on the real tank between two points of the file, as
"x,y,z:x,y,z=560mm" or "...=22 1/16in"; end it in " over" when the tape lay on the surface,
otherwise it was pulled straight. Round the tank in one plane, pulled tight: three points on it, as
"x,y,z:x,y,z:x,y,z=912mm girth", or two and the way the plane lies, "...=912mm girth towards 0,0,1".
Through any number of points on the surface: "x,y,z:x,y,z:x,y,z=560mm along". Give two, in different
directions, and cutting files are made"""


def add_size_options(command: argparse.ArgumentParser) -> None:
    """Add what says how big a scan is."""
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


def wrong_size(asked: argparse.Namespace) -> str:
    """Return what contradicts itself in how big a scan is, or ""."""
    if getattr(asked, "rescale", False) and asked.unit is not None:
        return "--unit and --rescale contradict each other: a scan has a unit, or no scale"
    return ""


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
    length_mm = length_with_unit(taped[: told.start()] if told else taped, "the tape's length")
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
    limit_mm = length_with_unit(length, "the limit")
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
