"""`Middle`: what stands between the steps and their fields: the tank, beside a blank, or pages."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from app.window.caption import Caption
from app.window.comparison_table import ComparisonTable
from app.window.pages_side import PagesSide
from app.window.plates_side import PlatesSide
from app.window.rest import row_of
from app.window.sheet_view import SheetView
from app.window.steps import SeamFiguresView
from app.window.tank_side import TankSide

_TANK_AND_SHEET = (0.55, 0.45)
"""How they share the middle when the sheet is shown first."""


class Middle(QStackedWidget):
    """Shows what a step is about."""

    def __init__(
        self,
        tank: TankSide,
        sheet: SheetView,
        comparison: ComparisonTable,
        pages: PagesSide,
        plates: PlatesSide,
    ) -> None:
        super().__init__()
        self.figures = SeamFiguresView()
        self.figures.hide()
        self.readout = QLabel()
        self.readout.setProperty("role", "strip")
        self.readout.setMinimumHeight(34)
        self.caption = Caption()
        self._sheet_side = _captioned(self.caption, sheet)
        self._shared: set[str] = set()
        self._beside = QSplitter(Qt.Orientation.Horizontal)
        self._beside.setChildrenCollapsible(False)
        self._beside.addWidget(tank)
        self._beside.addWidget(self._sheet_side)
        self._beside.addWidget(plates)
        self._pages, self._plates = pages, plates
        bench = QWidget()
        column = QVBoxLayout(bench)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._beside, 1)
        column.addWidget(comparison)
        column.addWidget(self.figures)
        column.addWidget(self.readout)
        self.addWidget(bench)
        self.addWidget(pages)

    def show_step(self, step: str) -> None:
        """Show what a step is about; the keys go with it."""
        at_pages = step == "Paper"
        if at_pages != (self.currentWidget() is self._pages):
            self.setCurrentIndex(int(at_pages))
            if at_pages:
                self._pages.canvas.setFocus()
        self._sheet_side.setVisible(step == "Blanks")
        besides = row_of(step) is not None
        self._plates.setVisible(besides)
        kind = "rest" if besides else step
        if kind in ("Blanks", "rest") and kind not in self._shared:
            self._shared.add(kind)
            width = self._beside.width()
            tank, other = (round(share * width) for share in _TANK_AND_SHEET)
            self._beside.setSizes([tank, other, other])


def _captioned(caption: Caption, view: QWidget) -> QWidget:
    whole = QWidget()
    column = QVBoxLayout(whole)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(caption)
    column.addWidget(view, 1)
    return whole
