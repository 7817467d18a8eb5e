"""`Caption`: the line over a view: what it shows, and where there is room, how it is handled."""

from html import escape

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy

_BETWEEN = "   "


class Caption(QLabel):
    """One line that is never cut off in the middle of a letter.

    What does not fit gives way: first the hint, then the end of the title, which the tip then
    tells whole.
    """

    def __init__(self) -> None:
        super().__init__()
        self._title, self._hint = "", ""
        self.setProperty("role", "caption")
        self.setTextFormat(Qt.TextFormat.RichText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.setMinimumHeight(30)

    def say(self, title: str, hint: str = "") -> None:
        """Say this, the title in bold."""
        self._title, self._hint = title, hint
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Say as much as there is room for now."""
        super().resizeEvent(event)
        self._fit()

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Return that it may be as narrow as it has to be."""
        return QSize(0, super().minimumSizeHint().height())

    def _fit(self) -> None:
        room = self.contentsRect().width() - 22  # what the style sheet leaves free, and a little
        bold = QFont(self.font())
        bold.setBold(True)
        letters = QFontMetrics(bold)
        shown = letters.elidedText(self._title, Qt.TextElideMode.ElideRight, max(0, room))
        left = room - letters.horizontalAdvance(shown)
        hint = ""
        if self._hint and self.fontMetrics().horizontalAdvance(_BETWEEN + self._hint) <= left:
            hint = f"&nbsp;&nbsp;&nbsp;{escape(self._hint)}"
        self.setToolTip(self._title if shown != self._title else "")
        self.setText(f"<b>{escape(shown)}</b>{hint}")
