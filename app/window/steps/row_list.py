"""`RowList`: a plain list of rows, one of which may be chosen."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QListWidget


class RowList(QListWidget):
    """A list that is shown while it has rows."""

    chosen = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.currentRowChanged.connect(self.chosen)

    def show_rows(self, rows: Sequence[str], chosen: int) -> None:
        """Show rows, one of them chosen; none where `chosen` is -1. Tells nobody."""
        self.blockSignals(True)
        if [self.item(at).text() for at in range(self.count())] != list(rows):
            self.clear()
            self.addItems(list(rows))
        self.setCurrentRow(chosen)
        self.blockSignals(False)
        self.setVisible(bool(rows))
