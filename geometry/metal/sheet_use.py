"""How much sheet a job takes: blanks, and the rectangles they are cut from, in mass and money."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray
from geometry.metal.sheet_metal import SheetMetal

KG_PER_LB = 0.45359237
"""Exact: the international pound."""

_FOOT_MM = 304.8


@dataclass(frozen=True)
class StockSheet:
    """A sheet as it is sold.

    Attributes
    ----------
    name : str
    width_mm, length_mm : float
    """

    name: str
    width_mm: float
    length_mm: float

    @property
    def area_mm2(self) -> float:
        """Both sides multiplied."""
        return self.width_mm * self.length_mm


STOCK_SHEETS = (
    StockSheet("4 x 8 ft", 4 * _FOOT_MM, 8 * _FOOT_MM),
    StockSheet("4 x 10 ft", 4 * _FOOT_MM, 10 * _FOOT_MM),
    StockSheet("1000 x 2000 mm", 1000.0, 2000.0),
    StockSheet("1250 x 2500 mm", 1250.0, 2500.0),
)
"""Common sizes. Common practice, no source."""


@dataclass(frozen=True)
class BlankUse:
    """What one blank takes.

    Attributes
    ----------
    name : str
        Of the panel or piece it makes.
    blank_mm2 : float
        Inside its cut line.
    width_mm, height_mm : float
        Of the rectangle about it, as it lies on its page.
    """

    name: str
    blank_mm2: float
    width_mm: float
    height_mm: float

    @property
    def rectangle_mm2(self) -> float:
        """Sheet it is cut from."""
        return self.width_mm * self.height_mm


@dataclass(frozen=True)
class SheetUse:
    """What all blanks of a job take, of one metal and thickness.

    Attributes
    ----------
    metal : SheetMetal
    thickness_mm : float
    blanks : tuple of BlankUse
    """

    metal: SheetMetal
    thickness_mm: float
    blanks: tuple[BlankUse, ...]

    def kg(self, area_mm2: float) -> float:
        """Return what so much of the sheet weighs."""
        return self.metal.mass_kg(area_mm2, self.thickness_mm)

    @property
    def blank_kg(self) -> float:
        """All blanks, cut out."""
        return self.kg(sum(blank.blank_mm2 for blank in self.blanks))

    @property
    def rectangle_mm2(self) -> float:
        """The rectangles about all blanks together."""
        return sum(blank.rectangle_mm2 for blank in self.blanks)

    @property
    def rectangle_kg(self) -> float:
        """The rectangles about all blanks: what has to be bought at least, blanks side by side."""
        return self.kg(self.rectangle_mm2)

    def share_of(self, sheet: StockSheet) -> float:
        """Return how many sheets the rectangles cover, by area alone."""
        return self.rectangle_mm2 / sheet.area_mm2

    def fits(self, sheet: StockSheet) -> bool:
        """Return whether each rectangle by itself fits on a sheet, either way round."""
        short, long = sorted((sheet.width_mm, sheet.length_mm))
        return all(
            min(blank.width_mm, blank.height_mm) <= short
            and max(blank.width_mm, blank.height_mm) <= long
            for blank in self.blanks
        )

    def cost(
        self, amount: float, per: Literal["kg", "lb", "sheet"], sheet: StockSheet | None = None
    ) -> float:
        """Return what the rectangles cost.

        Parameters
        ----------
        amount : float
            Price of one.
        per : "kg", "lb" or "sheet"
        sheet : StockSheet, optional
            Which a price by the sheet is for; the first of those known if not given.
        """
        if per == "kg":
            return amount * self.rectangle_kg
        if per == "lb":
            return amount * self.rectangle_kg / KG_PER_LB
        return amount * self.share_of(STOCK_SHEETS[0] if sheet is None else sheet)


def blank_use(name: str, outline: FloatArray) -> BlankUse:
    """Return what a blank takes, from the (k, 2) mm outline it is cut by.

    >>> corners = np.array([[0.0, 0], [300, 0], [300, 200], [0, 200]])
    >>> use = blank_use("lid", corners)
    >>> use.blank_mm2, use.width_mm, use.height_mm
    (60000.0, 300.0, 200.0)
    """
    x, y = (outline - outline[0]).T
    area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2.0
    width, height = np.ptp(outline, axis=0)
    return BlankUse(name, area, float(width), float(height))


def sheet_use(metal: SheetMetal, thickness_mm: float, blanks: Sequence[BlankUse]) -> SheetUse:
    """Return what blanks take of one sheet metal.

    >>> from geometry.metal.known import sheet_metal
    >>> lid = blank_use("lid", np.array([[0.0, 0], [300, 0], [300, 200], [0, 200]]))
    >>> round(sheet_use(sheet_metal("3003-H14"), 1.6, [lid, lid]).blank_kg, 4)
    0.5242
    """
    return SheetUse(metal, thickness_mm, tuple(blanks))
