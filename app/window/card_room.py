"""`CardRoom`: the job card in a window of its own, beside the tank."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog, QVBoxLayout, QWidget

from app.job import JobCard, next_step_words, panel_names, with_card
from app.window.card_view import CardView
from app.window.document import Document
from app.window.foreman import Foreman


class CardRoom(QObject):
    """Shows the card of the job that is open, and takes what is entered into the job."""

    def __init__(self, document: Document, foreman: Foreman, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._foreman = document, foreman
        self.view = CardView()
        self.window_ = QDialog(window)
        self.window_.resize(960, 640)
        column = QVBoxLayout(self.window_)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.view)
        self.view.card_requested.connect(self.take)
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
        self.view.refresh(state.card, panel_names(state), self._foreman.desk.show)

    def take(self, card: JobCard) -> None:
        """Take what was entered."""
        self._document.edit(with_card(self._document.state, card), "job card")
