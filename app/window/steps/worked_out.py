"""*How this is worked out*: the exact definitions, the numbers behind a blank, and setting them."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QToolButton,
    QVBoxLayout,
)

from app.job import Blank, BlankChoice, Sure, reason_words
from app.units import plain_number
from geometry.blank import Work, WorkChoiceError

MEASURES = ("von_mises", "hencky")
WEIGHTS = ("blank", "formed")

DEFINITIONS = """
<p>The blank is the flat layout that needs the least work to become the panel. Bending is free;
metal keeps its volume.</p>
<p><b>Strain</b>: e1 and e2, the natural logarithms of the largest and the smallest stretch,
formed over flat, at every triangle.</p>
<p><b>Measure</b>. <i>von_mises</i>: e\u00b2 = 4/3 (e1\u00b2 + e1 e2 + e2\u00b2), so the change
of thickness counts too. <i>hencky</i>: e\u00b2 = e1\u00b2 + e2\u00b2, lengths on the sheet
only.</p>
<p><b>Hardening</b> n: the work in a unit of metal is e<sup>n+1</sup> / (n + 1). From 1 down to
0.25; below 1 with weight <i>blank</i> only, and e\u00b2 then counts as e\u00b2 +
0.0001\u00b2.</p>
<p><b>Weight</b>: each triangle counts by its area on the <i>blank</i> (the metal's volume, true
work), or on the <i>formed</i> panel.</p>
<p><b>Bias</b> b, \u22120.7 to 0.7: e1 and e2 enter as e exp(b tanh(e / 0.01)). Above 0 stretch
is dear and the blank is shrink-led. <i>Mostly stretch</i> asks for \u22120.5 and <i>mostly
shrink</i> for 0.5, eased by tenths until the blank is sound; a bias set here is taken as it
stands.</p>
"""


class WorkedOut(QFrame):
    """A part that folds away. Asks for a work by its numbers."""

    work_requested = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 0)
        self._fold = QToolButton()
        self._fold.setText("How this is worked out")
        self._fold.setCheckable(True)
        self._fold.setArrowType(Qt.ArrowType.RightArrow)
        self._fold.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self._fold.setProperty("role", "fold")
        self._fold.toggled.connect(self.unfold)
        column.addWidget(self._fold)
        self._inside = QFrame()
        self._grid = QGridLayout(self._inside)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setColumnStretch(1, 1)
        self._measure, self._weight = QComboBox(), QComboBox()
        self._measure.addItems(list(MEASURES))
        self._weight.addItems(list(WEIGHTS))
        self._hardening, self._bias = QLineEdit(), QLineEdit()
        for name, field in (
            ("Measure", self._measure),
            ("Weight", self._weight),
            ("Hardening", self._hardening),
            ("Bias", self._bias),
        ):
            self._add(name, field)
        self._set = QPushButton("Set these numbers for this panel")
        self._set.clicked.connect(self._take)
        self._grid.addWidget(self._set, self._grid.rowCount(), 0, 1, 2)
        self._wrong = self._wide("", "ask")
        self._facts = self._wide("", "")
        self._about = self._wide(DEFINITIONS, "soft")
        column.addWidget(self._inside)
        self._shown: Work | None = None
        self._wrong.hide()
        self.unfold(False)

    def unfold(self, on: bool) -> None:
        """Show what is inside, or fold it away."""
        self._inside.setVisible(on)
        self._fold.setChecked(on)
        self._fold.setArrowType(Qt.ArrowType.DownArrow if on else Qt.ArrowType.RightArrow)

    def refresh(self, choice: BlankChoice, blank: Blank | None, further: tuple[str, ...]) -> None:
        """Show the numbers asked for, and those that came of them.

        Parameters
        ----------
        choice : BlankChoice
        blank : Blank or None
        further : tuple of str
            More lines about this blank.
        """
        if choice.work != self._shown:
            self._shown = choice.work
            self._measure.setCurrentText(choice.work.measure)
            self._weight.setCurrentText(choice.work.weight)
            self._hardening.setText(f"{choice.work.hardening:g}")
            self._bias.setText(f"{choice.work.bias:g}")
            self._wrong.hide()
        lines = [] if blank is None else list(blank_facts(blank))
        self._facts.setText("\n".join([*lines, *further]))
        self._facts.setVisible(bool(lines))

    def _add(self, name: str, field: QComboBox | QLineEdit) -> None:
        row = self._grid.rowCount()
        label = QLabel(name)
        label.setProperty("role", "soft")
        label.setBuddy(field)
        self._grid.addWidget(label, row, 0)
        self._grid.addWidget(field, row, 1)
        if isinstance(field, QLineEdit):
            field.returnPressed.connect(self._take)

    def _wide(self, words: str, role: str) -> QLabel:
        label = QLabel(words)
        label.setWordWrap(True)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        if role:
            label.setProperty("role", role)
        self._grid.addWidget(label, self._grid.rowCount(), 0, 1, 2)
        return label

    def _take(self) -> None:
        try:
            work = Work(
                measure="hencky" if self._measure.currentText() == "hencky" else "von_mises",
                weight="formed" if self._weight.currentText() == "formed" else "blank",
                hardening=_number("hardening", self._hardening.text(), "0.25 to 1"),
                bias=_number("bias", self._bias.text(), "-0.7 to 0.7"),
            )
        except WorkChoiceError as error:
            self._wrong.setText(
                f"{error.choice.capitalize()} cannot be {error.value}: it may be {error.allowed}."
            )
            self._wrong.show()
            return
        self._wrong.hide()
        self.work_requested.emit(work)


def _number(choice: str, words: str, allowed: str) -> float:
    try:
        return float(words.strip().replace(",", ".").replace("\u2212", "-"))
    except ValueError:
        raise WorkChoiceError(choice, words, allowed) from None


def blank_facts(blank: Blank) -> tuple[str, ...]:
    """Return the numbers behind a blank, one a line."""
    flat, work = blank.flat, blank.flat.work
    return (
        f"Reached: {work.measure}, {work.weight}, hardening {work.hardening:g}, bias {work.bias:g}",
        f"{'Settled' if flat.converged else 'NOT settled'} after {flat.iterations} steps; "
        f"residual {flat.residual:.1e}",
        f"Mean work {flat.mean_work:.3g}",
        f"Unsound triangles {flat.unsound_faces}, folded {flat.inverted}, of {len(flat.faces)}",
        f"Lies over itself by {plain_number(flat.overlap_area, 2)} mm\u00b2",
    )


def band_facts(found: Sure) -> tuple[str, ...]:
    """Return the bands behind the one sentence that says how sure the size is."""
    bands = found.bands
    if bands is None:
        return ("No bands: the blank is not settled",)
    model, measuring = bands.model, bands.measuring
    return (
        f"Model band, over measure, weight and hardening ({len(model.choices) + 1} ways): net line "
        f"{model.inward.max():.2f} mm inward to {model.outward.max():.2f} mm outward at most",
        f"Measuring band, 95 in 100: \u00b1{bands.measuring_mm:.2f} mm at the least sure place, "
        f"\u00b1{measuring.average_plus_minus:.2f} mm on the mean of the rim",
        *filter(None, [reason_words(found)]),
    )
