"""What the seams cost, panel by panel, in a strip under the tank: rough at once, then as laid."""

from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QLabel,
    QVBoxLayout,
)

from app.job import (
    NOT_FLAT,
    JobState,
    Panels,
    SeamLine,
    failure,
    latest,
    lift_words,
    made,
    panel_warnings,
    seam_words,
)
from app.units import (
    counted,
    length_text,
    signed_change_text,
    size_text,
    thickness_text,
)
from app.window.look import ASK, INK, SOFT_INK
from app.window.plain_table import LEFT, PlainTable
from app.window.steps.standing import Desk
from app.window.words import sentence
from geometry.breakups import BreakUpFigures, PanelFigures

LAID = "As the blanks are laid"
ROUGH = "Judged roughly, on large triangles"
STALE = "OUT OF DATE: from before the change"
MOVING = "OUT OF DATE while a seam is moved: hold it still, and it is judged"
HELD = "With the seam as it is in the hand, judged roughly"
_HEADS = (
    "Panel", "Stretch\nper 100", "Shrink\nper 100", "Thickness", "Cut blank", "Skin over\nblank",
    "Form, and warnings",
)  # fmt: skip
_PER_FOOT = (("Stretch\nin/ft", 1), ("Shrink\nin/ft", 2))
_TIPS = (
    "A mark before its name: it lies beside the chosen seam.",
    "The most, of all but 1 part in 100 of the panel.",
    "The most, of all but 1 part in 100 of the panel.",
    "Thinnest to thickest of the finished panel.",
    "The rectangle round the blank with its trim.",
    "Area of the panel over that of its blank: above 1 it is more stretched than shrunk.",
    "Whether the panel comes out of a female form along some way, or where it is locked; then what "
    "to think over before cutting.",
)
_WEIGHTS = (13, 8, 8, 18, 20, 11, 22)
"""How the columns share the width."""
_MOST_ROWS_PX = 236
QWIDGETSIZE_MAX = (1 << 24) - 1
"""What Qt takes for no limit."""


@dataclass(frozen=True, eq=False)
class Told:
    """Figures to be shown, and how they stand.

    Attributes
    ----------
    figures : BreakUpFigures or None
    heading : str
        Which of the two kinds they are, and whether they still hold.
    trouble : str
        Why the seams cannot be cut; "" where they can.
    is_stale : bool
    """

    figures: BreakUpFigures | None
    heading: str
    trouble: str = ""
    is_stale: bool = False


@dataclass(frozen=True, eq=False)
class Tried:
    """What seams would cost that are not the job's: one of them is in the hand.

    Attributes
    ----------
    seams : tuple of SeamLine
    figures : BreakUpFigures or None
        Where these cannot be cut: those of the last ones that could, if there were any.
    error : Exception or None
        Why these cannot be cut.
    """

    seams: tuple[SeamLine, ...]
    figures: BreakUpFigures | None
    error: Exception | None = None


def told_figures(
    state: JobState,
    last: BreakUpFigures | None,
    *,
    trial: tuple[SeamLine, ...] | None = None,
    tried: Tried | None = None,
    was_stopped: bool = False,
) -> Told:
    """Return what is to be shown of a job's seams.

    Parameters
    ----------
    state : JobState
    last : BreakUpFigures or None
        Those shown before: they stay, as out of date, until others come.
    trial : tuple of SeamLine, optional
        The seams with the one in the hand, while it is moved from where the job has it.
    tried : Tried, optional
        What was judged last of seams in the hand.
    was_stopped : bool
    """
    if trial is not None:
        return _told_of_trial(state, last, trial, tried)
    laid, rough = made(state, "Costs"), made(state, "Judged")
    error = failure(state, "Seams") or failure(state, "Judged")
    if laid is not None:
        return Told(laid, LAID)
    trouble = "" if error is None else _cannot_be_cut(error)
    if rough is not None:
        follows = "" if trouble else _still_to_come(state, was_stopped=was_stopped)
        return Told(rough, ROUGH + follows, trouble)
    known = _one_known(state, last) if tried is None or tried.figures is None else tried.figures
    if known is None:
        return Told(None, "" if trouble else "The seams are being judged.", trouble)
    goes_on = ", stopped" if was_stopped else ", being judged anew"
    return Told(known, STALE + ("" if trouble else goes_on), trouble, is_stale=True)


