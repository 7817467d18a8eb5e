"""The right-hand column: what the chosen step needs, one view a step."""

from app.window.steps.blanks_view import BlanksView
from app.window.steps.paper_view import PaperView
from app.window.steps.scan_view import ScanView
from app.window.steps.seams_view import SeamsView
from app.window.steps.size_view import SizeView
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox, StepView

__all__ = [
    "BlanksView",
    "Desk",
    "NarrowBox",
    "PaperView",
    "ScanView",
    "SeamsView",
    "SizeView",
    "StepView",
]
