"""`CardView`: the job card on the screen: the maker's stages, and what was measured and spent."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.job import (
    BadCardEntryError,
    JobCard,
    PanelCard,
    Reading,
    with_anneal,
    with_gap,
    with_hours,
    with_panel_card,
    with_thickness,
    without_panel_card,
)
from app.units import decimal_inch_text, mm_text, plain_number
from app.window.stage_list import StageList
from app.window.steps import LengthEdit
from app.window.words import sentence

_NO_STAGE = "nobody said"
_MM2_PER_SQ_IN = 645.16


class CardView(QWidget):
    """Stages on the left, one panel on the right; asks for the next card with every entry."""

    card_requested = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._card, self._panel, self._show = JobCard(), "", "mm"
        self._own: tuple[str, ...] = ()
        across = QHBoxLayout(self)
        across.setContentsMargins(16, 14, 16, 14)
        across.setSpacing(18)
        self.stages = StageList()
        self.stages.edit_requested.connect(self._ask)
        across.addWidget(self.stages, 3)
        across.addLayout(self._panel_side(), 2)

    # ---- putting together

    def _panel_side(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(8)
        self.panel = QComboBox()
        self.panel.activated.connect(self._choose)
        column.addWidget(self.panel)
        column.addLayout(self._counted())
        self.place, self.reading = QLineEdit(), LengthEdit()
        self.place.setPlaceholderText("where: crown, seam A mark 3")
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
        self.clear = _button("Clear what stands here", self._clear)
        self.clear.setToolTip("Everything written down for this panel; Ctrl+Z brings it back")
        column.addWidget(self.clear, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(1)
        column.addWidget(self.all_hours)
        return column

    def _counted(self) -> QGridLayout:
        """Return what counts up on a panel: its stage, anneals, hours, metal."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setColumnStretch(1, 1)
        self._anneals, self._hours, self._metal = QLabel(), QLabel(), QLabel()
        self.more_hours, self.all_hours = QLineEdit(), QLabel()
        self.more_hours.setPlaceholderText("hours more")
        self.wide, self.high = LengthEdit(), LengthEdit()
        self.wide.setPlaceholderText("sheet, wide")
        self.high.setPlaceholderText("long")
        self.stage = QComboBox()
        self.stage.activated.connect(self._take_stage)
        title = QLabel("Has come to")
        title.setProperty("role", "soft")
        grid.addWidget(title, 0, 0)
        grid.addWidget(self.stage, 0, 1, 1, 3)
        self._row(grid, "Annealed", self._anneals, _button("Once more", self._anneal))
        self._row(grid, "Hours", self._hours, self.more_hours)
        self._row(grid, "Metal used", self._metal, self.wide)
        grid.addWidget(self.high, grid.rowCount() - 1, 3)
        self.more_hours.returnPressed.connect(self._add_hours)
        for field in (self.wide, self.high):
            field.returnPressed.connect(self._add_metal)
        return grid

    def _row(self, grid: QGridLayout, name: str, value: QLabel, field: QWidget) -> None:
        row = grid.rowCount()
        title = QLabel(name)
        title.setProperty("role", "soft")
        grid.addWidget(title, row, 0)
        grid.addWidget(value, row, 1)
        grid.addWidget(field, row, 2)

    # ---- showing

    def refresh(
        self, card: JobCard, panels: tuple[str, ...], show: str, own: tuple[str, ...]
    ) -> None:
        """Show a card; what is being typed stays. `own` are the stages new jobs start with."""
        self._card, self._show, self._own = card, show, own
        if [self.panel.itemText(at) for at in range(self.panel.count())] != list(panels):
            self.panel.clear()
            self.panel.addItems(list(panels))
            self._panel = self._panel if self._panel in panels else (panels[0] if panels else "")
        self.panel.setCurrentText(self._panel)
        self.stages.refresh(card, own)
        self._show_stage_of_panel(card)
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

    # ---- a panel

    def _choose(self) -> None:
        self._panel = self.panel.currentText()
        names = tuple(self.panel.itemText(at) for at in range(self.panel.count()))
        self.refresh(self._card, names, self._show, self._own)

    def _show_stage_of_panel(self, card: JobCard) -> None:
        names = [_NO_STAGE, *(stage.name for stage in card.stages)]
        come_to = card.panel_card(self._panel).stage
        if come_to and come_to not in names:
            names.append(come_to)
        if [self.stage.itemText(at) for at in range(self.stage.count())] != names:
            self.stage.clear()
            self.stage.addItems(names)
        self.stage.setCurrentText(come_to or _NO_STAGE)
        for field in (self.stage, self.clear):
            field.setEnabled(bool(self._panel))
        self.clear.setEnabled(any(each.panel == self._panel for each in card.panels))

    def _take_stage(self, at: int) -> None:
        there = self._card.panel_card(self._panel)
        after = replace(there, stage=self.stage.itemText(at) if at else "")
        if self._panel and after != there:
            self._ask(lambda: with_panel_card(self._card, after))

    def _clear(self) -> None:
        if self._panel:
            self.note.clearFocus()
            self._ask(lambda: without_panel_card(self._card, self._panel))

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
            self.stages.refresh(self._card, self._own)
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
