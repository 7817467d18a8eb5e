"""`BreakUpJudge`: what each kept break-up costs, judged one after another in the worker."""

from dataclasses import dataclass, replace
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.job import BreakUp, ToPropose
from app.window.bench import Bench, Errand
from app.window.breaks_work import JUDGING, judge
from geometry.breakups import BreakUpFigures
from geometry.errors import GeometryError

_MOST_KEPT = 40


@dataclass(frozen=True, eq=False)
class Verdict:
    """What a break-up costs, or why it cannot be cut.

    Attributes
    ----------
    figures : BreakUpFigures or None
    error : Exception or None
    holds : bool
        Whether it is of the tank, sheet and notes as they are now.
    """

    figures: BreakUpFigures | None
    error: Exception | None = None
    holds: bool = True


NOT_YET = Verdict(None, holds=False)


class BreakUpJudge(QObject):
    """Judges what is wanted; what was judged is kept while it holds, and shown after that."""

    changed = Signal()

    def __init__(self, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self._bench = bench
        self._ground: ToPropose | None = None
        self._wanted: tuple[BreakUp, ...] = ()
        self._halted: tuple[BreakUp, ...] | None = None
        self._known: dict[BreakUp, tuple[ToPropose, Verdict]] = {}
        self._running: tuple[Errand, BreakUp, ToPropose] | None = None
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._stopped)

    def want(self, ground: ToPropose | None, breakups: tuple[BreakUp, ...]) -> None:
        """Judge these, on this tank; nothing without one, and what was stopped not again."""
        if ground is not None and (self._ground is None or not _same(self._ground, ground)):
            self._ground = ground
        self._wanted = tuple(map(_bare, breakups)) if ground is not None else ()
        if self._wanted != self._halted:
            self._halted = None
            self._go_on()

    def verdict(self, breakup: BreakUp) -> Verdict:
        """Return what is known of a break-up."""
        known = self._known.get(_bare(breakup))
        if known is None:
            return NOT_YET
        ground, verdict = known
        return verdict if self._holds(ground) else replace(verdict, holds=False)

    def learn(self, ground: ToPropose, breakup: BreakUp, figures: BreakUpFigures) -> None:
        """Take what a break-up costs from elsewhere."""
        self._keep(ground, _bare(breakup), Verdict(figures))

    def forget(self) -> None:
        """Let go of everything: another job was opened."""
        self._ground, self._wanted, self._halted = None, (), None
        self._known.clear()
        if self._running is not None:
            self._bench.drop(self._running[0])

    def _holds(self, ground: ToPropose) -> bool:
        return self._ground is not None and _same(self._ground, ground)

    def _go_on(self) -> None:
        if self._running is not None or self._ground is None:
            return
        due = next((each for each in self._wanted if not self.verdict(each).holds), None)
        if due is not None:
            errand = Errand(JUDGING, judge, (self._ground, due))
            self._running = (errand, due, self._ground)
            self._bench.run_errand(errand)

    def _take(self, errand: Errand, value: Any) -> None:
        self._end(errand, Verdict(value))

    def _refuse(self, errand: Errand, error: Exception) -> None:
        known = isinstance(error, GeometryError)
        self._end(errand, Verdict(None, error), go_on=known)

    def _stopped(self, errand: Errand) -> None:
        if self._running is not None and self._running[0] is errand:
            self._running, self._halted = None, self._wanted
            self.changed.emit()

    def _end(self, errand: Errand, verdict: Verdict, *, go_on: bool = True) -> None:
        if self._running is None or self._running[0] is not errand:
            return
        _, breakup, ground = self._running
        self._running = None
        self._keep(ground, breakup, verdict)
        if not go_on:
            self._wanted = ()
        self.changed.emit()
        self._go_on()

    def _keep(self, ground: ToPropose, breakup: BreakUp, verdict: Verdict) -> None:
        self._known.pop(breakup, None)
        self._known[breakup] = (ground, verdict)
        while len(self._known) > _MOST_KEPT:
            del self._known[next(iter(self._known))]


def _bare(breakup: BreakUp) -> BreakUp:
    """Return what of a break-up its cost hangs on: not its name, nor what advice is hushed."""
    notes = tuple(
        replace(note, hushed=(), note="") for note in breakup.notes if note.sight is not None
    )
    return replace(breakup, name="", notes=notes)


def _same(one: ToPropose, other: ToPropose) -> bool:
    """Return whether two grounds judge alike; marks are each break-up's own."""
    return (
        one.coarse is other.coarse
        and one.mm_per_unit == other.mm_per_unit
        and replace(one.by, marks=()) == replace(other.by, marks=())
    )
