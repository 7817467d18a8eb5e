"""`OutputFields`: which papers, which roll, how smooth lines are cut, and for which machine."""

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QGridLayout, QLabel, QLineEdit, QWidget

from app.exports import (
    A3,
    A4,
    LETTER,
    TABLOID,
    BadPaperError,
    Output,
    Paper,
    paper_named,
    roll_named,
)
from app.units import fraction_text, mm_text
from app.window.words import sentence

_USUAL = (A4, A3, LETTER, TABLOID)
_OUTLINES = (("arcs", "arcs"), ("splines", "splines"))
_KINDS = (("R2010", "of today"), ("R12", "for old cutters (R12)"))
_ROLL_ABOUT = "none: one large page"


class OutputFields(QWidget):
    """Plain fields; asks for an `Output` whenever one of them is changed."""

    output_requested = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._output = Output()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        grid.setColumnStretch(1, 1)
        self.papers = {paper.name: QCheckBox(paper.name) for paper in _USUAL}
        for at, box in enumerate(self.papers.values()):
            box.clicked.connect(self._take)
            grid.addWidget(box, at // 2, at % 2)
        self.other, self.roll = QLineEdit(), QLineEdit()
        self.other.setPlaceholderText("500x700mm, 12x18in")
        self.roll.setPlaceholderText(_ROLL_ABOUT)
        self.outline, self.kind = QComboBox(), QComboBox()
        for choice, values in ((self.outline, _OUTLINES), (self.kind, _KINDS)):
            for value, words in values:
                choice.addItem(words, value)
            choice.activated.connect(self._take)
        self.turn = QCheckBox("Turn patterns to save pages")
        self.turn.clicked.connect(self._take)
        rows: tuple[tuple[str, QWidget], ...] = (
            ("Other paper", self.other),
            ("Roll, wide", self.roll),
            ("Cutting file", self.kind),
            ("Smooth lines as", self.outline),
        )
        for name, field in rows:
            row = grid.rowCount()
            grid.addWidget(_soft(name), row, 0)
            grid.addWidget(field, row, 1)
        for typed in (self.other, self.roll):
            typed.editingFinished.connect(self._take)
        grid.addWidget(self.turn, grid.rowCount(), 0, 1, 2)
        self._wrong = QLabel()
        self._wrong.setWordWrap(True)
        self._wrong.setProperty("role", "ask")
        self._wrong.hide()
        grid.addWidget(self._wrong, grid.rowCount(), 0, 1, 2)

    def refresh(self, output: Output, show: str) -> None:
        """Show what is chosen."""
        self._output = output
        for name, box in self.papers.items():
            box.setChecked(any(paper.name == name for paper in output.papers))
        others = [paper for paper in output.papers if paper.name not in self.papers]
        if not self.other.hasFocus() and not self._wrong.isVisible():
            self.other.setText(", ".join(paper.key for paper in others))
        if not self.roll.hasFocus() and not self._wrong.isVisible():
            self.roll.setText("" if output.roll_mm is None else _roll_words(output.roll_mm, show))
        self.outline.setCurrentIndex(self.outline.findData(output.outline))
        self.kind.setCurrentIndex(self.kind.findData(output.dxf))
        self.turn.setChecked(output.turn)

    def _take(self) -> None:
        """Ask for what the fields say now; say which of them cannot be read."""
        try:
            output = replace(
                self._output,
                papers=self._papers(),
                roll_mm=roll_named(self.roll.text()) if self.roll.text().strip() else None,
                outline=self.outline.currentData(),
                dxf=self.kind.currentData(),
                turn=self.turn.isChecked(),
            )
        except BadPaperError as error:
            self._wrong.setText(sentence(error))
            self._wrong.show()
            return
        self._wrong.hide()
        if output != self._output:
            self.output_requested.emit(output)

    def _papers(self) -> tuple[Paper, ...]:
        usual = [paper for paper in _USUAL if self.papers[paper.name].isChecked()]
        typed = [part for part in self.other.text().split(",") if part.strip()]
        return tuple(dict.fromkeys([*usual, *(paper_named(part) for part in typed)]))


def _roll_words(width_mm: float, show: str) -> str:
    """Return a roll's width as it may be typed.

    >>> _roll_words(609.6, "in"), _roll_words(914.0, "mm")
    ('24 in', '914 mm')
    """
    inches = fraction_text(width_mm, 64)
    is_whole = show == "in" and " " not in inches.removesuffix(" in")
    return inches if is_whole else mm_text(width_mm, 2)


def _soft(words: str) -> QLabel:
    label = QLabel(words)
    label.setProperty("role", "soft")
    return label
