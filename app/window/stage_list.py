"""`StageList`: the stages of a job card as the maker's own list: named, added, taken out, moved."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.job import (
    STAGE_STATES,
    USUAL_STAGES,
    JobCard,
    with_stage_added,
    with_stage_moved,
    with_stage_renamed,
    with_stage_state,
    with_stages_named,
    without_stage,
)

Edit = Callable[[], JobCard]

_HEADS = ("Stage", "Stands", "Waiting for")
_HINT = (
    "Insert adds a stage, Delete takes one out, F2 names it, Alt+Up and Alt+Down move it, Space "
    "says how it stands. Or drag a stage by its number."
)


class StageTable(QTableWidget):
    """The table of stages, its keys and its numbers to drag by."""

    add_requested = Signal()
    take_out_requested = Signal()
    move_requested = Signal(int, int)
    """From which row to which."""

    next_state_requested = Signal()

    def __init__(self) -> None:
        super().__init__(0, len(_HEADS))
        self.setHorizontalHeaderLabels(list(_HEADS))
        self.setShowGrid(False)
        self.setSelectionBehavior(self.SelectionBehavior.SelectRows)
        self.setSelectionMode(self.SelectionMode.SingleSelection)
        across, down = self.horizontalHeader(), self.verticalHeader()
        across.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        across.setSectionResizeMode(1, QHeaderView.ResizeMode.Fixed)
        across.resizeSection(1, 104)
        down.setDefaultSectionSize(30)
        down.setSectionsMovable(True)
        down.setSectionsClickable(True)
        down.sectionMoved.connect(self._dragged)

    def _dragged(self, row: int, before: int, after: int) -> None:
        """Ask for the move that was dragged; the rows themselves stay as they are numbered."""
        down = self.verticalHeader()
        down.blockSignals(True)
        down.moveSection(after, before)
        down.blockSignals(False)
        self.move_requested.emit(before, after)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Add, take out, move, and say how a stage stands, by keys."""
        row, alt = self.currentRow(), bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        if event.key() == Qt.Key.Key_Insert:
            self.add_requested.emit()
        elif event.key() == Qt.Key.Key_Delete:
            self.take_out_requested.emit()
        elif alt and event.key() == Qt.Key.Key_Up:
            self.move_requested.emit(row, row - 1)
        elif alt and event.key() == Qt.Key.Key_Down:
            self.move_requested.emit(row, row + 1)
        elif event.key() == Qt.Key.Key_Space:
            self.next_state_requested.emit()
        else:
            super().keyPressEvent(event)


