"""Paper: which face is marked, what is left along each edge, for which paper and printer."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit

from app.job import (
    FORMINGS,
    GRAINS,
    LEAST_TRIM_MM,
    JobState,
    PaperKind,
    counted_twice_words,
    latest,
    made,
    panel_names,
    paper_kind,
    why_no_cut,
)
from app.window.steps.edge_fields import EdgeFields, edge_choices
from app.window.steps.fold import Fold
from app.window.steps.output_fields import OutputFields
from app.window.steps.printer_check import PrinterCheck
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox, StepView
from app.window.steps.typed_edit import LengthEdit
from geometry.pattern import Pattern

_FACES = ("inside", "outside")
_GRAIN_WORDS = {"along": "along FRONT", "across": "across FRONT", "any": "any way"}
_FORMING_WORDS = {"form": "in a form", "freehand": "freehand"}


class PaperView(StepView):
    """Patterns."""

    name_requested = Signal(str)
    model_requested = Signal(str)
    marked_face_requested = Signal(str)
    forming_requested = Signal(str)
    grain_requested = Signal(str)
    trim_requested = Signal(float)
    panel_chosen = Signal(str)
    open_folder_requested = Signal()

    def __init__(self) -> None:
        super().__init__(
            "Paper", "Paper",
            "Every page that will come out, at full size: what is shown is printed and written.",
        )  # fmt: skip
        self._write = self.asking_button(
            "Write patterns to a folder...  (Ctrl+E)", "export", leading=True
        )
        self._print = self.asking_button("Print this file...  (Ctrl+P)", "print")
        self._written_title = self.label("", "soft")
        self._open = self.button("Open the folder", self._ask_open)
        self._add_job()
        self.label("Panels", "heading")
        self._panels = RowList()
        self._panels.setMaximumHeight(132)
        self._panels.setWordWrap(True)
        self._panels.chosen.connect(self._choose_panel)
        self.column.addWidget(self._panels)
        self.edges = EdgeFields()
        self._edges_part = Fold("What is left along each edge", self.edges)
        self.column.addWidget(self._edges_part)
        self.output = OutputFields()
        self.column.addWidget(Fold("Papers, roll, cutting file", self.output))
        self.check = PrinterCheck()
        self.column.addWidget(Fold("Printer check", self.check))
        self.column.addStretch(1)
        self._state = JobState()
        self._names: tuple[str, ...] = ()

    def _add_job(self) -> None:
        self._name, self._model = QLineEdit(), QLineEdit()
        self._name.editingFinished.connect(self._take_name)
        self._model.editingFinished.connect(self._take_model)
        self._face, self._forming, self._grain = NarrowBox(), NarrowBox(), NarrowBox()
        self._face.addItems([f"the {face}" for face in _FACES])
        self._forming.addItems([_FORMING_WORDS[how] for how in FORMINGS])
        self._grain.addItems([_GRAIN_WORDS[way] for way in GRAINS])
        self._face.activated.connect(self._choose_face)
        self._forming.activated.connect(self._choose_forming)
        self._grain.activated.connect(self._choose_grain)
        self._trim = LengthEdit(least_mm=LEAST_TRIM_MM)
        self._trim.taken.connect(self._take_trim)
        self._trim.editingFinished.connect(self._trim.take)
        self._trim_mm = 12.7
        self.fields(
            ("Job", self._name),
            ("Tank of", self._model),
            ("You mark", self._face),
            ("You form", self._forming),
            ("Usual trim", self._trim),
            ("Grain runs", self._grain),
        )

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show what may leave, and what has left."""
        self._state, self._names = state, panel_names(state)
        self.show_need(state, also="" if self._names else "Draw seams first: step 7.")
        for field, words in ((self._name, state.name), (self._model, state.model)):
            if not field.hasFocus():
                field.setText(words)
        self._face.setCurrentIndex(_FACES.index(state.marked_face))
        self._forming.setCurrentIndex(FORMINGS.index(state.forming))
        self._grain.setCurrentIndex(GRAINS.index(state.grain))
        self._trim.show_length(state.trim_mm, desk.show)
        self._trim_mm = state.trim_mm
        rows = [f"{name}: {_leaves(state, name)}" for name in self._names]
        chosen = self._names.index(desk.panel) if desk.panel in self._names else -1
        self._panels.show_rows(rows, chosen)
        self._show_edges(state, desk)
        self.output.refresh(desk.output, desk.show)
        self.check.refresh(desk)
        self._write.setEnabled(made(state, "Seams") is not None)
        self._print.setEnabled(desk.pages_current)
        self._show_written(desk)

    def _show_edges(self, state: JobState, desk: Desk) -> None:
        pattern: Pattern | None = latest(state, "Paper", desk.panel) if desk.panel else None
        rows = [] if pattern is None else edge_choices(desk.panel, pattern, state.edges)
        self.edges.refresh(rows, state.trim_mm, desk.show)
        self._edges_part.setVisible(bool(rows))

    def _show_written(self, desk: Desk) -> None:
        written = bool(desk.written)
        self._written_title.setVisible(written)
        self._open.setVisible(written)
        if written:
            folder = "" if desk.written_to is None else desk.written_to.name
            self._written_title.setText(f"{len(desk.written)} files in the folder {folder}")
            self._written_title.setToolTip("\n".join((str(desk.written_to), *desk.written)))

    def _take_name(self) -> None:
        name = self._name.text().strip()
        if name and name != self._state.name:
            self.name_requested.emit(name)

    def _take_model(self) -> None:
        model = self._model.text().strip()
        if model != self._state.model:
            self.model_requested.emit(model)

    def _choose_face(self, number: int) -> None:
        self.marked_face_requested.emit(_FACES[number])

    def _choose_forming(self, number: int) -> None:
        self.forming_requested.emit(FORMINGS[number])

    def _choose_grain(self, number: int) -> None:
        self.grain_requested.emit(GRAINS[number])

    def _choose_panel(self, number: int) -> None:
        if 0 <= number < len(self._names):
            self.panel_chosen.emit(self._names[number])

    def _take_trim(self, length_mm: float) -> None:
        if abs(length_mm - self._trim_mm) > 1e-9:
            self.trim_requested.emit(length_mm)

    def _ask_open(self) -> None:
        self.open_folder_requested.emit()


def _leaves(state: JobState, name: str) -> str:
    kind = paper_kind(state, name)
    if kind is PaperKind.ALL:
        pattern: Pattern | None = made(state, "Paper", name)
        twice = "" if pattern is None else counted_twice_words(pattern.lip_edges)
        return "ready to print and cut" + (f". {twice}" if twice else "")
    if kind is PaperKind.PAPER_ONLY:
        return f"paper only, no cut line. {why_no_cut(state, name)}"
    if made(state, "Blanks", name) is not None:
        return "laid flat; dressed when written"
    return "not laid flat yet; will be when written"