def _told_of_trial(
    state: JobState,
    last: BreakUpFigures | None,
    trial: tuple[SeamLine, ...],
    tried: Tried | None,
) -> Told:
    """Return what is shown while a seam is moved: of now once it is judged, else of before."""
    if tried is None:
        return Told(_one_known(state, last), MOVING, is_stale=True)
    known = _one_known(state, last) if tried.figures is None else tried.figures
    if tried.seams != trial:
        return Told(known, MOVING, is_stale=True)
    if tried.error is not None:
        return Told(known, MOVING, _cannot_be_cut(tried.error), is_stale=True)
    return Told(known, HELD)


def _cannot_be_cut(error: Exception) -> str:
    return f"Cannot be cut: {sentence(error)}"


def _one_known(state: JobState, last: BreakUpFigures | None) -> BreakUpFigures | None:
    """Return what was shown last where it is still of this job, else what it has."""
    laid, rough = latest(state, "Costs"), latest(state, "Judged")
    known: BreakUpFigures | None = last if last is not None and last in (laid, rough) else None
    return known or rough or laid


def _still_to_come(state: JobState, *, was_stopped: bool) -> str:
    panels: Panels | None = made(state, "Seams")
    if panels is None:
        return "; the exact cut was stopped" if was_stopped else "; the exact cut follows"
    refused = [p.name for p in panels.panels if failure(state, "Blanks", p.name) is not None]
    if refused:
        return f"; {', '.join(refused)} cannot be laid flat"
    if was_stopped:
        return "; laying the blanks was stopped"
    return "; the blanks are being laid"


class SeamFiguresView(QFrame):
    """A table with a row for every panel, and a line about the seams."""

    panel_chosen = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "table")
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 6, 12, 8)
        column.setSpacing(5)
        self.heading, self.seams, self.trouble = QLabel(), QLabel(), QLabel()
        self.trouble.setProperty("role", "ask")
        self.table = PlainTable(_HEADS, _WEIGHTS)
        self._dress()
        for part in (self.heading, self.trouble, self.table, self.seams):
            if isinstance(part, QLabel):
                part.setWordWrap(True)
                part.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            column.addWidget(part)
        self._last: BreakUpFigures | None = None
        self._shown: object = None
        self._names: tuple[str, ...] = ()

    def _dress(self) -> None:
        for at, tip in enumerate(_TIPS):
            head = self.table.horizontalHeaderItem(at)
            if head is not None:
                head.setToolTip(tip)
                head.setTextAlignment(LEFT)
        self.table.itemSelectionChanged.connect(self._choose)

    def refresh(
        self,
        state: JobState,
        desk: Desk,
        *,
        trial: tuple[SeamLine, ...] | None = None,
        tried: Tried | None = None,
    ) -> None:
        """Show what the seams cost, while the Seams step is shown."""
        told = told_figures(
            state, self._last, trial=trial, tried=tried, was_stopped=desk.was_stopped
        )
        self.setVisible(bool(state.seams) and bool(told.heading or told.trouble))
        self._hold_still(is_held=trial is not None)
        if not told.is_stale and told.figures is not None and trial is None:
            self._last = told.figures
        beside = panels_beside(state, desk.seam)
        is_held = trial is not None
        shown = (told.figures, told.heading, told.trouble, desk, beside, state.seams, is_held)
        if shown == self._shown:
            return
        self._shown = shown
        self.heading.setText(f"<b>{told.heading}</b>")
        self.heading.setVisible(bool(told.heading))
        self.trouble.setText(told.trouble)
        self.trouble.setVisible(bool(told.trouble) and not is_held)
        rows = () if told.figures is None else _beside_first(told.figures.panels, beside)
        self._names = tuple(panel.name for panel in rows)
        self._fill(rows, desk, beside, is_stale=told.is_stale)
        self.table.setVisible(bool(rows))
        chosen = state.seams[desk.seam].name if 0 <= desk.seam < len(state.seams) else ""
        about = "" if told.figures is None else seams_line(told.figures, chosen, desk.show)
        colour = SOFT_INK if told.is_stale else INK
        if is_held and told.trouble:
            about, colour = told.trouble, ASK
        self.seams.setText(about)
        self.seams.setVisible(bool(about))
        self.seams.setStyleSheet(f"color: {colour};")

    def _hold_still(self, *, is_held: bool) -> None:
        """Keep the height there is while a seam is dragged: the tank over it must not move."""
        if is_held and self.isVisible():
            self.setFixedHeight(self.height())
        elif not is_held:
            self.setMinimumHeight(0)
            self.setMaximumHeight(QWIDGETSIZE_MAX)

    def words(self) -> list[list[str]]:
        """Return everything the table says, row by row."""
        return self.table.words()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Let the columns share the width there is."""
        super().resizeEvent(event)
        self._share()

    def _fill(
        self,
        rows: tuple[PanelFigures, ...],
        desk: Desk,
        beside: tuple[str, ...],
        *,
        is_stale: bool,
    ) -> None:
        table = self.table
        table.blockSignals(True)
        heads = list(_HEADS)
        for words, at in _PER_FOOT if desk.show == "in" else ():
            heads[at] = words
        for at, words in enumerate(heads):
            head = table.horizontalHeaderItem(at)
            if head is not None:
                head.setText(words)
        table.setRowCount(len(rows))
        table.clearSelection()
        for row, panel in enumerate(rows):
            cells = panel_cells(panel, desk.show, desk.least_thickness_mm)
            mark = "\u25b8 " if panel.name in beside else ""
            for at, words in enumerate((mark + panel.name, *cells)):
                table.put(
                    row, at, words, tip=words, is_bold=at == 0 and bool(mark), is_stale=is_stale,
                    is_warned=at == 6 and (not panel.lift.is_free or "\n" in words),
                )  # fmt: skip
            if panel.name == desk.panel:
                table.selectRow(row)
        table.blockSignals(False)
        self._share()

    def _share(self) -> None:
        """Share the width, and take as much height as the rows need."""
        table = self.table
        width = self.contentsRect().width() - 26
        bar = table.verticalScrollBar().sizeHint().width()
        table.share(width - bar)
        rows = sum(table.rowHeight(row) for row in range(table.rowCount()))
        head = table.horizontalHeader().sizeHint().height()
        table.setFixedHeight(min(rows + head + 4, _MOST_ROWS_PX))

    def _choose(self) -> None:
        rows = {item.row() for item in self.table.selectedItems()}
        if len(rows) == 1:
            self.panel_chosen.emit(self._names[rows.pop()])


def panel_cells(panel: PanelFigures, show: str, least_mm: float) -> tuple[str, ...]:
    """Return a panel's row, but for its name; mm and inches on lines of their own."""
    form = lift_words(panel.lift, show)
    if panel.refusal is not None:
        why = f"{sentence(panel.refusal)}\n{form}"
        return ("\u2013", "\u2013", "\u2013", NOT_FLAT, "\u2013", why)
    stretch, shrink = (
        signed_change_text(ratio - 1.0, show) for ratio in (panel.worst_stretch, panel.worst_shrink)
    )
    look = panel_warnings(panel, show, least_mm=least_mm)
    return (
        stretch, shrink, _thickness(panel, show), _on_two_lines(size_text(*panel.cut_mm, show)),
        f"{panel.growth:.3f}", "\n".join([form, *look]),
    )  # fmt: skip


