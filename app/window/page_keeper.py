"""`PageKeeper`: has every page composed in the worker, and knows whether the pages still hold."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.delivery import composed
from app.exports import Sheaf
from app.job import (
    JobState,
    all_made,
    failure,
    made,
    panel_names,
    paper_digest,
    with_print,
)
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.kept import same_key
from app.window.steps import Desk
from app.window.words import sentence
from geometry.progress import Report

NOT_CUT = "Draw seams first: step 7."
NOT_FLAT = "Not every panel is laid flat.\n\nPress Shift+L, then see here what will come out."


def composed_pages(
    state: JobState, dated: date, desk: Desk, *, report: Report
) -> tuple[Sheaf, ...]:
    """Return every page of a job as it would be printed on a day."""
    return composed(
        state,
        dated=dated,
        show="in" if desk.show == "in" else "mm",
        least_mm=desk.least_thickness_mm,
        output=desk.output,
        fractions=desk.fractions,
        metals=desk.metals,
        report=report,
    )


def travelling_desk(desk: Desk) -> Desk:
    """Return what pages hang on of the desk, such that it can travel between processes."""
    return Desk(
        show=desk.show,
        least_thickness_mm=desk.least_thickness_mm,
        metals=dict(desk.metals),
        output=desk.output,
        fractions=desk.fractions,
    )


@dataclass(frozen=True, eq=False)
class _Composed:
    key: tuple[Any, ...]
    sheaves: tuple[Sheaf, ...]


class PageKeeper(QObject):
    """Keeps the pages composed last; asks for others when they are wanted and these are old."""

    changed = Signal()
    said = Signal(str)

    def __init__(self, document: Document, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self._document, self._bench = document, bench
        self._kept: _Composed | None = None
        self._under_way: tuple[tuple[Any, ...], Errand] | None = None
        self._declined: tuple[Any, ...] | None = None
        self._why = self._dressed_for = ""
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._stopped)

    @property
    def sheaves(self) -> tuple[Sheaf, ...]:
        """The pages composed last, whether they still hold or not."""
        return () if self._kept is None else self._kept.sheaves

    def is_current(self, desk: Desk) -> bool:
        """Return whether the pages kept are what would come out now."""
        key = self._key(desk)
        return self._kept is not None and key is not None and same_key(self._kept.key, key)

    def words(self) -> str:
        """Return why there are no pages of the job as it stands; "" where they are on the way."""
        state = self._document.state
        names = panel_names(state)
        if not names:
            return NOT_CUT
        if not all_made(state, "Paper"):
            errors = (failure(state, step, name) for step in ("Blanks", "Paper") for name in names)
            told = next((sentence(error) for error in errors if error is not None), "")
            return told or NOT_FLAT
        return self._why or "The pages are being made."

    def forget(self) -> None:
        """Keep nothing: another job was opened."""
        self._kept = self._declined = None
        self._why = self._dressed_for = ""

    def want(self, desk: Desk) -> None:
        """Have the pages composed, if they can be and are not there."""
        self._want_patterns()
        key = self._key(desk)
        if self._under_way is not None and (key is None or not same_key(self._under_way[0], key)):
            _, old = self._under_way
            self._under_way = None
            self._bench.drop(old)  # nobody waits for pages of what was decided before
        if key is None or self.is_current(desk) or self._is_tried(key):
            return
        state = with_print(self._document.state, date.today())
        travelling = replace(state, results=dict(state.results))
        dated = date.fromisoformat(state.revised)
        errand = Errand(
            "Making the pages", composed_pages, (travelling, dated, travelling_desk(desk))
        )
        self._why = ""
        self._under_way = (key, errand)
        self._bench.run_errand(errand)

    def _want_patterns(self) -> None:
        """Have patterns dressed anew that were made before, once for what is decided now."""
        state = self._document.state
        if not all_made(state, "Blanks") or all_made(state, "Paper"):
            return
        digest = paper_digest(state)
        if digest != self._dressed_for:
            self._dressed_for = digest
            self._bench.want("Paper", panel_names(state))

    def _key(self, desk: Desk) -> tuple[Any, ...] | None:
        """Return everything the pages hang on; None while not every pattern is made."""
        state = self._document.state
        if not all_made(state, "Paper"):
            return None
        printed = with_print(state, date.today())
        patterns = [made(state, "Paper", name) for name in panel_names(state)]
        return (
            paper_digest(state), printed.revision, printed.revised, desk.show,
            desk.least_thickness_mm, repr(desk.output), repr(desk.fractions), state.card,
            repr(state.price), made(state, "Seams"), *patterns,
        )  # fmt: skip

    def _is_tried(self, key: tuple[Any, ...]) -> bool:
        if self._declined is not None and same_key(self._declined, key):
            return True
        return self._under_way is not None and same_key(self._under_way[0], key)

    def _take(self, errand: Errand, value: Any) -> None:
        if self._under_way is not None and self._under_way[1] is errand:
            self._kept = _Composed(self._under_way[0], value)
            self._under_way = None
            self.changed.emit()

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._under_way is not None and self._under_way[1] is errand:
            self._declined, self._under_way = self._under_way[0], None
            self._why = sentence(error)
            self.said.emit(self._why)
            self.changed.emit()

    def _stopped(self, errand: Errand) -> None:
        if self._under_way is not None and self._under_way[1] is errand:
            self._declined, self._under_way = self._under_way[0], None
            self._why = "Stopped: the pages were not made. Press Ctrl+R to make them."
            self.changed.emit()

    def again(self) -> None:
        """Try again what was stopped or failed."""
        self._declined = None
        self._dressed_for = ""
        self.changed.emit()

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is about the pages themselves."""
        return {"pages_again": self.again}
