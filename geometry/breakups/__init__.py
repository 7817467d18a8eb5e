"""Break-ups: what splitting the tank one way or another costs, judged and proposed."""

from geometry.breakups.advice import (
    Advice,
    EndsApartAdvice,
    InsideCornerAdvice,
    LowCrownAdvice,
    NearLineAdvice,
    TooLargeAdvice,
)
from geometry.breakups.break_up_figures import BreakUpFigures
from geometry.breakups.choices import Choice, SeamMove
from geometry.breakups.draft import Draft
from geometry.breakups.lift_out import LiftOut, lift_out
from geometry.breakups.panel_figures import PanelFigures, panel_figures, refused_figures
from geometry.breakups.seam_advice import STAND_OFF_MM, SeamAdviser, seam_advice
from geometry.breakups.seam_figures import (
    SeamFigures,
    SeenMark,
    Sight,
    figures_of_cut,
    seam_figures,
    sight_of,
)
from geometry.breakups.study import PieceCountError, Study, proposals
from geometry.breakups.study_ground import StudySurfaceError

__all__ = [
    "STAND_OFF_MM",
    "Advice",
    "BreakUpFigures",
    "Choice",
    "Draft",
    "EndsApartAdvice",
    "InsideCornerAdvice",
    "LiftOut",
    "LowCrownAdvice",
    "NearLineAdvice",
    "PanelFigures",
    "PieceCountError",
    "SeamAdviser",
    "SeamFigures",
    "SeamMove",
    "SeenMark",
    "Sight",
    "Study",
    "StudySurfaceError",
    "TooLargeAdvice",
    "figures_of_cut",
    "lift_out",
    "panel_figures",
    "proposals",
    "refused_figures",
    "seam_advice",
    "seam_figures",
    "sight_of",
]
