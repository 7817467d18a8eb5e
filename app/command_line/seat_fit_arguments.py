"""What can be typed of the seat face, and of what a tank is held against."""

import argparse
from pathlib import Path

from app.command_line.length_argument import length_argument
from app.command_line.standing_arguments import add_ways, point


def add_seat_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown seat` is told."""
    command.set_defaults(datum="auto")
    group = command.add_argument_group("the seat face")
    group.add_argument(
        "--near",
        type=point,
        metavar="A,L,U",
        help="a place on it, in mm: ahead of the tank's rear end, left of its centre, over its "
        "lowest place; unless said it is the largest flat that faces the rear",
    )
    group.add_argument(
        "--line",
        type=length_argument,
        metavar="4mm",
        help="how far ahead of the face the line lies that the seat's lip follows",
    )
    group.add_argument(
        "--rest",
        type=Path,
        metavar="REST.json",
        help="the seat face as written in a file, held for instance; what is said here counts "
        "before it",
    )
    add_ways(group)


def add_fit_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown fit` is told."""
    command.set_defaults(datum="auto")
    group = command.add_argument_group("what it stands beside")
    group.add_argument(
        "--frame",
        dest="rest",
        type=Path,
        metavar="FRAME.json",
        help="tubes, bolts, rubbers, coil, fork legs, bars and the steering, under "
        '"frame_fit": see the guide for what stands in it',
    )
    group.add_argument(
        "--second",
        type=Path,
        metavar="FILE",
        help="a scan of what it stands on, in the axes of the tank's unless the file of the frame "
        "says by which places it is placed",
    )
    group.add_argument(
        "--second-unit",
        choices=("mm", "cm", "m", "in"),
        help="what a coordinate of that scan means; mm unless said",
    )
    add_ways(group)


def wrong_seat_fit(asked: argparse.Namespace) -> str:
    """Return what is lacking or contradicts itself in what is asked, or ""."""
    if asked.command != "fit":
        return ""
    if asked.rest is None and asked.second is None:
        return "--frame or --second has to say what the tank is held against"
    if asked.second_unit is not None and asked.second is None:
        return "--second-unit needs --second"
    return ""
