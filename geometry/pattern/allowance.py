"""Allowances: what is left outside the net line along each edge, and what it becomes.

Here stand the maker's choices and what they come to edge by edge; the outline they make is
`allowance_outline`'s, fold lines and relief holes are `allowance_folds`'.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import shapely

from geometry.arrays import FloatArray
from geometry.errors import GeometryError
from geometry.pattern.edges import PatternEdge

AllowanceKind = Literal["trim", "none", "hem", "lap", "joggle", "flange"]
AllowanceCorner = Literal["mitred", "notched", "round"]

ALLOWANCE_KINDS: tuple[AllowanceKind, ...] = get_args(AllowanceKind)
ALLOWANCE_CORNERS: tuple[AllowanceCorner, ...] = get_args(AllowanceCorner)

IN_A_FORM_MM = 12.7
FREEHAND_MM = 25.4
"""The usual trim: 1/2 in worked in a form, 1 in freehand; common practice, no source."""

MOST_FLANGE_DEG = 150.0
"""A flange folded further than this is a hem."""

LEAST_FLANGE_DEG = 5.0
"""A fold of less is a line in the skin, not a flange; common practice, no source."""

LEAST_FOLDED_MM = 1.0
"""Nobody folds, laps or joggles a narrower edge; common practice, no source."""

WIDEST_HEM_MM = 50.0
"""A wider hem is a second skin; common practice, no source."""


LEAST_BLANK_MM = 0.05
"""A blank less than this across is no panel: a slip of a seam, or a wrong unit."""


class BadAllowanceError(GeometryError):
    """An allowance that cannot be: a width below nothing, a fold past what a flange can take.

    Attributes
    ----------
    edge : str
        The edge's key; empty for the usual trim.
    field : str
        "kind", "width", "angle" or "corner"; "narrow" for an edge below `LEAST_FOLDED_MM`, "hem"
        for one above `WIDEST_HEM_MM`, "flange" for one narrower than its bend.
    value : float or str
    """

    def __init__(self, edge: str, field: str, value: float | str) -> None:
        self.edge, self.field, self.value = edge, field, value
        super().__init__(f"allowance of {edge or 'every edge'}: {field} {value}")


class NoSuchEdgeError(GeometryError):
    """An allowance for an edge the blank does not have.

    Attributes
    ----------
    edge : str
        The key asked for.
    edges : tuple of str
        The keys there are.
    """

    def __init__(self, edge: str, edges: Sequence[str]) -> None:
        self.edge, self.edges = edge, tuple(edges)
        super().__init__(f"no edge {edge!r} among {', '.join(edges)}")


class AllowanceTooWideError(GeometryError):
    """An allowance wider than the blank it is left on.

    Attributes
    ----------
    edge : str
        The edge's key.
    width_mm, most_mm : float
        What was asked for, and the most the blank can take.
    """

    def __init__(self, edge: str, width_mm: float, most_mm: float) -> None:
        self.edge, self.width_mm, self.most_mm = edge, width_mm, most_mm
        super().__init__(f"allowance of {edge}: {width_mm} mm, at most {most_mm} mm")


class BlankTooSmallError(GeometryError):
    """A blank so small that there is nothing to draw or to cut.

    Attributes
    ----------
    across_mm, least_mm : float
        How far it reaches across, and the least that is drawn.
    """

    def __init__(self, across_mm: float, least_mm: float) -> None:
        self.across_mm, self.least_mm = across_mm, least_mm
        super().__init__(f"a blank of {across_mm:.3g} mm, at least {least_mm} mm")


@dataclass(frozen=True)
class EdgeAllowance:
    """What the maker wants along one edge.

    Attributes
    ----------
    kind : {"trim", "none", "hem", "lap", "joggle", "flange"}
        "trim" is metal to work the edge with and to cut off afterwards; "none" says that nothing
        is trimmed after: the cut line is the net line.
    width_mm : float
        Of a trim, a hem or a lap: of the flat metal outside the net line. Of a joggle: of the lap
        beyond the step. Of a flange: finished, from the outside of the bend. 0 where there is none.
    angle_deg : float
        How far a flange is folded: 90 stands square to the panel; towards the tank's inside, or
        below 0 towards the outside.
    corner : {"mitred", "notched", "round"}
        Where it meets the next edge. Notched if either of the two says so, else mitred if either
        does. Two folded edges are always notched.
    """

    kind: AllowanceKind = "trim"
    width_mm: float = IN_A_FORM_MM
    angle_deg: float = 90.0
    corner: AllowanceCorner = "round"

    @property
    def is_folded(self) -> bool:
        """Whether the metal outside the net line is folded."""
        return self.kind in ("hem", "joggle", "flange")


@dataclass(frozen=True)
class EdgeCut:
    """What an edge's allowance came to.

    Attributes
    ----------
    key, letter : str
        The edge's.
    allowance : EdgeAllowance
        The maker's, or the usual trim.
    grown_by_mm : float
        What comes on top because the size is not sure: the most along the edge; 0 for "none".
    cut_mm : float
        How far outside the net line the cut line lies, that included.
    face_beyond_mm : float or None
        Of a flange: how far beyond the net line its outside face ends once bent; None where the
        radius it is bent over is not known. 0 of all else.
    """

    key: str
    letter: str
    allowance: EdgeAllowance
    grown_by_mm: float
    cut_mm: float
    face_beyond_mm: float | None = 0.0


def edge_key(edge: PatternEdge) -> str:
    """Return what an edge is called in a job: the same however letters are given.

    "seam name|other panel" along a seam; a free edge's letter. Two runs of one seam between the
    same two panels share their key.
    """
    return f"{edge.seam}|{edge.other}" if edge.seam or edge.other else edge.letter


def check_allowance(edge: str, allowance: EdgeAllowance) -> None:
    """Raise `BadAllowanceError` where an allowance cannot be.

    >>> check_allowance("F1", EdgeAllowance("hem", 8.0))
    >>> check_allowance("F1", EdgeAllowance("trim", -1.0))
    Traceback (most recent call last):
        ...
    geometry.pattern.allowance.BadAllowanceError: allowance of F1: width -1.0
    """
    if allowance.kind not in ALLOWANCE_KINDS:
        raise BadAllowanceError(edge, "kind", allowance.kind)
    if allowance.corner not in ALLOWANCE_CORNERS:
        raise BadAllowanceError(edge, "corner", allowance.corner)
    width_mm, is_flat = allowance.width_mm, allowance.kind in ("trim", "none")
    if not math.isfinite(width_mm) or width_mm < (0.0 if is_flat else 1e-9):
        raise BadAllowanceError(edge, "width", width_mm)
    if not is_flat and width_mm < LEAST_FOLDED_MM:
        raise BadAllowanceError(edge, "narrow", width_mm)
    if allowance.kind == "hem" and width_mm > WIDEST_HEM_MM:
        raise BadAllowanceError(edge, "hem", width_mm)
    turn = abs(allowance.angle_deg)
    if allowance.kind == "flange" and not LEAST_FLANGE_DEG <= turn <= MOST_FLANGE_DEG:
        raise BadAllowanceError(edge, "angle", allowance.angle_deg)


def check_blank(net: FloatArray) -> None:
    """Raise `BlankTooSmallError` where a net line is next to nothing across, or no line at all.

    >>> check_blank(np.array([[0.0, 0.0], [30.0, 0.0], [0.0, 30.0]]))
    >>> check_blank(np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 0.01]]))
    Traceback (most recent call last):
        ...
    geometry.pattern.allowance.BlankTooSmallError: a blank of 0.01 mm, at least 0.05 mm
    """
    box = shapely.oriented_envelope(shapely.MultiPoint(net))
    across = 0.0
    if box.geom_type == "Polygon":
        across = float(
            np.linalg.norm(np.diff(shapely.get_coordinates(box)[:3], axis=0), axis=1).min()
        )
    if across < LEAST_BLANK_MM:
        raise BlankTooSmallError(across, LEAST_BLANK_MM)


def check_edges(edges: Sequence[PatternEdge], allowances: Mapping[str, EdgeAllowance]) -> None:
    """Raise `NoSuchEdgeError` for a key no edge has, `BadAllowanceError` for what cannot be."""
    keys = tuple(dict.fromkeys(edge_key(edge) for edge in edges))
    for key, allowance in allowances.items():
        if key not in keys:
            raise NoSuchEdgeError(key, keys)
        check_allowance(key, allowance)


def most_along(growth_mm: FloatArray | None) -> float:
    """Return the most a cut line has to grow along an edge; nothing where that is not known."""
    return 0.0 if growth_mm is None or not len(growth_mm) else max(0.0, float(growth_mm.max()))
