"""What can be said after `lowcrown` of paper, files, allowances and price. Reads no files."""

import argparse
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple, cast

from app.units import NotALengthError, parse_length

if TYPE_CHECKING:
    from app.exports import Paper
    from app.job import PricedBy
    from geometry.pattern import AllowanceCorner, AllowanceKind

_WIDEST_MM = 500.0
_LONGEST_NAME = 60

_ALLOWANCE = """what is left outside the net line along one edge, as "left side:A=hem 8mm": the
panel, the edge's letter as printed on its pattern (F1, F2 along the tank's own rim), or
"seam|other panel" instead of the letter, then trim, none, hem, lap, joggle or flange, a width
(not for none), for a flange the angle if it is not 90deg (-90deg folds it to the outside), and
mitred or notched corners if they are not to be round; repeatable. "none" says that nothing is
trimmed after: the cut line is the net line there"""


class AllowanceWords(NamedTuple):
    """What was said of an edge: its panel, its letter or key, and what is left there."""

    panel: str
    edge: str
    kind: "AllowanceKind"
    width_mm: float
    angle_deg: float
    corner: "AllowanceCorner"


class PriceWords(NamedTuple):
    """What was said of the sheet's price, in the order a `Price` takes it."""

    amount: float
    per: "PricedBy"
    currency: str


class Measured(NamedTuple):
    """What the bars of a check page measure, and what it was printed on if that was said."""

    level_mm: float
    upright_mm: float
    paper: "Paper | None"
    on_roll: bool


def add_paper_options(command: argparse.ArgumentParser) -> None:
    """Add papers, roll, printer and kinds of file."""
    group = command.add_argument_group("paper and files")
    group.add_argument(
        "--paper",
        action="append",
        type=papers,
        metavar="A4,A3",
        help="papers that full-size tiles are made for: A4, A3, A2, A1, A0, letter, legal, tabloid "
        "or a size as 500x700mm; repeatable",
    )
    group.add_argument(
        "--roll",
        type=roll,
        metavar="24in",
        help="width of the roll for the one-piece page; without, a page as large as the pattern",
    )
    group.add_argument(
        "--printer", metavar="NAME", help="a printer measured before, as kept in your settings"
    )
    group.add_argument(
        "--printer-measured",
        type=measured,
        metavar="189.4x270.6mm",
        help="what the level and the upright bar of the printed check page measure, of the first "
        'paper or as "187x249mm on letter", "... on roll"; its bars of 100 mm will do as well',
    )
    group.add_argument(
        "--dxf",
        type=str.upper,
        choices=("R2010", "R12"),
        help="version of the cutting file: R12 for old cutters, which knows no unit",
    )
    group.add_argument(
        "--outline",
        choices=("arcs", "splines"),
        help="what smooth lines are made of in cutting files",
    )
    group.add_argument(
        "--turn",
        action=argparse.BooleanOptionalAction,
        default=None,
        help="turn patterns on the paper to save pages; with --no-turn FRONT stays level",
    )


def add_bench_options(command: argparse.ArgumentParser) -> None:
    """Add what is said of forming, edges, grain, model and price."""
    group = command.add_argument_group("for the bench")
    group.add_argument(
        "--forming",
        choices=("form", "freehand"),
        help="how panels are worked, and what is usually left to trim: 12.7 mm (1/2 in) in a form, "
        "25.4 mm (1 in) freehand",
    )
    group.add_argument(
        "--allowance",
        action="append",
        default=[],
        type=allowance,
        metavar="EDGE=KIND",
        dest="allowances",
        help=_ALLOWANCE,
    )
    group.add_argument(
        "--model", type=_words("the model"), metavar="NAME", help="what the tank is for"
    )
    group.add_argument(
        "--grain",
        choices=("along", "across", "any"),
        help="how the sheet's grain is to run: along FRONT, across it, or either",
    )
    group.add_argument(
        "--price",
        type=price,
        metavar="7.20EUR/kg",
        help='what sheet costs, by "kg", "lb" or "sheet"',
    )


