"""`RestPages`: the pages of the step besides the panels that is shown, composed in the worker."""

from dataclasses import replace
from datetime import date
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.delivery import job_facts, kinds_made, rest_job, rest_sheaves
from app.exports import Sheaf
from app.job import JobState, made, paper_digest, with_print
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.kept import same_key
from app.window.page_keeper import travelling_desk
from app.window.steps import Desk
from app.window.words import sentence
from geometry.progress import Report

Key = tuple[Any, ...]


def composed_rest(
    state: JobState, step: str, dated: date, desk: Desk, *, report: Report
) -> tuple[Sheaf, ...]:
    """Return the pages of one step as they would be printed on a day, one size each.

    Parameters
    ----------
    state : JobState
    step : str
        Made.
    dated : date
    desk : Desk
    report : Report
    """
    report(0.0, step.lower())
    facts = job_facts(
        state, made(state, "Size"), dated=dated, show="in" if desk.show == "in" else "mm"
    )
    output = replace(desk.output, papers=())
    job = rest_job(state, facts, metals=desk.metals, output=output, fractions=desk.fractions)
    return rest_sheaves(job, kinds_made(state, step))


class RestPages(QObject):
    """Keeps the pages of one step; asks for others when they are wanted and these are old."""

    changed = Signal()

    def __init__(self, document: Document, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self._document, self._bench = document, bench
        self._kept: tuple[Key, tuple[Sheaf, ...]] | None = None
        self._under_way: tuple[Key, Errand] | None = None
        self._declined: Key | None = None
        self.words = ""
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._stopped)

    def sheaves(self, step: str) -> tuple[Sheaf, ...]:
        """Return the pages kept, if they are a step's, whether they still hold or not."""
        return self._kept[1] if self._kept is not None and self._kept[0][0] == step else ()

    def is_current(self, step: str, desk: Desk) -> bool:
        """Return whether the pages kept are what would come out now."""
        key = self._key(step, desk)
        return self._kept is not None and key is not None and same_key(self._kept[0], key)

    def want(self, step: str, desk: Desk) -> None:
        """Have a step's pages composed, if they can be and are not there."""
        key = self._key(step, desk)
        if self._under_way is not None and (key is None or not same_key(self._under_way[0], key)):
            self._bench.drop(self._under_way[1])
            self._under_way = None
            self.words = ""
        if key is None or self.is_current(step, desk) or self._under_way is not None:
            return
        if self._declined is not None and same_key(self._declined, key):
            return
        state = with_print(self._document.state, date.today())
        light = {part: state.results[part] for part in state.results if not part[1]}
        errand = Errand(
            "Making the pages",
            composed_rest,
            (replace(state, results=light), step, date.fromisoformat(state.revised),
             travelling_desk(desk)),
        )  # fmt: skip
        self.words = "The pages are being made."
        self._under_way = (key, errand)
        self._bench.run_errand(errand)

    def forget(self) -> None:
        """Keep nothing: another job was opened."""
        self._kept = self._declined = None
        self.words = ""

    def _key(self, step: str, desk: Desk) -> Key | None:
        state = self._document.state
        result = made(state, step)
        if result is None or made(state, "Surface") is None:
            return None
        printed = with_print(state, date.today())
        return (
            step, result, made(state, "Seams"), paper_digest(state), printed.revision, desk.show,
            repr(desk.output), repr(desk.fractions),
        )  # fmt: skip

    def _take(self, errand: Errand, value: Any) -> None:
        if self._under_way is not None and self._under_way[1] is errand:
            self._kept, self._under_way = (self._under_way[0], value), None
            self.words = ""
            self.changed.emit()

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._under_way is not None and self._under_way[1] is errand:
            self._declined, self._under_way = self._under_way[0], None
            self.words = sentence(error)
            self.changed.emit()

    def _stopped(self, errand: Errand) -> None:
        if self._under_way is not None and self._under_way[1] is errand:
            self._declined, self._under_way = self._under_way[0], None
            self.words = "Stopped: the pages were not made."
            self.changed.emit()
