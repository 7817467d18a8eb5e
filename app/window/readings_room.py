"""The grid on a worked panel read back: sides of squares typed, stretch beside that asked."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.exports import marked_out_as_shown
from app.job import Blank, JobState, lengths_typed, made
from app.units import NotALengthError, mm_text, plain_number
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.steps import Desk
from app.window.words import sentence
from geometry.errors import GeometryError
from geometry.pattern import Pattern, SquareReading, SquareStretch, readings_result

_HEADS = ("Square", "Stretch reached", "Stretch asked", "Thickness")
_LAID = (("over", "laid over the metal"), ("straight", "straight across"))
_ABOUT = (
    "Measure a square of the grid on the worked panel. One length for both sides of a way, or the "
    "two with a space between; diagonals where its corners are no longer square."
)


class ReadingsView(QWidget):
    """Fields for one square, and a row for every square read."""

    reading_typed = Signal(object, str)
    """The reading, and how the tape lay."""

    def __init__(self) -> None:
        super().__init__()
        self._unit = "mm"
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 14, 16, 14)
        self._title, about = QLabel(), QLabel(_ABOUT)
        self._title.setProperty("role", "heading")
        about.setProperty("role", "soft")
        about.setWordWrap(True)
        grid = QGridLayout()
        self.square, self.along, self.across, self.diagonals = (QLineEdit() for _ in range(4))
        self.laid = QComboBox()
        for value, words in _LAID:
            self.laid.addItem(words, value)
        rows: tuple[tuple[str, QWidget, str], ...] = (
            ("Square", self.square, "C4"),
            ("Along its row", self.along, "26 25.5"),
            ("Along its column", self.across, "24.5 24"),
            ("Diagonals", self.diagonals, "36 35, or nothing"),
            ("The tape lay", self.laid, ""),
        )
        for at, (name, field, hint) in enumerate(rows):
            title = QLabel(name)
            title.setProperty("role", "soft")
            grid.addWidget(title, at, 0)
            grid.addWidget(field, at, 1)
            if isinstance(field, QLineEdit):
                field.setPlaceholderText(hint)
                field.returnPressed.connect(self._take)
        self.take = QPushButton("Read this square")
        self.take.clicked.connect(self._take)
        self._wrong = QLabel()
        self._wrong.setWordWrap(True)
        self._wrong.setProperty("role", "ask")
        self._wrong.hide()
        self.list = QTreeWidget()
        self.list.setHeaderLabels(list(_HEADS))
        self.list.setRootIsDecorated(False)
        column.addWidget(self._title)
        column.addWidget(about)
        column.addLayout(grid)
        column.addWidget(self.take)
        column.addWidget(self._wrong)
        column.addWidget(self.list, 1)

    def show_rows(self, panel: str, rows: list[tuple[str, ...]], show: str) -> None:
        """Show what was read of a panel."""
        self._unit = "in" if show == "in" else "mm"
        self._title.setText(f"Grid of {panel}" if panel else "Choose a panel first.")
        self.take.setEnabled(bool(panel))
        self.list.clear()
        self.list.addTopLevelItems([QTreeWidgetItem(list(row)) for row in rows])
        for at in range(len(_HEADS)):
            self.list.resizeColumnToContents(at)

    def refuse(self, words: str) -> None:
        """Say what is wrong with what was typed."""
        self._wrong.setText(words)
        self._wrong.show()

    def accept(self) -> None:
        """Wait for the next square."""
        self._wrong.hide()
        for field in (self.square, self.along, self.across, self.diagonals):
            field.clear()
        self.square.setFocus()

    def _take(self) -> None:
        try:
            along, across, diagonals = (
                lengths_typed(field.text(), self._unit)
                for field in (self.along, self.across, self.diagonals)
            )
        except NotALengthError as error:
            self.refuse(sentence(error))
            return
        if (
            not self.square.text().strip()
            or not along
            or not across
            or len(diagonals) not in (0, 2)
        ):
            self.refuse(
                "Type the square's name, one or two lengths each way, and both diagonals or none."
            )
            return
        reading = SquareReading(
            self.square.text().strip().upper(), along, across,
            (diagonals[0], diagonals[1]) if diagonals else None,
        )  # fmt: skip
        self.reading_typed.emit(reading, self.laid.currentData())


class ReadingsRoom(QObject):
    """Reads the grid of the panel chosen; what was read is kept while its blank is the job's."""

    def __init__(self, document: Document, foreman: Foreman, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._foreman = document, foreman
        self._read: dict[str, tuple[Blank, list[SquareStretch]]] = {}
        self.view = ReadingsView()
        self.window_ = QDialog(window)
        self.window_.setWindowTitle("Grid readings")
        self.window_.resize(560, 560)
        column = QVBoxLayout(self.window_)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.view)
        self.view.reading_typed.connect(self.read)
        document.changed.connect(self.refresh)
        foreman.changed.connect(self.refresh)

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is about readings."""
        return {"readings": self.show}

    def show(self) -> None:
        """Show the readings of the panel chosen."""
        self.window_.show()
        self.window_.raise_()
        self.refresh()

    def refresh(self) -> None:
        """Show what was read of the panel chosen, while it is looked at."""
        if self.window_.isVisible():
            desk, state = self._foreman.desk, self._document.state
            panel = desk.panel if _dressed(state, desk) is not None else ""
            rows = [_words(each, state.metal.thickness_mm) for each in self._of(state, panel)]
            self.view.show_rows(panel, rows, desk.show)

    def read(self, reading: SquareReading, laid: str) -> None:
        """Take a square's reading, beside what the pattern asks there."""
        state, desk = self._document.state, self._foreman.desk
        found = _dressed(state, desk)
        if found is None:
            return
        blank, pattern = found
        try:
            told = readings_result(
                blank.flat, pattern, (reading,), laid="straight" if laid == "straight" else "over"
            )
        except GeometryError as error:
            self.view.refuse(sentence(error))
            return
        before = [each for each in self._of(state, desk.panel) if each.square != told[0].square]
        self._read[desk.panel] = (blank, [*before, told[0]])
        self.view.accept()
        self.refresh()

    def _of(self, state: JobState, panel: str) -> list[SquareStretch]:
        blank, read = self._read.get(panel, (None, []))
        return read if blank is not None and blank is made(state, "Blanks", panel) else []


def _dressed(state: JobState, desk: Desk) -> tuple[Blank, Pattern] | None:
    """Return the chosen panel's blank, and its pattern with the grid its pages show."""
    blank: Blank | None = made(state, "Blanks", desk.panel) if desk.panel else None
    pattern: Pattern | None = made(state, "Paper", desk.panel) if desk.panel else None
    if blank is None or pattern is None:
        return None
    shown = marked_out_as_shown(
        pattern, blank.flat, show="in" if desk.show == "in" else "mm",
        sheet_mm=state.metal.thickness_mm, least_mm=desk.least_thickness_mm,
    )  # fmt: skip
    return blank, shown


def _words(read: SquareStretch, sheet_mm: float) -> tuple[str, ...]:
    """Return a square in words: both ways of it per 100, and how thick the sheet is left."""
    reached, asked = (
        " x ".join(plain_number(100.0 * float(value)) for value in stretches)
        for stretches in (read.stretches, read.asked)
    )
    unsure = plain_number(100.0 * float(max(read.unsure)))
    return (
        read.square,
        f"100 -> {reached} (\u00b1{unsure})",
        f"100 -> {asked}",
        mm_text(sheet_mm * read.thickness, 2),
    )
