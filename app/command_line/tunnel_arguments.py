"""What can be typed of a tunnel: its file, the tank it is for, a scan of the tube it goes over."""

import argparse
from pathlib import Path

from app.command_line.standing_arguments import add_ways


def add_tunnel_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown tunnel` is told."""
    command.add_argument(
        "spec",
        metavar="SPEC.json",
        type=Path,
        help="sizes, form, place, tube and clearances: see the guide for what stands in it",
    )
    command.set_defaults(datum="auto")
    group = command.add_argument_group("what it is laid out for")
    group.add_argument(
        "--tank",
        dest="file",
        type=Path,
        metavar="FILE",
        help="the scan of the tank: finds the cut-off line and where the ends meet the skin; "
        "without one the foot line is the bottom",
    )
    group.add_argument(
        "--tube",
        type=Path,
        metavar="FILE",
        help="a scan of the frame tube, in the axes and the unit of the tank's: a round tube is "
        "fitted to it, in place of the one the file says",
    )
    add_ways(group)
