"""`Document`: the job that is open, what can be undone and redone, and the one signal about it."""

from dataclasses import fields
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.job import JobState, with_prints_of

MOST_UNDO = 500


def same_decisions(one: JobState, other: JobState) -> bool:
    """Return whether two states differ by nothing but results."""
    names = [field.name for field in fields(JobState) if field.name != "results"]
    return all(getattr(one, name) == getattr(other, name) for name in names)


class Document(QObject):
    """The job open in the window.

    Every state an edit leaves is kept as it is; undo puts that very object back.
    """

    changed = Signal()

    def __init__(self, state: JobState | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._states: list[tuple[JobState, str]] = [(state or JobState(), "")]
        self._place = 0
        self._saved = self.state
        self._path: Path | None = None

    @property
    def state(self) -> JobState:
        """The job as it stands."""
        return self._states[self._place][0]

    @property
    def path(self) -> Path | None:
        """Where the job is kept, once it was saved."""
        return self._path

    @property
    def is_unsaved(self) -> bool:
        """Whether there are decisions not yet in the job's file."""
        return self.state.scan is not None and not same_decisions(self.state, self._saved)

    @property
    def undo_name(self) -> str:
        """What the next undo takes back; "" when there is nothing."""
        return self._states[self._place][1] if self._place > 0 else ""

    @property
    def redo_name(self) -> str:
        """What the next redo brings again; "" when there is nothing."""
        after = self._place + 1
        return self._states[after][1] if after < len(self._states) else ""

    def edit(self, state: JobState, name: str) -> None:
        """Take an edit's result as the job; `name` is what was done, as the Edit menu says it."""
        if state is self.state:
            return
        del self._states[self._place + 1 :]
        self._states.append((state, name))
        del self._states[: max(0, len(self._states) - MOST_UNDO)]
        self._place = len(self._states) - 1
        self.changed.emit()

    def take_result(self, state: JobState) -> None:
        """Take the same decisions with a result more: nothing to be undone."""
        if state is self.state:
            return
        self._states[self._place] = (state, self._states[self._place][1])
        self.changed.emit()

    def take_print(self, state: JobState) -> None:
        """Take the job with a print more: paper that left is not undone."""
        self.take_result(state)

    def undo(self) -> None:
        """Put the state before the last edit back."""
        if self._place > 0:
            self._go_to(self._place - 1)

    def redo(self) -> None:
        """Put the state an undo took away back."""
        if self._place + 1 < len(self._states):
            self._go_to(self._place + 1)

    def _go_to(self, place: int) -> None:
        """Put a state back as it was; only what was printed meanwhile stays known."""
        last = self.state
        state, name = self._states[place]
        if state.prints != last.prints:
            self._states[place] = (with_prints_of(state, last), name)
        self._place = place
        self.changed.emit()

    def open(self, state: JobState, path: Path | None, *, unsaved: bool = False) -> None:
        """Begin anew with another job; `unsaved` marks one that was recovered or just begun."""
        self._states = [(state, "")]
        self._place = 0
        self._saved = JobState() if unsaved else state
        self._path = path
        self.changed.emit()

    def mark_saved(self, path: Path) -> None:
        """Note that what stands now is in a file."""
        self._saved, self._path = self.state, path
        self.changed.emit()
