"""What an allowance comes to on the flat sheet: how wide its strip is, and where it is folded."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import FloatArray, IntArray, locked
from geometry.metal import bend_saving_mm, bend_zone_mm, relief_diameter_mm
from geometry.pattern.allowance import (
    FREEHAND_MM,
    AllowanceTooWideError,
    BadAllowanceError,
    EdgeAllowance,
    EdgeCut,
    check_allowance,
    check_edges,
    edge_key,
    most_along,
)
from geometry.pattern.allowance_strips import CHORD_MM, Fold, FoldKind, Strip
from geometry.pattern.edges import PatternEdge

JOGGLE_RUN = 3.0
"""A joggle steps down one sheet over a run of so many; common practice, no source."""


WIDE_TRIM_MM = 4.0 * FREEHAND_MM
"""A usual trim may be this wide on any blank; common practice, no source."""

_LEAST_LINE_MM = 5.0
"""Shorter ends of a line, left beyond a relief hole, help nobody."""


@dataclass(frozen=True)
class BendStock:
    """The sheet that is folded.

    Attributes
    ----------
    sheet_mm : float
    radius_mm : float or None
        Inside radius it is bent over; None where nobody knows: a flange is then left as wide as it
        is to be, and relief holes are laid out for a radius of one sheet.
    """

    sheet_mm: float = 1.6
    radius_mm: float | None = None

    @property
    def likely_radius_mm(self) -> float:
        """Its radius, or one sheet where that is not known."""
        return self.sheet_mm if self.radius_mm is None else self.radius_mm


USUAL_STOCK = BendStock()
"""Sheet of 1.6 mm whose bends nobody has told of."""


@dataclass(frozen=True, eq=False)
class BendLine:
    """A line an allowance is folded along.

    Attributes
    ----------
    letter : str
        The edge's.
    kind : {"hem", "joggle", "flange"}
    points : (k, 2) float, mm
        Along the edge, counter-clockwise round the blank.
    outside_mm : float
        How far outside the net line: 0 but for a joggle's second and for tangent lines.
    angle_deg : float
        Above 0 towards the tank's inside.
    is_tangent : bool
        Whether it is where the bend begins or ends, and not its middle.
    """

    letter: str
    kind: FoldKind
    points: FloatArray
    outside_mm: float
    angle_deg: float
    is_tangent: bool = False


def edge_cuts(
    edges: Sequence[PatternEdge],
    allowances: Mapping[str, EdgeAllowance],
    *,
    trim_mm: float,
    growth: FloatArray | None = None,
    rim: IntArray,
    stock: BendStock,
) -> tuple[EdgeCut, ...]:
    """Return what every edge's allowance comes to.

    Parameters
    ----------
    edges : sequence of PatternEdge
    allowances : mapping
        By edge key; edges left out get the usual trim.
    trim_mm : float
        The usual trim.
    growth : (k,) float, mm, optional
        How far outside the net the cut has to stand at every vertex of the rim because the size is
        not sure; the most along each edge comes on top.
    rim : (k,) int
        The vertices the growth is told at.
    stock : BendStock

    Raises
    ------
    NoSuchEdgeError, BadAllowanceError, AllowanceTooWideError
    """
    usual = EdgeAllowance("trim", trim_mm)
    check_allowance("", usual)
    check_edges(edges, allowances)
    _check_widths(edges, allowances, trim_mm)
    cuts = []
    for edge in edges:
        key = edge_key(edge)
        allowance = allowances.get(key, usual)
        grown = 0.0
        if allowance.kind != "none" and growth is not None:
            grown = most_along(growth[np.isin(rim, edge.vertices)])
        width = flat_width_mm(key, allowance, stock)
        beyond = face_beyond_mm(allowance, stock)
        cuts.append(EdgeCut(key, edge.letter, allowance, grown, width + grown, beyond))
    return tuple(cuts)


def flat_width_mm(key: str, allowance: EdgeAllowance, stock: BendStock) -> float:
    """Return how far outside the net line an allowance reaches on the flat sheet.

    A flange of width w, measured from the outside of its bend, takes w less half of what its bend
    saves: its bend line is the net line. A joggle's lap begins beyond its step.

    .050 sheet bent 90 degrees over .032 saves .0787 in, half of it on either side of the bend line:

    >>> inch = 25.4
    >>> stock = BendStock(0.05 * inch, 0.032 * inch)
    >>> round(flat_width_mm("F1", EdgeAllowance("flange", 0.42 * inch), stock) / inch, 5)
    0.38065
    """
    if allowance.kind == "none":
        return 0.0
    if allowance.kind == "joggle":
        return joggle_step_mm(stock.sheet_mm) + allowance.width_mm
    if allowance.kind != "flange" or stock.radius_mm is None:
        return allowance.width_mm
    width = allowance.width_mm - (face_beyond_mm(allowance, stock) or 0.0)
    if width <= 0.0:
        raise BadAllowanceError(key, "flange", allowance.width_mm)
    return width


def face_beyond_mm(allowance: EdgeAllowance, stock: BendStock) -> float | None:
    """Return how far beyond the net line a flange's outside face ends; None if nobody can say.

    The bend line is the net line, so that half of what the bend saves lies on the panel's side: its
    outside measures as much more there than it does flat. 0 where there is no flange.

    >>> round(face_beyond_mm(EdgeAllowance("flange", 20.0), BendStock(1.6, 1.6)), 2)
    1.38
    """
    if allowance.kind != "flange":
        return 0.0
    if stock.radius_mm is None:
        return None
    angle = np.deg2rad(abs(allowance.angle_deg))
    return bend_saving_mm(angle, stock.radius_mm, stock.sheet_mm) / 2.0


def joggle_step_mm(sheet_mm: float) -> float:
    """Return how long the step of a joggle is: one sheet down over a run of three.

    >>> round(joggle_step_mm(1.6), 4)
    5.0596
    """
    return float(np.hypot(1.0, JOGGLE_RUN) * sheet_mm)


def strips_of(
    edges: Sequence[PatternEdge], cuts: Sequence[EdgeCut], stock: BendStock
) -> tuple[Strip, ...]:
    """Return the strip of metal along every edge."""
    return tuple(
        Strip(edge.points, cut.cut_mm, cut.allowance.corner, fold_of(cut.allowance, stock))
        for edge, cut in zip(edges, cuts, strict=True)
    )


def fold_of(allowance: EdgeAllowance, stock: BendStock) -> Fold | None:
    """Return how an allowance is folded; None where it stays flat. A hem is folded sharp."""
    if not allowance.is_folded:
        return None
    kind: FoldKind = "joggle"
    sheet, radius, angle = stock.sheet_mm, 0.0, 0.0
    if allowance.kind == "hem":
        kind, angle = "hem", np.pi
    elif allowance.kind == "flange":
        kind, radius = "flange", stock.likely_radius_mm
        angle = float(np.deg2rad(allowance.angle_deg))
    zone = bend_zone_mm(abs(angle), radius, sheet) if angle else 0.0
    return Fold(kind, angle, zone / 2.0, relief_diameter_mm(radius, sheet), sheet)


def bend_lines(
    edges: Sequence[PatternEdge],
    cuts: Sequence[EdgeCut],
    stock: BendStock,
    outline: FloatArray,
) -> tuple[BendLine, ...]:
    """Return the lines the allowances are folded along, edge by edge, where there is metal."""
    lines: list[BendLine] = []
    for edge, cut in zip(edges, cuts, strict=True):
        fold = fold_of(cut.allowance, stock)
        if fold is None:
            continue
        kind, angle = fold.kind, float(np.rad2deg(fold.angle_rad))
        beside: tuple[tuple[float, float], ...] = tuple(
            (side * fold.half_zone_mm, angle) for side in (-1.0, 1.0) if fold.half_zone_mm > 0.0
        )
        if kind == "joggle":
            angle = float(np.rad2deg(np.arctan2(1.0, JOGGLE_RUN)))
            beside = ((joggle_step_mm(stock.sheet_mm), -angle),)
        lines.append(BendLine(edge.letter, kind, edge.points, 0.0, angle))
        lines += [
            BendLine(edge.letter, kind, points, far, turned, kind != "joggle")
            for far, turned in beside
            for points in _beside(edge, far, outline)
        ]
    return tuple(lines)


def _beside(edge: PatternEdge, outside_mm: float, outline: FloatArray) -> list[FloatArray]:
    """Return the line so far outside an edge, or inside below 0, where there is metal."""
    steps = int(np.ceil(0.25 * np.pi / np.arccos(1.0 - CHORD_MM / abs(outside_mm))))
    beside = shapely.LineString(edge.points).offset_curve(-outside_mm, quad_segs=steps)
    kept = shapely.intersection(beside, shapely.Polygon(outline))
    return [
        locked(shapely.get_coordinates(part))
        for part in shapely.get_parts(shapely.line_merge(kept))
        if part.geom_type == "LineString" and part.length >= _LEAST_LINE_MM
    ]


def _check_widths(
    edges: Sequence[PatternEdge], allowances: Mapping[str, EdgeAllowance], trim_mm: float
) -> None:
    """Raise `AllowanceTooWideError` where an allowance is wider than the blank.

    A hem folded back may not reach across it; anything else may be as wide as the blank is long.
    The usual trim may be wide on a small blank all the same.
    """
    around = shapely.MultiPoint(np.concatenate([edge.points for edge in edges]))
    box = shapely.get_coordinates(shapely.oriented_envelope(around))
    sides = np.linalg.norm(np.diff(box[:3], axis=0), axis=1)
    longest = float(sides.max())
    if trim_mm > max(longest, WIDE_TRIM_MM):
        raise AllowanceTooWideError("", trim_mm, max(longest, WIDE_TRIM_MM))
    for key, allowance in allowances.items():
        most = float(sides.min()) if allowance.kind == "hem" else longest
        if allowance.kind != "none" and allowance.width_mm > most:
            raise AllowanceTooWideError(key, allowance.width_mm, most)
