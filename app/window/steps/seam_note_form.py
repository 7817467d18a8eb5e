"""The note on one seam: seen, stiff, reach, edge, allowances, free words. Each change is asked."""

from dataclasses import replace
from typing import TypeVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QLineEdit, QPushButton, QWidget

from app.job import (
    REACHES,
    SEAM_EDGES,
    SIGHTS,
    STIFFNESSES,
    JobState,
    SeamNote,
    note_of,
)
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox
from app.window.steps.typed_edit import LengthEdit

_Choice = TypeVar("_Choice", bound=str)

NOT_SAID = "not said"
_SIDES = ("left", "right")
_TIPS = {
    "sight": "Of the finished tank. While nothing is said it goes by where the skin faces.",
    "stiffness": "Whether the skin beside it holds its shape under heat.",
    "reach": "Where dolly and file still come to once the panels are tacked.",
    "edge": "How the two panels meet. What is set for an edge on its own goes before it.",
}
_WORDS = {"both sides": "from both sides", "one side": "from one side", "none": "not at all"}


class SeamNoteForm(QWidget):
    """Fields for one seam."""

    note_requested = Signal(object)
    """The seam's note as it is to be."""

    def __init__(self) -> None:
        super().__init__()
        self._note, self._usual_mm = SeamNote(""), 0.0
        self.sight, self.stiffness = _box(SIGHTS), _box(STIFFNESSES)
        self.reach, self.edge = _box(REACHES), _box(SEAM_EDGES)
        self.closing = QCheckBox("the last to be welded")
        self.closing.setToolTip("Nothing gets inside after it: no dolly, no file.")
        self.left, self.right = LengthEdit(), LengthEdit()
        self.usual = QPushButton("The usual on both sides")
        self.free = QLineEdit()
        self.free.setPlaceholderText("anything else about it")
        self._lay_out()
        for box in (self.sight, self.stiffness, self.reach, self.edge):
            box.activated.connect(self._take_boxes)
        self.closing.clicked.connect(self._take_closing)
        for side in (self.left, self.right):
            side.taken.connect(self._take_allowance)
            side.editingFinished.connect(side.take)
        self.usual.clicked.connect(self._take_usual)
        self.free.editingFinished.connect(self._take_words)

    def _lay_out(self) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        grid.setColumnStretch(1, 1)
        rows: tuple[tuple[str, QWidget, str], ...] = (
            ("Once finished", self.sight, _TIPS["sight"]),
            ("Skin beside it", self.stiffness, _TIPS["stiffness"]),
            ("Reached", self.reach, _TIPS["reach"]),
            ("Closing seam", self.closing, self.closing.toolTip()),
            ("Edges", self.edge, _TIPS["edge"]),
            ("Left on the left", self.left, ""),
            ("Left on the right", self.right, ""),
        )
        for row, (name, field, tip) in enumerate(rows):
            title = QLabel(name)
            title.setProperty("role", "soft")
            title.setBuddy(field)
            field.setToolTip(tip)
            field.setAccessibleName(name)
            grid.addWidget(title, row, 0)
            grid.addWidget(field, row, 1)
        below = len(rows)
        self.about = QLabel()
        self.about.setProperty("role", "soft")
        self.about.setWordWrap(True)
        grid.addWidget(self.about, below, 0, 1, 2)
        grid.addWidget(self.usual, below + 1, 0, 1, 2)
        grid.addWidget(self.free, below + 2, 0, 1, 2)

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show the note on the chosen seam; nothing where none is."""
        chosen = 0 <= desk.seam < len(state.seams)
        self.setVisible(chosen)
        if not chosen:
            return
        note = note_of(state, state.seams[desk.seam].name)
        self._note, self._usual_mm = note, state.trim_mm
        _show(self.sight, SIGHTS, note.sight)
        _show(self.stiffness, STIFFNESSES, note.stiffness)
        _show(self.reach, REACHES, note.reach)
        _show(self.edge, SEAM_EDGES, note.edge)
        self.closing.setChecked(note.closing)
        left, right = note.allowance_mm or (state.trim_mm, state.trim_mm)
        self.left.show_length(left, desk.show)
        self.right.show_length(right, desk.show)
        own = note.allowance_mm is not None
        self.usual.setVisible(own)
        as_drawn = "Left and right as it is drawn, seen from outside: what stays outside the net."
        self.about.setText(as_drawn if own else f"{as_drawn} These are the job's usual.")
        if not self.free.hasFocus():
            self.free.setText(note.note)

    def _ask(self, note: SeamNote) -> None:
        if note != self._note:
            self.note_requested.emit(note)

    def _take_boxes(self) -> None:
        self._ask(
            replace(
                self._note,
                sight=_said(self.sight, SIGHTS),
                stiffness=_said(self.stiffness, STIFFNESSES),
                reach=_said(self.reach, REACHES),
                edge=_said(self.edge, SEAM_EDGES),
            )
        )

    def _take_closing(self, on: bool) -> None:
        self._ask(replace(self._note, closing=on))

    def _take_allowance(self, length_mm: float) -> None:
        kept = self._note.allowance_mm or (self._usual_mm, self._usual_mm)
        mine = (length_mm, kept[1]) if self.sender() is self.left else (kept[0], length_mm)
        self._ask(replace(self._note, allowance_mm=mine))

    def _take_usual(self) -> None:
        self._ask(replace(self._note, allowance_mm=None))

    def _take_words(self) -> None:
        self._ask(replace(self._note, note=self.free.text().strip()))


def _box(choices: tuple[str, ...]) -> NarrowBox:
    box = NarrowBox()
    box.addItems([NOT_SAID, *(_WORDS.get(choice, choice) for choice in choices)])
    return box


def _show(box: NarrowBox, choices: tuple[str, ...], said: str | None) -> None:
    box.setCurrentIndex(0 if said is None else 1 + choices.index(said))


def _said(box: NarrowBox, choices: tuple[_Choice, ...]) -> _Choice | None:
    return choices[box.currentIndex() - 1] if box.currentIndex() > 0 else None
