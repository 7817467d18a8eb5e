"""Gauges: where stations stand, which boards are made, the checking frame, and what came of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from app.job import (
    TIGHT_WORDS,
    FrameChoice,
    GaugeChoice,
    Gauges,
    JobState,
    SweepChoice,
    apart_words,
    gauges_line,
    made,
    missing_words,
    radius_words,
    serving_words,
    torn_words,
)
from app.units import counted, length_text, mm_text
from app.window.steps.optional_form import tick_untold
from app.window.steps.rest_view import RestView, SpecList
from app.window.steps.row_list import RowList
from app.window.steps.spec_form import FormRow, SpecForm
from app.window.steps.standing import Desk


@dataclass(frozen=True)
class Place:
    """One length of a list, as a form edits it."""

    at_mm: float


_STATION_ROWS = (
    FormRow("at_mm", "Back from the front end", least=1.0, tip="Where the station stands"),
)
_BESIDE_ROWS = (
    FormRow("at_mm", "From the centre line", least=1.0, tip="One to either hand, so far out"),
)
_FRAME_ROWS = (
    FormRow("sheet_mm", "Thickness of its board", least=0.5),
    FormRow("play_mm", "Play in the slots", tip="Wider than the board by this"),
    FormRow("foot_mm", "Foot under the lowest place"),
)


_RADIUS_ROWS = (
    FormRow("at_mm", "Radius", least=1.0, tip="Of both edges, one hollow, one crowned"),
)
_SWEEP_ROWS = (
    FormRow(
        "gap_mm",
        "Gap under a sweep up to",
        least=0.01,
        tip="The closer, the more boards; with radii of your own it marks where none is near",
    ),
    FormRow(
        "chord_mm",
        "Length of the long ones",
        least=1.0,
        tip="Straight across; where that fits nowhere, shorter",
    ),
)


class GaugesView(RestView):
    """What gauges need."""

    STEP = "Gauges"
    TITLE = "Cut boards to the tank's outlines"
    ABOUT = (
        "Station templates, the bottom profile, the side line, and a slotted frame to check panels "
        "on: full size, numbered, with datum notch and levels."
    )
    FIELD = "gauges"
    BEGIN = "Make gauges"
    ROWS = (
        FormRow(
            "spacing_mm",
            "A station every",
            least=1.0,
            tip="Counted back from the front end; closer where the tank bends tightly",
        ),
        FormRow("only_stations", "Only my own stations", "yes"),
        FormRow(
            "kind",
            "Boards",
            "choice",
            choices=(("female", "female, over the outside"), ("male", "male, into the inside")),
        ),
        FormRow(
            "face",
            "They touch",
            "choice",
            tip="For the inside the full thickness of the sheet is taken off",
            choices=(
                ("usual", "as usual: female outside, male inside"),
                ("outside", "the outside"),
                ("inside", "the inside"),
            ),
        ),
        FormRow("in_halves", "Left and right apart", "yes"),
        FormRow(
            "turn_over_mm",
            "Turned over up to",
            tip="Up to this difference one board, turned over, serves for the other hand",
        ),
        FormRow("board_mm", "Width of the board", least=1.0),
        FormRow("profile", "Bottom profile", "yes"),
        FormRow(
            "bottom_from",
            "Its boards are made of",
            "choice",
            tip="Where the scan of one edge is torn, the other hand's edge can serve for both",
            choices=(
                ("each", "each hand's own edge"),
                ("left", "the left edge, for both hands"),
                ("right", "the right edge, for both hands"),
            ),
        ),
        FormRow(
            "side_line",
            "Side line",
            "choice",
            choices=(
                ("widest", "the widest line"),
                ("crisp", "the crisp line kept at Lines"),
                ("none", "none"),
            ),
        ),
    )

    def __init__(self) -> None:
        super().__init__()
        self.own = SpecList("My own stations", "Add a station", _STATION_ROWS)
        self.own.changed.connect(self._take_own)
        self.between.addWidget(self.own)
        self.has_frame = QCheckBox("A checking frame that stands up")
        self.has_frame.toggled.connect(self._take_frame)
        self.between.addWidget(self.has_frame)
        self.frame_part = QWidget()
        column = QVBoxLayout(self.frame_part)
        column.setContentsMargins(0, 0, 0, 0)
        self.frame_form = SpecForm(_FRAME_ROWS)
        self.frame_form.changed.connect(self._change_frame)
        column.addWidget(self.frame_form)
        self.beside = SpecList("Boards along beside the centre", "Add a pair", _BESIDE_ROWS)
        self.beside.changed.connect(self._take_beside)
        column.addWidget(self.beside)
        self.between.addWidget(self.frame_part)
        self._begin_sweeps()
        self.stations = RowList()
        self.stations.chosen.connect(self._choose)
        self.between.addWidget(self.stations)

    def _begin_sweeps(self) -> None:
        """Lay out what is asked of sweeps, and the list of them."""
        self.has_sweeps = QCheckBox("Sweeps: boards of known radius")
        self.has_sweeps.toggled.connect(self._take_sweeps)
        self.between.addWidget(self.has_sweeps)
        self.sweeps_part = QWidget()
        column = QVBoxLayout(self.sweeps_part)
        column.setContentsMargins(0, 0, 0, 0)
        self.sweep_form = SpecForm(_SWEEP_ROWS)
        self.sweep_form.changed.connect(self._change_sweeps)
        column.addWidget(self.sweep_form)
        self.radii = SpecList("My own radii; none: the tank's", "Add a radius", _RADIUS_ROWS)
        self.radii.changed.connect(self._take_radii)
        column.addWidget(self.radii)
        self.between.addWidget(self.sweeps_part)

    def usual(self, state: JobState) -> GaugeChoice:
        """Return what the maker begins with."""
        return GaugeChoice()

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what came of it."""
        found: Gauges | None = made(state, "Gauges")
        if found is None:
            return []
        return [gauges_line(found) + ".", *_looks(found, desk)]

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show the maker's own stations, the frame, and the stations made."""
        places = tuple(Place(at) for at in spec.stations_mm)
        self.own.show_items(places, _lengths(spec.stations_mm, desk), Place(25.0), desk.show)
        frame: FrameChoice | None = spec.frame
        tick_untold(self.has_frame, frame is not None)
        self.frame_part.setVisible(frame is not None)
        if frame is not None:
            self.frame_form.show_spec(frame, desk.show)
            pairs = tuple(Place(at) for at in frame.beside_mm)
            self.beside.show_items(pairs, _lengths(frame.beside_mm, desk), Place(60.0), desk.show)
        self._show_sweeps(spec.sweeps, desk)
        found: Gauges | None = made(state, "Gauges")
        rows = [] if found is None else station_words(found, desk.show)
        kind, number = desk.chosen
        self.stations.show_rows(rows, number if kind == "station" else -1)

    def _show_sweeps(self, sweeps: SweepChoice | None, desk: Desk) -> None:
        """Show what is asked of sweeps."""
        tick_untold(self.has_sweeps, sweeps is not None)
        self.sweeps_part.setVisible(sweeps is not None)
        if sweeps is not None:
            self.sweep_form.show_spec(sweeps, desk.show)
            radii = tuple(Place(radius) for radius in sweeps.radii_mm)
            self.radii.show_items(radii, _lengths(sweeps.radii_mm, desk), Place(100.0), desk.show)

    def page_of(self, kind: str, number: int) -> str:
        """Return the page of a station's board, the left one where there are two."""
        found: Gauges | None = made(self._state, "Gauges")
        if found is None or kind != "station" or not 0 <= number < len(found.cut.stations):
            return ""
        each = found.cut.stations[number]
        hand = " left" if each.boards[0][0] == "left" else ""
        return f"station {each.station.number:02d}{hand}.pdf"

    def row_of(self, page: str) -> tuple[str, int]:
        """Return the station a page belongs to."""
        number = page.removeprefix("station ")[:2]
        if page.startswith("station ") and number.isdigit():
            return "station", int(number) - 1
        return "", -1

    def _choose(self, at: int) -> None:
        self.row_chosen.emit("station", at)

    # ---- what is asked for

    @property
    def _spec(self) -> GaugeChoice:
        spec: GaugeChoice = getattr(self._state.rest, self.FIELD)
        return spec

    def _take_own(self, places: Sequence[Place]) -> None:
        own = tuple(place.at_mm for place in places)
        self.decide(replace(self._spec, stations_mm=own), "Stations")

    def _take_frame(self, wanted: bool) -> None:
        self.decide(replace(self._spec, frame=FrameChoice() if wanted else None), "Checking frame")

    def _change_frame(self, frame: FrameChoice) -> None:
        self.decide(replace(self._spec, frame=frame), "Checking frame")

    def _take_sweeps(self, wanted: bool) -> None:
        self.decide(replace(self._spec, sweeps=SweepChoice() if wanted else None), "Sweeps")

    def _change_sweeps(self, sweeps: SweepChoice) -> None:
        self.decide(replace(self._spec, sweeps=sweeps), "Sweeps")

    def _take_radii(self, places: Sequence[Place]) -> None:
        sweeps = self._spec.sweeps
        if sweeps is not None:
            radii = tuple(place.at_mm for place in places)
            self._change_sweeps(replace(sweeps, radii_mm=radii))

    def _take_beside(self, places: Sequence[Place]) -> None:
        frame = self._spec.frame
        if frame is not None:
            beside = tuple(place.at_mm for place in places)
            self._change_frame(replace(frame, beside_mm=beside))


