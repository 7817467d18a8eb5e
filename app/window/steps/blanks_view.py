"""Blanks: the sheet, how each panel will be made, and what came of laying it flat."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton

from app.job import (
    MAKING,
    Answer,
    Blank,
    JobState,
    MetalChoice,
    PanelGuide,
    StepState,
    Sure,
    Thicknesses,
    answer_for,
    answer_words,
    case_words,
    eased_words,
    equal_area_words,
    guide_facts,
    guide_words,
    how_made,
    latest,
    made,
    no_guide_words,
    overlap_words,
    panel_guide,
    panel_names,
    part_state,
    sure_words,
    thin_words,
    why_no_cut,
)
from app.units import thickness_text
from app.window.edge_table import EdgeTable
from app.window.legend import mirrored
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox, StepView, beside_each_other
from app.window.steps.typed_edit import LengthEdit
from app.window.steps.worked_out import WorkedOut, band_facts
from app.window.words import change_of, worst_words
from geometry.blank import Work
from geometry.pattern import Pattern

_FACES = ("outside", "middle")
_WAYS = tuple(MAKING)
_BY_NUMBERS = len(_WAYS)
_MOST_LIST_PX = 150
_PAINT_NOTE = (
    "Taken off square to the face, the same everywhere: at a sharp edge, or where filler is "
    "thicker, the metal lies elsewhere. Measure it in three places."
)
_EDGES_ABOUT = "\u2212 shrink, + stretch, at the net and at the cut line"
_ADD_METAL = "Add a metal of your own..."


class BlanksView(StepView):
    """Blanks."""

    metal_requested = Signal(object)
    least_requested = Signal(float)
    panel_chosen = Signal(str)
    making_requested = Signal(str, str)
    work_requested = Signal(str, object)
    comparison_requested = Signal(str, object)
    metal_adding_requested = Signal()

    def __init__(self) -> None:
        super().__init__("Blanks", "Blanks", "The flat sheet each panel is made from.")
        self._metal, self._least_mm = MetalChoice(), 1.2
        self._add_sheet()
        self._all = self.asking_button("Lay all flat  (Shift+L)", "flatten_all", leading=True)
        self._one = self.asking_button("This one  (L)", "flatten", beside=self._all)
        self._panels = RowList()
        self._panels.setMaximumHeight(_MOST_LIST_PX)
        self._panels.chosen.connect(self._choose_panel)
        self.column.addWidget(self._panels)
        self._title = self.label("", "heading")
        self._making = self.choices(
            (
                "Mostly stretch (sink, wheel)",
                "Both",
                "Mostly shrink (tuck the edges first)",
                "By its numbers, set below",
            ),
            self._choose_making,
        )
        self._answer = self.label("", "answer")
        self._warning = self.label("", "ask")
        self._beside = self.label("", "soft")
        self._guide = self.label("", "soft")
        self._values = self.pairs(("Most stretch", "Most shrink", "Thickest"))
        self._edges_title = self.label("", "heading")
        self._edges_about = self.label(_EDGES_ABOUT, "soft")
        self._edges = EdgeTable()
        self.column.addWidget(self._edges)
        self._add_comparison()
        self._next = self.asking_button("Next: patterns on paper", "step_paper", leading=True)
        self._worked_out = WorkedOut()
        self._worked_out.work_requested.connect(self._choose_work)
        self.column.addWidget(self._worked_out)
        self.column.addStretch(1)
        self._names: tuple[str, ...] = ()
        self._panel = ""
        self._guided: tuple[tuple[object, ...], PanelGuide | None] | None = None

    def _add_sheet(self) -> None:
        self._alloy = NarrowBox()
        self._alloy.activated.connect(self._take_alloy)
        self._thickness = LengthEdit(least_mm=0.2)
        self._thickness.taken.connect(self._take_thickness)
        self._thickness.editingFinished.connect(self._thickness.take)
        self._face = NarrowBox()
        self._face.addItems(["its outside", "the middle of the metal"])
        self._face.activated.connect(self._take_face)
        self._paint = LengthEdit()
        self._paint.taken.connect(self._take_paint)
        self._paint.editingFinished.connect(self._paint.take)
        self._least = LengthEdit()
        self._least.taken.connect(self._take_least)
        self._least.editingFinished.connect(self._least.take)
        self.fields(
            ("Sheet", beside_each_other(self._alloy, self._thickness)),
            ("The scan shows", self._face),
            ("Paint on it", self._paint),
            ("Warn me under", self._least),
        )
        self._paint_note = self.label(_PAINT_NOTE, "ask")

    def _add_comparison(self) -> None:
        self._compare_title = self.label("Two ways side by side", "heading")
        self._first, self._second = NarrowBox(), NarrowBox()
        for box, chosen in ((self._first, 0), (self._second, 2)):
            box.addItems(list(_WAYS))
            box.setCurrentIndex(chosen)
        row = QHBoxLayout()
        row.addWidget(self._first)
        row.addWidget(self._second)
        self.column.addLayout(row)
        self._compare = QPushButton("Compare  (K)")
        self._compare.clicked.connect(self.ask_comparison)
        self.column.addWidget(self._compare)

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show the sheet, the panels and the chosen one's blank."""
        self._metal, self._names, self._panel = state.metal, panel_names(state), desk.panel
        self._least_mm = desk.least_thickness_mm
        panels_made = made(state, "Seams") is not None
        self.show_need(
            state, part=desk.panel, also="" if panels_made else "Draw seams first: step 7."
        )
        for edit, length_mm in (
            (self._thickness, state.metal.thickness_mm),
            (self._least, desk.least_thickness_mm),
        ):
            edit.show_length(length_mm, desk.show)
        self._show_alloys(state.metal.alloy, desk)
        self._face.setCurrentIndex(_FACES.index(state.metal.face))
        self._paint.show_length(state.metal.paint_mm, desk.show)
        self._paint.setEnabled(state.metal.face == "outside")
        self._paint_note.setVisible(state.metal.face == "outside" and state.metal.paint_mm > 0.0)
        self._all.setEnabled(panels_made)
        self._show_list(state, desk)
        self._show_making(state, desk)
        self._one.setEnabled(panels_made)
        self._show_blank(state, desk)
        self._show_edges(state, desk)
        self._next.setVisible(any(made(state, "Blanks", name) is not None for name in self._names))

    def ask_comparison(self) -> None:
        """Ask for the two ways chosen to be compared."""
        ways = (_WAYS[self._first.currentIndex()], _WAYS[self._second.currentIndex()])
        self.comparison_requested.emit(self._panel, ways)

    def _show_making(self, state: JobState, desk: Desk) -> None:
        chosen = desk.panel in self._names
        choice = state.choice_for(desk.panel)
        plain = None if choice.exact else how_made(choice.work)
        number = _BY_NUMBERS if plain is None else _WAYS.index(plain)
        for part in (
            self._title, self._one, self._compare_title, self._first, self._second,
            self._compare, self._worked_out, *self._making.buttons(),
        ):  # fmt: skip
            part.setVisible(chosen)
        self._making.button(_BY_NUMBERS).setVisible(chosen and number == _BY_NUMBERS)
        self._making.button(number).setChecked(True)
        self._title.setText(f"{desk.panel}: how will you make it?")
        self._compare.setEnabled(made(state, "Seams") is not None)

    def _show_alloys(self, alloy: str, desk: Desk) -> None:
        names = list(desk.metals)
        if alloy not in names:
            names.append(alloy)
        if [self._alloy.itemText(at) for at in range(self._alloy.count())][:-1] != names:
            self._alloy.clear()
            self._alloy.addItems([*names, _ADD_METAL])
        self._alloy.setCurrentIndex(names.index(alloy))

    def _show_list(self, state: JobState, desk: Desk) -> None:
        rows = []
        for name in self._names:
            stands = part_state(state, "Blanks", name).value
            if ("Blanks", name) in desk.wanted and stands != StepState.MADE.value:
                stands = "waits or runs"
            rows.append(f"{name}  \u2013  {stands}")
        at = self._names.index(desk.panel) if desk.panel in self._names else -1
        self._panels.show_rows(rows, at)
        height = sum(self._panels.sizeHintForRow(row) for row in range(len(rows))) + 4
        self._panels.setFixedHeight(min(height, _MOST_LIST_PX))

    def _show_blank(self, state: JobState, desk: Desk) -> None:
        blank: Blank | None = latest(state, "Blanks", desk.panel) if desk.panel else None
        known: Sure | None = made(state, "Sure", desk.panel) if desk.panel else None
        for value in self._values:
            value.setText("\u2013")
        for part in (self._answer, self._warning, self._beside, self._guide):
            part.setVisible(False)
        guide = self._guide_of(state, desk, blank)
        cases: Thicknesses | None = made(state, "Thickness", desk.panel) if desk.panel else None
        groups = (
            () if known is None else band_facts(known),
            case_words(cases, state.metal.thickness_mm, desk.show),
            () if guide is None else guide_facts(guide, desk.show),
        )
        further = tuple(line for group in groups if group for line in ("", *group))
        self._worked_out.refresh(state.choice_for(desk.panel), blank, further)
        if blank is None:
            return
        self._guide.setText(guide_words(guide, desk.show) if guide is not None
                            else no_guide_words(state.metal.alloy))  # fmt: skip
        self._guide.setVisible(guide is not None or blank.flat.converged)
        found = answer_for(state, blank)
        self._warn(state, blank, found, desk)
        if not blank.flat.converged:
            return  # its figures mean nothing
        self._answer.setText(answer_words(found, desk.show))
        self._answer.setVisible(True)
        beside = [
            sure_words(known, desk.show),
            equal_area_words(found, desk.show),
            eased_words(found),
        ]
        self._beside.setText("\n".join(words for words in beside if words))
        self._beside.setVisible(True)
        stretch, shrink = worst_words(blank, desk.show)
        thickest = f"{thickness_text(found.thickest_mm, desk.show)} {found.thickest_at}"
        for value, words in zip(self._values, (stretch, shrink, thickest), strict=True):
            value.setText(words)

    def _show_edges(self, state: JobState, desk: Desk) -> None:
        pattern: Pattern | None = made(state, "Paper", desk.panel) if desk.panel else None
        for part in (self._edges_title, self._edges_about, self._edges):
            part.setVisible(pattern is not None)
        if pattern is not None:
            unit = "mm" if desk.show == "mm" else "inches"
            self._edges_title.setText(f"Its edges, in {unit}")
            self._edges.show_pattern(pattern, desk.show)

    def _guide_of(self, state: JobState, desk: Desk, blank: Blank | None) -> PanelGuide | None:
        """Return what the panel asks of its metal, worked out anew only where it may differ."""
        if blank is None:
            return None
        of = (blank, state.metal, desk.metals, desk.least_thickness_mm, state.directions)
        known = self._guided
        if known is None or any(a is not b for a, b in zip(of, known[0], strict=True)):
            found = panel_guide(
                blank.flat, state.metal, desk.metals, least_mm=desk.least_thickness_mm,
                directions=state.directions, change=change_of(blank),
            )  # fmt: skip
            self._guided = known = (of, found)
        return known[1]

    def _warn(self, state: JobState, blank: Blank, found: Answer, desk: Desk) -> None:
        words = []
        if made(state, "Blanks", desk.panel) is None:
            waits = ("Blanks", desk.panel) in desk.wanted
            words.append("It is being laid flat anew: this is the answer before."
                         if waits
                         else "Out of date: something it was made from has changed. Lay it flat "
                         "again.")  # fmt: skip
        if blank.flat.converged:
            words.append(thin_words(found, desk.least_thickness_mm, desk.show))
        if made(state, "Paper", desk.panel) is not None:
            reason = why_no_cut(state, desk.panel)
            words += [f"No cut line: {reason}"] if reason else []
        else:
            words.append(overlap_words(blank.flat, desk.show))
        if blank.filled.any():
            words.append("Crossed hatch: NOT SCANNED - FILLED BY GUESS.")
        paper: Pattern | None = latest(state, "Paper", desk.panel)
        if paper is not None and paper.copied:
            words.append(f"Square net: {mirrored(state.sides.copy).words}.")
        told = "\n".join(line for line in words if line)
        self._warning.setText(told)
        self._warning.setVisible(bool(told))

    def _take_alloy(self, number: int) -> None:
        if number == self._alloy.count() - 1:
            self.metal_adding_requested.emit()
        elif self._alloy.itemText(number) != self._metal.alloy:
            self.metal_requested.emit(("alloy", self._alloy.itemText(number)))
        self._alloy.setCurrentText(self._metal.alloy)

    def _take_thickness(self, length_mm: float) -> None:
        if abs(length_mm - self._metal.thickness_mm) > 1e-9:
            self.metal_requested.emit(("thickness_mm", length_mm))

    def _take_paint(self, length_mm: float) -> None:
        if abs(length_mm - self._metal.paint_mm) > 1e-9:
            self.metal_requested.emit(("paint_mm", length_mm))

    def _take_least(self, length_mm: float) -> None:
        if abs(length_mm - self._least_mm) > 1e-9:
            self.least_requested.emit(length_mm)

    def _take_face(self, number: int) -> None:
        if _FACES[number] != self._metal.face:
            self.metal_requested.emit(("face", _FACES[number]))

    def _choose_panel(self, row: int) -> None:
        self.panel_chosen.emit(self._names[row] if 0 <= row < len(self._names) else "")

    def _choose_making(self, number: int) -> None:
        if number < _BY_NUMBERS:
            self.making_requested.emit(self._panel, _WAYS[number])

    def _choose_work(self, work: Work) -> None:
        self.work_requested.emit(self._panel, work)
