"""`Fold`: a part of a step's fields that folds away under its heading."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QToolButton, QVBoxLayout, QWidget


class Fold(QFrame):
    """A heading to click, and what stands below it while it is open."""

    def __init__(self, words: str, inside: QWidget, *, is_open: bool = False) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(6)
        self.heading = QToolButton()
        self.heading.setText(words)
        self.heading.setCheckable(True)
        self.heading.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.heading.setProperty("role", "fold")
        self.heading.toggled.connect(self.unfold)
        self.inside = inside
        column.addWidget(self.heading)
        column.addWidget(inside)
        self.unfold(is_open)

    def unfold(self, on: bool) -> None:
        """Show what is inside, or fold it away."""
        self.inside.setVisible(on)
        self.heading.setChecked(on)
        self.heading.setArrowType(Qt.ArrowType.DownArrow if on else Qt.ArrowType.RightArrow)
