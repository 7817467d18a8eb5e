"""What can be typed of gauges: stations, kind of board, checking frame."""

import argparse

from app.command_line.length_argument import length_argument
from app.command_line.standing_arguments import add_ways


def add_gauge_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown gauges` is told."""
    command.set_defaults(datum="auto")
    _add_stations(command.add_argument_group("where stations stand"))
    _add_boards(command.add_argument_group("the boards"))
    _add_frame(command.add_argument_group("the checking frame: slotted boards that stand up"))
    _add_sweeps(command.add_argument_group("sweeps: boards of known radius"))


def _add_stations(group: "argparse._ArgumentGroup") -> None:
    group.add_argument(
        "--stations",
        type=length_argument,
        default=75.0,
        metavar="75mm",
        help="from station to station, back from the front end; closer where the tank bends "
        "tightly, and one each where it is widest and highest; 75mm unless said",
    )
    group.add_argument(
        "--at",
        action="append",
        default=[],
        type=length_argument,
        metavar="LENGTH",
        help="a station of your own, so far back from the front end; as often as you like",
    )
    group.add_argument("--only-at", action="store_true", help="those given by --at are all")
    add_ways(group)


def _add_boards(group: "argparse._ArgumentGroup") -> None:
    group.add_argument(
        "--kind",
        choices=("female", "male"),
        default="female",
        help="laid over the outside, as usual, or into the inside",
    )
    group.add_argument(
        "--touch",
        choices=("outside", "inside"),
        help="which face of the new metal they touch; unless said female ones its outside, male "
        "ones its inside",
    )
    group.add_argument(
        "--whole", action="store_true", help="one board across instead of left and right"
    )
    group.add_argument(
        "--turn-over",
        type=length_argument,
        default=2.0,
        metavar="2mm",
        help="up to which difference a board turned over serves for the other hand",
    )
    group.add_argument(
        "--board",
        type=length_argument,
        default=40.0,
        metavar="40mm",
        help="how wide a female board is beyond the outline",
    )
    group.add_argument("--no-profile", action="store_true", help="without the bottom profile")
    group.add_argument(
        "--bottom-from",
        choices=("each", "left", "right"),
        default="each",
        help="of which hand's bottom edge its boards are made, for both hands: for a scan whose "
        "edge is torn on one; each of its own unless said",
    )
    group.add_argument(
        "--side-line",
        choices=("widest", "crisp", "none"),
        default="widest",
        help="which line along the side has templates; crisp needs --lines auto",
    )


def _add_frame(group: "argparse._ArgumentGroup") -> None:
    group.add_argument(
        "--frame", type=length_argument, metavar="6mm", help="make one, of board so thick"
    )
    group.add_argument(
        "--play",
        type=length_argument,
        default=0.2,
        metavar="0.2mm",
        help="how much wider its slots are",
    )
    group.add_argument(
        "--beside",
        action="append",
        default=[],
        type=length_argument,
        metavar="LENGTH",
        help="a board along either side, so far from the centre line",
    )


def _add_sweeps(group: "argparse._ArgumentGroup") -> None:
    group.add_argument(
        "--sweeps",
        nargs="?",
        const=(),
        type=_radii,
        metavar="50mm,75mm,6in",
        help="make sweeps, of these radii; of none typed, those the tank has, as few as keep "
        "within the gap",
    )
    group.add_argument(
        "--sweep-gap",
        type=length_argument,
        metavar="0.25mm",
        help="the widest gap under a sweep where it serves: the closer, the more there are; "
        "0.25mm unless said",
    )
    group.add_argument(
        "--sweep-chord",
        type=length_argument,
        metavar="150mm",
        help="how long the long ones are, straight across; where that fits nowhere, shorter; "
        "150mm unless said",
    )


def _radii(words: str) -> tuple[float, ...]:
    """Return radii typed with commas between.

    >>> _radii("50mm,3in")
    (50.0, 76.2)
    """
    return tuple(length_argument(word) for word in words.split(","))


def wrong_gauges(asked: argparse.Namespace) -> str:
    """Return what contradicts itself in what is asked of gauges, or ""."""
    if asked.command != "gauges":
        return ""
    if asked.only_at and not asked.at:
        return "--only-at needs --at: say where the stations stand"
    if asked.beside and asked.frame is None:
        return "--beside needs --frame: say how thick its boards are"
    if asked.sweeps is None and (asked.sweep_gap or asked.sweep_chord):
        return "--sweep-gap and --sweep-chord need --sweeps"
    if asked.side_line == "crisp" and asked.lines != "auto":
        return "--side-line crisp needs --lines auto: the lines have to be found"
    return ""
