"""Sheet metals: their published figures, others the maker adds, and a panel held against them."""

from geometry.metal.facts import BadFactError, MetalFactsError, MissingFactError, metal_from_facts
from geometry.metal.guide import LEAST_MM, MetalGuide, against_metal, equivalent_strain
from geometry.metal.known import METALS, UnknownMetalError, sheet_metal
from geometry.metal.sheet_metal import Figure, FigureByThickness, SheetMetal

__all__ = [
    "LEAST_MM",
    "METALS",
    "BadFactError",
    "Figure",
    "FigureByThickness",
    "MetalFactsError",
    "MetalGuide",
    "MissingFactError",
    "SheetMetal",
    "UnknownMetalError",
    "against_metal",
    "equivalent_strain",
    "metal_from_facts",
    "sheet_metal",
]
