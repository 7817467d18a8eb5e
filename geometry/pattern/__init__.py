"""The blank dressed: net, trim, openings, unscanned patches, grid, marks, contours, roll lines."""

from geometry.pattern.contours import (
    Contour,
    ShapeField,
    contour_levels,
    flat_areas,
    vertex_average,
)
from geometry.pattern.edges import PatternEdge, WitnessMark, edge_letters
from geometry.pattern.gather import Gather, GatherTape, GridSquares, stretch_from_readings
from geometry.pattern.outlines import Region
from geometry.pattern.pattern import (
    Pattern,
    PatternOpening,
    carried_points,
    dress,
    on_blank,
)
from geometry.pattern.roll_lines import RollLine, roll_lines
from geometry.pattern.sources import FlatSheet, FormedPanel, OpeningOnPanel, SeamHalf

__all__ = [
    "Contour",
    "FlatSheet",
    "FormedPanel",
    "Gather",
    "GatherTape",
    "GridSquares",
    "OpeningOnPanel",
    "Pattern",
    "PatternEdge",
    "PatternOpening",
    "Region",
    "RollLine",
    "SeamHalf",
    "ShapeField",
    "WitnessMark",
    "carried_points",
    "contour_levels",
    "dress",
    "edge_letters",
    "flat_areas",
    "on_blank",
    "roll_lines",
    "stretch_from_readings",
    "vertex_average",
]
