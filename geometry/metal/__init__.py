"""Sheet metals: their published figures, others the maker adds, and a panel held against them."""

from geometry.metal.bend import (
    BEHIND_TANGENT_MM,
    bend_saving_mm,
    bend_zone_mm,
    relief_diameter_mm,
    setback_mm,
)
from geometry.metal.facts import BadFactError, MetalFactsError, MissingFactError, metal_from_facts
from geometry.metal.guide import LEAST_MM, MetalGuide, against_metal, equivalent_strain
from geometry.metal.known import METALS, UnknownMetalError, sheet_metal
from geometry.metal.sheet_metal import Figure, FigureByThickness, SheetMetal
from geometry.metal.sheet_use import (
    STOCK_SHEETS,
    BlankUse,
    SheetUse,
    StockSheet,
    blank_use,
    sheet_use,
)

__all__ = [
    "BEHIND_TANGENT_MM",
    "LEAST_MM",
    "METALS",
    "STOCK_SHEETS",
    "BadFactError",
    "BlankUse",
    "Figure",
    "FigureByThickness",
    "MetalFactsError",
    "MetalGuide",
    "MissingFactError",
    "SheetMetal",
    "SheetUse",
    "StockSheet",
    "UnknownMetalError",
    "against_metal",
    "bend_saving_mm",
    "bend_zone_mm",
    "blank_use",
    "equivalent_strain",
    "metal_from_facts",
    "relief_diameter_mm",
    "setback_mm",
    "sheet_metal",
    "sheet_use",
]
