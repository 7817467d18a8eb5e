"""What is decided of a tank besides its panels: gauges, and whatever else is made for it.

Plain values all of them, so that the job file keeps them by their own names (`plain_json`). What
nobody decided is None, and not made.
"""

from dataclasses import dataclass
from typing import Literal

GaugeKind = Literal["female", "male"]


@dataclass(frozen=True)
class GaugeChoice:
    """Which gauges are made.

    Attributes
    ----------
    spacing_mm : float
        From station to station where the tank bends little.
    stations_mm : tuple of float
        Further stations of the maker's, from the rear end ahead.
    kind : "female" or "male"
        Female ones are laid over the outside, male ones into the inside.
    """

    spacing_mm: float = 75.0
    stations_mm: tuple[float, ...] = ()
    kind: GaugeKind = "female"


@dataclass(frozen=True)
class RestOfTank:
    """Everything decided of a tank besides its panels.

    Attributes
    ----------
    gauges : GaugeChoice or None
        None while nothing is decided of them: then none are made.
    """

    gauges: GaugeChoice | None = None
