"""The sheet as it is typed: thickness, alloy, the face scanned, the face marked."""

import argparse
from pathlib import Path

from app.command_line.length_argument import length_with_unit

_THINNEST_MM, _THICKEST_MM = 0.2, 10.0

_THICKEST_PAINT_MM = 20.0


def add_sheet_options(command: argparse.ArgumentParser) -> None:
    """Add what the sheet is, and what of it was scanned."""
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


def metal(words: str) -> float:
    """Return a sheet thickness in mm.

    >>> metal("1.6mm"), metal("1/16 in")
    (1.6, 1.5875)
    """
    thickness_mm = length_with_unit(words, "the sheet thickness")
    if not _THINNEST_MM <= thickness_mm <= _THICKEST_MM:
        raise argparse.ArgumentTypeError(
            f'the sheet thickness "{words}" is not between {_THINNEST_MM} and {_THICKEST_MM} mm'
        )
    return thickness_mm


def paint(words: str) -> float:
    """Return a thickness of paint or filler in mm."""
    thickness_mm = length_with_unit(words, "the paint's thickness")
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