def _lengths(values: Sequence[float], desk: Desk) -> list[str]:
    return [length_text(value, desk.show) for value in values]


def station_words(found: Gauges, show: str) -> list[str]:
    """Return what is told of every station, a row each."""
    rows = []
    for each in found.cut.stations:
        words = f"{each.station.number}: {length_text(each.station.back_mm, show)} back"
        if each.difference is not None:
            words += f"; hands differ by {apart_words(each.difference, found.choice.turn_over_mm)}"
        if len(each.boards) == 2:
            words += ", one board each"
        if each.section.filled:
            words += "; not scanned in part"
        if each.tight:
            most = max(bend.off_mm for bend in each.tight)
            words += f"; tight bend {mm_text(most, 1)} unsure"
        rows.append(words)
    return rows


def _looks(found: Gauges, desk: Desk) -> list[str]:
    """Return what the maker should look at."""
    cut, told = found.cut, []
    if cut.top_open:
        told.append("The skin's open edge lies on top: is up the wrong way round?")
    if not found.has_plane:
        told.append("No centre plane: the middle of the width stands for it.")
    if cut.left_out:
        places = ", ".join(_lengths([each.back_mm for each in cut.left_out], desk))
        told.append(f"No outline to lay a board on at {places} back: left out.")
    if cut.profile is not None:
        widths = ", ".join(_lengths(cut.profile.widths_mm, desk))
        told.append(f"Bottom edge to bottom edge, front first: {widths}.")
    if any(each.tight for each in cut.stations):
        told.append(TIGHT_WORDS)
    told += [torn_words(found, place, desk.show) for place in cut.torn]
    if cut.check is not None:
        told.append(
            f"Checking frame: {counted(len(cut.frame), 'board')}, "
            f"{counted(cut.check.crossings, 'crossing')}; "
            + ("none run into each other." if cut.check.clash_mm == 0.0 else "BOARDS CLASH.")
        )
    return [*told, *_sweeps_told(found, desk)]


def _sweeps_told(found: Gauges, desk: Desk) -> list[str]:
    """Return every sweep made, with where it serves, and what none serves."""
    sweeps = found.sweeps
    if sweeps is None:
        return []
    told = [
        f"Sweep {board.number}: {radius_words(board, desk.show)}, "
        f"{length_text(board.chord_mm, desk.show)} long; {serving_words(sweeps, board)}."
        for board in sweeps.boards
    ]
    return [*told, *missing_words(sweeps, desk.show)]
