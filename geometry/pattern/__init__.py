"""The blank dressed: net, trim, openings, patches, grid, ticks, marks, contours, roll lines."""

from geometry.pattern.contours import (
    PER_HUNDRED,
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
    bare_pattern,
    carried_points,
    dress,
    marked_out,
    on_blank,
    with_centre_lines,
)
from geometry.pattern.roll_lines import RollLine, roll_lines
from geometry.pattern.sources import FlatSheet, FormedPanel, OpeningOnPanel, SeamHalf
from geometry.pattern.thinning import ThinMark, thickness_at_vertices, thin_regions, thinnest_place

__all__ = [
    "PER_HUNDRED",
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
    "ThinMark",
    "WitnessMark",
    "bare_pattern",
    "carried_points",
    "contour_levels",
    "dress",
    "edge_letters",
    "flat_areas",
    "marked_out",
    "on_blank",
    "roll_lines",
    "stretch_from_readings",
    "thickness_at_vertices",
    "thin_regions",
    "thinnest_place",
    "vertex_average",
    "with_centre_lines",
]
