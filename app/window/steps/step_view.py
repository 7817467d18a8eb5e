"""`StepView`: the frame every step's view stands in, and the few kinds of fields they use."""

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.job import JobState, failure, needed
from app.window.steps.standing import Desk
from app.window.words import sentence

_BY_TAB = Qt.FocusPolicy.TabFocus

_BESIDE_A_CHOICE = 24
"""What stands beside the words of an unfolded choice, pixels."""


class StepView(QWidget):
    """What one step needs. Asks, and decides nothing."""

    asked = Signal(str)
    """An action of the table, by its key."""

    def __init__(self, step: str, title: str, about: str) -> None:
        super().__init__()
        self.step = step
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(16, 14, 16, 14)
        self.column.setSpacing(8)
        self.label(title, "title")
        self.label(about, "soft")
        self._ask = self.label("", "ask")

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show how things stand."""
        raise NotImplementedError

    def show_need(self, state: JobState, *, part: str = "", also: str = "") -> None:
        """Show what the shaper has to do, or what went wrong."""
        error = failure(state, self.step, part)
        words = sentence(error) if error is not None else (needed(state, self.step) or also)
        self._ask.setText(words)
        self._ask.setVisible(bool(words))

    def go_to_first(self) -> None:
        """Take the keys to the first field or button there is."""
        each = self.nextInFocusChain()
        while each is not None and self.isAncestorOf(each):
            if each.isVisibleTo(self) and each.isEnabled() and each.focusPolicy() & _BY_TAB:
                each.setFocus(Qt.FocusReason.TabFocusReason)
                return
            each = each.nextInFocusChain()

    # ---- fields

    def label(self, words: str, role: str = "") -> QLabel:
        """Add words."""
        label = QLabel(words)
        label.setWordWrap(True)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        if role:
            label.setProperty("role", role)
        self.column.addWidget(label)
        return label

    def button(
        self, words: str, react: Callable[[], None], *, leading: bool = False
    ) -> QPushButton:
        """Add a button."""
        button = QPushButton(words)
        button.setProperty("leading", leading)
        button.clicked.connect(react)
        self.column.addWidget(button)
        return button

    def asking_button(
        self, words: str, key: str, *, leading: bool = False, beside: QPushButton | None = None
    ) -> QPushButton:
        """Add a button that asks for an action of the table, below the others or beside one."""
        button = _AskingButton(words, key)
        button.setProperty("leading", leading)
        button.asked.connect(self.asked)
        if beside is None:
            self.column.addWidget(button)
        else:
            at = self.column.indexOf(beside)
            self.column.removeWidget(beside)
            row = QHBoxLayout()
            row.addWidget(beside, 2)
            row.addWidget(button, 1)
            self.column.insertLayout(at, row)
        return button

    def pairs(self, names: tuple[str, ...]) -> tuple[QLabel, ...]:
        """Add rows of a name and a value; return the values."""
        grid = QGridLayout()
        grid.setColumnStretch(1, 1)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(4)
        values = []
        for row, name in enumerate(names):
            title = QLabel(name)
            title.setProperty("role", "soft")
            title.setAlignment(Qt.AlignmentFlag.AlignTop)
            value = QLabel()
            value.setWordWrap(True)
            value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            grid.addWidget(title, row, 0)
            grid.addWidget(value, row, 1)
            values.append(value)
        self.column.addLayout(grid)
        return tuple(values)

    def fields(self, *rows: tuple[str, QWidget]) -> None:
        """Add rows of a name and a field beside it."""
        grid = QGridLayout()
        grid.setColumnStretch(1, 1)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        for row, (name, field) in enumerate(rows):
            title = QLabel(name)
            title.setProperty("role", "soft")
            title.setBuddy(field)
            grid.addWidget(title, row, 0)
            grid.addWidget(field, row, 1)
        self.column.addLayout(grid)

    def choices(self, words: tuple[str, ...], react: Callable[[int], None]) -> QButtonGroup:
        """Add one row per choice, of which one is taken."""
        group = QButtonGroup(self)
        for number, choice in enumerate(words):
            button = QRadioButton(choice)
            group.addButton(button, number)
            self.column.addWidget(button)
        group.idClicked.connect(react)
        return group


def beside_each_other(wide: QWidget, narrow: QWidget) -> QWidget:
    """Return two fields in a row, as one."""
    whole = QWidget()
    row = QHBoxLayout(whole)
    row.setContentsMargins(0, 0, 0, 0)
    row.addWidget(wide, 3)
    row.addWidget(narrow, 2)
    whole.setFocusProxy(wide)
    return whole


class _AskingButton(QPushButton):
    asked = Signal(str)

    def __init__(self, words: str, key: str) -> None:
        super().__init__(words)
        self._key = key
        self.clicked.connect(self._ask)

    def _ask(self) -> None:
        self.asked.emit(self._key)


class NarrowBox(QComboBox):
    """A box of choices that never widens the column for its longest."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizeAdjustPolicy(self.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Leave the wheel to the column: rolling past a box chooses nothing."""
        event.ignore()

    def showPopup(self) -> None:  # noqa: N802
        """Unfold the choices, as wide as the longest."""
        view = self.view()
        view.setMinimumWidth(view.sizeHintForColumn(0) + _BESIDE_A_CHOICE)
        super().showPopup()
