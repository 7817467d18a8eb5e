"""`BreaksRoom`: break-ups kept by name, compared, taken, proposed, printed; beside the tank."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QDialog, QFileDialog, QVBoxLayout, QWidget

from app.delivery import job_facts
from app.exports import MOST_ON_A_PAGE, Sheaf, Show, sheaf_bytes
from app.job import (
    BreakUp,
    JobState,
    Proposed,
    ToPropose,
    breakup_now,
    breakup_shown,
    made,
    move_words,
    to_propose,
    with_breakup_kept,
    with_breakup_renamed,
    with_breakup_taken,
    with_breakups_added,
    without_breakup,
)
from app.units import counted
from app.window.bench import Bench, Errand
from app.window.breaks_view import NOW, BreaksView, BreakUpLine
from app.window.breaks_work import LAYING_OUT, PROPOSING, ToShow, page_of, propose
from app.window.breakup_judge import BreakUpJudge
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.press import dated_of
from app.window.printing import PrintRoom
from app.window.words import sentence
from geometry.breakups import Choice
from geometry.gauges import TankAxes

Reaction = Callable[[Any], None]


class BreaksRoom(QObject):
    """Shows the break-ups of the job that is open, and does with them what is asked."""

    said = Signal(str)

    def __init__(
        self,
        document: Document,
        bench: Bench,
        foreman: Foreman,
        print_room: PrintRoom,
        window: QWidget,
    ) -> None:
        super().__init__(window)
        self._document, self._bench, self._foreman = document, bench, foreman
        self._print_room = print_room
        self.judge = BreakUpJudge(bench, self)
        self.view = BreaksView()
        self.window_ = QDialog(window)
        self.window_.setWindowTitle("Break-ups")
        self.window_.resize(1240, 560)
        column = QVBoxLayout(self.window_)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.view)
        self._errand: tuple[Errand, Reaction] | None = None
        self._proposed_on: ToPropose | None = None
        self._moves: dict[str, tuple[Choice, TankAxes]] = {}
        self.view.keep_requested.connect(self.keep)
        self.view.take_requested.connect(self.take)
        self.view.rename_requested.connect(self.rename)
        self.view.away_requested.connect(self.throw_away)
        self.view.propose_requested.connect(self.propose)
        self.view.stop_requested.connect(self.stop)
        self.view.print_requested.connect(self.print_page)
        self.view.export_requested.connect(self.export_with_dialog)
        for key, react in (
            (QKeySequence.StandardKey.Undo, document.undo),
            (QKeySequence.StandardKey.Redo, document.redo),
        ):
            QShortcut(key, self.window_, react)
        document.changed.connect(self.refresh)
        foreman.changed.connect(self.refresh)
        self.judge.changed.connect(self.refresh)
        bench.progressed.connect(self._show_progress)
        bench.errand_done.connect(self._done)
        bench.errand_failed.connect(self._failed)
        bench.errand_stopped.connect(self._stopped)
        self.view.show_progress(0.0, "", busy=False)

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is the break-ups'."""
        return {"breaks": self.show, "keep_breakup": self.ask_name}

    def show(self) -> None:
        """Show the break-ups."""
        self._foreman.choose_step("Seams")
        self.window_.show()
        self.window_.raise_()
        self.view.table.setFocus()
        self.refresh()

    def ask_name(self) -> None:
        """Show the break-ups, and ask for a name to keep the seams of now under."""
        self.show()
        taken = {each.name for each in self._state.breakups}
        number = next(n for n in range(1, 1000) if f"break-up {n}" not in taken)
        self.view.name.setText(f"break-up {number}")
        self.view.name.setFocus()
        self.view.name.selectAll()

    def forget(self) -> None:
        """Let go of everything: another job was opened."""
        self.stop()
        self.judge.forget()
        self._moves.clear()

    @property
    def _state(self) -> JobState:
        return self._document.state

    @property
    def _show_unit(self) -> Show:
        return "in" if self._foreman.desk.show == "in" else "mm"

    def refresh(self) -> None:
        """Show the break-ups as they stand, and have them judged, while they are looked at."""
        if not self.window_.isVisible():
            return
        state, ground = self._state, to_propose(self._state)
        lines = self._lines()
        self.judge.want(ground, tuple(line.breakup for line in lines))
        told = {
            name: moves_words(choice, axes, self._show_unit)
            for name, (choice, axes) in self._moves.items()
        }
        self.view.refresh(lines, self._show_unit, can_propose=ground is not None, told=told)
        if made(state, "Surface") is None:
            self.view.say("The smooth surface seams are judged on is still to be laid.")

    def _lines(self) -> tuple[BreakUpLine, ...]:
        state = self._state
        shown = breakup_shown(state)
        lines = [
            BreakUpLine(each, self.judge.verdict(each), is_shown=each.name == shown)
            for each in state.breakups
        ]
        if state.seams and not shown:
            now = breakup_now(state, NOW)
            lines.insert(0, BreakUpLine(now, self.judge.verdict(now), is_now=True))
        return tuple(lines)

    # ---- the seams of now, and those kept

    def keep(self, name: str) -> None:
        """Keep the seams of now under a name."""
        self._edit(with_breakup_kept(self._state, name), "keeping a break-up")
        self.view.say(f"Kept as \u201c{name}\u201d.")

    def take(self, name: str) -> None:
        """Split the tank as a kept break-up says."""
        unkept = bool(self._state.seams) and not breakup_shown(self._state)
        self._edit(with_breakup_taken(self._state, name), "taking a break-up")
        lost = " The seams of before were not kept: Ctrl+Z brings them back." if unkept else ""
        self.view.say(f"The tank is split as {name} says.{lost}")

    def rename(self, old: str, new: str) -> None:
        """Call a kept break-up by another name."""
        if old in self._moves:
            self._moves[new] = self._moves.pop(old)
        self._edit(with_breakup_renamed(self._state, old, new), "renaming a break-up")

    def throw_away(self, name: str) -> None:
        """Keep a break-up no longer; the seams of now stay."""
        self._edit(without_breakup(self._state, name), "throwing a break-up away")
        self.view.say(f"{name} is thrown away; Ctrl+Z brings it back.")

    def _edit(self, state: JobState, name: str) -> None:
        if state is not self._state:
            self._document.edit(state, name)

    # ---- work for the worker

    def propose(self, least: int, most: int) -> None:
        """Have break-ups proposed; they come into the table, free to be ignored."""
        ground = to_propose(self._state)
        if ground is not None and self._errand is None:
            errand = Errand(PROPOSING, propose, (ground, least, most), is_shared=True)
            self._begin(errand, self._take_proposed)

    def stop(self) -> None:
        """Stop proposing, or laying out the page."""
        if self._errand is not None:
            self._bench.drop(self._errand[0])
            self._end("Stopped: nothing was added.")

    def print_page(self) -> None:
        """Print the page of break-ups by the system's own dialog."""
        self._lay_out(self._print)

    def export_with_dialog(self) -> None:
        """Ask for a file, and write the page of break-ups there."""
        name, _ = QFileDialog.getSaveFileName(
            self.window_, "Write the page of break-ups", "break-ups.pdf", "PDF (*.pdf)"
        )
        if name:
            self.export(Path(name))

    def export(self, path: Path) -> None:
        """Write the page of break-ups."""

        def write(sheaf: Sheaf) -> None:
            try:
                path.write_bytes(sheaf_bytes(sheaf))
            except OSError as error:
                self.view.say(f"{path.name} cannot be written: {error.strerror}.")
            else:
                self.view.say(f"{path.name} is written.")

        self._lay_out(write)

    def _lay_out(self, then: Callable[[Sheaf], None]) -> None:
        ground = to_propose(self._state)
        shown = [
            ToShow(line.breakup, line.verdict.figures)
            for line in self._lines()
            if line.verdict.figures is not None and line.verdict.holds
        ][:MOST_ON_A_PAGE]
        if ground is None or not shown or self._errand is not None:
            return
        state = self._state
        show = self._show_unit
        facts = job_facts(state, made(state, "Size"), dated=dated_of(state), show=show)
        self._begin(Errand(LAYING_OUT, page_of, (facts, ground, shown, show)), then)

    def _print(self, sheaf: Sheaf) -> None:
        asked = self._print_room.ask(sheaf, 0, self._foreman.desk.printer)
        if asked is not None:
            self._print_room.start(asked, sheaf)

    def _take_proposed(self, found: Proposed) -> None:
        ground = self._proposed_on
        if ground is None or made(self._state, "Coarse") is not ground.coarse:
            self.view.say("The tank has changed since: propose again.")
            return
        added = unlike(found.breakups, self._state.breakups)
        for choice, each, figures in zip(found.study.choices, added, found.figures, strict=True):
            self.judge.learn(ground, each, figures)
            self._moves[each.name] = (choice, found.axes)
        self._edit(with_breakups_added(self._state, added), "proposals")
        none = ", ".join(str(count) for count in found.study.none_found)
        self.view.say(
            f"{counted(len(added), 'break-up')} to choose from, none beaten by another in pieces, "
            f"shrink and weld. {f'In {none} pieces nothing was worth a look.' if none else ''}"
        )

    def _begin(self, errand: Errand, then: Reaction) -> None:
        self._errand = (errand, then)
        if errand.words == PROPOSING:
            self._proposed_on = errand.arguments[0]
        self.view.show_progress(0.0, errand.words, busy=True)
        self._bench.run_errand(errand)

    def _show_progress(self, words: str, done: float, stage: str) -> None:
        if self._errand is not None and words == self._errand[0].words:
            self.view.show_progress(done, stage, busy=True)

    def _done(self, errand: Errand, value: Any) -> None:
        if self._errand is not None and self._errand[0] is errand:
            then = self._errand[1]
            self._end("")
            then(value)

    def _failed(self, errand: Errand, error: Exception) -> None:
        if self._errand is not None and self._errand[0] is errand:
            self._end(sentence(error))

    def _stopped(self, errand: Errand) -> None:
        if self._errand is not None and self._errand[0] is errand:
            self._end("Stopped: nothing was added.")

    def _end(self, words: str) -> None:
        self._errand = None
        self.view.show_progress(0.0, "", busy=False)
        self.view.say(words)
        self.refresh()


def unlike(new: tuple[BreakUp, ...], kept: tuple[BreakUp, ...]) -> tuple[BreakUp, ...]:
    """Return break-ups under names that no other one has, so that none is put in place of another.

    >>> halves = BreakUp("in halves", ())
    >>> [each.name for each in unlike((halves, halves), (halves,))]
    ['in halves (2)', 'in halves (3)']
    """
    taken = {each.name for each in kept}
    found = []
    for each in new:
        number, name = 2, each.name
        while name in taken:
            name, number = f"{each.name} ({number})", number + 1
        taken.add(name)
        found.append(BreakUp(name, each.seams, each.panel_names, each.notes))
    return tuple(found)


def moves_words(choice: Choice, axes: TankAxes, show: Show) -> str:
    """Return what moving each seam of a proposal by a little either way would change."""
    told = [words for move in choice.moves if (words := move_words(move, choice, axes, show))]
    return "If moved: " + ";  ".join(told) + "." if told else ""
