"""`CardView`: the job card on the screen: the maker's stages, and what was measured and spent."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.job import (
    STAGE_STATES,
    BadCardEntryError,
    JobCard,
    PanelCard,
    Reading,
    with_anneal,
    with_gap,
    with_hours,
    with_panel_card,
    with_stage_added,
    with_stage_moved,
    with_stage_renamed,
    with_stage_state,
    with_thickness,
    without_stage,
)
from app.units import decimal_inch_text, mm_text, plain_number
from app.window.steps import LengthEdit
from app.window.words import sentence

_HEADS = ("Stage", "Stands", "Waiting for")
_MM2_PER_SQ_IN = 645.16


class CardView(QWidget):
    """Stages on the left, one panel on the right; asks for the next card with every entry."""

    card_requested = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._card, self._panel, self._show = JobCard(), "", "mm"
        across = QHBoxLayout(self)
        across.setContentsMargins(16, 14, 16, 14)
        across.setSpacing(18)
        across.addLayout(self._stages_side(), 3)
        across.addLayout(self._panel_side(), 2)

    # ---- putting together

    def _stages_side(self) -> QVBoxLayout:
        column = QVBoxLayout()
        self.stages = QTableWidget(0, len(_HEADS))
        self.stages.setHorizontalHeaderLabels(list(_HEADS))
        self.stages.verticalHeader().setDefaultSectionSize(30)
        self.stages.setShowGrid(False)
        self.stages.setSelectionBehavior(self.stages.SelectionBehavior.SelectRows)
        self.stages.setSelectionMode(self.stages.SelectionMode.SingleSelection)
        header = self.stages.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Fixed)
        header.resizeSection(1, 104)
        self.stages.itemChanged.connect(self._changed)
        column.addWidget(self.stages, 1)
        row = QHBoxLayout()
        for words, react in (
            ("Add", self._add),
            ("Take out", self._take_out),
            ("Up", self._up),
            ("Down", self._down),
        ):
            row.addWidget(_button(words, react))
        row.addStretch(1)
        column.addLayout(row)
        return column

    def _panel_side(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(8)
        self.panel = QComboBox()
        self.panel.activated.connect(self._choose)
        column.addWidget(self.panel)
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setColumnStretch(1, 1)
        self._anneals, self._hours, self._metal = QLabel(), QLabel(), QLabel()
        self.more_hours, self.all_hours = QLineEdit(), QLabel()
        self.more_hours.setPlaceholderText("hours more")
        self.place, self.reading = QLineEdit(), LengthEdit()
        self.place.setPlaceholderText("where: crown, seam A mark 3")
        self.wide, self.high = LengthEdit(), LengthEdit()
        self.wide.setPlaceholderText("sheet, wide")
        self.high.setPlaceholderText("long")
        self._row(grid, "Annealed", self._anneals, _button("Once more", self._anneal))
        self._row(grid, "Hours", self._hours, self.more_hours)
        self._row(grid, "Metal used", self._metal, self.wide)
        grid.addWidget(self.high, grid.rowCount() - 1, 3)
        column.addLayout(grid)
        column.addWidget(_heading("Measured"))
        column.addWidget(self.place)
        taken = QHBoxLayout()
        taken.addWidget(self.reading, 1)
        taken.addWidget(_button("It is a thickness", self._add_thickness))
        taken.addWidget(_button("It is a gap", self._add_gap))
        column.addLayout(taken)
        self.readings = QLabel()
        self.readings.setWordWrap(True)
        column.addWidget(self.readings)
        column.addWidget(_heading("Note"))
        self.note = QLineEdit()
        self.note.editingFinished.connect(self._take_note)
        column.addWidget(self.note)
        self._wrong = QLabel()
        self._wrong.setWordWrap(True)
        self._wrong.setProperty("role", "ask")
        self._wrong.hide()
        column.addWidget(self._wrong)
        column.addStretch(1)
        column.addWidget(self.all_hours)
        self.more_hours.returnPressed.connect(self._add_hours)
        for field in (self.wide, self.high):
            field.returnPressed.connect(self._add_metal)
        return column

    def _row(self, grid: QGridLayout, name: str, value: QLabel, field: QWidget) -> None:
        row = grid.rowCount()
        title = QLabel(name)
        title.setProperty("role", "soft")
        grid.addWidget(title, row, 0)
        grid.addWidget(value, row, 1)
        grid.addWidget(field, row, 2)

    # ---- showing

    def refresh(self, card: JobCard, panels: tuple[str, ...], show: str) -> None:
        """Show a card; what is being typed stays."""
        self._card, self._show = card, show
        if [self.panel.itemText(at) for at in range(self.panel.count())] != list(panels):
            self.panel.clear()
            self.panel.addItems(list(panels))
            self._panel = self._panel if self._panel in panels else (panels[0] if panels else "")
        self.panel.setCurrentText(self._panel)
        self._show_stages()
        there = card.panel_card(self._panel)
        self._anneals.setText(f"{there.anneals} times")
        self._hours.setText(plain_number(there.hours, 2))
        self._metal.setText(_area_words(there.metal_mm2, show) if there.metal_mm2 else "")
        self.readings.setText(_reading_words(there, show))
        for field in (self.reading, self.wide, self.high):
            field.unit = "in" if show == "in" else "mm"
        if not self.note.hasFocus():
            self.note.setText(there.note)
        self.all_hours.setText(f"{plain_number(card.all_hours, 2)} hours on this tank so far")

    def _show_stages(self) -> None:
        self.stages.blockSignals(True)
        if self.stages.rowCount() != len(self._card.stages):
            self.stages.setRowCount(len(self._card.stages))
            for row in range(len(self._card.stages)):
                box = QComboBox()
                box.addItems(list(STAGE_STATES))
                box.activated.connect(self._set_state)
                self.stages.setCellWidget(row, 1, box)
        for row, stage in enumerate(self._card.stages):
            for column, words in ((0, stage.name), (2, stage.waiting_for)):
                item = self.stages.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    self.stages.setItem(row, column, item)
                item.setText(words)
            self._box(row).setCurrentText(stage.state)
        self.stages.blockSignals(False)

    def _box(self, row: int) -> QComboBox:
        box = self.stages.cellWidget(row, 1)
        if not isinstance(box, QComboBox):
            raise TypeError(f"no box in row {row}")
        return box

    # ---- stages

    def _set_state(self) -> None:
        for row, stage in enumerate(self._card.stages):
            state = STAGE_STATES[self._box(row).currentIndex()]
            if state != stage.state:
                self._ask(partial(with_stage_state, self._card, row, state))
                return

    def _changed(self, item: QTableWidgetItem) -> None:
        row, words = item.row(), item.text().strip()
        if item.column() == 0:
            self._ask(lambda: with_stage_renamed(self._card, row, words))
        elif item.column() == 2:
            state = "waiting" if words else self._card.stages[row].state
            self._ask(lambda: with_stage_state(self._card, row, state, words))

    def _add(self) -> None:
        at = self.stages.currentRow()
        names = {stage.name for stage in self._card.stages}
        name = next(f"stage {n}" for n in range(1, 1000) if f"stage {n}" not in names)
        self._ask(lambda: with_stage_added(self._card, name, at + 1 if at >= 0 else None))

    def _take_out(self) -> None:
        at = self.stages.currentRow()
        if at >= 0:
            self._ask(lambda: without_stage(self._card, at))

    def _up(self) -> None:
        self._move(-1)

    def _down(self) -> None:
        self._move(1)

    def _move(self, by: int) -> None:
        at = self.stages.currentRow()
        if at >= 0 and 0 <= at + by < len(self._card.stages):
            self._ask(lambda: with_stage_moved(self._card, at, at + by))
            self.stages.setCurrentCell(at + by, 0)

    # ---- a panel

    def _choose(self) -> None:
        self._panel = self.panel.currentText()
        names = tuple(self.panel.itemText(at) for at in range(self.panel.count()))
        self.refresh(self._card, names, self._show)

    def _anneal(self) -> None:
        if self._panel:
            self._ask(lambda: with_anneal(self._card, self._panel))

    def _add_hours(self) -> None:
        try:
            hours = float(self.more_hours.text().strip().replace(",", "."))
        except ValueError:
            self._refuse("Type hours as a number: 1.5.")
            return
        panel = self._panel or None
        if self._ask(lambda: with_hours(self._card, hours, panel)):
            self.more_hours.clear()

    def _add_thickness(self) -> None:
        self._add_reading(with_thickness)

    def _add_gap(self) -> None:
        self._add_reading(with_gap)

    def _add_reading(self, edit: Callable[[JobCard, str, Reading], JobCard]) -> None:
        length_mm = _typed(self.reading)
        if length_mm is None or not self._panel:
            self._refuse("Type what was measured: 1.42, or 3/64 in.")
            return
        reading = Reading(self.place.text().strip(), length_mm)
        if self._ask(lambda: edit(self._card, self._panel, reading)):
            self.reading.clear()

    def _add_metal(self) -> None:
        wide, high = _typed(self.wide), _typed(self.high)
        if wide is None or high is None or not self._panel:
            return
        there = self._card.panel_card(self._panel)
        after = replace(there, metal_mm2=there.metal_mm2 + wide * high)
        if self._ask(lambda: with_panel_card(self._card, after)):
            self.wide.clear()
            self.high.clear()

    def _take_note(self) -> None:
        there = self._card.panel_card(self._panel)
        if self._panel and self.note.text() != there.note:
            after = replace(there, note=self.note.text())
            self._ask(lambda: with_panel_card(self._card, after))

    # ---- asking

    def _ask(self, edit: Callable[[], JobCard]) -> bool:
        """Ask for the card an edit gives; say what is wrong where it gives none."""
        try:
            card = edit()
        except BadCardEntryError as error:
            self._refuse(sentence(error))
            self._show_stages()
            return False
        self._wrong.hide()
        self.card_requested.emit(card)
        return True

    def _refuse(self, words: str) -> None:
        self._wrong.setText(words)
        self._wrong.show()


def _typed(field: LengthEdit) -> float | None:
    """Return the length typed into a field; None where it cannot be read, and it says why."""
    found: list[float] = []
    field.taken.connect(found.append)
    field.take()
    field.taken.disconnect(found.append)
    return found[0] if found else None


def _reading_words(there: PanelCard, show: str) -> str:
    told = []
    for kind, readings in (("thick", there.thickness), ("gap", there.gaps)):
        for reading in readings:
            length = mm_text(reading.mm, 2) if show == "mm" else decimal_inch_text(reading.mm)
            told.append(f"{reading.place or 'no place said'}: {kind} {length}")
    return "\n".join(told)


def _area_words(area_mm2: float, show: str) -> str:
    """Return how much sheet went into a panel.

    >>> _area_words(240000.0, "mm"), _area_words(64516.0, "in")
    ('0.24 m2', '100 sq in')
    """
    if show == "in":
        return f"{plain_number(area_mm2 / _MM2_PER_SQ_IN, 0)} sq in"
    return f"{plain_number(area_mm2 / 1e6, 3)} m2"


def _button(words: str, react: Callable[[], None]) -> QPushButton:
    button = QPushButton(words)
    button.setAutoDefault(False)
    button.clicked.connect(react)
    return button


def _heading(words: str) -> QLabel:
    label = QLabel(words)
    label.setProperty("role", "heading")
    return label
