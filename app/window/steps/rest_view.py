"""`RestView`: the frame of a step besides the panels: begin, fields, what comes of it, end."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from app.job import JobState, all_made, failure, made, needed, step
from app.window.steps.row_list import RowList
from app.window.steps.spec_form import FormRow, SpecForm
from app.window.steps.standing import Desk
from app.window.steps.step_view import StepView
from app.window.words import sentence

_NO_SCAN = "Open a scan first: step 1."


def waits_for(state: JobState, name: str) -> str:
    """Return which step has to be done before this one, and what it needs; "" where none has."""
    for before in step(name).hangs_on:
        if all_made(state, before):
            continue
        words = waits_for(state, before)
        if words:
            return words
        error = failure(state, before)
        asked = sentence(error) if error is not None else needed(state, before)
        if asked and not step(before).shown:
            return asked
        if asked:
            return f"Waits for {before}: {asked[0].lower()}{asked[1:]}"
    return ""


class RestView(StepView):
    """What one step besides the panels needs: a field of the job's `RestOfTank`.

    A kind of it is a class of its own: `STEP`, `TITLE`, `ABOUT` and `FIELD` name it, `BEGIN` is
    its first button, `ROWS` are its fields; `usual` is what the maker begins with, `told` what
    came of it.
    """

    STEP = TITLE = ABOUT = FIELD = BEGIN = ""
    ROWS: tuple[FormRow, ...] = ()

    decided = Signal(str, object, str)
    """Name of the field of `RestOfTank`, what it is to hold, and what was done, for Undo."""

    row_chosen = Signal(str, int)

    def __init__(self) -> None:
        super().__init__(self.STEP, self.TITLE, self.ABOUT)
        self._state = JobState()
        self._followed: tuple[str, int] = ("", -1)
        self.begin = self.button(self.BEGIN, self._begin, leading=True)
        self.inside = QWidget()
        column = QVBoxLayout(self.inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        self.form = SpecForm(self.ROWS)
        self.form.changed.connect(self._change)
        column.addWidget(self.form)
        self.between = QVBoxLayout()
        self.between.setSpacing(8)
        column.addLayout(self.between)
        self._told = QLabel()
        self._told.setWordWrap(True)
        self._told.setProperty("role", "told")
        self._told.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        column.addWidget(self._told)
        self.write_out = self.asking_button("Write this step to a folder...", "export_step")
        column.addWidget(self.write_out)
        self.leave_out = QPushButton("Leave it out")
        self.leave_out.clicked.connect(self._leave_out)
        column.addWidget(self.leave_out)
        self.column.addWidget(self.inside)
        self.column.addStretch(1)

    # ---- what a kind of it says

    def usual(self, state: JobState) -> Any:
        """Return what the maker begins with."""
        raise NotImplementedError

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what came of it, a sentence each; nothing while it is not made."""
        raise NotImplementedError

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show what a kind of it has besides fields: lists, further forms."""

    def follow(self, kind: str, number: int) -> None:
        """Choose a row of the lists to type into, as it was chosen on the tank or by its page."""

    def page_of(self, kind: str, number: int) -> str:
        """Return the name of the file of pages a row of its lists belongs to; "" for none."""
        return ""

    def row_of(self, page: str) -> tuple[str, int]:
        """Return the row of its lists a file of pages belongs to; ("", -1) for none."""
        return "", -1

    # ---- the frame

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show how things stand."""
        self._state = state
        spec = getattr(state.rest, self.FIELD)
        has_scan = state.scan is not None
        waits = waits_for(state, self.step) if spec is not None else ""
        self.show_need(state, also=waits if has_scan else _NO_SCAN)
        self.begin.setVisible(spec is None)
        self.begin.setEnabled(has_scan)
        self.inside.setVisible(spec is not None)
        if spec is None:
            return
        self.form.show_spec(spec, desk.show)
        if desk.chosen != self._followed:
            self._followed = desk.chosen
            self.follow(*desk.chosen)
        self.show_more(state, desk, spec)
        self.write_out.setVisible(made(state, self.step) is not None)
        words = self.told(state, desk)
        self._told.setText("\n".join(words))
        self._told.setVisible(bool(words))

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Let Tab come to the last button last: what a kind of it adds was made after it."""
        super().showEvent(event)
        last, each = None, self.nextInFocusChain()
        while each is not None and each is not self:
            takes_keys = each.focusPolicy() != Qt.FocusPolicy.NoFocus
            if takes_keys and self.inside.isAncestorOf(each) and each is not self.leave_out:
                last = each
            each = each.nextInFocusChain()
        if last is not None:
            QWidget.setTabOrder(last, self.leave_out)

    @property
    def told_words(self) -> str:
        """What stands under the fields."""
        return self._told.text()

    def decide(self, spec: Any, name: str) -> None:
        """Ask for the field to hold something else."""
        self.decided.emit(self.FIELD, spec, name)

    def _begin(self) -> None:
        self.decide(self.usual(self._state), f"Begin: {self.step.lower()}")
        self.go_to_first()  # the button that had the keys is gone

    def _change(self, spec: Any) -> None:
        self.decide(spec, f"Change: {self.step.lower()}")

    def _leave_out(self) -> None:
        self.decide(None, f"Leave out: {self.step.lower()}")
        self.go_to_first()


class SpecList(QWidget):
    """A list of like decisions, one of them in a form: added, changed, taken away."""

    changed = Signal(object)
    """The tuple as it is to be."""

    chosen = Signal(int)

    def __init__(self, title: str, add: str, rows: Sequence[FormRow]) -> None:
        super().__init__()
        self._items: tuple[Any, ...] = ()
        self._at = -1
        self._usual: Any = None
        self._show = "mm"
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(6)
        head = QLabel(title)
        head.setProperty("role", "soft")
        column.addWidget(head)
        self.list = RowList()
        self.list.chosen.connect(self._choose)
        column.addWidget(self.list)
        self.form = SpecForm(rows)
        self.form.changed.connect(self._change)
        column.addWidget(self.form)
        self.add = QPushButton(add)
        self.add.clicked.connect(self._add)
        column.addWidget(self.add)
        self.remove = QPushButton("Take it away")
        self.remove.clicked.connect(self._remove)
        column.addWidget(self.remove)

    def show_items(
        self, items: tuple[Any, ...], words: Sequence[str], usual: Any, show: str
    ) -> None:
        """Show these, told by their words; `usual` is what adding begins with."""
        self._items, self._usual, self._show = items, usual, show
        self._at = min(self._at, len(items) - 1)
        self.list.show_rows(words, self._at)
        self._show_chosen()

    def go_to(self, at: int) -> None:
        """Choose another, as it was chosen elsewhere; tells nobody."""
        self._at = at

    def _show_chosen(self) -> None:
        has = 0 <= self._at < len(self._items)
        self.form.setVisible(has)
        self.remove.setVisible(has)
        if has:
            self.form.show_spec(self._items[self._at], self._show)

    def _choose(self, at: int) -> None:
        self._at = at
        self._show_chosen()
        self.chosen.emit(at)

    def _change(self, item: Any) -> None:
        items = (*self._items[: self._at], item, *self._items[self._at + 1 :])
        self.changed.emit(items)

    def _add(self) -> None:
        self._at = at = len(self._items)
        self.changed.emit((*self._items, self._usual))
        self._choose(at)

    def _remove(self) -> None:
        self.changed.emit((*self._items[: self._at], *self._items[self._at + 1 :]))
        if not self.remove.isVisible():
            self.add.setFocus()
