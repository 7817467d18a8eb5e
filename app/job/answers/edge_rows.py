"""The edges of a blank as a short table: flat, formed, and what each has to lose or gain."""

from dataclasses import dataclass

from app.units import fraction_text, plain_number
from geometry.pattern import Pattern

SHRINK = "\u2212"


@dataclass(frozen=True)
class EdgeRow:
    """One edge, in words and in one unit.

    Attributes
    ----------
    letter : str
        As on paper, the same on both panels of a seam.
    joins : str
        The panel on its other side, or "free".
    flat, formed : str
        Its length along the net line.
    at_net, at_cut : str
        How much longer it has to get, below 0 shorter, along the net line and along the cut line;
        the latter "" without one.
    """

    letter: str
    joins: str
    flat: str
    formed: str
    at_net: str
    at_cut: str


def edge_rows(pattern: Pattern, show: str = "mm") -> tuple[EdgeRow, ...]:
    """Return the edges of a blank, in their order round it; lengths in mm, or in inches to 1/32."""
    cut = {gather.letter: gather.total_mm for gather in pattern.cut_gathers}
    rows = []
    for edge in pattern.edges:
        at_cut = cut.get(edge.letter)
        rows.append(
            EdgeRow(
                edge.letter,
                edge.other or "free",
                _number(edge.flat_mm, show),
                _number(edge.formed_mm, show),
                _by(edge.flat_mm, edge.formed_mm, show),
                "" if at_cut is None else _by(at_cut[0], at_cut[1], show),
            )
        )
    return tuple(rows)


def _number(length_mm: float, show: str) -> str:
    if show == "in":
        return fraction_text(length_mm, 32).removesuffix(" in")
    return plain_number(length_mm)


def _by(flat_mm: float, formed_mm: float, show: str) -> str:
    by = _number(abs(formed_mm - flat_mm), show)
    if by == "0":
        return by
    return f"{'+' if formed_mm > flat_mm else SHRINK}{by}"
