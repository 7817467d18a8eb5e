"""Blanks: the sheet, how each panel will be made, and what came of laying it flat."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QListWidget

from app.exports import thinnest_mm
from app.job import (
    MAKING,
    Blank,
    JobState,
    MetalChoice,
    StepState,
    latest,
    made,
    panel_names,
    part_state,
    why_no_cut,
)
from app.units import area_text, mm_text, plain_number, size_text, thickness_text
from app.window.steps.standing import Desk
from app.window.steps.step_view import LengthEdit, StepView
from app.window.words import worst_words

_FACES = ("outside", "middle")


class BlanksView(StepView):
    """Blanks."""

    metal_requested = Signal(object)
    panel_chosen = Signal(str)
    making_requested = Signal(str, str)

    def __init__(self) -> None:
        super().__init__(
            "Blanks",
            "Blanks",
            "The flat sheet each panel is made from, on the middle of the metal.",
        )
        self._metal = MetalChoice()
        self.label("Sheet thickness", "heading")
        self._thickness = LengthEdit(least_mm=0.2)
        self._thickness.taken.connect(self._take_thickness)
        self._thickness.editingFinished.connect(self._thickness.take)
        self.column.addWidget(self._thickness)
        self._face = QComboBox()
        self._face.addItems(
            ["the scan shows the outside", "the scan shows the middle of the metal"]
        )
        self._face.activated.connect(self._take_face)
        self.column.addWidget(self._face)
        self._all = self.asking_button(
            "Lay all panels flat  (Shift+L)", "flatten_all", leading=True
        )
        self._panels = QListWidget()
        self._panels.setMaximumHeight(170)
        self._panels.currentRowChanged.connect(self._choose_panel)
        self.column.addWidget(self._panels)
        self._title = self.label("", "heading")
        self._how = self.label("How will you make it?", "soft")
        self._making = self.choices(
            ("Mostly stretch (sink, wheel)", "Both", "Mostly shrink (tuck the edges first)"),
            self._choose_making,
        )
        self._one = self.asking_button("Lay this panel flat  (L)", "flatten")
        self._values = self.pairs(
            ("Blank", "Area", "Most stretch", "Most shrink", "Thinnest", "Thickest")
        )
        self._warning = self.label("", "ask")
        self._next = self.asking_button("Next: patterns on paper", "step_paper", leading=True)
        self.column.addStretch(1)
        self._names: tuple[str, ...] = ()
        self._panel = ""

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show the sheet, the panels and the chosen one's blank."""
        self._metal, self._names, self._panel = state.metal, panel_names(state), desk.panel
        panels_made = made(state, "Seams") is not None
        self.show_need(
            state, part=desk.panel, also="" if panels_made else "Draw seams first: step 3."
        )
        if not self._thickness.hasFocus():
            self._thickness.setText(mm_text(state.metal.thickness_mm, 2))
        self._face.setCurrentIndex(_FACES.index(state.metal.face))
        self._all.setEnabled(panels_made)
        self._show_list(state, desk)
        chosen = desk.panel in self._names
        for part in (self._title, self._how, self._one, *self._making.buttons()):
            part.setVisible(chosen)
        self._title.setText(desk.panel)
        self._one.setEnabled(panels_made)
        work = state.work_for(desk.panel)
        for number, (_, choice) in enumerate(MAKING.items()):
            if choice == work:
                self._making.button(number).setChecked(True)
        self._show_blank(state, desk)
        self._next.setVisible(any(made(state, "Blanks", name) is not None for name in self._names))

    def _show_list(self, state: JobState, desk: Desk) -> None:
        rows = []
        for name in self._names:
            stands = part_state(state, "Blanks", name).value
            if ("Blanks", name) in desk.wanted and stands != StepState.MADE.value:
                stands = "waits or runs"
            rows.append(f"{name}  \u2013  {stands}")
        self._panels.blockSignals(True)
        self._panels.clear()
        self._panels.addItems(rows)
        at = self._names.index(desk.panel) if desk.panel in self._names else -1
        self._panels.setCurrentRow(at)
        self._panels.blockSignals(False)
        self._panels.setVisible(bool(rows))

    def _show_blank(self, state: JobState, desk: Desk) -> None:
        blank: Blank | None = latest(state, "Blanks", desk.panel) if desk.panel else None
        for value in self._values:
            value.setText("\u2013")
        self._warning.setVisible(False)
        if blank is None:
            return
        flat, show, sheet_mm = blank.flat, desk.show, state.metal.thickness_mm
        stretch, shrink = worst_words(blank, show)
        share = plain_number(100.0 * flat.blank_area / flat.formed_area, 1)
        thinnest = thinnest_mm(flat, sheet_mm)
        for value, words in zip(
            self._values,
            (
                size_text(*flat.blank_size, show),
                f"{area_text(flat.blank_area, show)}\n{share} of every 100 of skin",
                stretch,
                shrink,
                thickness_text(thinnest, show),
                thickness_text(float(flat.thickness.max()) * sheet_mm, show),
            ),
            strict=True,
        ):
            value.setText(words)
        self._warn(state, blank, thinnest, desk)

    def _warn(self, state: JobState, blank: Blank, thinnest: float, desk: Desk) -> None:
        words = []
        if made(state, "Blanks", desk.panel) is None:
            words.append("Out of date: something it was made from has changed. Lay it flat again.")
        if thinnest < desk.least_thickness_mm:
            words.append(
                f"Thinner than your least of {thickness_text(desk.least_thickness_mm, desk.show)}."
            )
        if made(state, "Paper", desk.panel) is not None:
            reason = why_no_cut(state, desk.panel)
            words += [f"No cut line: {reason}"] if reason else []
        elif blank.flat.overlap_area > 0.0:
            words.append("The blank lies over itself: it needs another seam.")
        if blank.filled.any():
            words.append("Hatched: NOT SCANNED, filled by guess.")
        self._warning.setText("\n".join(words))
        self._warning.setVisible(bool(words))

    def _take_thickness(self, length_mm: float) -> None:
        if abs(length_mm - self._metal.thickness_mm) > 1e-9:
            self.metal_requested.emit(("thickness_mm", length_mm))

    def _take_face(self, number: int) -> None:
        if _FACES[number] != self._metal.face:
            self.metal_requested.emit(("face", _FACES[number]))

    def _choose_panel(self, row: int) -> None:
        self.panel_chosen.emit(self._names[row] if 0 <= row < len(self._names) else "")

    def _choose_making(self, number: int) -> None:
        self.making_requested.emit(self._panel, tuple(MAKING)[number])
