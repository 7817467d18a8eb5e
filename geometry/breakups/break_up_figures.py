"""What a whole break-up costs: its panels' figures and its seams' put together."""

from dataclasses import dataclass

import numpy as np

from geometry.breakups.panel_figures import PanelFigures
from geometry.breakups.seam_figures import SeamFigures
from geometry.metal import StockSheet


@dataclass(frozen=True, eq=False)
class BreakUpFigures:
    """What a way of splitting the tank costs.

    A sum over panels is not-a-number where one of them cannot be laid flat (`refused`).

    Attributes
    ----------
    panels : tuple of PanelFigures
    seams : tuple of SeamFigures
    """

    panels: tuple[PanelFigures, ...]
    seams: tuple[SeamFigures, ...]

    @property
    def pieces(self) -> int:
        """Return how many panels there are."""
        return len(self.panels)

    @property
    def worst_stretch(self) -> float:
        """Return the largest of the panels' worst stretches."""
        return float(np.max([panel.worst_stretch for panel in self.panels]))

    @property
    def worst_shrink(self) -> float:
        """Return the smallest of the panels' worst shrinks."""
        return float(np.min([panel.worst_shrink for panel in self.panels]))

    @property
    def work_mm2(self) -> float:
        """Return all panels' work."""
        return sum(panel.work_mm2 for panel in self.panels)

    @property
    def metal_mm2(self) -> float:
        """Return the sheet all blanks are cut from, rectangles with trim."""
        return sum(panel.metal_mm2 for panel in self.panels)

    @property
    def longest_mm(self) -> float:
        """Return the longest side of any blank with its trim."""
        return float(np.max([panel.cut_mm[0] for panel in self.panels]))

    @property
    def weld_mm(self) -> float:
        """Return the length of all seams."""
        return sum(seam.length_mm for seam in self.seams)

    @property
    def seen_mm(self) -> float:
        """Return what of the seams is seen."""
        return sum(seam.seen_mm for seam in self.seams)

    @property
    def hidden_mm(self) -> float:
        """Return what of the seams is hidden."""
        return sum(seam.hidden_mm for seam in self.seams)

    @property
    def refused(self) -> tuple[str, ...]:
        """Return the names of panels that cannot be laid flat in one piece."""
        return tuple(panel.name for panel in self.panels if panel.refusal is not None)

    @property
    def held(self) -> tuple[str, ...]:
        """Return the names of panels that do not lift out of their form."""
        return tuple(panel.name for panel in self.panels if not panel.lift.is_free)

    def too_large(self, sheet: StockSheet) -> tuple[str, ...]:
        """Return the names of panels whose blank, with its trim, does not fit on a sheet."""
        short, long = sorted((sheet.width_mm, sheet.length_mm))
        return tuple(
            panel.name for panel in self.panels if panel.cut_mm[0] > long or panel.cut_mm[1] > short
        )
