"""`SeamHandForm`: how points of seams catch, and the commands on the chosen seam."""

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.job import JobState, made
from app.window.seam_hand import SEAM_POINT, all_on
from app.window.seam_snaps import (
    LEAST_REACH_MM,
    MOST_REACH_MM,
    STRENGTHS,
    SnapChoice,
    catch_words,
    twin_of,
)
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox

NO_DATUM = (
    "Not there yet to catch on: the centre plane, stations every 50 mm, mirror images. They need "
    "the datum: step 4."
)
_STRENGTH_WORDS = {
    "weak": "weakly", "usual": "as usual", "strong": "strongly", "set": "from so many mm"
}  # fmt: skip


class SeamHandForm(QWidget):
    """What the hand does with seams."""

    asked = Signal(str)
    snap_requested = Signal(object)
    amount_requested = Signal(str, float)

    def __init__(self) -> None:
        super().__init__()
        self._snap = SnapChoice()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._snap_row())
        self.missing = QLabel(NO_DATUM)
        self.missing.setWordWrap(True)
        self.missing.setProperty("role", "soft")
        column.addWidget(self.missing)
        self._chosen = QWidget()
        inside = QVBoxLayout(self._chosen)
        inside.setContentsMargins(0, 0, 0, 0)
        self._point = QLabel()
        self._point.setWordWrap(True)
        inside.addWidget(self._point)
        inside.addWidget(self._commands())
        self.told = QLabel()
        self.told.setWordWrap(True)
        self.told.setProperty("role", "answer")
        inside.addWidget(self.told)
        column.addWidget(self._chosen)

    def _snap_row(self) -> QWidget:
        row = QWidget()
        across = QHBoxLayout(row)
        across.setContentsMargins(0, 0, 0, 0)
        across.addWidget(QLabel("Points catch"))
        self.strength = NarrowBox()
        self.strength.setAccessibleName("How strongly points catch on lines")
        self.strength.setToolTip("On rims, seams, locked lines, stations, the centre plane (S)")
        self.strength.addItem("on nothing", "off")
        for each in STRENGTHS:
            self.strength.addItem(_STRENGTH_WORDS[each], each)
        self.strength.activated.connect(self._ask_strength)
        across.addWidget(self.strength, 1)
        self.reach = _Millimetres(LEAST_REACH_MM, MOST_REACH_MM, "From how far points catch")
        self.reach.valueChanged.connect(self._ask_reach)
        across.addWidget(self.reach)
        return row

    def _commands(self) -> QWidget:
        whole = QWidget()
        grid = QGridLayout(whole)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(4)
        rows = (
            ("fair_seam", "Make it fair", "fair_mm", 0.2, 10.0, "How far fairing may move it"),
            ("slide_seam", "Slide to least shape", "slide_mm", 1.0, 60.0, "How far it may slide"),
            ("stand_off", "Stand off the line", "off_mm", 6.0, 12.0, "How far it stands off"),
        )
        self.amounts: dict[str, QDoubleSpinBox] = {}
        for line, (key, words, name, least, most, told) in enumerate(rows):
            grid.addWidget(_AskingButton(self, key, words), line, 0)
            self.amounts[name] = _AmountField(self, name, least, most, told)
            grid.addWidget(self.amounts[name], line, 1)
        self._other = _AskingButton(self, "stand_off_other", "Stand off on its other side")
        self._mirror = _AskingButton(self, "mirror_seam", "Mirror to the other hand")
        self._unlink = _AskingButton(self, "unlink_seam", "Unlink from its mirror image")
        for line, button in enumerate((self._other, self._mirror, self._unlink)):
            grid.addWidget(button, len(rows) + line, 0, 1, 2)
        return whole

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show how points catch, and what there is to do with the chosen seam."""
        self._snap = desk.snap
        chosen = desk.snap.strength if desk.snap.is_on else "off"
        self.strength.setCurrentIndex(self.strength.findData(chosen))
        self.reach.setVisible(chosen == "set")
        _show(self.reach, desk.snap.reach_mm)
        self.missing.setVisible(desk.snap.is_on and made(state, "Datum") is None)
        for name, field in self.amounts.items():
            _show(field, getattr(desk.amounts, name))
        has_one = 0 <= desk.seam < len(state.seams)
        self._chosen.setVisible(has_one)
        self._chosen.setEnabled(not desk.tool)
        self.setVisible(bool(state.seams) or desk.tool == "seam")
        if has_one:
            linked = twin_of(state.seams, desk.seam)
            self._mirror.setVisible(linked < 0)
            self._unlink.setVisible(linked >= 0)
            self._point.setText(_point_words(state, desk, linked))
        self.told.setText(desk.seam_words)
        self.told.setVisible(bool(desk.seam_words))

    def _ask_strength(self, row: int) -> None:
        chosen = self.strength.itemData(row)
        if chosen == "off":
            self.snap_requested.emit(replace(self._snap, is_on=False))
        else:
            self.snap_requested.emit(replace(self._snap, is_on=True, strength=chosen))

    def _ask_reach(self, reach_mm: float) -> None:
        if reach_mm != self._snap.reach_mm:
            self.snap_requested.emit(replace(self._snap, reach_mm=reach_mm))


def _point_words(state: JobState, desk: Desk, linked: int) -> str:
    """Return what the chosen seam's points are on, and how they are changed."""
    seam = state.seams[desk.seam]
    kind, at = desk.chosen
    words = "Drag a point; click on the line to put one in."
    if kind == SEAM_POINT and 0 <= at < len(seam.points):
        on = catch_words(all_on(seam)[at]) or "free"
        words = f"Point {at + 1} of {len(seam.points)}, {on}.  Del takes it out."
    if linked >= 0:
        words += f"\nMoves with {state.seams[linked].name}."
    return words


class _AskingButton(QPushButton):
    """A button that asks for a row of the table of actions."""

    def __init__(self, form: SeamHandForm, key: str, words: str) -> None:
        super().__init__(words)
        self._form, self._key = form, key
        self.clicked.connect(self._ask)

    def _ask(self) -> None:
        self._form.asked.emit(self._key)


class _Millimetres(QDoubleSpinBox):
    """A length to be typed."""

    def __init__(self, least: float, most: float, told: str) -> None:
        super().__init__()
        self.setRange(least, most)
        self.setDecimals(1)
        self.setSuffix(" mm")
        self.setKeyboardTracking(False)
        self.setAccessibleName(told)
        self.setToolTip(told)


class _AmountField(_Millimetres):
    """How far a command may go."""

    def __init__(self, form: SeamHandForm, name: str, least: float, most: float, told: str) -> None:
        super().__init__(least, most, told)
        self._form, self._name = form, name
        self.valueChanged.connect(self._ask)

    def _ask(self, mm: float) -> None:
        self._form.amount_requested.emit(self._name, mm)


def _show(field: QDoubleSpinBox, mm: float) -> None:
    """Show a number without asking for it."""
    field.blockSignals(True)
    field.setValue(mm)
    field.blockSignals(False)
