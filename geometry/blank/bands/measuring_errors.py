"""What a panel was measured with: the kinds of error, and how far each may be off."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray
from geometry.blank.flat_panel import FlatPanel

TAPE_READING_MM = 0.5
"""Standard error of one taped length: its ends and its reading. Common practice, no source; a tape
of class II itself may be off by 0.3 mm and 0.2 mm a metre (EU directive 2014/32, annex X)."""


Kind = Literal["points", "passes", "creases", "edge", "tapes"]
"""What an error comes of: scatter of the scan's points, passes that do not line up, creases finer
than the scan, where the scan's own edge lies, and the tapes that gave the size."""


@dataclass(frozen=True, eq=False)
class MeasuringErrors:
    """Standard errors of what a panel was measured with; the kinds have nothing in common.

    Attributes
    ----------
    surface_mm : (n,) float or float
        Of each vertex, along the surface's normal, by chance.
    correlation_mm : float
        Distance at which the correlation of two of them has fallen to one half; 0: each vertex
        for itself.
    rim_mm : (k,) float or float
        Of each rim vertex, outward in the surface, by chance, correlated as the surface: 0 where a
        seam was cut, for that is exact.
    scale : float
        Of the size's scale, no unit.
    wide_mm : (n,) float or float
        Of each vertex, along the normal, what reaches farther: passes of a scanner that do not
        line up.
    wide_correlation_mm : float
        As `correlation_mm`, of these.
    unseen_mm : (n,) float or float
        Of each vertex, along the normal, all of them together: what lies between a scan's points
        where the surface turns sharper than they tell.
    rim_shift_mm : (k,) float or float
        Of each rim vertex, outward in the surface, all of them together: where beside its last
        points a scan's edge lies.
    """

    surface_mm: FloatArray | float
    correlation_mm: float
    rim_mm: FloatArray | float = 0.0
    scale: float = 0.0
    wide_mm: FloatArray | float = 0.0
    wide_correlation_mm: float = 0.0
    unseen_mm: FloatArray | float = 0.0
    rim_shift_mm: FloatArray | float = 0.0

    def of_every_vertex(self, flat: FlatPanel) -> "VertexErrors":
        """Return the same, with a figure for every vertex of a panel."""
        n, k = len(flat.vertices), len(flat.rim)

        def each(figure: FloatArray | float, count: int) -> FloatArray:
            return np.broadcast_to(np.asarray(figure, np.float64), (count,))

        return VertexErrors(
            surface_mm=each(self.surface_mm, n),
            correlation_mm=self.correlation_mm,
            rim_mm=each(self.rim_mm, k),
            wide_mm=each(self.wide_mm, n),
            wide_correlation_mm=self.wide_correlation_mm,
            unseen_mm=each(self.unseen_mm, n),
            rim_shift_mm=each(self.rim_shift_mm, k),
        )


@dataclass(frozen=True, eq=False)
class VertexErrors:
    """Standard errors of the formed panel's vertices, as in `MeasuringErrors`.

    Attributes
    ----------
    surface_mm, wide_mm, unseen_mm : (n,) float
    rim_mm, rim_shift_mm : (k,) float
    correlation_mm, wide_correlation_mm : float
    """

    surface_mm: FloatArray
    correlation_mm: float
    rim_mm: FloatArray
    wide_mm: FloatArray
    wide_correlation_mm: float
    unseen_mm: FloatArray
    rim_shift_mm: FloatArray


def scale_error_of_tapes(
    lengths_mm: FloatArray | list[float], reading_mm: float = TAPE_READING_MM
) -> float:
    """Return the standard error of a scale agreed with taped lengths, no unit.

    Parameters
    ----------
    lengths_mm : (j,) float
    reading_mm : float
        Standard error of each tape.

    Source: least squares for one ratio, s / sqrt(sum of squared lengths).

    >>> scale_error_of_tapes([300.0, 400.0], 0.5)
    0.001
    """
    return float(reading_mm / np.sqrt(np.square(lengths_mm).sum()))
