"""`SheetMetal`: what is known of one alloy in one temper, each figure with where it comes from.

Figures are guides: a tensile test pulls a strip one way till it parts; hands and hammers work metal
many ways, in small steps, with its edge free.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """A number and where it comes from.

    Attributes
    ----------
    value : float
    source : str
        A key of docs/sources.md, or "from memory, not checked", or the maker's own words.
    """

    value: float
    source: str


@dataclass(frozen=True)
class FigureByThickness:
    """A figure for sheet over one thickness and up to another.

    Attributes
    ----------
    over_mm, up_to_mm : float
        The first thickness is not in it, the second is.
    figure : Figure
    """

    over_mm: float
    up_to_mm: float
    figure: Figure


@dataclass(frozen=True)
class SheetMetal:
    """One alloy in one temper, as a guide.

    Attributes
    ----------
    alloy, temper : str
        "3003", "H14"; the temper may be empty.
    density : Figure
        g/cm3.
    elongation : tuple of FigureByThickness
        Least elongation a tensile test of 50 mm must show, as a share of the length: 0.05 is 50 mm
        drawn to 52.5.
    usual_elongation : Figure or None
        What sheet of about 1.6 mm usually shows.
    annealed : tuple of FigureByThickness
        Least elongation once annealed.
    hardening : Figure or None
        Exponent n of stress = K strain^n.
    bend_radius : tuple of FigureByThickness
        Least inside radius of a cold bend of 90 degrees, in thicknesses of the sheet.
    """

    alloy: str
    temper: str
    density: Figure
    elongation: tuple[FigureByThickness, ...] = ()
    usual_elongation: Figure | None = None
    annealed: tuple[FigureByThickness, ...] = ()
    hardening: Figure | None = None
    bend_radius: tuple[FigureByThickness, ...] = ()

    @property
    def name(self) -> str:
        """Return alloy and temper as metal is asked for.

        >>> SheetMetal("3003", "H14", Figure(2.73, "a table")).name
        '3003-H14'
        """
        return f"{self.alloy}-{self.temper}" if self.temper else self.alloy

    def elongation_at(self, thickness_mm: float) -> Figure | None:
        """Return the least elongation of sheet of a thickness; None where no table covers it."""
        return _at(self.elongation, thickness_mm)

    def annealed_at(self, thickness_mm: float) -> Figure | None:
        """Return the least elongation once annealed; None where no table covers it."""
        return _at(self.annealed, thickness_mm)

    def bend_radius_at(self, thickness_mm: float) -> Figure | None:
        """Return the least inside radius of a cold right-angled bend, mm; None where not known.

        >>> row = FigureByThickness(0.8, 1.6, Figure(1.5, "a table"))
        >>> SheetMetal("5052", "H34", Figure(2.68, ""), bend_radius=(row,)).bend_radius_at(1.6)
        Figure(value=2.4000000000000004, source='a table')
        """
        found = _at(self.bend_radius, thickness_mm)
        return None if found is None else Figure(found.value * thickness_mm, found.source)

    def mass_kg(self, area_mm2: float, thickness_mm: float) -> float:
        """Return what sheet weighs.

        >>> round(SheetMetal("3003", "", Figure(2.73, "")).mass_kg(2e6, 1.5), 3)
        8.19
        """
        return self.density.value * area_mm2 * thickness_mm * 1e-6


def _at(rows: tuple[FigureByThickness, ...], thickness_mm: float) -> Figure | None:
    for row in rows:
        if row.over_mm < thickness_mm <= row.up_to_mm + 1e-9:
            return row.figure
    return None
