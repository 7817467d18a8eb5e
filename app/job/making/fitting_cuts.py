"""Holes of fittings on the panels' blanks: new ones cut after forming, the old filler left out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.mesh import NearestPoint
from geometry.panels import Panel
from geometry.surface import Opening

_ON_PANEL_MM = 3.0
"""A hole farther than this off every panel lies on a cap, not on a panel."""

_SAME_HOLE_MM = 4.0


@dataclass(frozen=True, eq=False)
class FittingCut:
    """One hole of a fitting, in the surface's own axes, mm.

    Attributes
    ----------
    opening : Opening
    lines : tuple of (k, 3) float
        Ring and flange round it: closed, not repeated.
    """

    opening: Opening
    lines: tuple[FloatArray, ...]


@dataclass(frozen=True, eq=False)
class FittingCuts:
    """What fittings change on the blanks.

    Attributes
    ----------
    cuts : tuple of FittingCut
    blanked : (3,) float, mm, or None
        Centre of the scanned filler, which is not cut where it was once one is set anew.
    """

    cuts: tuple[FittingCut, ...]
    blanked: FloatArray | None

    def openings(self, scanned: Sequence[Opening]) -> tuple[Opening, ...]:
        """Return the scanned openings that are still cut."""
        if self.blanked is None:
            return tuple(scanned)
        away = [float(np.linalg.norm(each.centre - self.blanked)) for each in scanned]
        pairs = zip(scanned, away, strict=True)
        return tuple(each for each, off in pairs if off > _SAME_HOLE_MM)

    def on_panel(self, panel: Panel, panels: Sequence[Panel]) -> tuple[FittingCut, ...]:
        """Return the cuts whose middles lie on a panel, of all those there are."""
        if not self.cuts:
            return ()
        centres = np.stack([cut.opening.outline.mean(axis=0) for cut in self.cuts])
        names = [each.name for each in panels]
        off = np.stack([NearestPoint(each.mesh).find(centres).distances for each in panels])
        nearest, at = off.min(axis=0), off.argmin(axis=0)
        here = (nearest <= _ON_PANEL_MM) & (at == names.index(panel.name))
        return tuple(self.cuts[k] for k in np.flatnonzero(here))
