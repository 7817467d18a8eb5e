"""The table of a blank's edges: letter, flat, formed, and what net and cut line lose or gain."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from app.job import edge_rows
from geometry.pattern import Pattern

_HEADS = ("Edge", "Flat", "Formed", "Net by", "Cut by")

_LETTER_PX = 44


class EdgeTable(QTableWidget):
    """Shows the edges of one pattern, all of them at once."""

    def __init__(self) -> None:
        super().__init__(0, len(_HEADS))
        self.setHorizontalHeaderLabels(list(_HEADS))
        self.verticalHeader().hide()
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setAlternatingRowColors(True)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        for lengths in (1, 2):
            header.setSectionResizeMode(lengths, QHeaderView.ResizeMode.ResizeToContents)
        header.setMinimumSectionSize(_LETTER_PX)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Fixed)
        header.resizeSection(0, _LETTER_PX)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)

    def show_pattern(self, pattern: Pattern, show: str) -> None:
        """Show a pattern's edges."""
        rows = edge_rows(pattern, show)
        self.setRowCount(len(rows))
        for line, row in enumerate(rows):
            for at, words in enumerate((row.letter, row.flat, row.formed, row.at_net, row.at_cut)):
                cell = QTableWidgetItem(words)
                cell.setToolTip(f"{row.letter}: {row.joins}")
                self.setItem(line, at, cell)
        self.resizeRowsToContents()
        height = self.horizontalHeader().sizeHint().height() + self.verticalHeader().length() + 4
        self.setFixedHeight(height)

    def words(self) -> list[list[str]]:
        """Return everything the table says, row by row."""
        return [
            [cell.text() for at in range(self.columnCount()) if (cell := self.item(line, at))]
            for line in range(self.rowCount())
        ]
