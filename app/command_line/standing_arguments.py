"""What can be typed about how a tank stands: directions, picks, the datum, holes to fill, lines."""

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from app.job import Fill, HowLevel

Point = tuple[float, float, float]

_MOST_HOLES = 1000


@dataclass(frozen=True)
class FillWords:
    """What becomes of holes: by a rule, or by the numbers `scan` gives them.

    Attributes
    ----------
    rule : "usual", "all" or "none"
    numbers : tuple of int
        Counted from 1: these are filled, the others left open.
    """

    rule: "Fill"
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True)
class LevelWords:
    """How a tank is levelled: by itself, as `--up` says, or from places equally high."""

    how: "HowLevel"
    picks: tuple[Point, ...] = ()


def add_ways(group: "argparse._ArgumentGroup") -> None:
    """Add which way the tank faces and stands."""
    group.add_argument(
        "--front", type=direction, metavar="X,Y,Z", help="the way to the headstock end"
    )
    group.add_argument("--up", type=direction, metavar="X,Y,Z", help="the way up, roughly")


def add_datum_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown datum` is told of front, up and the centre plane."""
    group = command.add_argument_group("how it stands (points and directions in the file's axes)")
    group.add_argument(
        "--on-centre",
        action="append",
        default=[],
        type=point,
        metavar="X,Y,Z",
        help="a point on the centre line, in the file's own numbers; three or more, apart from "
        "each other, fix the centre plane by themselves",
    )
    group.add_argument(
        "--pair",
        action="append",
        default=[],
        type=pair,
        dest="pairs",
        metavar="X,Y,Z:X,Y,Z",
        help="the same place on the left and on the right side, in the file's own numbers",
    )
    add_ways(group)
    group.add_argument(
        "--level",
        type=level,
        default=LevelWords("auto"),
        metavar="auto|up|X,Y,Z:X,Y,Z",
        help="auto: by the flat bottom edge; up: exactly as --up says; two points or more: they "
        "stand equally high",
    )


def add_standing_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown layout` is told of datum, holes, lines and the side to copy."""
    group = command.add_argument_group("what of the scan is taken, and how it stands")
    group.add_argument(
        "--datum",
        type=datum_source,
        metavar="auto|FILE",
        help="stand the tank up by itself, or as the JSON of lowcrown datum says",
    )
    group.add_argument(
        "--fill",
        type=fill,
        metavar="all|none|LIST",
        help="holes to fill by guess: all, none, or numbers as lowcrown scan lists them, as 1,4,5; "
        "unless said, small ones are",
    )
    group.add_argument(
        "--lines",
        choices=("auto", "none"),
        help="auto: find the character lines and keep the sure ones crisp; none is usual",
    )
    group.add_argument(
        "--copy-side",
        choices=("left", "right"),
        help="mirror that side to the other; needs --datum",
    )


def wrong_standing(asked: argparse.Namespace) -> str:
    """Return what contradicts itself in how a tank is to stand, or ""."""
    if getattr(asked, "copy_side", None) is not None and asked.datum is None:
        return "--copy-side needs to know left from right: add --datum auto or --datum FILE"
    if asked.command == "datum" and asked.level.how == "given" and asked.up is None:
        return "--level up needs --up: say which way that is"
    return ""


def point(words: str) -> Point:
    """Return a point typed as three numbers.

    >>> point("12.5,0,-3e1")
    (12.5, 0.0, -30.0)
    """
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


def direction(words: str) -> Point:
    """Return a direction: three numbers, not all 0.

    >>> direction("0,0,1")
    (0.0, 0.0, 1.0)
    """
    found = point(words)
    if not any(found):
        raise argparse.ArgumentTypeError(f'"{words}" points nowhere: all three numbers are 0')
    return found


def pair(words: str) -> tuple[Point, Point]:
    """Return two points.

    >>> pair("0,1,2:0,-1,2")
    ((0.0, 1.0, 2.0), (0.0, -1.0, 2.0))
    """
    one, colon, other = words.partition(":")
    if not colon:
        raise argparse.ArgumentTypeError(
            f'"{words}" is not a pair: write two points with a colon between, as 0,12,5:0,-12,5'
        )
    found = point(one), point(other)
    if found[0] == found[1]:
        raise argparse.ArgumentTypeError(f'"{words}" names the same point twice')
    return found


def level(words: str) -> LevelWords:
    """Return how a tank is levelled.

    >>> level("up").how, level("0,1,2:5,1,2").how
    ('given', 'picks')
    """
    plain = words.strip().lower()
    if plain in ("auto", "up"):
        return LevelWords("auto" if plain == "auto" else "given")
    if ":" not in plain:
        raise argparse.ArgumentTypeError(
            f'"{words}" is no way to level: say auto, up, or two points equally high, as '
            "0,1,2:50,1,2"
        )
    return LevelWords("picks", tuple(point(place) for place in plain.split(":")))


def datum_source(words: str) -> Path | Literal["auto", "none"]:
    """Return "auto", or the file a datum is read from."""
    if words in ("auto", "none"):
        return "auto" if words == "auto" else "none"
    if not words.strip():
        raise argparse.ArgumentTypeError("name a file, or say auto")
    return Path(words)


def fill(words: str) -> FillWords:
    """Return which holes are to be filled.

    >>> fill("all").rule, fill("2, 5,2").numbers
    ('all', (2, 5))
    """
    plain = words.strip().lower()
    if plain in ("all", "none", "usual"):
        rules: dict[str, Fill] = {"all": "all", "none": "none", "usual": "usual"}
        return FillWords(rules[plain])
    try:
        numbers = sorted({int(number) for number in plain.split(",")})
    except ValueError:
        raise argparse.ArgumentTypeError(
            f'"{words}" is not a list of holes: say all, none, or numbers as lowcrown scan lists '
            "them, as 1,4,5"
        ) from None
    if numbers[0] < 1 or numbers[-1] > _MOST_HOLES:
        raise argparse.ArgumentTypeError(f'"{words}": holes are counted from 1')
    return FillWords("none", tuple(numbers))
