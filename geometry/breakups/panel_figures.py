"""What one panel costs to make: shape, thickness, metal, and whether it comes out of its form."""

from dataclasses import dataclass
from math import nan

import numpy as np
from scipy.spatial import ConvexHull

from geometry.arrays import FloatArray, locked
from geometry.blank import FlatPanel, Standing
from geometry.breakups.lift_out import LiftOut, lift_out
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, face_areas

SPECK = 0.01
"""Share of a panel's area that no worst figure counts: a speck is no verdict."""


@dataclass(frozen=True, eq=False)
class PanelFigures:
    """What a panel costs.

    Attributes
    ----------
    name : str
    place : (3,) float, mm
        In the midst of it, on the scanned face.
    work_mm2 : float
        `FlatPanel.energy`: forming work per thickness and strength of the sheet.
    worst_stretch, worst_shrink : float
        Formed over flat: what 1 part in 100 of the panel's area goes beyond. Not above 1 for
        shrink, not below 1 for stretch.
    thinnest_mm, thickest_mm : float
        What 1 part in 100 of the area goes beyond, of the finished panel.
    blank_mm : (float, float)
        The least rectangle about the net line, longer side first.
    cut_mm : (float, float)
        The same with the trim all round: what is cut off the sheet.
    blank_area_mm2, formed_area_mm2 : float
    standing : Standing or None
        None where the panel could not be laid flat at all; every figure of shape is not-a-number
        then.
    overlap_mm2 : float
        Metal counted twice where parts of the blank lie on each other.
    lift : LiftOut
    refusal : GeometryError or None
        Why the panel could not be laid flat.
    """

    name: str
    place: FloatArray
    work_mm2: float
    worst_stretch: float
    worst_shrink: float
    thinnest_mm: float
    thickest_mm: float
    blank_mm: tuple[float, float]
    cut_mm: tuple[float, float]
    blank_area_mm2: float
    formed_area_mm2: float
    standing: Standing | None
    overlap_mm2: float
    lift: LiftOut
    refusal: GeometryError | None = None

    @property
    def metal_mm2(self) -> float:
        """Return the sheet it is cut from: the rectangle with its trim."""
        return self.cut_mm[0] * self.cut_mm[1]

    @property
    def growth(self) -> float:
        """Return the panel's area over the blank's: above 1 more is stretched than shrunk."""
        return self.formed_area_mm2 / self.blank_area_mm2


def panel_figures(
    name: str, flat: FlatPanel, outside: FloatArray, *, sheet_mm: float, trim_mm: float
) -> PanelFigures:
    """Return what a panel costs that has been laid flat.

    Parameters
    ----------
    name : str
    flat : FlatPanel
    outside : (k, 3) float, mm
        Its first vertices on the scanned face: that is what lies in the form. Whatever was put
        over holes comes after them and is not asked whether it comes out.
    sheet_mm : float
        Thickness of the sheet.
    trim_mm : float
        Left round the net line.
    """
    areas = flat.formed_areas
    skin = flat.faces[(flat.faces < len(outside)).all(axis=1)]
    long, wide = smallest_rectangle(flat.flat_vertices[flat.rim])
    return PanelFigures(
        name=name,
        place=_midst(outside),
        work_mm2=flat.energy,
        worst_stretch=max(gone_beyond(flat.stretches[:, 0], areas), 1.0),
        worst_shrink=min(-gone_beyond(-flat.stretches[:, 1], areas), 1.0),
        thinnest_mm=-gone_beyond(-flat.thickness, areas) * sheet_mm,
        thickest_mm=gone_beyond(flat.thickness, areas) * sheet_mm,
        blank_mm=(long, wide),
        cut_mm=(long + 2.0 * trim_mm, wide + 2.0 * trim_mm),
        blank_area_mm2=flat.blank_area,
        formed_area_mm2=flat.formed_area,
        standing=flat.standing,
        overlap_mm2=flat.overlap_area,
        lift=lift_out(outside, skin),
    )


def refused_figures(
    name: str, mesh: TriMesh, outside: FloatArray, refusal: GeometryError
) -> PanelFigures:
    """Return what can be told of a panel that cannot be laid flat in one piece."""
    return PanelFigures(
        name=name,
        place=_midst(outside),
        work_mm2=nan,
        worst_stretch=nan,
        worst_shrink=nan,
        thinnest_mm=nan,
        thickest_mm=nan,
        blank_mm=(nan, nan),
        cut_mm=(nan, nan),
        blank_area_mm2=nan,
        formed_area_mm2=float(face_areas(mesh.vertices, mesh.faces).sum()),
        standing=None,
        overlap_mm2=nan,
        lift=lift_out(outside, mesh.faces),
        refusal=refusal,
    )


def _midst(outside: FloatArray) -> FloatArray:
    """Return the vertex nearest to the middle of all."""
    off = np.linalg.norm(outside - outside.mean(axis=0), axis=1)
    return locked(outside[int(np.argmin(off))].copy())


def gone_beyond(values: FloatArray, areas: FloatArray, share: float = SPECK) -> float:
    """Return the value that a share of the area goes beyond.

    >>> gone_beyond(np.array([1.0, 5.0, 2.0]), np.array([97.0, 0.5, 2.5]))
    2.0
    """
    order = np.argsort(-values, kind="stable")
    gathered = np.cumsum(areas[order])
    return float(values[order[int(np.searchsorted(gathered, share * gathered[-1]))]])


def smallest_rectangle(points: FloatArray) -> tuple[float, float]:
    """Return the sides, longer first, of the rectangle of least area about (k, 2) points.

    One of its sides lies along a side of the convex outline. Source: [freeman1975].

    >>> tipped = np.array([[0.0, 0], [3, 4], [-1, 7], [-4, 3]])
    >>> [round(side, 9) for side in smallest_rectangle(tipped)]
    [5.0, 5.0]
    """
    hull = points[ConvexHull(points).vertices]
    along = np.roll(hull, -1, axis=0) - hull
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    one, other = np.ptp(hull @ along.T, axis=0), np.ptp(hull @ across.T, axis=0)
    best = int(np.argmin(one * other))
    return float(max(one[best], other[best])), float(min(one[best], other[best]))
