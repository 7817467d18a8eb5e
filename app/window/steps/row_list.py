"""`RowList`: a plain list of rows, one of which may be chosen."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QListWidget, QSizePolicy

_MOST_SHOWN = 7
"""With more rows than this a list scrolls by itself."""

_BESIDE = 6
"""Room left and right of the rows: as their own padding it would not count where they wrap."""


class RowList(QListWidget):
    """A list as high as its rows, that is shown while it has some."""

    chosen = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.setWordWrap(True)
        self.setStyleSheet("QListWidget::item { padding: 3px 0; }")
        self.setViewportMargins(_BESIDE, 0, _BESIDE, 0)
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
        self.setCurrentRow(chosen)
        self.blockSignals(False)
        self.setVisible(bool(rows))

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return the size at which its rows are seen whole, up to a few."""
        shown = [self.item(at) for at in range(min(self.count(), _MOST_SHOWN))]
        high = sum(self.visualItemRect(item).height() for item in shown)
        high += 2 * self.frameWidth() + 2
        return QSize(super().sizeHint().width(), max(high, self.minimumHeight()))

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Return the same: a list of one row needs no more room than that row."""
        return QSize(super().minimumSizeHint().width(), self.sizeHint().height())

    def doItemsLayout(self) -> None:  # noqa: N802
        """Make room for rows as they wrap."""
        super().doItemsLayout()
        self.updateGeometry()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Wrap the rows anew."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.scheduleDelayedItemsLayout()
