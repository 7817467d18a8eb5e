"""What is left outside the net line of one panel, gathered for its pattern to be made from."""

from dataclasses import dataclass

from app.job.choices import EdgeChoice
from app.job.making.fitting_cuts import FittingCuts
from geometry.pattern import BendStock


@dataclass(frozen=True)
class Leaving:
    """What is left outside the net line of one panel.

    Attributes
    ----------
    trim_mm : float
        Along edges without a choice of their own.
    edges : tuple of EdgeChoice
        The panel's.
    stock : BendStock
        The sheet as it is bent.
    fittings : FittingCuts or None
        Holes set anew, and the old filler that is not cut; None where nothing is fitted.
    """

    trim_mm: float
    edges: tuple[EdgeChoice, ...]
    stock: BendStock
    fittings: FittingCuts | None = None
