"""The right-hand column: what the chosen step needs, one view a step."""

from app.window.steps.advice_list import ADVICE, shown_advice
from app.window.steps.blanks_view import BlanksView
from app.window.steps.capacity_view import CapacityView
from app.window.steps.datum_view import DatumView
from app.window.steps.fittings_view import FittingsView
from app.window.steps.flanges_view import FlangesView
from app.window.steps.frame_view import FrameView
from app.window.steps.gauges_view import GaugesView
from app.window.steps.lines_view import LinesView
from app.window.steps.paper_view import PaperView
from app.window.steps.rest_view import RestView, SpecList
from app.window.steps.scan_view import ScanView
from app.window.steps.seam_figures_view import SeamFiguresView, Tried
from app.window.steps.seams_view import SeamsView
from app.window.steps.seat_view import SeatView
from app.window.steps.second_scan_part import off_words
from app.window.steps.sides_view import SidesView
from app.window.steps.size_view import SizeView
from app.window.steps.spec_form import FormRow, SpecForm
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox, StepView
from app.window.steps.tidy_view import TidyView
from app.window.steps.tunnel_view import TunnelView
from app.window.steps.typed_edit import (
    AngleEdit,
    CountEdit,
    LengthEdit,
    TypedEdit,
    VolumeEdit,
    WordsEdit,
)

__all__ = [
    "ADVICE",
    "AngleEdit",
    "BlanksView",
    "CapacityView",
    "CountEdit",
    "DatumView",
    "Desk",
    "FittingsView",
    "FlangesView",
    "FormRow",
    "FrameView",
    "GaugesView",
    "LengthEdit",
    "LinesView",
    "NarrowBox",
    "PaperView",
    "RestView",
    "ScanView",
    "SeamFiguresView",
    "SeamsView",
    "SeatView",
    "SidesView",
    "SizeView",
    "SpecForm",
    "SpecList",
    "StepView",
    "TidyView",
    "Tried",
    "TunnelView",
    "TypedEdit",
    "VolumeEdit",
    "WordsEdit",
    "off_words",
    "shown_advice",
]
