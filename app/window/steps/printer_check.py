"""`PrinterCheck`: what the bars of the check page measure, and so what puts the printer right."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QComboBox, QGridLayout, QLabel, QPushButton, QWidget

from app.exports import (
    A4,
    Correction,
    Paper,
    PrinterFarOutError,
    checked_lengths,
    correction_from,
)
from app.units import length_text
from app.window.printing import printer_names
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox
from app.window.steps.typed_edit import LengthEdit
from app.window.words import sentence

ANY = "any printer"
_ABOUT = (
    "Print the file printer check.pdf, lay a steel rule along its two long bars and type what "
    "they measure. Pages made from then on are drawn out by what the printer is off."
)


class PrinterCheck(QWidget):
    """Plain fields for one printer."""

    printer_chosen = Signal(str)
    checked = Signal(str, object)

    def __init__(self) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        grid.setColumnStretch(1, 1)
        self._papers: tuple[Paper, ...] = (A4,)
        self._carried = Correction()
        self._there: tuple[str, ...] = ()
        self._known: tuple[str, ...] = ()
        self.printer, self.paper = NarrowBox(), NarrowBox()
        self.printer.setEditable(True)
        self.printer.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.printer.activated.connect(self._choose)
        self.paper.activated.connect(self._tell_drawn)
        self.level, self.upright = LengthEdit(), LengthEdit()
        about = self._wide(grid, _ABOUT, "soft")
        about.show()
        for name, field in (
            ("Printer", self.printer),
            ("Checked on", self.paper),
            ("Level bar", self.level),
            ("Upright bar", self.upright),
        ):
            row = grid.rowCount()
            title = QLabel(name)
            title.setProperty("role", "soft")
            grid.addWidget(title, row, 0)
            grid.addWidget(field, row, 1)
        self.take = QPushButton("Put this printer right")
        self.take.clicked.connect(self._take)
        grid.addWidget(self.take, grid.rowCount(), 0, 1, 2)
        self.told = self._wide(grid, "", "")
        self.wrong = self._wide(grid, "", "ask")
        self.told.show()

    def _wide(self, grid: QGridLayout, words: str, role: str) -> QLabel:
        label = QLabel(words)
        label.setWordWrap(True)
        label.setProperty("role", role)
        label.hide()
        grid.addWidget(label, grid.rowCount(), 0, 1, 2)
        return label

    def refresh(self, desk: Desk) -> None:
        """Show which printer pages are made for, and by how much they are drawn out for it."""
        self._carried = desk.output.correction
        self._papers = desk.output.papers or (A4,)
        self._known = tuple(desk.printers)
        self._list_printers(desk.printer)
        papers = [paper.name for paper in self._papers]
        if [self.paper.itemText(at) for at in range(self.paper.count())] != papers:
            self.paper.clear()
            self.paper.addItems(papers)
        for field in (self.level, self.upright):
            field.unit = "in" if desk.show == "in" else "mm"
        self._tell_drawn()
        self.told.setText(correction_words(desk.output.correction))

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Ask the computer for its printers when the fields are unfolded: that can take a while."""
        super().showEvent(event)
        self._there = printer_names()
        self._list_printers(self._name())

    def _list_printers(self, chosen: str) -> None:
        names = [ANY, *dict.fromkeys((*self._there, *self._known))]
        typed = self.printer.lineEdit()
        is_typing = typed is not None and typed.hasFocus()
        if [self.printer.itemText(at) for at in range(self.printer.count())] != names:
            self.printer.clear()
            self.printer.addItems(names)
            is_typing = False
        if not is_typing:
            self.printer.setCurrentText(chosen or ANY)

    def _tell_drawn(self) -> None:
        """Say in the empty fields how long the bars of the paper chosen are meant to be."""
        drawn = checked_lengths(self._paper())
        for field, length_mm in zip((self.level, self.upright), drawn, strict=True):
            field.setPlaceholderText(f"drawn {length_text(length_mm, field.unit, 32)}")

    def _paper(self) -> Paper:
        return self._papers[max(0, min(self.paper.currentIndex(), len(self._papers) - 1))]

    def _name(self) -> str:
        typed = self.printer.currentText().strip()
        return "" if typed == ANY else typed

    def _choose(self) -> None:
        self.printer_chosen.emit(self._name())

    def _take(self) -> None:
        """Ask for what was measured to be taken; say what is wrong with it where it cannot be."""
        measured: list[float] = []
        for field in (self.level, self.upright):
            field.taken.connect(measured.append)
            field.take()
            field.taken.disconnect(measured.append)
        if len(measured) < 2:
            self._refuse("Type what both bars measure: 190.4, or 7 1/2 in.")
            return
        try:
            found = correction_from(
                measured[0], measured[1], checked_lengths(self._paper()), carried=self._carried
            )
        except PrinterFarOutError as error:
            self._refuse(sentence(error))
            return
        self.wrong.hide()
        for field in (self.level, self.upright):
            field.clear()
        self.checked.emit(self._name(), found)

    def _refuse(self, words: str) -> None:
        self.wrong.setText(words)
        self.wrong.show()


def correction_words(correction: Correction) -> str:
    """Return by how much pages are drawn out, as a maker checks it with a rule.

    >>> correction_words(Correction(1.002, 0.999))
    'Pages are drawn 1.2 mm longer in 600 mm across, 0.6 mm shorter in 600 mm up.'
    >>> correction_words(Correction())
    'Pages are drawn as they are: no correction.'
    """
    if correction.is_none:
        return "Pages are drawn as they are: no correction."
    parts = []
    for by, way in ((correction.x, "across"), (correction.y, "up")):
        off = 600.0 * (by - 1.0)
        kind = "longer" if off >= 0.0 else "shorter"
        parts.append(f"{abs(off):.1f} mm {kind} in 600 mm {way}")
    return f"Pages are drawn {', '.join(parts)}."
