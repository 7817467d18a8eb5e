"""Flanges: along which lines, how wide and turned how far, and what of a lip that is there."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel, QPushButton

from app.job import (
    ROOT_SEAM,
    FlangeChoice,
    FlangeMade,
    Flanges,
    FlangesChoice,
    JobState,
    blank_edges,
    flange_metal_words,
    flange_run_words,
    flange_warning_words,
    flange_words,
    made,
    metal_or_none,
)
from app.units import length_text
from app.window.steps.rest_view import RestView, SpecList
from app.window.steps.spec_form import ChoiceBox, FormRow
from app.window.steps.standing import Desk

_ROWS = (
    FormRow(
        "side",
        "Its panel lies",
        "choice",
        tip="Of a seam or a line, as it is drawn and seen from outside",
        choices=(("left", "left of it"), ("right", "right of it")),
    ),
    FormRow("width_mm", "Width, outside of the bend", least=0.1),
    FormRow(
        "lies",
        "It lies",
        "choice",
        choices=(("turned", "turned by an angle"), ("level", "level")),
    ),
    FormRow("turn_rad", "Turned by", "angle", tip="Out of the panel's face; 90 is square"),
    FormRow(
        "to",
        "To the tank's",
        "choice",
        choices=(("inside", "inside"), ("outside", "outside")),
    ),
    FormRow("root_radius_mm", "Bent over, inside radius"),
    FormRow("pitch_mm", "From station to station", least=5.0),
    FormRow(
        "calm_mm",
        "Calmed over",
        tip="Shorter waves of a ragged edge are no shape; 0: as little as the scatter asks",
    ),
    FormRow(
        "lip",
        "A lip in the scan",
        "choice",
        tip="The same metal is never counted twice",
        choices=(
            ("ask", "is told first"),
            ("keep", "stays in the panel"),
            ("cut off", "is cut off at its root line"),
        ),
    ),
)


class FlangesView(RestView):
    """What flanges need."""

    STEP = "Flanges"
    TITLE = "Tip flanges"
    ABOUT = (
        "How far an edge stretches or shrinks as it is tipped, station by station and hand by "
        "hand: along the open edge, a seam or a locked line. What the metal allows is a guide."
    )
    FIELD = "flanges"
    BEGIN = "Lay out flanges"
    ROWS = ()

    lip_off_requested = Signal(int)
    """A flange, from 0: the root line of the lip there is to become a seam."""

    on_blanks_requested = Signal(int)
    """A flange, from 0: to be left on the edges of its blanks."""

    def __init__(self) -> None:
        super().__init__()
        self._at = 0
        self.runs = SpecList("Flanges", "Add one", _ROWS)
        self.runs.changed.connect(self._take_runs)
        self.runs.chosen.connect(self._choose)
        title = QLabel("The chosen one runs along")
        title.setProperty("role", "soft")
        self.edge = ChoiceBox(())
        self.edge.setAccessibleName(title.text())
        title.setBuddy(self.edge)
        self.edge.taken.connect(self._take_edge)
        self.between.addWidget(self.runs)
        self.between.addWidget(title)
        self.between.addWidget(self.edge)
        self.lip_off = QPushButton("Draw the lip's root line as a seam")
        self.lip_off.clicked.connect(self._ask_lip_off)
        self.on_blanks = QPushButton("Leave it on the edge of its blank")
        self.on_blanks.clicked.connect(self._ask_on_blanks)
        for button in (self.lip_off, self.on_blanks):
            self.between.addWidget(button)

    def usual(self, state: JobState) -> FlangesChoice:
        """Return what the maker begins with: one along the open edge."""
        return FlangesChoice()

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what the chosen flange takes."""
        flanges: Flanges | None = made(state, "Flanges")
        flange = self._made(state)
        if flanges is None or flange is None:
            return []
        metal = metal_or_none(state.metal.alloy, desk.metals)
        words = flange_run_words(flange, flanges.sheet_mm, desk.show)
        words.append(flange_metal_words(flange, metal, flanges.sheet_mm, desk.show))
        return [*words, *flange_warning_words(flange, metal, flanges.sheet_mm)]

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show the list, what there is to run along, and what the chosen one leads to."""
        self._at = min(max(self._at, 0), max(len(spec.runs) - 1, 0))
        if spec.runs:
            self.runs.list.chosen.emit(self._at)
        words = [run_row(run, desk.show) for run in spec.runs]
        self.runs.show_items(spec.runs, words, FlangeChoice(), desk.show)
        self._show_edges(state, spec)
        flange = self._made(state)
        lip = flange is not None and flange.lip is not None
        is_drawn = any(seam.name == ROOT_SEAM for seam in state.seams)
        self.lip_off.setVisible(lip)
        self.lip_off.setEnabled(not is_drawn)
        can_stay = flange is not None and not flange.is_kept_lip
        self.on_blanks.setVisible(can_stay)
        self.on_blanks.setEnabled(
            flange is not None and bool(blank_edges(state, flange.choice)) and flange.lip is None
        )

    def follow(self, kind: str, number: int) -> None:
        """Choose a flange."""
        if kind == "flange":
            self._at = number
            self.runs.go_to(number)

    def page_of(self, kind: str, number: int) -> str:
        """Return the tally of a flange; "" for none."""
        return f"flange {number + 1} tally.pdf" if kind == "flange" else ""

    def row_of(self, page: str) -> tuple[str, int]:
        """Return the flange a page belongs to; ("", -1) for none."""
        number = page.removeprefix("flange ").partition(" tally")[0]
        return ("flange", int(number) - 1) if number.isdigit() else ("", -1)

    def _show_edges(self, state: JobState, spec: FlangesChoice) -> None:
        self.edge.blockSignals(True)
        self.edge.clear()
        locked = [line for line in state.lines if line.state == "locked"]
        names = ["rim", *(seam.name for seam in state.seams)]
        names += [f"line {at}" for at in range(1, len(locked) + 1)]
        chosen = spec.runs[self._at].edge if self._at < len(spec.runs) else ""
        if chosen and chosen not in names:
            names.append(chosen)
        for name in names:
            self.edge.addItem(flange_words(FlangeChoice(name)), name)
        self.edge.setCurrentIndex(self.edge.findData(chosen))
        self.edge.setEnabled(bool(chosen))
        self.edge.blockSignals(False)

    def _made(self, state: JobState) -> FlangeMade | None:
        flanges: Flanges | None = made(state, "Flanges")
        if flanges is None or not self._at < len(flanges.made):
            return None
        return flanges.made[self._at]

    @property
    def _spec(self) -> FlangesChoice:
        spec: FlangesChoice = getattr(self._state.rest, self.FIELD)
        return spec

    def _choose(self, at: int) -> None:
        if at != self._at:
            self._at = at
            self.row_chosen.emit("flange", at)

    def _take_runs(self, runs: Sequence[FlangeChoice]) -> None:
        self.decide(replace(self._spec, runs=tuple(runs)), "Flanges")

    def _take_edge(self, edge: str) -> None:
        runs = self._spec.runs
        if self._at < len(runs):
            changed = replace(runs[self._at], edge=edge)
            self._take_runs((*runs[: self._at], changed, *runs[self._at + 1 :]))

    def _ask_lip_off(self) -> None:
        self.lip_off_requested.emit(self._at)

    def _ask_on_blanks(self) -> None:
        self.on_blanks_requested.emit(self._at)


def run_row(run: FlangeChoice, show: str) -> str:
    """Return what a row of the list says."""
    return f"{flange_words(run)}: {length_text(run.width_mm, show)}"
