"""What a shaper would say of the seams, with its reason; hushed by a button and told again."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QLabel, QPushButton, QVBoxLayout, QWidget

from app.job import Raised, advice_headline, advice_reason
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk

ADVICE = "advice"
"""What a row of this list is called among the rows chosen."""

_ABOUT = "Common practice, to think over: none of it keeps you from cutting."
_MOST_PX = 150


class AdviceList(QWidget):
    """Rows of advice; the chosen one with its reason."""

    row_chosen = Signal(str, int)
    hush_requested = Signal(object)
    tell_requested = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        self.title, about, self.reason = QLabel(), QLabel(_ABOUT), QLabel()
        self.title.setProperty("role", "heading")
        about.setProperty("role", "soft")
        self.reason.setProperty("role", "answer")
        self.list = RowList()
        self.list.setWordWrap(True)
        self.list.chosen.connect(self._choose)
        self.hush = QPushButton("Hush it: do not tell it again")
        self.hush.clicked.connect(self._hush)
        self.tell = QPushButton("Tell it again")
        self.tell.clicked.connect(self._tell)
        self.all = QCheckBox()
        self.all.clicked.connect(self._show_again)
        for part in (self.title, about, self.list, self.reason, self.hush, self.tell, self.all):
            if isinstance(part, QLabel):
                part.setWordWrap(True)
            column.addWidget(part)
        self._about = about
        self._raised: tuple[Raised, ...] = ()
        self._shown: tuple[tuple[Raised, ...], Desk] | None = None

    def refresh(self, raised: tuple[Raised, ...], desk: Desk) -> None:
        """Show advice; the hushed only while they are asked for, after the others."""
        self._shown = (raised, desk)
        quiet = tuple(each for each in raised if each.is_hushed)
        self._raised = shown_advice(raised, with_hushed=self.all.isChecked())
        kind, number = desk.chosen
        at = number if kind == ADVICE and 0 <= number < len(self._raised) else -1
        rows = [("hushed - " if each.is_hushed else "") + advice_headline(each.advice, desk.show)
                for each in self._raised]  # fmt: skip
        self.list.show_rows(rows, at)
        self._fit()
        loud = len(raised) - len(quiet)
        self.setVisible(bool(raised))
        self.title.setText(f"To think over: {loud}" if loud else "Nothing to think over")
        self._about.setVisible(loud > 0)
        self.all.setVisible(bool(quiet))
        self.all.setText(f"Show what is hushed too ({len(quiet)})")
        chosen = self._raised[at] if at >= 0 else None
        self.reason.setVisible(chosen is not None)
        self.reason.setText("" if chosen is None else advice_reason(chosen.advice))
        self.hush.setVisible(chosen is not None and not chosen.is_hushed)
        self.tell.setVisible(chosen is not None and chosen.is_hushed)

    @property
    def with_hushed(self) -> bool:
        """Whether the hushed are listed too."""
        return self.all.isChecked()

    def _fit(self) -> None:
        heights = [self.list.sizeHintForRow(row) for row in range(self.list.count())]
        self.list.setFixedHeight(min(sum(heights) + 6, _MOST_PX) if heights else 0)

    def _choose(self, row: int) -> None:
        self.row_chosen.emit(ADVICE, row)

    def _hush(self) -> None:
        self.hush_requested.emit(self._raised[self.list.currentRow()])

    def _tell(self) -> None:
        self.tell_requested.emit(self._raised[self.list.currentRow()])

    def _show_again(self) -> None:
        self.row_chosen.emit("", -1)
        if self._shown is not None:
            self.refresh(*self._shown)


def shown_advice(raised: tuple[Raised, ...], *, with_hushed: bool) -> tuple[Raised, ...]:
    """Return the advice of a list in its order: what is told, then what is hushed if asked for."""
    told = tuple(each for each in raised if not each.is_hushed)
    return (*told, *(each for each in raised if each.is_hushed)) if with_hushed else told
