"""A table that is read and chosen from by rows, as break-ups and what seams cost are shown."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from app.window.look import ASK, INK, SOFT_INK

LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class PlainTable(QTableWidget):
    """Rows of words whose columns share the width there is; one row is chosen at a time.

    Parameters
    ----------
    headings : sequence of str
    weights : sequence of int
        How the columns share the width.
    """

    def __init__(self, headings: Sequence[str], weights: Sequence[int]) -> None:
        super().__init__(0, len(headings))
        self._weights = weights
        self.setHorizontalHeaderLabels(list(headings))
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().hide()
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setWordWrap(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def put(
        self,
        row: int,
        at: int,
        words: str,
        *,
        tip: str,
        is_bold: bool,
        is_stale: bool,
        is_warned: bool,
    ) -> None:
        """Put words into a cell: what is out of date in grey italics, not by colour alone."""
        item = QTableWidgetItem(words)
        item.setToolTip(tip)
        item.setTextAlignment(LEFT)
        font = QFont(self.font())
        font.setBold(is_bold)
        font.setItalic(is_stale)
        item.setFont(font)
        item.setForeground(QColor(SOFT_INK if is_stale else ASK if is_warned else INK))
        self.setItem(row, at, item)

    def share(self, width: int) -> None:
        """Let the columns share a width, and each row be as high as its words."""
        for at, weight in enumerate(self._weights):
            self.setColumnWidth(at, width * weight // sum(self._weights))
        self.resizeRowsToContents()

    def words(self) -> list[list[str]]:
        """Return everything the table says, row by row."""
        found = []
        for row in range(self.rowCount()):
            cells = (self.item(row, at) for at in range(self.columnCount()))
            found.append([cell.text() for cell in cells if cell is not None])
        return found
