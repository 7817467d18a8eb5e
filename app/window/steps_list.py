"""The job as a list of steps in the shop's order: how each stands, and its one-line result."""

from textwrap import shorten

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from app.job import (
    STEPS,
    JobState,
    Step,
    StepState,
    failure,
    line_of,
    needed,
    parts_of,
    state_of,
)
from app.window.look import ASK, MADE, SOFT_INK
from app.window.words import sentence

_COLOURS = {
    StepState.TO_DO: SOFT_INK,
    StepState.MADE: MADE,
    StepState.OUT_OF_DATE: ASK,
    StepState.NEEDS_YOU: ASK,
}
_SIGNS = {
    StepState.TO_DO: "\u25cb",
    StepState.MADE: "\u25cf",
    StepState.OUT_OF_DATE: "\u25d0",
    StepState.NEEDS_YOU: "\u25c6",
}

_MOST_LETTERS = 110
"""Of a line under a step: what is longer stands whole in the fields of the step."""


class StepsList(QFrame):
    """All steps, one of them chosen."""

    step_requested = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "column")
        self.setFixedWidth(232)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 14, 0, 8)
        layout.setSpacing(2)
        self._job = QLabel()
        self._job.setProperty("role", "title")
        self._job.setWordWrap(True)
        self._job.setContentsMargins(18, 0, 8, 0)
        layout.addWidget(self._job)
        self._file = QLabel()
        self._file.setProperty("role", "soft")
        self._file.setWordWrap(True)
        self._file.setContentsMargins(18, 0, 8, 10)
        layout.addWidget(self._file)
        on_the_way = [row for row in _shown() if not row.besides]
        besides = [row for row in _shown() if row.besides]
        self._rows = {
            row.name: StepRow(f"{at}  {row.name}", row.name, f"Ctrl+{at}")
            for at, row in enumerate(on_the_way, start=1)
        } | {
            row.name: StepRow(row.name, row.name, f"Alt+{at}", is_small=True)
            for at, row in enumerate(besides, start=1)
        }
        self._chosen = ""
        self._room = QScrollArea()
        self._room.setWidgetResizable(True)
        self._room.setFrameShape(QFrame.Shape.NoFrame)
        self._room.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._room.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._room.setWidget(self._listed(besides))
        self._room.verticalScrollBar().rangeChanged.connect(self._keep_in_sight)
        layout.addWidget(self._room, 1)

    def _listed(self, besides: list[Step]) -> QWidget:
        """Return all rows, those besides the panels under a heading of their own."""
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        first = besides[0].name if besides else ""
        for name, line in self._rows.items():
            if name == first:
                head = QLabel("The rest of the tank")
                head.setProperty("role", "soft")
                head.setContentsMargins(18, 10, 8, 4)
                column.addWidget(head)
            column.addWidget(line)
            line.chosen.connect(self.step_requested)
        column.addStretch(1)
        return inside

    def refresh(self, state: JobState, chosen: str, *, unsaved: bool, show: str) -> None:
        """Show how everything stands, lengths in "mm" or "in"."""
        self._job.setText(state.name)
        if state.scan is None:
            self._file.setText("no scan yet")
        else:
            self._file.setText(state.scan.file_name + (" \u2013 not saved" if unsaved else ""))
        for name, line in self._rows.items():
            line.refresh(state, chosen == name, show)
        if chosen != self._chosen and chosen in self._rows:
            if any(line.hasFocus() for line in self._rows.values()):
                self._rows[chosen].setFocus()
            self._chosen = chosen
            self._keep_in_sight()

    def _keep_in_sight(self) -> None:
        row = self._rows.get(self._chosen)
        if row is not None:
            self._room.ensureWidgetVisible(row, 0, 20)

    def words(self, name: str) -> str:
        """Return the line under a step."""
        return self._rows[name].words


def _shown() -> list[Step]:
    return [row for row in STEPS if row.shown]


def _trouble(state: JobState, name: str) -> str:
    errors = [(part, failure(state, name, part)) for part in parts_of(state, name)]
    told = [f"{part}: {sentence(error)}".lstrip(": ") for part, error in errors if error]
    return told[0] if told else ""


class StepRow(QFrame):
    """One step."""

    chosen = Signal(str)

    def __init__(self, title: str, name: str, key: str, *, is_small: bool = False) -> None:
        super().__init__()
        self._name, self._is_small = name, is_small
        self.setProperty("role", "step")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName(name)
        self.setToolTip(key)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(*((14, 4, 10, 4) if is_small else (14, 8, 10, 9)))
        layout.setSpacing(2)
        head = QHBoxLayout()
        self._title = QLabel(title)
        self._title.setStyleSheet(f"font-size: {11 if is_small else 12}pt; font-weight: bold;")
        self._state = QLabel()
        head.addWidget(self._title)
        head.addStretch(1)
        head.addWidget(self._state)
        layout.addLayout(head)
        self._line = QLabel()
        self._line.setProperty("role", "soft")
        self._line.setWordWrap(True)
        layout.addWidget(self._line)

    def refresh(self, state: JobState, chosen: bool, show: str) -> None:
        """Show how the step stands."""
        stands = state_of(state, self._name)
        self._state.setText(f"{_SIGNS[stands]} {stands.value}")
        self._state.setStyleSheet(f"color: {_COLOURS[stands]}; font-weight: bold;")
        made = line_of(state, self._name, show)
        line = made or needed(state, self._name) or _trouble(state, self._name)
        self._line.setText(shorten(line, _MOST_LETTERS, placeholder=" \u2026"))
        self._line.setToolTip(line if len(line) > _MOST_LETTERS else "")
        said = chosen or not self._is_small or stands is StepState.NEEDS_YOU
        self._line.setVisible(bool(line) and said)
        if self.property("chosen") != chosen:
            self.setProperty("chosen", chosen)
            self.style().unpolish(self)
            self.style().polish(self)

    @property
    def words(self) -> str:
        """The line under it."""
        return self._line.text()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Choose the step."""
        self.chosen.emit(self._name)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Choose the step by key."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.chosen.emit(self._name)
        else:
            super().keyPressEvent(event)
