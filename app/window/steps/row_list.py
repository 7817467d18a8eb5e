"""`RowList`: a plain list of rows, one of which may be chosen."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QListWidget, QSizePolicy

_MOST_SHOWN = 7
"""With more rows than this a list scrolls by itself."""


class RowList(QListWidget):
    """A list as high as its rows, that is shown while it has some."""

    chosen = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.setWordWrap(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.currentRowChanged.connect(self.chosen)

    def show_rows(self, rows: Sequence[str], chosen: int) -> None:
        """Show rows, one of them chosen; none where `chosen` is -1. Tells nobody."""
        self.blockSignals(True)
        if [self.item(at).text() for at in range(self.count())] != list(rows):
            self.clear()
            self.addItems(list(rows))
            self.scheduleDelayedItemsLayout()
            self.updateGeometry()
        self.setCurrentRow(chosen)
        self.blockSignals(False)
        self.setVisible(bool(rows))

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return the size at which its rows are seen whole, up to a few."""
        shown = range(min(self.count(), _MOST_SHOWN))
        high = sum(self.sizeHintForRow(at) for at in shown) + 2 * self.frameWidth() + 2
        return QSize(super().sizeHint().width(), max(high, self.minimumHeight()))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Make room anew where the rows wrap otherwise."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.scheduleDelayedItemsLayout()
            self.updateGeometry()
