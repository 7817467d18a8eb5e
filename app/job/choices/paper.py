"""What the maker decided for paper: allowances by edge, grain, price, and what was printed."""

from dataclasses import dataclass
from typing import Literal, get_args

from geometry.pattern import (
    FREEHAND_MM,
    IN_A_FORM_MM,
    AllowanceCorner,
    AllowanceKind,
    EdgeAllowance,
)

Forming = Literal["form", "freehand"]
Grain = Literal["along", "across", "any"]
PricedBy = Literal["kg", "lb", "sheet"]

FORMINGS: tuple[Forming, ...] = get_args(Forming)
GRAINS: tuple[Grain, ...] = get_args(Grain)
PRICED_BY: tuple[PricedBy, ...] = get_args(PricedBy)


def usual_trim_mm(forming: Forming) -> float:
    """Return what is usually left outside the net line, mm: see `geometry.pattern`.

    >>> usual_trim_mm("form"), usual_trim_mm("freehand")
    (12.7, 25.4)
    """
    return IN_A_FORM_MM if forming == "form" else FREEHAND_MM


@dataclass(frozen=True)
class EdgeChoice:
    """What is left outside the net line along one edge of one panel.

    Attributes
    ----------
    panel : str
    edge : str
        Its `geometry.pattern.edge_key`: "seam name|other panel" along a seam, or the letter of a
        free edge.
    kind, width_mm, angle_deg, corner
        See `geometry.pattern.EdgeAllowance`.
    """

    panel: str
    edge: str
    kind: AllowanceKind = "trim"
    width_mm: float = IN_A_FORM_MM
    angle_deg: float = 90.0
    corner: AllowanceCorner = "round"

    @property
    def allowance(self) -> EdgeAllowance:
        """Return it as the pattern takes it."""
        return EdgeAllowance(self.kind, self.width_mm, self.angle_deg, self.corner)


@dataclass(frozen=True)
class Price:
    """What sheet costs.

    Attributes
    ----------
    amount : float
    per : "kg", "lb" or "sheet"
    currency : str
        As the maker writes it: "EUR", "$".
    """

    amount: float
    per: PricedBy = "kg"
    currency: str = ""


@dataclass(frozen=True)
class Print:
    """One revision that left the program.

    Attributes
    ----------
    revision : int
    dated : str
        The day its first print was made, year-month-day.
    digest : str
        Of everything decided that reaches paper.
    """

    revision: int
    dated: str
    digest: str
