"""Lines to type one value into: a length, an angle, a whole number, words."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit

from app.units import (
    NotALengthError,
    NotAnAngleError,
    NotAVolumeError,
    angle_text,
    decimal_inch_text,
    mm_text,
    parse_angle,
    parse_length,
    parse_litres,
    plain_number,
)

_UNDOING = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)
_MOST = 999
_LENGTHS = "Type 560, 22 1/16 in or 56,0 cm."


class TypedEdit(QLineEdit):
    """A line that shows a value of the job and lets another be typed.

    While something is typed it is left alone; once that is taken, or left with Esc, it shows the
    job's value again, and Ctrl+Z is the job's.
    """

    marked = Signal(str)
    """What is wrong with what is typed; "" once nothing is."""

    def __init__(self) -> None:
        super().__init__()
        self._tip = ""
        self._shown: str | None = None

    @property
    def is_being_typed(self) -> bool:
        """Whether something stands here that was typed and not taken yet."""
        return self.hasFocus() and self.isModified()

    def take(self) -> None:
        """Read what is typed; say what is wrong with it where it cannot be read."""
        raise NotImplementedError

    def show_text(self, text: str) -> None:
        """Show a value as text, unless another is being typed."""
        if not self.is_being_typed:
            self._shown = text
            if self.text() != text:
                self.setText(text)
            self.mark("")

    def setToolTip(self, tip: str) -> None:  # noqa: N802
        """Keep the tip: what is wrong stands in its place only while it is wrong."""
        self._tip = tip
        super().setToolTip(tip)

    def mark(self, wrong: str) -> None:
        """Say what is wrong with what is typed; "" for nothing."""
        super().setToolTip(wrong or self._tip)
        if bool(self.property("wrong")) != bool(wrong):
            self.setProperty("wrong", bool(wrong))
            self.style().unpolish(self)
            self.style().polish(self)
        self.marked.emit(wrong)

    def has_taken(self) -> None:
        """Note that what is typed has been read: from here on the job's value is shown."""
        self.mark("")
        self.setModified(False)

    def event(self, event: QEvent) -> bool:
        """Leave Ctrl+Z to the job unless there is typing to take back."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            if not self.isModified() and any(event.matches(key) for key in _UNDOING):
                event.ignore()
                return False
            if self.isModified() and event.key() == Qt.Key.Key_Escape:
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Put the job's value back on Esc."""
        if event.key() == Qt.Key.Key_Escape and self.isModified() and self._shown is not None:
            self.setText(self._shown)
            self.mark("")
            return
        super().keyPressEvent(event)


class LengthEdit(TypedEdit):
    """A typed length: decimal comma, fractions and units are understood."""

    taken = Signal(float)

    emptied = Signal()
    """Nothing stands here any more, where that may be."""

    def __init__(self, least_mm: float = 0.0, *, signed: bool = False) -> None:
        super().__init__()
        self._least_mm, self._signed = least_mm, signed
        self.may_be_empty = False
        self.unit = "mm"
        self.returnPressed.connect(self.take)

    def show_length(self, length_mm: float, show: str) -> None:
        """Show a length in the unit read first, unless something is being typed."""
        if not self.is_being_typed:
            self.unit = "in" if show == "in" else "mm"
            self.show_text(mm_text(length_mm, 2) if show == "mm" else decimal_inch_text(length_mm))

    def take(self) -> None:
        """Read what is typed; say what is wrong with it where it cannot be read.

        What was shown and not touched is not read: it is rounded.
        """
        if self.text() == self._shown:
            self.has_taken()
            return
        typed = self.text().strip().replace("\u2212", "-")
        if self.may_be_empty and not typed:
            self.has_taken()
            self.emptied.emit()
            return
        below = self._signed and typed.startswith("-")
        try:
            length = parse_length(typed[1:] if below else typed, self.unit)
        except NotALengthError as error:
            self.mark(f"{error.reason[0].upper()}{error.reason[1:]}. {_LENGTHS}")
            return
        if not self._signed and (length < self._least_mm or length == 0.0 < self._least_mm):
            self.mark("This is too small.")
            return
        self.has_taken()
        self.taken.emit(-length if below else length)


class AngleEdit(TypedEdit):
    """A typed angle, in degrees; taken with Enter or when it is left."""

    taken = Signal(float)

    def __init__(self) -> None:
        super().__init__()
        self.editingFinished.connect(self.take)

    def show_angle(self, angle_rad: float) -> None:
        """Show an angle, unless another is being typed."""
        self.show_text(angle_text(angle_rad, 1))

    def take(self) -> None:
        """Read what is typed; what was shown and not touched is not read: it is rounded."""
        if self.text() == self._shown:
            self.has_taken()
            return
        try:
            angle = parse_angle(self.text())
        except NotAnAngleError:
            self.mark("Type degrees: 12.5")
            return
        self.has_taken()
        self.taken.emit(angle)


class VolumeEdit(TypedEdit):
    """A typed volume of liquid, in litres; taken with Enter or when it is left."""

    taken = Signal(float)

    def __init__(self) -> None:
        super().__init__()
        self.editingFinished.connect(self.take)

    def show_litres(self, litres: float) -> None:
        """Show a volume, unless another is being typed."""
        self.show_text(f"{plain_number(litres, 2)} l")

    def take(self) -> None:
        """Read what is typed; what was shown and not touched is not read: it is rounded."""
        if self.text() == self._shown:
            self.has_taken()
            return
        try:
            litres = parse_litres(self.text())
        except NotAVolumeError:
            self.mark("Type 3.5, 500 ml, 0.9 US gal or 0.75 imp gal.")
            return
        if litres > _MOST:
            self.mark(f"Too large: type no more than {_MOST} litres.")
            return
        self.has_taken()
        self.taken.emit(litres)


class CountEdit(TypedEdit):
    """A typed whole number; taken with Enter or when it is left."""

    taken = Signal(int)

    def __init__(self, least: int = 0) -> None:
        super().__init__()
        self._least = least
        self.editingFinished.connect(self.take)

    def take(self) -> None:
        """Read what is typed; what was shown and not touched is not read."""
        typed = self.text().strip()
        if self.text() == self._shown:
            self.has_taken()
            return
        if not typed.isdecimal() or not self._least <= int(typed) <= _MOST:
            self.mark(f"Type a whole number from {self._least} to {_MOST}.")
            return
        self.has_taken()
        self.taken.emit(int(typed))


class WordsEdit(TypedEdit):
    """Typed words; taken with Enter or when they are left."""

    taken = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.editingFinished.connect(self.take)

    def take(self) -> None:
        """Read what is typed."""
        self.has_taken()
        self.taken.emit(self.text().strip())
