"""What a break-up is sought to be least in: work, priced weld, and what is locked in the form."""

from collections.abc import Sequence
from dataclasses import dataclass

LOCKED_PRICE = 0.2
"""What a square millimetre locked in the form counts, mm2 of work, where panels are to lift out:
so much that every other way is taken first. Ours."""


@dataclass(frozen=True)
class Aim:
    """The prices of one who chooses.

    Attributes
    ----------
    weld : float, mm2 per mm
        Of hidden weld, in mm2 of work.
    locked : float
        Of what is locked in the form, in mm2 of work for each mm2.
    """

    weld: float
    locked: float = 0.0

    @property
    def lifts_out(self) -> bool:
        """Return whether panels are to lift out of their forms."""
        return self.locked > 0.0

    def cost(self, work: float, priced_weld: float, locked: float) -> float:
        """Return what a break-up costs, mm2 of work.

        >>> Aim(0.1, 0.5).cost(30.0, 200.0, 10.0)
        55.0
        """
        return work + self.weld * priced_weld + self.locked * locked


def aims_of(prices: Sequence[float]) -> tuple[Aim, ...]:
    """Return an aim for every price of weld, and last one for panels that lift out.

    >>> [(aim.weld, aim.lifts_out) for aim in aims_of((0.02, 0.06, 0.2))]
    [(0.02, False), (0.06, False), (0.2, False), (0.06, True)]
    """
    return (*(Aim(price) for price in prices), Aim(usual(prices), LOCKED_PRICE))


def usual(prices: Sequence[float]) -> float:
    """Return the middle one of several prices."""
    return sorted(prices)[len(prices) // 2]
