"""`OptionalForm`: a box, and the form of a decision that stands only while it is ticked."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from app.window.steps.spec_form import FormRow, SpecForm


class OptionalForm(QWidget):
    """Asks whether there is a decision, and for its values where there is one."""

    changed = Signal(object)
    """The decision as it is to be, or None for none."""

    def __init__(self, words: str, rows: Sequence[FormRow]) -> None:
        super().__init__()
        self._usual: Any = None
        self.box = QCheckBox(words)
        self.box.toggled.connect(self._take)
        self.form = SpecForm(rows)
        self.form.changed.connect(self.changed)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self.box)
        column.addWidget(self.form)

    def show_spec(self, spec: Any, usual: Any, show: str) -> None:
        """Show a decision or, for None, that there is none; `usual` is what ticking begins with."""
        self._usual = usual
        tick_untold(self.box, spec is not None)
        self.form.setVisible(spec is not None)
        if spec is not None:
            self.form.show_spec(spec, show)

    def _take(self, wanted: bool) -> None:
        self.changed.emit(self._usual if wanted else None)


def tick_untold(box: QCheckBox, ticked: bool) -> None:
    """Tick a box or clear it to show how things stand: nobody is told as of the maker's own."""
    box.blockSignals(True)
    box.setChecked(ticked)
    box.blockSignals(False)