def wrong_paper(asked: argparse.Namespace) -> str:
    """Return what contradicts itself in what was said of edges, or ""."""
    edges = [(words.panel, words.edge) for words in getattr(asked, "allowances", [])]
    twice = next((edge for edge in edges if edges.count(edge) > 1), None)
    if twice is not None:
        return f"--allowance is said twice for {twice[0]}:{twice[1]}: once is enough"
    return ""


def papers(words: str) -> "tuple[Paper, ...]":
    """Return papers by their names, with commas between.

    >>> [paper.name for paper in papers("A4,letter, 500x700mm")]
    ['A4', 'US Letter', '500x700mm']
    """
    from app.exports import BadPaperError, paper_named

    try:
        return tuple(paper_named(name) for name in words.split(","))
    except BadPaperError as error:
        raise argparse.ArgumentTypeError(f'paper "{error.text}": {error.reason}') from None


def roll(words: str) -> float:
    """Return the width of a roll in mm."""
    from app.exports import BadPaperError, roll_named

    try:
        return roll_named(words)
    except BadPaperError as error:
        raise argparse.ArgumentTypeError(f'roll "{error.text}": {error.reason}') from None


_MEASURED = re.compile(r"(?P<x>.+?)\s*[x\u00d7]\s*(?P<y>.+?)(?:\s+on\s+(?P<paper>.+))?")


def measured(words: str) -> Measured:
    """Return what the bars of a check page measure.

    >>> measured("189.4x270.6mm")[:2], measured("7 3/8 x 9 13/16 in on letter")[2].name
    ((189.4, 270.6), 'US Letter')
    """
    found = _MEASURED.fullmatch(words.strip())
    if found is None:
        raise argparse.ArgumentTypeError(
            f'"{words}" is not what two bars measure: write both, as 189.4x270.6mm'
        )
    unit = re.search(r"(mm|cm|in|\")\s*$", found["y"].lower())
    if unit is None:
        raise argparse.ArgumentTypeError(f'"{words}" needs its unit, as 189.4x270.6mm')
    level = found["x"] if re.search(r"[a-z\"]", found["x"].lower()) else found["x"] + unit[1]
    try:
        lengths = parse_length(level), parse_length(found["y"])
    except NotALengthError as error:
        raise argparse.ArgumentTypeError(f'"{words}" cannot be read: {error.reason}') from None
    on_roll = (found["paper"] or "").lower() == "roll"
    paper = papers(found["paper"])[0] if found["paper"] and not on_roll else None
    return Measured(*lengths, paper, on_roll)


def allowance(words: str) -> AllowanceWords:
    """Return what is left along an edge.

    >>> allowance("left side:A=hem 8mm")[:4], allowance("top:ridge|left side=none")[:4]
    (('left side', 'A', 'hem', 8.0), ('top', 'ridge|left side', 'none', 0.0))
    >>> allowance("top:F1=flange 3/8in -45deg mitred")[2:]
    ('flange', 9.525, -45.0, 'mitred')
    """
    edge, equals, told = words.rpartition("=")
    panel, colon, letter = edge.rpartition(":")
    if not (equals and colon and panel.strip() and letter.strip() and told.strip()):
        raise argparse.ArgumentTypeError(
            f'"{words}" is no allowance: write it as "left side:A=hem 8mm"'
        )
    kind, left = _kind(told.split())
    corner, left = _corner(left)
    angle_deg, left = _angle(left, kind)
    width_mm = _width(" ".join(left), kind)
    read = AllowanceWords(panel.strip(), letter.strip(), kind, width_mm, angle_deg, corner)
    _check(read)
    return read


def _check(words: AllowanceWords) -> None:
    """Refuse a fold nobody makes before anything is worked out."""
    from app.messages import sentence_for
    from geometry.pattern import BadAllowanceError, EdgeAllowance, check_allowance

    try:
        check_allowance(words.edge, EdgeAllowance(*words[2:]))
    except BadAllowanceError as error:
        raise argparse.ArgumentTypeError(sentence_for(error)) from None


