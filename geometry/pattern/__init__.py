"""The blank dressed: net, trim, openings, patches, grid, ticks, marks, contours, roll lines."""

from geometry.pattern.allowance import (
    ALLOWANCE_CORNERS,
    ALLOWANCE_KINDS,
    FREEHAND_MM,
    IN_A_FORM_MM,
    MOST_FLANGE_DEG,
    AllowanceCorner,
    AllowanceKind,
    AllowanceTooWideError,
    BadAllowanceError,
    EdgeAllowance,
    EdgeCut,
    NoSuchEdgeError,
    edge_key,
)
from geometry.pattern.allowance_folds import USUAL_STOCK, BendLine, BendStock
from geometry.pattern.allowance_outline import CutCorner, Relief
from geometry.pattern.contours import (
    PER_HUNDRED,
    Contour,
    ShapeField,
    contour_levels,
    flat_areas,
    vertex_average,
)
from geometry.pattern.curve import Curve, circle_curve, straight_curve
from geometry.pattern.curve_fitting import FittedCurve, Outline, fitted_curve
from geometry.pattern.curve_outlines import OutlineCurves, outline_curves
from geometry.pattern.edges import PatternEdge, WitnessMark, edge_letters, rim_edges
from geometry.pattern.gather import Gather, GatherTape, GridSquares, stretch_from_readings
from geometry.pattern.grid import NamedGrid, NoSuchSquareError, named_grid
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
from geometry.pattern.readings import (
    BadReadingError,
    SquareReading,
    SquareStretch,
    formed_readings,
    readings_result,
)
from geometry.pattern.roll_lines import RollLine, roll_lines
from geometry.pattern.sources import FlatSheet, FormedPanel, OpeningOnPanel, SeamHalf
from geometry.pattern.sweeps import Station, Sweep, best_arc, stations_across, sweeps
from geometry.pattern.thinning import ThinMark, thickness_at_vertices, thin_regions, thinnest_place

__all__ = [
    "ALLOWANCE_CORNERS",
    "ALLOWANCE_KINDS",
    "FREEHAND_MM",
    "IN_A_FORM_MM",
    "MOST_FLANGE_DEG",
    "PER_HUNDRED",
    "USUAL_STOCK",
    "AllowanceCorner",
    "AllowanceKind",
    "AllowanceTooWideError",
    "BadAllowanceError",
    "BadReadingError",
    "BendLine",
    "BendStock",
    "Contour",
    "Curve",
    "CutCorner",
    "EdgeAllowance",
    "EdgeCut",
    "FittedCurve",
    "FlatSheet",
    "FormedPanel",
    "Gather",
    "GatherTape",
    "GridSquares",
    "NamedGrid",
    "NoSuchEdgeError",
    "NoSuchSquareError",
    "OpeningOnPanel",
    "Outline",
    "OutlineCurves",
    "Pattern",
    "PatternEdge",
    "PatternOpening",
    "Region",
    "Relief",
    "RollLine",
    "SeamHalf",
    "ShapeField",
    "SquareReading",
    "SquareStretch",
    "Station",
    "Sweep",
    "ThinMark",
    "WitnessMark",
    "bare_pattern",
    "best_arc",
    "carried_points",
    "circle_curve",
    "contour_levels",
    "dress",
    "edge_key",
    "edge_letters",
    "fitted_curve",
    "flat_areas",
    "formed_readings",
    "marked_out",
    "named_grid",
    "on_blank",
    "outline_curves",
    "readings_result",
    "rim_edges",
    "roll_lines",
    "stations_across",
    "straight_curve",
    "stretch_from_readings",
    "sweeps",
    "thickness_at_vertices",
    "thin_regions",
    "thinnest_place",
    "vertex_average",
    "with_centre_lines",
]
