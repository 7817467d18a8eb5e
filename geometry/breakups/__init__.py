"""Break-ups: what splitting the tank one way or another costs, judged and proposed."""

from geometry.breakups.break_up_figures import BreakUpFigures
from geometry.breakups.draft import Draft
from geometry.breakups.lift_out import LiftOut, lift_out
from geometry.breakups.panel_figures import PanelFigures, panel_figures, refused_figures
from geometry.breakups.seam_figures import SeamFigures, SeenMark, Sight, seam_figures, sight_of

__all__ = [
    "BreakUpFigures",
    "Draft",
    "LiftOut",
    "PanelFigures",
    "SeamFigures",
    "SeenMark",
    "Sight",
    "lift_out",
    "panel_figures",
    "refused_figures",
    "seam_figures",
    "sight_of",
]
