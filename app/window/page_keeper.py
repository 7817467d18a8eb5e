"""`PageKeeper`: has every page composed in the worker, and knows whether the pages still hold."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.delivery import Composed, composed, job_sheets, whole_job
from app.exports import Sheaf, sheaf_of_card
from app.job import (
    JobState,
    StepState,
    all_made,
    failure,
    made,
    panel_names,
    paper_digest,
    part_state,
    task_for,
    with_print,
)
from app.window.bench import BESIDES, Bench, Errand
from app.window.document import Document
from app.window.kept import same_key
from app.window.steps import Desk
from app.window.words import sentence
from geometry.gauges import TapeTable
from geometry.progress import Report

_CARD = "job card.pdf"
NOT_CUT = "Draw seams first: step 7."
NOT_FLAT = "Not every panel is laid flat.\n\nPress Shift+L, then see here what will come out."


def composed_pages(
    state: JobState, dated: date, desk: Desk, table: TapeTable | None, *, report: Report
) -> Composed:
    """Return every page of a job as it would be printed on a day.

    Parameters
    ----------
    state : JobState
    dated : date
    desk : Desk
    table : TapeTable or None
        The job's tape table where it is known already.
    report : Report
    """
    return composed(
        state,
        dated=dated,
        show="in" if desk.show == "in" else "mm",
        least_mm=desk.least_thickness_mm,
        output=desk.output,
        fractions=desk.fractions,
        metals=desk.metals,
        table=table,
        report=report,
    )


def composed_card(state: JobState, dated: date, desk: Desk, *, report: Report) -> Sheaf:
    """Return the pages of the job card alone: they hang on what no pattern hangs on."""
    report(0.0, "job card")
    overview = job_sheets(
        state,
        dated=dated,
        show="in" if desk.show == "in" else "mm",
        least_mm=desk.least_thickness_mm,
    )
    whole = whole_job(state, overview, None, metals=desk.metals, fractions=desk.fractions)
    return sheaf_of_card(whole.card)


def travelling_desk(desk: Desk) -> Desk:
    """Return what pages hang on of the desk, such that it can travel between processes."""
    return Desk(
        show=desk.show,
        least_thickness_mm=desk.least_thickness_mm,
        metals=dict(desk.metals),
        output=desk.output,
        fractions=desk.fractions,
    )


_STOPPED = "Stopped: the pages were not made. Go on below, or press Ctrl+R, to make them."


@dataclass(frozen=True, eq=False)
class _Wanted:
    """What pages, job card and tape table hang on as they are wanted now."""

    key: tuple[Any, ...]
    card_key: tuple[Any, ...]
    tape_key: tuple[Any, ...]

    def is_same(self, other: "_Wanted") -> bool:
        """Return whether another is for the same pages."""
        return same_key((*self.key, *self.card_key), (*other.key, *other.card_key))


@dataclass(frozen=True, eq=False)
class _Kept:
    """Pages, and what they hang on."""

    wanted: _Wanted
    pages: Composed

    def with_card(self, wanted: _Wanted, card: Sheaf) -> "_Kept":
        """Return the same pages with another job card."""
        sheaves = tuple(card if each.name == card.name else each for each in self.pages.sheaves)
        return _Kept(wanted, Composed(sheaves, self.pages.table))


def besides_due(state: JobState) -> bool:
    """Return whether a step besides the panels is still to be made before pages can be."""
    open_ = (StepState.TO_DO, StepState.OUT_OF_DATE)
    return any(
        part_state(state, name) in open_ and task_for(state, name) is not None for name in BESIDES
    )


class PageKeeper(QObject):
    """Keeps the pages composed last; asks for others when they are wanted and these are old."""

    changed = Signal()
    said = Signal(str)

    def __init__(self, document: Document, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self._document, self._bench = document, bench
        self._kept: _Kept | None = None
        self._under_way: tuple[_Wanted, Errand] | None = None
        self._declined: _Wanted | None = None
        self._why = self._dressed_for = ""
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._stopped)

    @property
    def sheaves(self) -> tuple[Sheaf, ...]:
        """The pages composed last, whether they still hold or not."""
        return () if self._kept is None else self._kept.pages.sheaves

    def current(self, desk: Desk) -> Composed | None:
        """Return the pages kept if all of them are what would come out now."""
        return None if self._kept is None or self.out_of_date(desk) else self._kept.pages

    def is_current(self, desk: Desk, name: str) -> bool:
        """Return whether the pages kept of a file are what would come out now."""
        return self._kept is not None and name not in self.out_of_date(desk)

    def patterns_hold(self, desk: Desk) -> bool:
        """Return whether all pages kept hold, but for the job card's."""
        return self._kept is not None and self.out_of_date(desk) <= {_CARD}

    def out_of_date(self, desk: Desk) -> frozenset[str]:
        """Return the names of the files whose pages kept no longer hold."""
        key, kept = self._key(desk), self._kept
        if kept is None:
            return frozenset()
        if key is None or not same_key(kept.wanted.key, key):
            return frozenset(sheaf.name for sheaf in kept.pages.sheaves)
        same = same_key(kept.wanted.card_key, self._card_key())
        return frozenset() if same else frozenset([_CARD])

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
        wanted = None if key is None else _Wanted(key, self._card_key(), self._tape_key())
        self._drop_unless(wanted)
        if wanted is None or self._is_tried(wanted):
            return
        if self._kept is not None and not self.out_of_date(desk):
            return
        state = with_print(self._document.state, date.today())
        travelling = replace(state, results=dict(state.results))
        asked = (travelling, date.fromisoformat(state.revised), travelling_desk(desk))
        errand = (
            Errand("Making the pages", composed_card, asked)
            if self.patterns_hold(desk)
            else Errand("Making the pages", composed_pages, (*asked, self._table_of(wanted)))
        )
        self._why = ""
        self._under_way = (wanted, errand)
        self._bench.run_errand(errand)

    def _table_of(self, wanted: _Wanted) -> TapeTable | None:
        """Return the tape table kept, if it is that of the pages wanted."""
        kept = self._kept
        holds = kept is not None and same_key(kept.wanted.tape_key, wanted.tape_key)
        return kept.pages.table if kept is not None and holds else None

    def _drop_unless(self, wanted: "_Wanted | None") -> None:
        """Let go of pages under way that nobody waits for: others are wanted, or none."""
        under_way = self._under_way
        if under_way is not None and (wanted is None or not wanted.is_same(under_way[0])):
            self._under_way = None
            self._bench.drop(under_way[1])

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
        if not all_made(state, "Paper") or besides_due(state):
            return None
        printed = with_print(state, date.today())
        patterns = [made(state, "Paper", name) for name in panel_names(state)]
        return (
            paper_digest(state), printed.revision, printed.revised, desk.show,
            desk.least_thickness_mm, repr(desk.output), repr(desk.fractions),
            made(state, "Seams"), *patterns, *(made(state, name) for name in BESIDES),
        )  # fmt: skip

    def _card_key(self) -> tuple[Any, ...]:
        """Return what the job card hangs on besides."""
        return (self._document.state.card, repr(self._document.state.price))

    def _tape_key(self) -> tuple[Any, ...]:
        """Return everything the tape table hangs on."""
        state = self._document.state
        steps = ("Surface", "Datum", "Lines", "Tidy", "Seams")
        return (*(made(state, step) for step in steps), state.size, state.directions)

    def _is_tried(self, wanted: "_Wanted") -> bool:
        if self._declined is not None and wanted.is_same(self._declined):
            return True
        return self._under_way is not None and wanted.is_same(self._under_way[0])

    def _take(self, errand: Errand, value: Any) -> None:
        if self._under_way is not None and self._under_way[1] is errand:
            wanted, self._under_way = self._under_way[0], None
            if isinstance(value, Sheaf):
                if self._kept is not None:
                    self._kept = self._kept.with_card(wanted, value)
            else:
                self._kept = _Kept(wanted, value)
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
            self._why = _STOPPED
            self.changed.emit()

    @property
    def was_stopped(self) -> bool:
        """Whether pages that are wanted were stopped by hand."""
        return self._declined is not None and self._why == _STOPPED

    def go_on(self) -> None:
        """Make pages that were stopped."""
        if self.was_stopped:
            self.again()

    def again(self) -> None:
        """Try again what was stopped or failed."""
        self._declined = None
        self._dressed_for = ""
        self.changed.emit()

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is about the pages themselves."""
        return {"pages_again": self.again}