def _kind(told: list[str]) -> "tuple[AllowanceKind, list[str]]":
    from geometry.pattern import ALLOWANCE_KINDS

    kind = told[0].lower()
    if kind not in ALLOWANCE_KINDS:
        raise argparse.ArgumentTypeError(
            f'"{told[0]}" is nothing to leave along an edge: say {", ".join(ALLOWANCE_KINDS)}'
        )
    return kind, told[1:]


def _corner(told: list[str]) -> "tuple[AllowanceCorner, list[str]]":
    from geometry.pattern import ALLOWANCE_CORNERS

    if told and told[-1].lower() in ALLOWANCE_CORNERS:
        return cast("AllowanceCorner", told[-1].lower()), told[:-1]
    return "round", told


def _angle(told: list[str], kind: str) -> tuple[float, list[str]]:
    """Return how far a flange is folded, degrees, and the words before."""
    found = re.fullmatch(r"([+-]?\d+(?:\.\d+)?)(?:deg|\u00b0)", told[-1].lower()) if told else None
    if found is None:
        return 90.0, told
    if kind != "flange":
        raise argparse.ArgumentTypeError(f"only a flange has an angle: {kind} takes none")
    return float(found[1]), told[:-1]


def _width(words: str, kind: str) -> float:
    if kind == "none":
        if words:
            raise argparse.ArgumentTypeError(
                f'"none" leaves nothing: no width goes with it ({words})'
            )
        return 0.0
    if re.match(r"[-\u2212]\s*[\d.,]", words):
        raise _out_of_reach(words)
    if not re.search(r"[a-z\"#]", words.lower()):
        raise argparse.ArgumentTypeError(f"{kind} needs its width with its unit, as {kind} 8mm")
    try:
        width_mm = parse_length(words)
    except NotALengthError as error:
        raise argparse.ArgumentTypeError(
            f'width "{words}" cannot be read: {error.reason}'
        ) from None
    if not 0.0 <= width_mm <= _WIDEST_MM or (width_mm == 0.0 and kind != "trim"):
        raise _out_of_reach(words)
    return width_mm


def _out_of_reach(words: str) -> argparse.ArgumentTypeError:
    return argparse.ArgumentTypeError(
        f'width "{words}": it has to be above nothing and at most {_WIDEST_MM:.0f} mm'
    )


_PRICE = re.compile(
    r"(?P<before>[^\d\s.,/]{0,6})\s*(?P<amount>\d+(?:[.,]\d{1,4})?)\s*(?P<after>[^\d\s.,/]{0,6}?)"
    r"\s*(?:/|per)\s*(?P<per>kg|lb|sheet)",
    re.IGNORECASE,
)


def price(words: str) -> PriceWords:
    """Return what sheet costs.

    >>> price("7.20EUR/kg")[:], price("$3,50 per lb")[:], price("84/sheet")[:]
    ((7.2, 'kg', 'EUR'), (3.5, 'lb', '$'), (84.0, 'sheet', ''))
    """
    found = _PRICE.fullmatch(words.strip())
    if found is None or (found["before"] and found["after"]):
        raise argparse.ArgumentTypeError(
            f'"{words}" is no price of sheet: write it as 7.20EUR/kg, $3.50/lb or 84EUR/sheet'
        )
    per = cast("PricedBy", found["per"].lower())
    return PriceWords(
        float(found["amount"].replace(",", ".")), per, found["before"] or found["after"]
    )


def _words(what: str) -> Callable[[str], str]:
    """Return a reader of a few printable words."""

    def read(words: str) -> str:
        if not words.strip() or not words.isprintable() or len(words) > _LONGEST_NAME:
            raise argparse.ArgumentTypeError(
                f"{what} must be a few printable words, {_LONGEST_NAME} signs at most"
            )
        return words.strip()

    return read
