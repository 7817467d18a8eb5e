"""`SpecForm`: fields for the plain values of a decision, one row a value, from a list of rows."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QWidget

from app.window.steps.step_view import NarrowBox
from app.window.steps.typed_edit import (
    AngleEdit,
    CountEdit,
    LengthEdit,
    TypedEdit,
    VolumeEdit,
    WordsEdit,
)

Kind = Literal["length", "place", "angle", "count", "choice", "yes", "text", "litres"]

_BESIDE = 20
"""Choices of no more letters than this stand beside their label; longer ones below it."""


@dataclass(frozen=True)
class FormRow:
    """One value of a decision.

    Attributes
    ----------
    path : str
        Its field, and the field within that: "front.height_mm".
    label : str
    kind : str
        "length", "place" (a length that may lie below 0), "angle" (radians), "count", "choice",
        "yes", "text" or "litres".
    tip : str
    choices : tuple of (value, words)
        Of a choice.
    least : float
        Of a length, mm, or a count.
    may_be_empty : bool
        Whether a length may be left out: None then.
    """

    path: str
    label: str
    kind: Kind = "length"
    tip: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    least: float = 0.0
    may_be_empty: bool = False

    @property
    def is_long(self) -> bool:
        """Whether its words need the whole width."""
        return max((len(words) for _, words in self.choices), default=0) > _BESIDE


class SpecForm(QWidget):
    """Shows a frozen dataclass's values and gives back one with a value changed."""

    changed = Signal(object)
    """The decision with one value changed."""

    def __init__(self, rows: Sequence[FormRow]) -> None:
        super().__init__()
        self._spec: Any = None
        self.fields: dict[str, QWidget] = {}
        self._shown: dict[str, Callable[[Any, str], None]] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(1, 1)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        for row in rows:
            self._add(grid, row)

    def _add(self, grid: QGridLayout, row: FormRow) -> None:
        field, shows = _MAKERS[row.kind](self, row)
        title = QLabel(row.label)
        for part in (field, title):
            part.setToolTip(row.tip)
        field.setAccessibleName(row.label)
        title.setProperty("role", "soft")
        title.setWordWrap(True)
        title.setBuddy(field)
        at = grid.rowCount()
        if row.is_long:
            grid.addWidget(title, at, 0, 1, 2)
            grid.addWidget(field, at + 1, 0, 1, 2)
        else:
            grid.addWidget(title, at, 0)
            grid.addWidget(field, at, 1)
        if isinstance(field, TypedEdit):
            grid.addWidget(_WrongWords(field), at + 1, 0, 1, 2)
        self.fields[row.path] = field
        self._shown[row.path] = shows

    def show_spec(self, spec: Any, show: str) -> None:
        """Show a decision's values, lengths in "mm" or "in" first."""
        self._spec = spec
        for path, shows in self._shown.items():
            shows(value_at(spec, path), show)

    def take(self, path: str, value: Any) -> None:
        """Give back the decision with a value changed, where it is another."""
        if self._spec is not None and value_at(self._spec, path) != value:
            self.changed.emit(with_value(self._spec, path, value))


class _WrongWords(QLabel):
    """What is wrong with what was typed into the field above, while it is."""

    def __init__(self, field: TypedEdit) -> None:
        super().__init__()
        self.setWordWrap(True)
        self.setProperty("role", "wrong")
        self.hide()
        field.marked.connect(self._say)

    def _say(self, wrong: str) -> None:
        self.setText(wrong)
        self.setVisible(bool(wrong))


def value_at(spec: Any, path: str) -> Any:
    """Return the value at a path of fields."""
    for name in path.split("."):
        spec = getattr(spec, name)
    return spec


def with_value(spec: Any, path: str, value: Any) -> Any:
    """Return a decision with the value at a path changed."""
    name, _, rest = path.partition(".")
    if rest:
        value = with_value(getattr(spec, name), rest, value)
    return replace(spec, **{name: value})


Made = tuple[QWidget, Callable[[Any, str], None]]


def _length(form: SpecForm, row: FormRow) -> Made:
    return _length_field(form, row, LengthEdit(row.least))


def _place(form: SpecForm, row: FormRow) -> Made:
    return _length_field(form, row, LengthEdit(signed=True))


def _length_field(form: SpecForm, row: FormRow, field: LengthEdit) -> Made:
    field.may_be_empty = row.may_be_empty
    field.taken.connect(_Taker(form, row.path))
    field.emptied.connect(_Taker(form, row.path))
    field.editingFinished.connect(field.take)

    def shows(value: Any, show: str) -> None:
        if value is None:
            field.unit = "in" if show == "in" else "mm"
            field.show_text("")
        else:
            field.show_length(value, show)

    return field, shows


def _angle(form: SpecForm, row: FormRow) -> Made:
    field = AngleEdit()
    field.taken.connect(_Taker(form, row.path))

    def shows(value: Any, show: str) -> None:
        if value is None:
            field.show_text("")
        else:
            field.show_angle(value)

    return field, shows


def _litres(form: SpecForm, row: FormRow) -> Made:
    field = VolumeEdit()
    field.taken.connect(_Taker(form, row.path))

    def shows(value: Any, show: str) -> None:
        field.show_litres(value)

    return field, shows


def _count(form: SpecForm, row: FormRow) -> Made:
    field = CountEdit(int(row.least))
    field.taken.connect(_Taker(form, row.path))

    def shows(value: Any, show: str) -> None:
        field.show_text(str(round(value)))

    return field, shows


class ChoiceBox(NarrowBox):
    """A box of choices that tells the value of the one taken."""

    taken = Signal(object)

    def __init__(self, choices: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        for value, words in choices:
            self.addItem(words, value)
        self.activated.connect(self._take)

    def _take(self, at: int) -> None:
        self.taken.emit(self.itemData(at))


def _choice(form: SpecForm, row: FormRow) -> Made:
    field = ChoiceBox(row.choices)
    field.taken.connect(_Taker(form, row.path))

    def shows(value: Any, show: str) -> None:
        field.setCurrentIndex(max(0, field.findData(value)))

    return field, shows


def _yes(form: SpecForm, row: FormRow) -> Made:
    field = QCheckBox()
    field.toggled.connect(_Taker(form, row.path))

    def shows(value: Any, show: str) -> None:
        field.blockSignals(True)
        field.setChecked(bool(value))
        field.blockSignals(False)

    return field, shows


def _text(form: SpecForm, row: FormRow) -> Made:
    field = WordsEdit()
    field.taken.connect(_Taker(form, row.path))

    def shows(value: Any, show: str) -> None:
        field.show_text(value)

    return field, shows


class _Taker:
    """Gives a value to the form under its path."""

    def __init__(self, form: SpecForm, path: str) -> None:
        self._form, self._path = form, path

    def __call__(self, value: Any = None) -> None:
        self._form.take(self._path, value)


_MAKERS: dict[str, Callable[[SpecForm, FormRow], Made]] = {
    "length": _length,
    "place": _place,
    "angle": _angle,
    "count": _count,
    "choice": _choice,
    "yes": _yes,
    "text": _text,
    "litres": _litres,
}
