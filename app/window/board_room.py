"""The job board: every tank of a folder with its next step and latest print, opened from here."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.job import SUFFIX, BoardRow, all_made, board, panel_names
from app.window.bench import Bench
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.keeper import Keeper
from app.window.look import ASK
from app.window.words import sentence

_MADE_ANEW = (
    "The patterns of {} are being made anew.\n\nA job file keeps the scan and what you decided, "
    "not the patterns; they come out the same as before. How far it is stands at the bottom."
)
_HEADS = ("Job", "Tank of", "Next step", "Printed")
_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class BoardView(QWidget):
    """A row for every job file of a folder."""

    open_requested = Signal(object)
    folder_requested = Signal()
    refresh_requested = Signal()

    def __init__(self) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 14, 16, 14)
        head = QHBoxLayout()
        self._title = QLabel()
        self._title.setProperty("role", "heading")
        head.addWidget(self._title, 1)
        for words, asked in (
            ("Another folder...", self.folder_requested),
            ("Look again  (F5)", self.refresh_requested),
        ):
            button = QPushButton(words)
            button.setAutoDefault(False)
            button.clicked.connect(asked)
            head.addWidget(button)
        column.addLayout(head)
        self.list = QTreeWidget()
        self.list.setHeaderLabels(list(_HEADS))
        self.list.setRootIsDecorated(False)
        self.list.setAlternatingRowColors(True)
        self.list.setWordWrap(True)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        header = self.list.header()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        for narrow in (0, 1, 2):
            header.setSectionResizeMode(narrow, QHeaderView.ResizeMode.ResizeToContents)
        self.list.itemDoubleClicked.connect(self._open)
        column.addWidget(self.list, 1)
        self._hint = QLabel("Double click or Enter opens a job at its patterns.")
        self._hint.setProperty("role", "soft")
        column.addWidget(self._hint)

    def show_rows(self, folder: Path, rows: tuple[BoardRow, ...]) -> None:
        """Show the jobs of a folder; what is wrong with a file stands in its row."""
        count = "1 job" if len(rows) == 1 else f"{len(rows)} jobs"
        self._title.setText(f"{count} in {folder.name or folder}")
        self._title.setToolTip(str(folder))
        self.list.clear()
        for row in rows:
            if row.trouble is not None:
                words = [row.path.name, "", sentence(row.trouble), ""]
            else:
                words = [row.name, row.model, row.next_step, row.print_words]
            item = QTreeWidgetItem(words)
            item.setData(0, Qt.ItemDataRole.UserRole, row)
            item.setToolTip(0, str(row.path))
            for at, text in enumerate(words):
                if at:
                    item.setToolTip(at, text)
            if row.trouble is not None:
                item.setForeground(2, QColor(ASK))
            elif row.has_changed or row.superseded:
                item.setForeground(3, QColor(ASK))
            self.list.addTopLevelItem(item)
        first = self.list.topLevelItem(0)
        if first is not None:
            self.list.setCurrentItem(first)

    def words(self) -> list[list[str]]:
        """Return everything the board says, row by row."""
        rows = [self.list.topLevelItem(at) for at in range(self.list.topLevelItemCount())]
        return [[row.text(at) for at in range(len(_HEADS))] for row in rows if row is not None]

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Open by Enter, look again by F5."""
        item = self.list.currentItem()
        if event.key() in _KEYS and item is not None:
            self._open(item)
        elif event.key() == Qt.Key.Key_F5:
            self.refresh_requested.emit()
        else:
            super().keyPressEvent(event)

    def _open(self, item: QTreeWidgetItem) -> None:
        row: BoardRow = item.data(0, Qt.ItemDataRole.UserRole)
        if row.trouble is None:
            self.open_requested.emit(row.path)


class BoardRoom(QObject):
    """Shows the board of a folder, and opens the job chosen at its latest patterns."""

    said = Signal(str)

    def __init__(
        self, document: Document, bench: Bench, foreman: Foreman, keeper: Keeper, window: QWidget
    ) -> None:
        super().__init__(window)
        self._document, self._bench, self._foreman = document, bench, foreman
        self._keeper = keeper
        self._folder: Path | None = None
        self._opening: Path | None = None
        self._to_pattern: Path | None = None
        self._brought: Path | None = None
        self.view = BoardView()
        self.window_ = QDialog(window)
        self.window_.setWindowTitle("Job board")
        self.window_.resize(1120, 520)
        column = QVBoxLayout(self.window_)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.view)
        self.view.open_requested.connect(self.open)
        self.view.folder_requested.connect(self.choose_folder)
        self.view.refresh_requested.connect(self.look)
        bench.rested.connect(self._lay_flat)

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is the board's."""
        return {"board": self.show}

    def show(self) -> None:
        """Show the board of the folder the jobs are kept in; ask for it where none is known."""
        if self._folder is None:
            self._folder = self._known_folder()
        if self._folder is None:
            self.choose_folder()
        self.look()

    def choose_folder(self) -> None:
        """Ask for another folder."""
        name = QFileDialog.getExistingDirectory(self.window_, "The folder the jobs are kept in")
        if name:
            self.show_folder(Path(name))

    def show_folder(self, folder: Path) -> None:
        """Show the board of a folder."""
        self._folder = folder
        self.look()

    def look(self) -> None:
        """Read the folder anew."""
        if self._folder is None:
            return
        try:
            rows = board(self._folder)
        except OSError as error:
            self.said.emit(f"The folder {self._folder.name} cannot be read: {error.strerror}.")
            return
        self.view.show_rows(self._folder, rows)
        self.window_.show()
        self.window_.raise_()
        self.view.list.setFocus()

    def open(self, path: Path) -> None:
        """Open a job at its patterns."""
        self.window_.hide()
        self._opening = path
        self._keeper.open(path)

    def _known_folder(self) -> Path | None:
        kept = [self._document.path, *map(Path, self._keeper.settings.recent_files)]
        jobs = (path for path in kept if path is not None and path.suffix == SUFFIX)
        return next((path.parent for path in jobs if path.parent.is_dir()), None)

    def opened(self) -> None:
        """Go to the patterns of a job opened from here."""
        path, self._opening = self._opening, None
        self._to_pattern = path if path is not None and path == self._document.path else None
        self._brought = self._to_pattern
        if self._to_pattern is not None:
            self._foreman.choose_step("Paper")

    def words(self) -> str:
        """Return what the Paper step says while patterns of a job opened from here are made."""
        state, path = self._document.state, self._document.path
        on_the_way = self._brought is not None and self._brought == path and self._bench.is_busy
        if not on_the_way or self._bench.was_stopped or all_made(state, "Paper"):
            return ""
        return _MADE_ANEW.format(state.name)

    def _lay_flat(self) -> None:
        """Lay the panels of a job opened from the board flat once it is cut, unless it was left."""
        if self._to_pattern is None or self._to_pattern != self._document.path:
            return
        state = self._document.state
        if panel_names(state) and not self._bench.was_stopped:
            self._to_pattern = None
            if self._foreman.step == "Paper" and not all_made(state, "Paper"):
                self._foreman.flatten_all()
