"""What can be typed of capacity: caps, tunnel, taps, stances, the dip stick."""

import argparse
import math
import re
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from app.command_line.standing_arguments import add_ways
from app.units import NotALengthError, NotAVolumeError, parse_length, parse_litres

if TYPE_CHECKING:
    from geometry.tank import TunnelTop

_TOPS: "dict[str, TunnelTop]" = {
    "flat": "flat",
    "half round": "half round",
    "round": "half round",
    "three-sided": "three-sided",
    "three sided": "three-sided",
    "cut corners": "cut corners",
}
_TOPS_TOLD = ("half round", "flat", "three sided", "cut corners")
_TUNNEL = """a straight tunnel to be taken off by its inside measures, width by height over the
bottom edge, front then rear, and its top: "70x75:60x60 half round", "flat", "three sided" (the
same, folded square) or "cut corners" (cut off by a quarter of the width at 45 degrees).
Or "laid": the one laid out in --rest."""
_TAP = """a tap on the bottom: so far ahead of the rear end and so far left (minus: right), as
"310mm,72mm" or "310,-72"; "310,72+30mm" with a standpipe so tall; as often as there are taps"""


class TunnelWords(NamedTuple):
    """A tunnel as typed, mm."""

    front_mm: tuple[float, float]
    rear_mm: tuple[float, float]
    top: "TunnelTop"


class TapPlace(NamedTuple):
    """A tap as typed, mm."""

    x_mm: float
    y_mm: float
    standpipe_mm: float | None


def add_capacity_options(command: argparse.ArgumentParser) -> None:
    """Add what `lowcrown capacity` is told."""
    command.set_defaults(datum="auto")
    group = command.add_argument_group("what is counted")
    group.add_argument(
        "--cap",
        choices=("flat", "ruled"),
        help="how an open bottom edge is closed: one flat sheet across, or straight from left to "
        "right all along; nothing is closed unasked",
    )
    group.add_argument("--tunnel", type=tunnel, default=(), metavar="TUNNEL", help=_TUNNEL)
    group.add_argument(
        "--baffles",
        type=_cubic,
        default=None,
        metavar="CM3",
        help="metal of baffles and the like inside, in cubic centimetres",
    )
    group.add_argument(
        "--rest",
        type=Path,
        metavar="REST.json",
        help="capacity and fittings as written in a file; what is said here counts before it",
    )
    add_ways(group)
    _add_stances(command.add_argument_group("where fuel lies"))


def _add_stances(group: "argparse._ArgumentGroup") -> None:
    group.add_argument(
        "--tap", action="append", default=[], type=tap, metavar="X,Y", dest="taps", help=_TAP
    )
    group.add_argument(
        "--crossover", action="store_true", help="a tube joins the two lowest places"
    )
    group.add_argument(
        "--lean",
        type=degrees,
        metavar="12",
        help="degrees on the side stand, left; minus: right; 12 unless said. With --litres it is "
        "leant so with that much in it, upright unless said",
    )
    group.add_argument(
        "--slope", type=degrees, metavar="10", help="degrees nose up and nose down; 10 unless said"
    )
    group.add_argument(
        "--stick", type=_place, metavar="X,Y", help="where the dip stick stands, as a tap"
    )
    group.add_argument(
        "--litres",
        type=_litres,
        metavar="3.5",
        help="how so much stands, leant as --lean and --nose-up say: its level, where its surface "
        "meets the metal, which outlets it covers",
    )
    group.add_argument(
        "--nose-up",
        type=degrees,
        metavar="5",
        help="degrees the nose is up with --litres in it; minus: down",
    )


def degrees(words: str) -> float:
    """Return an angle in radians.

    >>> round(degrees("12"), 4)
    0.2094
    """
    try:
        return math.radians(float(words.replace(",", ".").removesuffix("°")))
    except ValueError:
        raise argparse.ArgumentTypeError(f'"{words}" is no angle in degrees') from None


def _cubic(words: str) -> float:
    try:
        value = float(words.replace(",", "."))
    except ValueError:
        value = -1.0
    if not 0.0 <= value < 1e5:
        raise argparse.ArgumentTypeError(f'"{words}" is no volume in cubic centimetres')
    return value


def _litres(words: str) -> float:
    try:
        return parse_litres(words)
    except NotAVolumeError:
        raise argparse.ArgumentTypeError(
            f'"{words}" is no volume: say 3.5, 500ml, "0.9 US gal" or "0.75 imp gal"'
        ) from None


def _length(words: str) -> float:
    plain = words.strip()
    sign = -1.0 if plain.startswith("-") else 1.0
    try:
        return sign * parse_length(plain.lstrip("+-"))
    except NotALengthError as error:
        raise argparse.ArgumentTypeError(f'"{words}" is not a length: {error.reason}') from None


def _place(words: str) -> tuple[float, float]:
    ahead, comma, left = words.partition(",")
    if not comma:
        raise argparse.ArgumentTypeError(f'"{words}" is no place: say ahead and left, as 310,72')
    return _length(ahead), _length(left)


def tap(words: str) -> TapPlace:
    """Return a tap as typed.

    >>> tap("310,-72+30mm")
    TapPlace(x_mm=310.0, y_mm=-72.0, standpipe_mm=30.0)
    >>> tap("310mm, 2 1/2in").y_mm
    63.5
    """
    place, plus, pipe = words.partition("+")
    return TapPlace(*_place(place), _length(pipe) if plus else None)


def tunnel(words: str) -> TunnelWords | None:
    """Return a tunnel as typed; None for the one that is laid out.

    >>> tunnel("70x75:60x60 half round")
    TunnelWords(front_mm=(70.0, 75.0), rear_mm=(60.0, 60.0), top='half round')
    >>> tunnel("70x75 three sided").top
    'three-sided'
    >>> tunnel("laid") is None
    True
    """
    if words.strip() == "laid":
        return None
    found = re.fullmatch(
        r"\s*([^:]+?)(?::(.+?))?(?:\s+(flat|half round|round|three[- ]sided|cut corners))?\s*",
        words,
    )
    try:
        front = _across(found[1] if found else words)
        rear = front if found is None or found[2] is None else _across(found[2])
    except argparse.ArgumentTypeError as error:
        raise argparse.ArgumentTypeError(
            f'{error}. A tunnel is said as "70x75:60x60 half round": width by height at the front '
            f"and at the rear, and its top: {', '.join(_TOPS_TOLD)}"
        ) from None
    return TunnelWords(front, rear, _TOPS[found[3] if found and found[3] else "half round"])


def _across(words: str) -> tuple[float, float]:
    wide, times, high = words.partition("x")
    if not times:
        raise argparse.ArgumentTypeError(f'"{words}" is no width by height: say "70x75"')
    return _length(wide), _length(high)
