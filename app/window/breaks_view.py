"""Break-ups side by side in one table: keep, take, rename, throw away, propose, print."""

from dataclasses import dataclass

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.job import HEADINGS, BreakUp, breakup_row
from app.window.breakup_judge import Verdict
from app.window.plain_table import LEFT, PlainTable
from app.window.words import sentence

NOW = "the seams as they are now"
_PIECES = (2, 6)
_WEIGHTS = (14, 6, 7, 7, 8, 8, 9, 8, 9, 9, 10, 10)
_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


@dataclass(frozen=True)
class BreakUpLine:
    """A row of the table.

    Attributes
    ----------
    breakup : BreakUp
    verdict : Verdict
    is_now : bool
        Whether it is the seams of now, not kept under any name.
    is_shown : bool
        Whether the seams of now are as this one.
    """

    breakup: BreakUp
    verdict: Verdict
    is_now: bool = False
    is_shown: bool = False


class BreaksView(QWidget):
    """The table, and what can be done with its rows."""

    keep_requested = Signal(str)
    take_requested = Signal(str)
    rename_requested = Signal(str, str)
    away_requested = Signal(str)
    propose_requested = Signal(int, int)
    stop_requested = Signal()
    print_requested = Signal()
    export_requested = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._lines: tuple[BreakUpLine, ...] = ()
        self._told: dict[str, str] = {}
        self._busy = False
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 14, 16, 14)
        column.setSpacing(8)
        self.about, self.more, self.said = (self._label(role) for role in ("soft", "", "soft"))
        self.table = PlainTable([words.capitalize() for words in HEADINGS], _WEIGHTS)
        self._dress()
        column.addWidget(self.about)
        column.addWidget(self.table, 1)
        column.addWidget(self.more)
        column.addLayout(self._choosing())
        column.addLayout(self._proposing())
        column.addWidget(self.said)

    @staticmethod
    def _label(role: str) -> QLabel:
        label = QLabel()
        label.setWordWrap(True)
        if role:
            label.setProperty("role", role)
        return label

    def _dress(self) -> None:
        head = self.table.horizontalHeader()
        head.setDefaultAlignment(LEFT | Qt.TextFlag.TextWordWrap)
        head.setMinimumHeight(44)
        self.table.itemSelectionChanged.connect(self._show_chosen)
        self.table.itemDoubleClicked.connect(self._take)

    def _choosing(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.take = self._button("Take it  (Enter)", self._take, row)
        self.take.setProperty("leading", True)
        self.away = self._button("Throw it away  (Del)", self._throw, row)
        row.addSpacing(14)
        self.name = QLineEdit()
        self.name.setPlaceholderText("a name")
        self.name.setMinimumWidth(180)
        self.name.textChanged.connect(self._show_chosen)
        self.name.returnPressed.connect(self._keep)
        row.addWidget(self.name, 1)
        self.keep = self._button("&Keep the seams of now", self._keep, row)
        self.rename = self._button("&Rename the chosen one", self._rename, row)
        return row

    def _proposing(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addWidget(QLabel("Pieces from"))
        self.least, self.most = QSpinBox(), QSpinBox()
        for box, value, name in (
            (self.least, 2, "fewest pieces"), (self.most, 4, "most pieces")
        ):  # fmt: skip
            box.setRange(*_PIECES)
            box.setValue(value)
            box.setAccessibleName(name)
        self.least.valueChanged.connect(self.most.setMinimum)
        row.addWidget(self.least)
        row.addWidget(QLabel("to"))
        row.addWidget(self.most)
        self.propose = self._button("&Propose break-ups", self._propose, row)
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setTextVisible(False)
        row.addWidget(self.progress, 1)
        self.stop = self._button("&Stop", self.stop_requested.emit, row)
        row.addStretch(1)
        self.printing = self._button("Pri&nt the page...", self.print_requested.emit, row)
        self.export = self._button("&Write the page as a PDF...", self.export_requested.emit, row)
        return row

    @staticmethod
    def _button(words: str, react: object, row: QHBoxLayout) -> QPushButton:
        button = QPushButton(words)
        button.setAutoDefault(False)
        button.clicked.connect(react)
        row.addWidget(button)
        return button

    # ---- showing

    def refresh(
        self,
        lines: tuple[BreakUpLine, ...],
        show: str,
        *,
        can_propose: bool,
        told: dict[str, str],
    ) -> None:
        """Show break-ups; those not judged yet, or out of date, in grey.

        Parameters
        ----------
        lines : tuple of BreakUpLine
        show : "mm" or "in"
        can_propose : bool
        told : mapping of a break-up's name to words
            More about one, shown while it is chosen.
        """
        chosen = self.chosen
        self._lines, self._told = lines, told
        unit = "in inches per foot" if show == "in" else "per 100"
        self.about.setText(
            f"Stretch and shrink {unit}: what all but 1 part in 100 of the worst panel stays "
            "within. Shaping work is for comparing only. All are judged on large triangles, so "
            "that they compare; grey italics: not judged yet, or before a change."
        )
        self.table.blockSignals(True)
        self.table.setRowCount(len(lines))
        for row, line in enumerate(lines):
            self._fill(row, line, show)
        names = [line.breakup.name for line in lines]
        if lines:
            self.table.selectRow(names.index(chosen) if chosen in names else 0)
        self.table.blockSignals(False)
        self._share()
        self.propose.setEnabled(can_propose and not self._busy)
        self._show_chosen()

    def show_progress(self, done: float, stage: str, *, busy: bool) -> None:
        """Show how far proposing, or laying out the page, is."""
        self._busy = busy
        self.progress.setVisible(busy)
        self.stop.setVisible(busy)
        self.progress.setValue(round(1000 * done))
        self.propose.setEnabled(not busy)
        if busy and stage:
            self.said.setText(f"{stage[:1].upper()}{stage[1:]}...")

    def say(self, words: str) -> None:
        """Say what came of what was asked."""
        self.said.setText(words)

    @property
    def chosen(self) -> str:
        """The name of the chosen row, "" for none."""
        line = self._chosen_line()
        return "" if line is None else line.breakup.name

    def words(self) -> list[list[str]]:
        """Return everything the table says, row by row."""
        return self.table.words()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return room for every column."""
        return QSize(1240, 560)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Let the columns share the width there is."""
        super().resizeEvent(event)
        self._share()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Take by Enter, throw away by Del, while the table has the keys."""
        at_table = self.window().focusWidget() is self.table
        if event.key() in _KEYS and at_table:
            self._take()
        elif event.key() == Qt.Key.Key_Delete and at_table:
            self._throw()
        else:
            super().keyPressEvent(event)

    def _fill(self, row: int, line: BreakUpLine, show: str) -> None:
        verdict = line.verdict
        name = NOW if line.is_now else line.breakup.name
        mark = "\u25cf " if line.is_shown or line.is_now else ""
        if verdict.figures is not None:
            cells = breakup_row(mark + name, verdict.figures, show).cells
        elif verdict.error is not None:
            cells = (mark + name, "cannot be cut", *["\u2013"] * (len(HEADINGS) - 2))
        else:
            cells = (mark + name, "...", *["\u2013"] * (len(HEADINGS) - 2))
        tip = "" if verdict.error is None else sentence(verdict.error)
        for at, words in enumerate(cells):
            self.table.put(
                row, at, words.replace(" (", "\n("), tip=tip or words, is_bold=at == 0,
                is_stale=not verdict.holds,
                is_warned=verdict.error is not None or words.startswith(("locked", "too large")),
            )  # fmt: skip

    def _share(self) -> None:
        self.table.share(self.table.viewport().width())

    def _chosen_line(self) -> BreakUpLine | None:
        row = self.table.currentRow()
        return self._lines[row] if 0 <= row < len(self._lines) else None

    def _show_chosen(self) -> None:
        line, typed = self._chosen_line(), self.name.text().strip()
        kept = line is not None and not line.is_now
        names = {each.breakup.name for each in self._lines if not each.is_now}
        self.take.setEnabled(line is not None and kept and not line.is_shown)
        self.away.setEnabled(kept)
        self.rename.setEnabled(kept)
        has_seams = any(each.is_now or each.is_shown for each in self._lines)
        self.keep.setEnabled(has_seams and bool(typed))
        self.keep.setText(f"&Keep the seams of now in place of {typed}" if typed in names
                          else "&Keep the seams of now")  # fmt: skip
        page = any(each.verdict.figures is not None and each.verdict.holds for each in self._lines)
        self.printing.setEnabled(page)
        self.export.setEnabled(page)
        error = None if line is None else line.verdict.error
        more = "" if line is None else self._told.get(line.breakup.name, "")
        self.more.setText(sentence(error) if error is not None else more)
        self.more.setVisible(bool(self.more.text()))

    # ---- asking

    def _take(self, *_: object) -> None:
        if self.take.isEnabled():
            self.take_requested.emit(self.chosen)

    def _throw(self) -> None:
        if self.away.isEnabled():
            self.away_requested.emit(self.chosen)

    def _keep(self) -> None:
        if self.keep.isEnabled():
            self.keep_requested.emit(self.name.text().strip())

    def _rename(self) -> None:
        typed, names = self.name.text().strip(), [line.breakup.name for line in self._lines]
        if typed and typed not in names:
            self.rename_requested.emit(self.chosen, typed)
        else:
            self._begin_rename()

    def _begin_rename(self) -> None:
        line = self._chosen_line()
        if line is not None and not line.is_now:
            self.name.setText(line.breakup.name)
            self.name.setFocus()
            self.name.selectAll()

    def _propose(self) -> None:
        if self.propose.isEnabled():
            self.propose_requested.emit(self.least.value(), self.most.value())
