"""The table under tank and sheet while two ways to make a panel are compared."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout

from app.job import ComparedRow, JobState, compared_rows
from app.window.steps import Desk
from app.window.words import ways_of


class ComparisonTable(QFrame):
    """Two columns of values and a third of differences."""

    take_requested = Signal(int)
    """0 for the first way, 1 for the second."""
    put_away_requested = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "table")
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 8)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(22)
        self._grid.setVerticalSpacing(2)
        for at in (1, 2, 3):
            self._grid.setColumnStretch(at, 1)
        column.addLayout(self._grid)
        row = QHBoxLayout()
        self._take = (QPushButton(), QPushButton())
        self._take[0].clicked.connect(self._take_first)
        self._take[1].clicked.connect(self._take_second)
        away = QPushButton("Put the comparison away")
        away.clicked.connect(self.put_away_requested)
        for button in (*self._take, away):
            row.addWidget(button)
        row.addStretch(1)
        column.addLayout(row)
        self._shown: object = None

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show the comparison on the desk, or nothing."""
        found = desk.comparison
        self.setVisible(found is not None)
        if found is not None:
            rows = compared_rows(
                found, sheet_mm=state.metal.thickness_mm, trim_mm=state.trim_mm, show=desk.show
            )
            self._show_rows(rows, ways_of(found))

    def _show_rows(self, rows: tuple[ComparedRow, ...], ways: tuple[str, str]) -> None:
        if self._shown == (rows, ways):
            return
        self._shown = (rows, ways)
        while (item := self._grid.takeAt(0)) is not None:
            if (label := item.widget()) is not None:
                label.deleteLater()
        heads = ("", f"\u2501\u2501  {ways[0]}", f"\u2505\u2505  {ways[1]}", "second less first")
        for at, words in enumerate(heads):
            self._put(0, at, words, "heading")
        for line, row in enumerate(rows, start=1):
            self._put(line, 0, row.name, "soft")
            for at, words in enumerate((row.first, row.second, row.difference), start=1):
                self._put(line, at, words, "")
        for button, way in zip(self._take, ways, strict=True):
            button.setText(f"Make it {way}")

    def words(self) -> list[str]:
        """Return everything the table says, row by row."""
        found = []
        for place in range(self._grid.count()):
            item = self._grid.itemAt(place)
            label = None if item is None else item.widget()
            if isinstance(label, QLabel):
                found.append(label.text())
        return found

    def _put(self, line: int, at: int, words: str, role: str) -> None:
        label = QLabel(words)
        label.setWordWrap(at > 0 and line > 0)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        if role:
            label.setProperty("role", role)
        self._grid.addWidget(label, line, at)

    def _take_first(self) -> None:
        self.take_requested.emit(0)

    def _take_second(self) -> None:
        self.take_requested.emit(1)
