"""`CheckedList`: rows that are switched with Space or a click on their box; chosen with arrows."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QListWidget, QListWidgetItem

_OFF, _ON = Qt.CheckState.Unchecked, Qt.CheckState.Checked
_ROW_PX = 40


class CheckedList(QListWidget):
    """A list whose rows are on or off."""

    chosen = Signal(int)
    switched = Signal(int, bool)

    def __init__(self, most_px: int = 190) -> None:
        super().__init__()
        self._most_px = most_px
        self.setWordWrap(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.currentRowChanged.connect(self.chosen)
        self.itemChanged.connect(self._switch)

    def show_rows(self, rows: Sequence[tuple[str, bool]], chosen: int) -> None:
        """Show words and whether each is on."""
        self.blockSignals(True)
        if self.count() != len(rows):
            self.clear()
            for _ in rows:
                self.addItem(QListWidgetItem())
        for at, (words, on) in enumerate(rows):
            item = self.item(at)
            item.setText(words)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(_ON if on else _OFF)
        self.setCurrentRow(chosen)
        self.blockSignals(False)
        self.setVisible(bool(rows))
        high = sum(self.sizeHintForRow(at) for at in range(self.count())) + 6
        self.setFixedHeight(min(self._most_px, max(_ROW_PX, high)))

    def _switch(self, item: QListWidgetItem) -> None:
        self.switched.emit(self.row(item), item.checkState() == _ON)
