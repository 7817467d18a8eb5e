"""Whether two break-ups are so much alike that a maker needs to see only one of them."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray

ALIKE_AREA = 0.03
"""Share of the studied area by which pieces of break-ups that count as alike may differ."""

ALIKE_OFF = 0.04
"""How far apart their middles may be, of the square root of the studied area."""


@dataclass(frozen=True, eq=False)
class Spread:
    """How a break-up's pieces lie over the tank.

    Attributes
    ----------
    counts : (l,) int
        How many pieces of the tank each stands for.
    areas : (l,) float, mm2
    centres : (l, 3) float, mm
    """

    counts: IntArray
    areas: FloatArray
    centres: FloatArray


def are_alike(one: Spread, other: Spread, area: float, *, times: float = 1.0) -> bool:
    """Return whether every piece of one break-up has its like in the other.

    Parameters
    ----------
    one, other : Spread
    area : float, mm2
        Of all that is studied.
    times : float
        How many times the usual difference is let pass.

    >>> half = np.array([50.0, 50.0])
    >>> middles = np.array([[0.0, 0, 0], [5.0, 0, 0]])
    >>> here = Spread(np.ones(2, int), half, middles)
    >>> there = Spread(np.ones(2, int), half, middles + 9.0)
    >>> are_alike(here, here, 100.0), are_alike(here, there, 100.0)
    (True, False)
    """
    if len(one.counts) != len(other.counts):
        return False
    off = np.linalg.norm(one.centres[:, None] - other.centres[None], axis=2)
    near = off < times * ALIKE_OFF * np.sqrt(area)
    near &= np.abs(one.areas[:, None] - other.areas[None]) < times * ALIKE_AREA * area
    near &= one.counts[:, None] == other.counts[None]
    free = np.ones(len(other.counts), bool)
    for k in range(len(one.counts)):
        fitting = np.flatnonzero(near[k] & free)
        if not len(fitting):
            return False
        free[fitting[np.argmin(off[k, fitting])]] = False
    return True
