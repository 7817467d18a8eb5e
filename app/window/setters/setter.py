"""`Setter`: what the four have in common: the document they edit, and the hand they fill."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.job import JobState
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.scene import Hit, TankView

NOTHING_CHOSEN = ("", -1)


class Setter(QObject):
    """Decides for one step; its view asks it."""

    said = Signal(str)
    step = ""

    def __init__(self, document: Document, foreman: Foreman, tank: TankView) -> None:
        super().__init__(foreman)
        self._document, self._foreman, self._tank = document, foreman, tank

    @property
    def state(self) -> JobState:
        """The job as it stands."""
        return self._document.state

    def choose(self, kind: str, number: int) -> None:
        """Choose a row of a list; the tank turns to it."""
        self._foreman.choose_row(kind, number)
        self.look_at(kind, number)

    def look_at(self, kind: str, number: int) -> None:
        """Turn the tank to a row of a list, where it has a place."""

    def clicked(self, hit: Hit | None) -> None:
        """Choose what was clicked on the tank, while no tool is in the hand."""

    def delete(self, kind: str, number: int) -> None:
        """Delete a row of a list, where it can be deleted."""

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is this setter's."""
        return {}

    def _edit(self, state: JobState, name: str) -> None:
        self._document.edit(state, name)

    def _let_go(self) -> None:
        self._foreman.choose_row(*NOTHING_CHOSEN)

    def _to_step(self) -> bool:
        """Go to this setter's step; say whether there is a scan to work on."""
        if self.state.scan is None:
            return False
        if self._foreman.step != self.step:
            self._foreman.choose_step(self.step)
        return True
