"""How sure a blank's size is: model band and measuring band along its net line, and their cover."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.blank.bands.measuring_band import MeasuringBand, measuring_band
from geometry.blank.bands.measuring_errors import MeasuringErrors
from geometry.blank.bands.model_band import ModelBand, model_band
from geometry.blank.bands.net_line import NetLine
from geometry.blank.flat_panel import FlatPanel
from geometry.progress import Report, part_of, silent

ROW_MM = 10.0
"""Distance along the net line of the rows of `Sureness.bands`."""


@dataclass(frozen=True, eq=False)
class Sureness:
    """How far a net line may lie from the right one, and why.

    Attributes
    ----------
    arc_mm : (k,) float
        Length along the net line of each rim vertex, from the first.
    model : ModelBand
        By how the metal is worked.
    measuring : MeasuringBand
        By how the panel was measured.
    """

    arc_mm: FloatArray
    model: ModelBand
    measuring: MeasuringBand

    @property
    def model_mm(self) -> float:
        """Return how far the net line moves, at most, with how the metal is worked."""
        return self.model.reach_mm

    @property
    def measuring_mm(self) -> float:
        """Return how far it may be off at its least sure place, 95 times in 100, by measuring."""
        return self.measuring.reach_mm

    @property
    def cut_allowance(self) -> FloatArray:
        """Return (k,), mm: how far outside the net the cut has to stand to cover both bands."""
        return np.asarray(self.model.outward + self.measuring.plus_minus)

    def bands(self) -> dict[str, dict[str, float | list[list[float]]]]:
        """Return both bands as plain numbers, mm, with a row every 10 mm or so of net line.

        A row gives the length along the net line and the largest of its stretch of rim, so that
        no peak is lost.
        """
        rows = (self.arc_mm // ROW_MM).astype(np.int64)
        first = np.unique(rows, return_index=True)[1]
        arc = self.arc_mm[first]

        def peaks(*columns: FloatArray) -> list[list[float]]:
            held = [np.maximum.reduceat(column, first) for column in columns]
            table: list[list[float]] = np.stack([arc, *held], axis=1).tolist()
            return table

        model, measuring = self.model, self.measuring
        return {
            "model": {
                "inward": float(model.inward.max()),
                "outward": float(model.outward.max()),
                "rim": peaks(model.inward, model.outward),
            },
            "measuring": {
                "plus_minus": self.measuring_mm,
                "rim": peaks(measuring.plus_minus),
            },
        }


def sureness(flat: FlatPanel, errors: MeasuringErrors, *, report: Report = silent) -> Sureness:
    """Return how sure a blank's size is.

    Parameters
    ----------
    flat : FlatPanel
        Converged.
    errors : MeasuringErrors
    report : Report

    Raises
    ------
    ValueError
        The blank at hand is not converged.
    """
    measuring = measuring_band(flat, errors, report=part_of(report, 0.0, 0.3))
    model = model_band(flat, report=part_of(report, 0.3, 1.0))
    arc_mm = NetLine.of(flat.flat_vertices, flat.rim).arc_mm
    return Sureness(locked(arc_mm), model, measuring)
