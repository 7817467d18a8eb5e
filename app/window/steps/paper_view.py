"""Paper: which face is marked, how wide the trim is, and writing the patterns to a folder."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QListWidget

from app.job import LEAST_TRIM_MM, JobState, PaperKind, made, panel_names, paper_kind, why_no_cut
from app.window.steps.standing import Desk
from app.window.steps.step_view import LengthEdit, StepView

_FACES = ("inside", "outside")


class PaperView(StepView):
    """Patterns."""

    name_requested = Signal(str)
    marked_face_requested = Signal(str)
    trim_requested = Signal(float)
    open_folder_requested = Signal()

    def __init__(self) -> None:
        super().__init__(
            "Paper", "Paper",
            "Full-size patterns to print, files to cut from, and a map of where to stretch and "
            "shrink.",
        )  # fmt: skip
        self.label("Name of the job", "heading")
        self._name = QLineEdit()
        self._name.editingFinished.connect(self._take_name)
        self.column.addWidget(self._name)
        self.label("You mark", "heading")
        self._faces = self.choices(("the inside", "the outside"), self._choose_face)
        self.label("Trim line outside the net line by", "heading")
        self._trim = LengthEdit(least_mm=LEAST_TRIM_MM)
        self._trim.taken.connect(self._take_trim)
        self._trim.editingFinished.connect(self._trim.take)
        self.column.addWidget(self._trim)
        self._trim_mm = 12.7
        self.label("Panels", "heading")
        self._panels = QListWidget()
        self._panels.setWordWrap(True)
        self._panels.setMaximumHeight(220)
        self.column.addWidget(self._panels)
        self._write = self.asking_button(
            "Write patterns to a folder...  (Ctrl+E)", "export", leading=True
        )
        self._written_title = self.label("Written", "heading")
        self._written = QListWidget()
        self._written.setMaximumHeight(200)
        self.column.addWidget(self._written)
        self._open = self.button("Open the folder", self._ask_open)
        self.column.addStretch(1)
        self._state = JobState()

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show what may leave, and what has left."""
        self._state = state
        names = panel_names(state)
        self.show_need(state, also="" if names else "Draw seams first: step 7.")
        if not self._name.hasFocus():
            self._name.setText(state.name)
        self._faces.button(_FACES.index(state.marked_face)).setChecked(True)
        self._trim.show_length(state.trim_mm, desk.show)
        self._trim_mm = state.trim_mm
        self._panels.clear()
        for name in names:
            self._panels.addItem(f"{name}: {_leaves(state, name)}")
        self._panels.setVisible(bool(names))
        self._write.setEnabled(made(state, "Seams") is not None)
        written = bool(desk.written)
        self._written_title.setVisible(written)
        self._written.setVisible(written)
        self._open.setVisible(written)
        if written and self._written.count() != len(desk.written):
            self._written.clear()
            self._written.addItems(list(desk.written))
        if written:
            folder = "" if desk.written_to is None else desk.written_to.name
            self._written_title.setText(f"{len(desk.written)} files in the folder {folder}")
            self._written_title.setToolTip(str(desk.written_to))

    def _take_name(self) -> None:
        name = self._name.text().strip()
        if name and name != self._state.name:
            self.name_requested.emit(name)

    def _choose_face(self, number: int) -> None:
        self.marked_face_requested.emit(_FACES[number])

    def _take_trim(self, length_mm: float) -> None:
        if abs(length_mm - self._trim_mm) > 1e-9:
            self.trim_requested.emit(length_mm)

    def _ask_open(self) -> None:
        self.open_folder_requested.emit()


def _leaves(state: JobState, name: str) -> str:
    kind = paper_kind(state, name)
    if kind is PaperKind.ALL:
        return "ready to print and cut"
    if kind is PaperKind.PAPER_ONLY:
        return f"paper only, no cut line. {why_no_cut(state, name)}"
    if made(state, "Blanks", name) is not None:
        return "laid flat; dressed when written"
    return "not laid flat yet; will be when written"
