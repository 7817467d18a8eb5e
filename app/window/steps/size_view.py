"""Size: the unit, and the tapes that prove it."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox

from app.job import JobState, made
from app.job import failure as failure_of
from app.units import length_text, plain_number
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox, StepView
from app.window.steps.typed_edit import LengthEdit
from geometry.datum import Tape, TapeCheck, TapeKind
from geometry.scan import MM_PER_UNIT

UNITS = tuple(MM_PER_UNIT)
_KINDS: tuple[tuple[TapeKind, str, str], ...] = (
    ("straight", "pulled straight", ""),
    ("over", "over the surface, the shortest way", ", over"),
    ("girth", "right round the tank, pulled tight", ", right round"),
    ("along", "along a line on the surface", ", along a line"),
)
"""How a tape lies: as the box of kinds says it, and after its length."""
_UNIT_WORDS = {"mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches"}


class SizeView(StepView):
    """Unit and tapes."""

    unit_requested = Signal(object)
    rescale_requested = Signal(bool)
    tape_requested = Signal(float)
    tape_kind_requested = Signal(str)
    tape_chosen = Signal(int)
    allowance_requested = Signal(float)

    def __init__(self) -> None:
        super().__init__(
            "Size", "Size",
            "What a coordinate in the file means, and a tape to prove it. Two tapes in different "
            "directions must agree before a cut line leaves.",
        )  # fmt: skip
        self.label("The file is in", "heading")
        self._units = self.choices(
            (*(f"{unit}  ({_UNIT_WORDS[unit]})" for unit in UNITS), "not sure: let the tapes tell"),
            self._choose_unit,
        )
        self._rescale = QCheckBox("It has no scale: take it from the tapes")
        self._rescale.clicked.connect(self.rescale_requested)
        self.column.addWidget(self._rescale)
        self.label("Tapes", "heading")
        self._list = RowList()
        self._list.setMinimumHeight(120)
        self._list.setWordWrap(True)
        self._list.chosen.connect(self._choose_tape)
        self.column.addWidget(self._list)
        self._kind = NarrowBox()
        self._kind.addItems([words for _, words, _ in _KINDS])
        self._kind.activated.connect(self._choose_kind)
        self.fields(("The tape", self._kind))
        self._tape = self.asking_button("Lay a tape  (M)", "tape", leading=True)
        self._prompt = self.label("", "ask")
        self._length = LengthEdit(least_mm=1.0)
        self._length.setPlaceholderText("the tape said, e.g. 560 or 22 1/16 in")
        self._length.taken.connect(self._take_tape)
        self.column.addWidget(self._length)
        self._add = self.button("Add this tape  (Enter)", self._length.take, leading=True)
        self._delete = self.asking_button("Delete the chosen tape  (Del)", "delete")
        self._allowed = LengthEdit()
        self._allowed.taken.connect(self.allowance_requested)
        self._allowed.editingFinished.connect(self._allowed.take)
        self.fields(("A tape may be off by", self._allowed))
        self._allowed_note = self.label("", "soft")
        self._proof = self.label("", "good")
        self._next = self.asking_button("Next: tidy the scan", "step_tidy", leading=True)
        self.column.addStretch(1)
        self._was_laid = False

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show the unit, the tapes and how they agree."""
        size = made(state, "Size")
        self.show_need(state)
        unit = state.size.unit
        number = UNITS.index(unit) if unit in UNITS else len(UNITS)
        self._units.button(number).setChecked(True)
        self._rescale.setChecked(state.size.rescale)
        self._rescale.setVisible(unit is None and bool(state.size.tapes))
        self._show_tapes(state, desk)
        taping = desk.tool == "tape"
        self._prompt.setVisible(taping)
        self._prompt.setText(desk.tool_words)
        self._tape.setVisible(not taping)
        self._tape.setEnabled(state.scan is not None)
        if self._length.hasFocus() and not desk.tape_laid:
            self._tape.setFocus()  # else M, for the next tape, would be typed into a field
        for part in (self._length, self._add):
            part.setVisible(desk.tape_laid)
        self._delete.setVisible(desk.tape >= 0)
        self._kind.setCurrentIndex([kind for kind, _, _ in _KINDS].index(desk.tape_kind))
        self._length.unit = "mm" if desk.show == "mm" else "in"
        if desk.tape_laid and not self._was_laid:
            self._length.clear()
            self._length.setFocus()
        self._was_laid = desk.tape_laid
        self._allowed.show_length(state.size.allowed.mm, desk.show)
        ratio = state.size.allowed.ratio
        self._allowed_note.setText(
            f"or by {plain_number(1000.0 * ratio, 2)} mm in a metre, whichever is more."
        )
        self._proof.setVisible(size is not None and size.proved)
        if size is not None and size.proved:
            self._proof.setText(f"\u2713 {len(size.checks)} tapes agree: the size is proved.")
        self._next.setVisible(size is not None)

    def _show_tapes(self, state: JobState, desk: Desk) -> None:
        size, error = made(state, "Size"), failure_of(state, "Size")
        checks: tuple[TapeCheck, ...] = getattr(error if size is None else size, "checks", ())
        told = {id(check.tape): check for check in checks}
        by_value = {check.tape: check for check in checks}
        rows = [
            tape_words(tape, told.get(id(tape), by_value.get(tape)), desk.show)
            for tape in state.size.tapes
        ]
        self._list.show_rows(rows, desk.tape)

    def _choose_unit(self, number: int) -> None:
        self.unit_requested.emit(UNITS[number] if number < len(UNITS) else None)

    def _choose_tape(self, row: int) -> None:
        self.tape_chosen.emit(row)

    def _take_tape(self, length_mm: float) -> None:
        self.tape_requested.emit(length_mm)

    def _choose_kind(self, row: int) -> None:
        self.tape_kind_requested.emit(_KINDS[row][0])


def tape_words(tape: Tape, check: TapeCheck | None, show: str) -> str:
    """Return a tape beside the scan."""
    how = next(short for kind, _, short in _KINDS if kind == tape.kind)
    taped = f"taped {length_text(tape.length_mm, show)}{how}"
    if check is None:
        return taped
    off = plain_number(abs(check.off_mm), 1)
    side = "longer" if check.off_mm > 0 else "shorter"
    verdict = "agrees" if check.agrees else "DOES NOT AGREE"
    same = "the same" if off == "0" else f"{off} mm {side}"
    told = f"{taped}\nscan {length_text(check.scan_mm, show)}\n{same}: {verdict}"
    if check.followed_mm is not None:
        told += f"\ninto every hollow {length_text(check.followed_mm, show)}"
    if check.gap_mm > 0.0:
        told += f"\nspans {length_text(check.gap_mm, show)} that was not scanned"
    return told
