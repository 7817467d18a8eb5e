"""`SeamCosts`: keeps the strip under the tank telling what the seams cost, also while one moves."""

from dataclasses import replace

from PySide6.QtCore import QObject

from app.window.bench import Bench
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.steps import Desk, SeamFiguresView


class SeamCosts(QObject):
    """Shows the figures while the Seams step is shown."""

    def __init__(
        self, document: Document, bench: Bench, foreman: Foreman, view: SeamFiguresView
    ) -> None:
        super().__init__(foreman)
        self._document, self._bench, self._foreman, self._view = document, bench, foreman, view
        view.panel_chosen.connect(foreman.show_panel)
        foreman.trial_changed.connect(self._show_moving)

    def refresh(self, desk: Desk) -> None:
        """Show what the seams cost as the job stands, or nothing at other steps."""
        is_shown = self._foreman.step == "Seams"
        self._view.setVisible(is_shown)
        if is_shown:
            is_moving = self._foreman.trial_seams is not None
            self._view.refresh(self._document.state, desk, is_moving=is_moving)

    def _show_moving(self) -> None:
        """Tell whether what is shown holds, while a seam is in the hand."""
        self.refresh(replace(self._foreman.desk, was_stopped=self._bench.was_stopped))