class StageList(QWidget):
    """The stages of a card; asks for the next card with every change."""

    edit_requested = Signal(object)
    """A function that gives the next card, or raises what is wrong."""

    own_list_kept = Signal(object)
    """The names of the stages, in order, for the jobs to come."""

    def __init__(self) -> None:
        super().__init__()
        self._card = JobCard()
        self._own: tuple[str, ...] = USUAL_STAGES
        self.table = StageTable()
        self.table.itemChanged.connect(self._changed)
        self.table.add_requested.connect(self._add)
        self.table.take_out_requested.connect(self._take_out)
        self.table.move_requested.connect(self._move)
        self.table.next_state_requested.connect(self._next_state)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.table, 1)
        hint = QLabel(_HINT)
        hint.setWordWrap(True)
        hint.setProperty("role", "soft")
        column.addWidget(hint)
        row = QHBoxLayout()
        self.buttons = {
            words: _button(words, tip, react)
            for words, tip, react in (
                ("Add", "A stage below the one chosen (Insert)", self._add),
                ("Take out", "The stage chosen (Delete)", self._take_out),
                ("Up", "The stage chosen one up (Alt+Up)", partial(self._step, -1)),
                ("Down", "The stage chosen one down (Alt+Down)", partial(self._step, 1)),
                ("Keep as my list", "New jobs start with these stages", self._keep_own),
                ("Take my list", "The stages new jobs start with", self._take_own),
            )
        }
        for button in self.buttons.values():
            row.addWidget(button)
        row.addStretch(1)
        column.addLayout(row)

    def refresh(self, card: JobCard, own: tuple[str, ...]) -> None:
        """Show the stages of a card; `own` is the list new jobs start with."""
        self._card, self._own = card, own
        names = tuple(stage.name for stage in card.stages)
        self.buttons["Keep as my list"].setEnabled(bool(names) and names != own)
        self.buttons["Take my list"].setEnabled(names != own)
        table = self.table
        table.blockSignals(True)
        if table.rowCount() != len(card.stages):
            table.setRowCount(len(card.stages))
            for row in range(len(card.stages)):
                if table.cellWidget(row, 1) is None:
                    table.setCellWidget(row, 1, self._new_box())
        for row, stage in enumerate(card.stages):
            for column, words in ((0, stage.name), (2, stage.waiting_for)):
                item = table.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    table.setItem(row, column, item)
                item.setText(words)
            self.box(row).setCurrentText(stage.state)
        table.blockSignals(False)

    def box(self, row: int) -> QComboBox:
        """Return the box that says how a stage stands."""
        box = self.table.cellWidget(row, 1)
        if not isinstance(box, QComboBox):
            raise TypeError(f"no box in row {row}")
        return box

    def _new_box(self) -> QComboBox:
        box = QComboBox()
        box.addItems(list(STAGE_STATES))
        box.activated.connect(self._set_state)
        return box

    def _ask(self, edit: Edit) -> None:
        self.edit_requested.emit(edit)

    # ---- how they stand

    def _set_state(self) -> None:
        for row, stage in enumerate(self._card.stages):
            state = STAGE_STATES[self.box(row).currentIndex()]
            if state != stage.state:
                self._ask(partial(with_stage_state, self._card, row, state))
                return

    def _next_state(self) -> None:
        row = self.table.currentRow()
        if row >= 0:
            at = STAGE_STATES.index(self._card.stages[row].state)
            state = STAGE_STATES[(at + 1) % len(STAGE_STATES)]
            self._ask(partial(with_stage_state, self._card, row, state))

    def _changed(self, item: QTableWidgetItem) -> None:
        row, words = item.row(), item.text().strip()
        if item.column() == 0:
            self._ask(partial(with_stage_renamed, self._card, row, words))
        elif item.column() == 2:
            state = "waiting" if words else self._card.stages[row].state
            self._ask(partial(with_stage_state, self._card, row, state, words))

    # ---- which there are, and in which order

    def _add(self) -> None:
        """Add a stage below the one chosen, and have it named."""
        at = self.table.currentRow() + 1 or len(self._card.stages)
        names = {stage.name for stage in self._card.stages}
        name = next(f"stage {n}" for n in range(1, len(names) + 2) if f"stage {n}" not in names)
        self._ask(partial(with_stage_added, self._card, name, at))
        item = self.table.item(at, 0)
        if item is not None:
            self.table.setFocus()
            self.table.setCurrentCell(at, 0)
            self.table.editItem(item)

    def _take_out(self) -> None:
        at = self.table.currentRow()
        if at >= 0:
            self._ask(partial(without_stage, self._card, at))
            self.table.setCurrentCell(min(at, len(self._card.stages) - 1), 0)

    def _step(self, by: int) -> None:
        self._move(self.table.currentRow(), self.table.currentRow() + by)

    def _move(self, at: int, to: int) -> None:
        if min(at, to) >= 0 and max(at, to) < len(self._card.stages):
            self._ask(partial(with_stage_moved, self._card, at, to))
            self.table.setCurrentCell(to, 0)

    def _keep_own(self) -> None:
        self.own_list_kept.emit(tuple(stage.name for stage in self._card.stages))

    def _take_own(self) -> None:
        self._ask(partial(with_stages_named, self._card, self._own))


def _button(words: str, tip: str, react: Callable[[], None]) -> QPushButton:
    button = QPushButton(words)
    button.setToolTip(tip)
    button.setAutoDefault(False)
    button.clicked.connect(lambda checked=False: react())
    return button
