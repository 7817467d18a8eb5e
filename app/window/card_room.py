"""`CardRoom`: the job card in a window of its own, beside the tank."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QObject
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QDialog, QVBoxLayout, QWidget

from app.job import USUAL_STAGES, JobCard, next_step_words, panel_names, with_card
from app.window.card_view import CardView
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.keeper import Keeper


class CardRoom(QObject):
    """Shows the card of the job that is open, and takes what is entered into the job."""

    def __init__(
        self, document: Document, foreman: Foreman, keeper: Keeper, window: QWidget
    ) -> None:
        super().__init__(window)
        self._document, self._foreman, self._keeper = document, foreman, keeper
        self.view = CardView()
        self.window_ = QDialog(window)
        self.window_.resize(960, 640)
        column = QVBoxLayout(self.window_)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.view)
        self.view.card_requested.connect(self.take)
        self.view.stages.own_list_kept.connect(self.keep_own)
        for key, react in (
            (QKeySequence.StandardKey.Undo, document.undo),
            (QKeySequence.StandardKey.Redo, document.redo),
        ):
            QShortcut(key, self.window_, react)
        document.changed.connect(self.refresh)
        foreman.changed.connect(self.refresh)

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is the card's."""
        return {"card": self.show}

    def show(self) -> None:
        """Show the card."""
        self.window_.show()
        self.window_.raise_()
        self.refresh()

    def refresh(self) -> None:
        """Show the card as it stands, while it is looked at."""
        if not self.window_.isVisible():
            return
        state = self._document.state
        self.window_.setWindowTitle(f"Job card: {state.name} - {next_step_words(state.card)}")
        own = self._keeper.settings.stages or USUAL_STAGES
        self.view.refresh(state.card, panel_names(state), self._foreman.desk.show, own)

    def take(self, card: JobCard) -> None:
        """Take what was entered."""
        self._document.edit(with_card(self._document.state, card), "job card")

    def keep_own(self, names: tuple[str, ...]) -> None:
        """Keep a list of stages for the jobs to come."""
        self._keeper.keep_settings(replace(self._keeper.settings, stages=names))
        self.refresh()