def _thickness(panel: PanelFigures, show: str) -> str:
    """Return the thinnest and the thickest, a line for each unit."""
    ends = [thickness_text(t, show).removesuffix(")").split(" (")
            for t in (panel.thinnest_mm, panel.thickest_mm)]  # fmt: skip
    return "\n".join(f"{thin.split()[0]} to {thick}" for thin, thick in zip(*ends, strict=True))


def _on_two_lines(words: str) -> str:
    return words.removesuffix(")").replace(" (", "\n")


def seams_line(figures: BreakUpFigures, chosen: str, show: str) -> str:
    """Return how long the chosen seam is, and all of them together."""
    every = f"{counted(len(figures.seams), 'seam')}: {length_text(figures.weld_mm, show, 16, 0)}"
    if figures.hidden_mm > 0.0:
        every += f", {length_text(figures.hidden_mm, show, 16, 0)} of it hidden"
    own = [f"{seam.name}: {seam_words(seam, show)}" for seam in figures.seams
           if seam.name == chosen]  # fmt: skip
    return "      ".join([*own, every])


def _beside_first(
    panels: tuple[PanelFigures, ...], beside: tuple[str, ...]
) -> tuple[PanelFigures, ...]:
    return tuple(sorted(panels, key=lambda panel: panel.name not in beside))


def panels_beside(state: JobState, seam: int) -> tuple[str, ...]:
    """Return the names of the panels on both sides of a seam, as it was cut last."""
    panels: Panels | None = latest(state, "Seams")
    if panels is None or not 0 <= seam < len(state.seams):
        return ()
    name = state.seams[seam].name
    return tuple(
        panel.name
        for panel in panels.panels
        if any(half.seam == name for half in panel.seam_halves)
    )
