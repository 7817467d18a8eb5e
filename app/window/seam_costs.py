"""`SeamCosts`: keeps the strip under the tank telling what the seams cost, also while one moves."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QObject

from app.job import Task, made, task_for
from app.window.bench import Bench
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.steps import Desk, SeamFiguresView, Tried


class SeamCosts(QObject):
    """Shows the figures while the Seams step is shown; has those of a seam in the hand judged."""

    def __init__(
        self, document: Document, bench: Bench, foreman: Foreman, view: SeamFiguresView
    ) -> None:
        super().__init__(foreman)
        self._document, self._bench, self._foreman, self._view = document, bench, foreman, view
        self._tried: Tried | None = None
        view.panel_chosen.connect(foreman.show_panel)
        foreman.trial_changed.connect(self._try_out)
        bench.tried.connect(self._take_tried)

    def refresh(self, desk: Desk) -> None:
        """Show what the seams cost as the job stands, or nothing at other steps."""
        is_shown = self._foreman.step == "Seams"
        self._view.setVisible(is_shown)
        if is_shown:
            state, trial = self._document.state, self._foreman.trial_seams
            if trial is None and made(state, "Judged") is not None:
                self._tried = None
            self._view.refresh(state, desk, trial=trial, tried=self._tried)

    def _try_out(self) -> None:
        """Have the seams in the hand judged, the last ones only; tell how what is shown stands."""
        state, trial = self._document.state, self._foreman.trial_seams
        if trial is None or trial == state.seams:
            self._bench.try_out(None)
        else:
            self._bench.try_out(task_for(replace(state, seams=trial), "Judged"))
        self._show_moving()

    def _take_tried(self, task: Task, found: Any) -> None:
        seams = task.inputs[2]
        if isinstance(found, Exception):
            self._tried = Tried(seams, None if self._tried is None else self._tried.figures, found)
        else:
            self._tried = Tried(seams, found)
        self._show_moving()

    def _show_moving(self) -> None:
        """Tell whether what is shown holds, while a seam is in the hand."""
        self.refresh(replace(self._foreman.desk, was_stopped=self._bench.was_stopped))
