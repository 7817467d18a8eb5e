"""`Comparer`: has a panel laid flat two ways, in the worker, for the maker to choose between."""

from PySide6.QtCore import QObject, Signal

from app.job import (
    MAKING,
    BlankChoice,
    Comparison,
    HowMade,
    JobState,
    Panels,
    compared,
    made,
)
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.words import sentence


class Comparer(QObject):
    """Keeps the comparison shown, while the panel it was made of is still the document's."""

    changed = Signal()
    said = Signal(str)

    def __init__(self, document: Document, bench: Bench, foreman: Foreman, parent: QObject) -> None:
        super().__init__(parent)
        self._document, self._bench, self._foreman = document, bench, foreman
        self._errand: Errand | None = None
        self._found: Comparison | None = None
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._forget)

    def compare(self, panel: str, ways: tuple[HowMade, HowMade]) -> None:
        """Have a panel laid flat two ways."""
        cut: Panels | None = made(self._document.state, "Seams")
        found = [] if cut is None else [each for each in cut.panels if each.name == panel]
        if not found:
            return
        self._foreman.choose_step("Blanks")
        choices = tuple(BlankChoice(panel, MAKING[how]) for how in ways)
        self._errand = Errand(
            f"Comparing two ways: {panel}",
            compared,
            (found[0], choices, self._document.state.directions),
        )
        self._bench.run_errand(self._errand)

    def take(self, number: int) -> None:
        """Make the panel the first way compared (0) or the second (1)."""
        found = self._found
        self.put_away()
        if found is not None:
            choice = found.choices[number]
            self._foreman.make(choice.panel, choice.work, exact=choice.exact)

    def put_away(self) -> None:
        """Show no comparison."""
        if self._found is not None:
            self._found = None
            self.changed.emit()

    def shown(self, state: JobState, panel: str) -> Comparison | None:
        """Return the comparison, if it is of the chosen panel as it is cut now."""
        cut: Panels | None = made(state, "Seams")
        if self._found is None or cut is None or self._found.panel.name != panel:
            return None
        return self._found if any(each is self._found.panel for each in cut.panels) else None

    def _take(self, errand: Errand, value: object) -> None:
        if errand is self._errand and isinstance(value, Comparison):
            self._errand = None
            # what came back from the worker is a copy: the panel is the one it was made of
            self._found = Comparison(errand.arguments[0], value.choices, value.blanks)
            self.changed.emit()

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if errand is self._errand:
            self._errand = None
            self.said.emit(sentence(error))

    def _forget(self, errand: Errand) -> None:
        if errand is self._errand:
            self._errand = None
            self.said.emit("Stopped: nothing was compared.")
