"""The kinds of crown, and the sweeps at which one becomes another."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from geometry.arrays import FloatArray, IntArray


class CrownKind(IntEnum):
    """How a place of the skin bulges.

    HIGH bulges out with a tight sweep both ways; LOW bulges out with a long sweep one way at
    least; FLAT has a sweep too long to matter both ways; REVERSE bulges out one way and is hollow
    the other, as a saddle; HOLLOW bulges out no way and is hollow one way at least.
    """

    HIGH = 0
    LOW = 1
    FLAT = 2
    REVERSE = 3
    HOLLOW = 4


@dataclass(frozen=True)
class CrownLimits:
    """Where one kind becomes another: common practice, no source; the maker's to set.

    Attributes
    ----------
    high_sweep_mm : float
        Crown is high where both sweeps are tighter than this.
    flat_sweep_mm : float
        A sweep longer than this, out or in, counts as none.
    """

    high_sweep_mm: float = 300.0
    flat_sweep_mm: float = 1500.0


USUAL_LIMITS = CrownLimits()


def crown_kinds(curvatures: FloatArray, limits: CrownLimits = USUAL_LIMITS) -> IntArray:
    """Return the (n,) kinds of (n, 2) curvatures, 1/mm, the larger first, positive bulging out.

    >>> both = np.array([[0.01, 0.005], [0.01, 0.0], [0.0, 0.0], [0.01, -0.01], [0.0, -0.01]])
    >>> [CrownKind(kind).name for kind in crown_kinds(both)]
    ['HIGH', 'LOW', 'FLAT', 'REVERSE', 'HOLLOW']
    """
    larger, smaller = curvatures[:, 0], curvatures[:, 1]
    least = 1.0 / limits.flat_sweep_mm
    out, hollow = larger > least, smaller < -least
    kinds = np.full(len(curvatures), int(CrownKind.FLAT), np.int64)
    kinds[out] = CrownKind.LOW
    kinds[out & (smaller > 1.0 / limits.high_sweep_mm)] = CrownKind.HIGH
    kinds[hollow] = CrownKind.HOLLOW
    kinds[out & hollow] = CrownKind.REVERSE
    return kinds


def sweeps(curvatures: FloatArray) -> FloatArray:
    """Return the radii of sweeps, mm, of curvatures, 1/mm: below nothing where hollow.

    A sweep over 100 m is infinite.

    >>> sweeps(np.array([[0.01, -0.005]])).tolist()
    [[100.0, -200.0]]
    """
    straight = np.abs(curvatures) < 1e-5
    return np.asarray(np.where(straight, np.inf, 1.0 / np.where(straight, 1.0, curvatures)))
