"""What can be typed of flanges: along what, how wide, turned how far, and what of a lip there."""

import argparse
import math
from pathlib import Path

from app.command_line.length_argument import length_argument
from app.command_line.standing_arguments import add_ways
from app.units import NotAnAngleError, parse_angle


def add_flange_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown flanges` is told."""
    command.set_defaults(datum="auto")
    where = command.add_argument_group("where they run")
    where.add_argument(
        "--along",
        action="append",
        default=[],
        metavar="EDGE",
        help='"rim", the open edge, unless said; a seam by its name (with --seams); or "line 1", a '
        "crisp line (with --lines auto); as often as you like",
    )
    where.add_argument(
        "--seams", type=Path, metavar="SEAMS.json", help="where the panels part, by name"
    )
    where.add_argument(
        "--side",
        choices=("left", "right"),
        default="left",
        help="on which side of a seam or line, as drawn and seen from outside, the flange's panel "
        "lies",
    )
    where.add_argument(
        "--stations",
        type=length_argument,
        default=50.0,
        metavar="50mm",
        help="from station to station; 50mm unless said",
    )
    where.add_argument(
        "--calm",
        type=length_argument,
        default=0.0,
        metavar="25mm",
        help="look so far to either side at least: shorter waves of a ragged edge are no shape; as "
        "little as the scan's scatter asks unless said",
    )
    add_ways(where)
    _add_shape(command.add_argument_group("the flange"))


def _add_shape(group: "argparse._ArgumentGroup") -> None:
    group.add_argument(
        "--width",
        type=length_argument,
        default=12.7,
        metavar="1/2in",
        help="finished, from the outside of the bend; 1/2in unless said",
    )
    group.add_argument(
        "--angle",
        type=_angle,
        default=math.pi / 2.0,
        metavar="90",
        help="how far it is turned out of the panel, degrees; 90 unless said",
    )
    group.add_argument(
        "--level", action="store_true", help="turned by what it takes to lie level, instead"
    )
    group.add_argument(
        "--to",
        choices=("inside", "outside"),
        default="inside",
        help="to which side of the tank; inside unless said",
    )
    group.add_argument(
        "--root-radius",
        type=length_argument,
        default=1.6,
        metavar="1.6mm",
        help="inside radius of its bend; 1.6mm unless said",
    )
    group.add_argument(
        "--lip",
        choices=("ask", "cut-off", "keep"),
        default="ask",
        help="what of a lip the scan shows: cut it off at its root line and turn a new flange from "
        "there, or keep it as part of the panel and tell what it takes; refused unless said",
    )


def wrong_flanges(asked: argparse.Namespace) -> str:
    """Return what contradicts itself in what is asked of flanges, or ""."""
    if asked.command != "flanges":
        return ""
    for edge in asked.along:
        if edge.startswith("line ") and asked.lines != "auto" and asked.seams is None:
            return f'--along "{edge}" needs --lines auto: the lines have to be found'
    return ""


def _angle(words: str) -> float:
    """Return an angle in radians.

    >>> round(_angle("90"), 6)
    1.570796
    """
    try:
        return parse_angle(words)
    except NotAnAngleError:
        raise argparse.ArgumentTypeError(f'"{words}" is not an angle: type degrees') from None
