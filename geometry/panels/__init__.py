"""Seams, cutting along them, and the panels that result, with maps back to the scan."""

from geometry.panels.cut import CutSurface, Cutter, Surface, cut_along
from geometry.panels.panel import Panel, SeamHalf, panels
from geometry.panels.seam import (
    PanelPointError,
    Seam,
    SeamCrossesItselfError,
    SeamDoesNotPartError,
    SeamDoublesBackError,
    SeamError,
    SeamLeavesSliverError,
    SeamNotScannedError,
    SeamOffSurfaceError,
    SeamPath,
    SeamTooShortError,
)

__all__ = [
    "CutSurface",
    "Cutter",
    "Panel",
    "PanelPointError",
    "Seam",
    "SeamCrossesItselfError",
    "SeamDoesNotPartError",
    "SeamDoublesBackError",
    "SeamError",
    "SeamHalf",
    "SeamLeavesSliverError",
    "SeamNotScannedError",
    "SeamOffSurfaceError",
    "SeamPath",
    "SeamTooShortError",
    "Surface",
    "cut_along",
    "panels",
]
