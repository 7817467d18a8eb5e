"""`EdgeFields`: what is left outside the net line along each edge of a panel, and how it ends."""

from dataclasses import dataclass, replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.job import EdgeChoice
from app.units import plain_number
from app.window.steps.typed_edit import LengthEdit
from geometry.pattern import (
    ALLOWANCE_CORNERS,
    ALLOWANCE_KINDS,
    AllowanceKind,
    EdgeCut,
    Pattern,
    edge_key,
)

_KINDS: dict[AllowanceKind, str] = {kind: kind for kind in ALLOWANCE_KINDS} | {
    "none": "no trimming after"
}
_NARROW_PX = 64


@dataclass(frozen=True)
class EdgeRow:
    """One edge as its fields show it: its letter, what lies beyond, what is left along it."""

    letter: str
    joins: str
    choice: EdgeChoice


def edge_choices(panel: str, pattern: Pattern, chosen: tuple[EdgeChoice, ...]) -> list[EdgeRow]:
    """Return a panel's edges in their order, each with the maker's choice or the usual trim.

    Two runs of one seam have one row: what is left is left along both.
    """
    said = {choice.edge: choice for choice in chosen if choice.panel == panel}
    cuts: dict[str, EdgeCut] = {cut.key: cut for cut in pattern.allowance_of_edge}
    rows: dict[str, EdgeRow] = {}
    for edge in pattern.edges:
        key = edge_key(edge)
        left = cuts[key].allowance
        usual = EdgeChoice(panel, key, left.kind, left.width_mm, left.angle_deg, left.corner)
        rows.setdefault(key, EdgeRow(edge.letter, edge.other or "free", said.get(key, usual)))
    return list(rows.values())


class EdgeFields(QWidget):
    """A row of fields for every edge; asks for a choice whenever one of them is changed."""

    edge_requested = Signal(object)
    edge_left = Signal(str, str)
    """The usual trim again: panel and edge."""

    def __init__(self) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.rows: list[EdgeLine] = []
        self._usual_mm = 12.7

    def refresh(self, rows: list[EdgeRow], usual_mm: float, show: str) -> None:
        """Show these edges; the fields stay while they are the same edges."""
        self._usual_mm = usual_mm
        if [line.key for line in self.rows] != [
            (row.choice.panel, row.choice.edge) for row in rows
        ]:
            for line in self.rows:
                self._column.removeWidget(line)
                line.deleteLater()
            self.rows = [EdgeLine(row) for row in rows]
            for line in self.rows:
                line.taken.connect(self._ask)
                self._column.addWidget(line)
        for line, row in zip(self.rows, rows, strict=True):
            line.refresh(row, show)

    def _ask(self, choice: EdgeChoice) -> None:
        is_usual_width = abs(choice.width_mm - self._usual_mm) < 1e-9
        if (choice.kind, choice.corner) == ("trim", EdgeChoice.corner) and is_usual_width:
            self.edge_left.emit(choice.panel, choice.edge)
        else:
            self.edge_requested.emit(choice)


class EdgeLine(QWidget):
    """The fields of one edge."""

    taken = Signal(object)

    def __init__(self, row: EdgeRow) -> None:
        super().__init__()
        self._choice = row.choice
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 2, 0, 4)
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(3)
        self._title = QLabel()
        self._title.setTextFormat(self._title.textFormat().PlainText)
        self.kind, self.corner = QComboBox(), QComboBox()
        for kind, words in _KINDS.items():
            self.kind.addItem(words, kind)
        for corner in ALLOWANCE_CORNERS:
            self.corner.addItem(corner, corner)
        self.width_edit = LengthEdit()
        self.angle = QLineEdit()
        self.corner.setToolTip("Where it meets the next edge.")
        self.angle.setToolTip("Degrees it is folded by; below 0 towards the outside.")
        self._angle_title = QLabel("degrees")
        self._angle_title.setProperty("role", "soft")
        for box in (self.kind, self.corner):
            box.setSizeAdjustPolicy(box.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.activated.connect(self._take_boxes)
        self.width_edit.taken.connect(self._take_width)
        self.width_edit.editingFinished.connect(self.width_edit.take)
        self.angle.editingFinished.connect(self._take_angle)
        self.width_edit.setFixedWidth(_NARROW_PX + 22)
        self.angle.setFixedWidth(_NARROW_PX)
        grid.addWidget(self._title, 0, 0, 1, 3)
        grid.addWidget(self.kind, 1, 0)
        grid.addWidget(self.width_edit, 1, 1)
        grid.addWidget(self.corner, 1, 2)
        grid.addWidget(self._angle_title, 2, 0)
        grid.addWidget(self.angle, 2, 1)
        grid.setColumnStretch(0, 3)
        grid.setColumnStretch(2, 2)

    @property
    def key(self) -> tuple[str, str]:
        """Panel and edge."""
        return self._choice.panel, self._choice.edge

    def refresh(self, row: EdgeRow, show: str) -> None:
        """Show what is left along the edge."""
        choice = self._choice = row.choice
        beyond = "free edge" if row.joins == "free" else f"to {row.joins}"
        self._title.setText(f"{row.letter}: {beyond}")
        self.kind.setCurrentIndex(self.kind.findData(choice.kind))
        self.corner.setCurrentIndex(self.corner.findData(choice.corner))
        self.width_edit.show_length(choice.width_mm, show)
        self.width_edit.setEnabled(choice.kind != "none")
        if not self.angle.hasFocus():
            self.angle.setText(plain_number(choice.angle_deg))
        for part in (self.angle, self._angle_title):
            part.setVisible(choice.kind == "flange")

    def _take_boxes(self) -> None:
        self._ask(
            replace(self._choice, kind=self.kind.currentData(), corner=self.corner.currentData())
        )

    def _take_width(self, width_mm: float) -> None:
        if abs(width_mm - self._choice.width_mm) > 1e-9:
            self._ask(replace(self._choice, width_mm=width_mm))

    def _take_angle(self) -> None:
        try:
            angle = float(self.angle.text().strip().replace(",", ".").replace("\u2212", "-"))
        except ValueError:
            self.angle.setText(plain_number(self._choice.angle_deg))
            return
        if angle != self._choice.angle_deg:
            self._ask(replace(self._choice, angle_deg=angle))

    def _ask(self, choice: EdgeChoice) -> None:
        if choice != self._choice:
            self.taken.emit(choice)
