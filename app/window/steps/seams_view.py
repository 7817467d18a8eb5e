"""Seams: draw them, choose, rename and delete them; notes, advice, panels and their names."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit

from app.job import (
    JobState,
    Panels,
    breakup_shown,
    latest,
    made,
    note_of,
    panel_names,
    raised_advice,
)
from app.units import area_text, counted
from app.window.steps.advice_list import AdviceList
from app.window.steps.fold import Fold
from app.window.steps.row_list import RowList
from app.window.steps.seam_hand_form import SeamHandForm
from app.window.steps.seam_note_form import SeamNoteForm
from app.window.steps.standing import Desk
from app.window.steps.step_view import StepView
from geometry.mesh import face_areas


class SeamsView(StepView):
    """Seams and panels."""

    seam_chosen = Signal(int)
    seam_renamed = Signal(int, str)
    panel_chosen = Signal(str)
    panel_renamed = Signal(str, str)

    def __init__(self) -> None:
        super().__init__("Seams", "Seams", "Where the panels part. A seam must part the skin.")
        self._prompt = self.label("", "ask")
        self._draw = self.asking_button("Draw a seam  (D)", "draw_seam", leading=True)
        self._close = self.asking_button("Close it to a ring  (C)", "close_seam")
        self._end = self.asking_button("End it here  (E)", "end_seam")
        self._back = self.asking_button("Take the last point back  (Backspace)", "take_back")
        self._leave = self.asking_button("Leave off  (Esc)", "leave_off")
        self._load = self.asking_button("Take seams from a file...", "load_seams")
        self._seams_title = self.label("Seams", "heading")
        self._seams = RowList()
        self._seams.setMaximumHeight(170)
        self._seams.chosen.connect(self.seam_chosen)
        self.column.addWidget(self._seams)
        self._seam_name = QLineEdit()
        self._seam_name.setPlaceholderText("name of the seam")
        self._seam_name.editingFinished.connect(self._rename_seam)
        self.column.addWidget(self._seam_name)
        self._delete = self.asking_button("Delete what is chosen  (Del)", "delete")
        self.hand = SeamHandForm()
        self.hand.asked.connect(self.asked)
        self.column.addWidget(self.hand)
        self.note = SeamNoteForm()
        self._note_fold = Fold("Note on this seam", self.note)
        self.column.addWidget(self._note_fold)
        self.advice = AdviceList()
        self.column.addWidget(self.advice)
        self._panels_title = self.label("Panels", "heading")
        self._panels = RowList()
        self._panels.setMaximumHeight(190)
        self._panels.chosen.connect(self._choose_panel)
        self.column.addWidget(self._panels)
        self._panel_name = QLineEdit()
        self._panel_name.setPlaceholderText("name of the panel")
        self._panel_name.editingFinished.connect(self._rename_panel)
        self.column.addWidget(self._panel_name)
        self._breaks_title = self.label("Break-ups", "heading")
        self._breaks_about = self.label("", "soft")
        self._keep = self.asking_button("Keep these seams...  (Ctrl+Shift+K)", "keep_breakup")
        self._breaks = self.asking_button("Compare break-ups...  (Ctrl+K)", "breaks")
        self._next = self.asking_button("Next: lay the blanks flat", "step_blanks", leading=True)
        self.column.addStretch(1)
        self._desk = Desk()
        self._names: tuple[str, ...] = ()
        self._areas: tuple[Panels | None, list[float]] = (None, [])

    def focus_panel_name(self) -> None:
        """Let the chosen panel's name be typed."""
        self._panel_name.setFocus()
        self._panel_name.selectAll()

    def say_tool_words(self, words: str) -> None:
        """Say what the pencil asks for now, or what is wrong with the line."""
        self._prompt.setText(words)

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show seams and panels."""
        self._desk = desk
        drawing = desk.tool == "seam"
        waits = "" if latest(state, "Surface") is not None else self._why_not_yet(state)
        self.show_need(state, also=waits)
        if drawing:
            self._ask.setVisible(False)
        self._prompt.setVisible(drawing)
        self._prompt.setText(desk.tool_words)
        self._draw.setVisible(not drawing)
        self._draw.setEnabled(made(state, "Surface") is not None)
        for part in (self._close, self._end, self._back, self._leave):
            part.setVisible(drawing)
        self._load.setVisible(not state.seams and not drawing)
        self._load.setEnabled(state.scan is not None)
        self.hand.refresh(state, desk)
        self._show_seams(state, desk)
        self.advice.refresh(raised_advice(state), desk)
        self._show_panels(state, desk)
        self._show_breakups(state)
        self._next.setVisible(made(state, "Seams") is not None and not drawing)

    @staticmethod
    def _why_not_yet(state: JobState) -> str:
        if state.scan is None:
            return "Open a scan first."
        if made(state, "Size") is None:
            return "Say the size first: step 2."
        return "The smooth surface seams are drawn on is being laid. This takes a little."

    def _show_seams(self, state: JobState, desk: Desk) -> None:
        names = [seam.name + ("  (ring)" if seam.closed else "") for seam in state.seams]
        self._seams.show_rows(names, desk.seam)
        self._seams_title.setVisible(bool(names))
        chosen = 0 <= desk.seam < len(state.seams)
        self._seam_name.setVisible(chosen)
        self._note_fold.setVisible(chosen)
        self.note.refresh(state, desk)
        self.note.setVisible(chosen and self._note_fold.heading.isChecked())
        if chosen:
            said = note_of(state, state.seams[desk.seam].name).says_something
            self._note_fold.heading.setText("Note on this seam" + ("  (noted)" if said else ""))
        self._delete.setVisible(chosen)
        if chosen and not self._seam_name.hasFocus():
            self._seam_name.setText(state.seams[desk.seam].name)

    def _show_panels(self, state: JobState, desk: Desk) -> None:
        self._names = panel_names(state)
        panels: Panels | None = latest(state, "Seams")
        if self._areas[0] is not panels:
            parts = () if panels is None else panels.panels
            self._areas = (panels, [float(face_areas(p.mesh.vertices, p.mesh.faces).sum())
                                    for p in parts])  # fmt: skip
        rows = [
            f"{name}    {area_text(area, desk.show)}"
            for name, area in zip(self._names, self._areas[1], strict=True)
        ]
        at = self._names.index(desk.panel) if desk.panel in self._names else -1
        self._panels.show_rows(rows, at)
        self._panels_title.setVisible(bool(rows))
        stale = bool(rows) and made(state, "Seams") is None
        self._panels_title.setText("Panels \u2013 out of date" if stale else "Panels")
        self._panel_name.setVisible(at >= 0)
        if at >= 0 and not self._panel_name.hasFocus():
            self._panel_name.setText(desk.panel)

    def _show_breakups(self, state: JobState) -> None:
        kept, now = len(state.breakups), breakup_shown(state)
        words = f"{counted(kept, 'break-up')} kept."
        if now:
            words += f" The seams are as in \u201c{now}\u201d."
        elif kept and state.seams:
            words += " The seams as they are now are not kept."
        self._breaks_about.setText(words)
        self._breaks_about.setVisible(bool(kept))
        self._keep.setVisible(bool(state.seams) and not now)
        for part in (self._breaks_title, self._breaks):
            part.setVisible(made(state, "Surface") is not None)

    def _choose_panel(self, row: int) -> None:
        self.panel_chosen.emit(self._names[row] if 0 <= row < len(self._names) else "")

    def _rename_seam(self) -> None:
        name = self._seam_name.text().strip()
        if name and self._desk.seam >= 0:
            self.seam_renamed.emit(self._desk.seam, name)

    def _rename_panel(self) -> None:
        name = self._panel_name.text().strip()
        if name and self._desk.panel and name != self._desk.panel:
            self.panel_renamed.emit(self._desk.panel, name)
