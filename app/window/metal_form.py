"""The form in which the maker adds a metal: a name, a density, how far it stretches, says who."""

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from app.messages import sentence_for
from geometry.metal import MetalFactsError, metal_from_facts

_ABOUT = (
    "Take the figures from the mill's sheet or a handbook. Stretch is how far a strip draws in a "
    "tensile test before it tears: 5 where 100 becomes 105. Leave empty what you do not know."
)
_FIELDS = (
    ("alloy", "Alloy", "5754", False, 1.0),
    ("temper", "Temper", "H22", False, 1.0),
    ("density", "Density, g/cm\u00b3", "2.67", True, 1.0),
    ("elongation", "Stretch of 100 as bought", "8", True, 0.01),
    ("annealed", "Stretch of 100 once annealed", "18", True, 0.01),
    ("bend_radius", "Bends over, in thicknesses", "1.5", True, 1.0),
    ("source", "Says who", "the mill's sheet", False, 1.0),
)
"""Fact, what it is called, an example, whether it is a number, and what one of it stands for."""


class MetalForm(QDialog):
    """Asks for one metal; `facts` are those typed, once it is accepted."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Add a metal")
        self.setMinimumWidth(420)
        column = QVBoxLayout(self)
        about = QLabel(_ABOUT)
        about.setWordWrap(True)
        about.setProperty("role", "soft")
        column.addWidget(about)
        form = QFormLayout()
        form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        self.fields: dict[str, QLineEdit] = {}
        for fact, words, example, _, _ in _FIELDS:
            self.fields[fact] = QLineEdit()
            self.fields[fact].setPlaceholderText(example)
            form.addRow(words, self.fields[fact])
        column.addLayout(form)
        self._wrong = QLabel()
        self._wrong.setWordWrap(True)
        self._wrong.setProperty("role", "ask")
        self._wrong.hide()
        column.addWidget(self._wrong)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.button(QDialogButtonBox.StandardButton.Ok).setText("Add this metal")
        for button in buttons.buttons():
            button.setIcon(QIcon())
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column.addWidget(buttons)

    @property
    def facts(self) -> dict[str, Any]:
        """Return what was typed, as `metal_from_facts` takes it."""
        found: dict[str, Any] = {}
        for fact, _, _, is_number, unit in _FIELDS:
            words = self.fields[fact].text().strip()
            if words:
                found[fact] = _number(words, unit) if is_number else words
        return found

    def accept(self) -> None:
        """Take the metal, or say what is wrong with it."""
        try:
            metal_from_facts(self.facts)
        except MetalFactsError as error:
            self._wrong.setText(sentence_for(error) or "")
            self._wrong.show()
            return
        super().accept()


def _number(words: str, unit: float) -> float | str:
    """Return a typed number, or the words themselves where they are none: they are refused later.

    >>> _number("8,5", 0.01), _number("about 8", 0.01)
    (0.085, 'about 8')
    """
    try:
        return round(float(words.replace(",", ".")) * unit, 9)
    except ValueError:
        return words
