"""The two sides of held lines told apart: points beyond a crest say nothing of this side."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.surface.locked.crest import Crest

_BESIDE_ROUND_MM = 0.3


class Sides:
    """Which side of every crest points of a scan lie on, and which lie on its round."""

    def __init__(self, crests: Sequence[Crest], points: FloatArray, reach_mm: float) -> None:
        self._crests, self._reach = tuple(crests), reach_mm
        self._side_of_point = np.zeros((len(self._crests), len(points)))
        self._is_on_round = np.zeros((len(self._crests), len(points)), bool)
        for number, crest in enumerate(self._crests):
            seen = crest.seen(points, reach_mm)
            near = seen.near
            self._side_of_point[number, near.which] = np.sign(near.across)
            self._is_on_round[number, near.which] = np.abs(near.across) < (
                seen.half_width + _BESIDE_ROUND_MM
            )

    def counts(self, places: FloatArray, index: IntArray) -> FloatArray:
        """Return (k, j) how much points `index` count at (k, 3) places: 1 wholly, 0 not."""
        out = np.ones(index.shape)
        for crest, side, on_round in zip(
            self._crests, self._side_of_point, self._is_on_round, strict=True
        ):
            seen = crest.seen(places, self._reach)
            rows = seen.near.which
            here = np.sign(seen.near.across)[:, None]
            apart = (side[index[rows]] * here < 0.0) | on_round[index[rows]]
            out[rows] *= 1.0 - seen.parted[:, None] * apart
        return out


def near_crests(crests: Sequence[Crest], points: FloatArray, reach_mm: float) -> BoolArray:
    """Return (n,) which points lie near the round of a crest whose sides are apart."""
    out = np.zeros(len(points), bool)
    for crest in crests:
        seen = crest.seen(points, reach_mm + float(crest.sections.half_width.max()))
        close = np.abs(seen.near.across) < seen.half_width + reach_mm
        out[seen.near.which[close & (seen.parted > 0.0)]] = True
    return out
