"""Sides: left against right, numbers at stations, and the side to copy."""

from math import isnan

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.job import CopiedHand, JobState, Sides, made
from app.units import length_text, plain_number
from app.window.legend import mirrored
from app.window.sides_result import copied_of
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk
from app.window.steps.step_view import StepView
from app.window.words import fine_text, signed_length

_COPIES: tuple[CopiedHand, ...] = ("none", "left", "right")
_COLUMNS = ("Station", "As a\nrule", "Most", "Half\nleft", "Half\nright")


class SidesView(StepView):
    """Left against right."""

    copy_requested = Signal(str)
    row_chosen = Signal(str, int)

    def __init__(self) -> None:
        super().__init__(
            "Sides", "Sides",
            "The left laid over the mirrored right. Nothing is averaged: you say whether a side "
            "is copied.",
        )  # fmt: skip
        self._answer = self.label("", "answer")
        self._map = self.asking_button("Show the map  (F5)", "skin_sides")
        self._table_title = self.label("From rear to front: + where the left stands out", "heading")
        self._table = QTableWidget(0, len(_COLUMNS))
        self._table.setHorizontalHeaderLabels(_COLUMNS)
        self._table.verticalHeader().hide()
        self._table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self._table.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        self._table.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self._table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self._table.setMinimumHeight(190)
        self._table.setTabKeyNavigation(False)
        self._table.currentCellChanged.connect(self._choose_station)
        self.column.addWidget(self._table)
        self._copy_title = self.label("Copy a side to the other", "heading")
        self._copies = self.choices(
            ("neither: both stay as scanned", "the left, mirrored to the right",
             "the right, mirrored to the left"),
            self._choose_copy,
        )  # fmt: skip
        self._copied = self.label("", "soft")
        self._zones_title = self.label("Places with their own rule", "heading")
        self._left = self.asking_button("Copy the left here", "zone_left")
        self._right = self.asking_button("Copy the right here", "zone_right")
        self._odd = self.asking_button("Leave as scanned: tap, key, badge", "zone_odd")
        self._prompt = self.label("", "ask")
        self._leave = self.asking_button("Leave off  (Esc)", "leave_off")
        self._zones = RowList()
        self._zones.setMaximumHeight(100)
        self._zones.chosen.connect(self._choose_zone)
        self.column.addWidget(self._zones)
        self._delete = self.asking_button("Delete this place  (Del)", "delete")
        self._next = self.asking_button("Next: character lines", "step_lines", leading=True)
        self.column.addStretch(1)

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show the difference and what is copied."""
        self.show_need(state, also=_why_not_yet(state))
        sides: Sides | None = made(state, "Sides")
        shown = sides is not None
        parts: tuple[QWidget, ...] = (self._answer, self._map, self._table_title, self._table)
        for part in parts:
            part.setVisible(shown)
        for choice in (self._copy_title, *self._copies.buttons()):
            choice.setVisible(made(state, "Datum") is not None)
        self._copies.button(_COPIES.index(state.sides.copy)).setChecked(True)
        stands = made(state, "Datum") is not None
        placing = desk.tool == "zone"
        for button in (self._left, self._right, self._odd):
            button.setVisible(stands and not placing)
        self._odd.setVisible(state.sides.copies and not placing)
        self._zones_title.setVisible(stands)
        self._prompt.setVisible(placing)
        self._prompt.setText(desk.tool_words)
        self._leave.setVisible(placing)
        if sides is not None:
            self._answer.setText(answer_words(sides, desk.show))
            self._show_stations(sides, desk)
        self._show_copied(sides, state, desk)
        self._show_zones(state, desk)
        self._next.setVisible(shown or state.datum.how == "none")

    def _show_stations(self, sides: Sides, desk: Desk) -> None:
        rows = () if sides.left_right is None else sides.left_right.stations
        self._table.blockSignals(True)
        self._table.setRowCount(len(rows))
        for at, row in enumerate(rows):
            where = plain_number(row.station_mm, 0)
            if desk.show == "in":
                where = plain_number(row.station_mm / 25.4, 1)
            told = [where]
            told += [signed_length(off, desk.show) for off in (row.median, row.largest)]
            told += [_width(width, desk.show) for width in (row.left_width, row.right_width)]
            for column, words in enumerate(told):
                item = QTableWidgetItem(words)
                item.setTextAlignment(Qt.AlignmentFlag.AlignCenter)
                self._table.setItem(at, column, item)
        kind, number = desk.chosen
        if kind == "station" and 0 <= number < len(rows):
            self._table.setCurrentCell(number, 0)
        self._table.blockSignals(False)
        unit = "inch" if desk.show == "in" else "mm"
        self._table_title.setText(f"From rear to front, in {unit}: + where the left stands out")

    def _show_copied(self, sides: Sides | None, state: JobState, desk: Desk) -> None:
        copied = copied_of(sides)
        self._copied.setVisible(copied is not None)
        if copied is not None:
            self._copied.setText(
                f"Faces made from the other side are marked {mirrored(state.sides.copy).words} "
                "from here to the paper. The largest step left where they join is "
                f"{fine_text(copied.step_mm, desk.show)}."
            )

    def _show_zones(self, state: JobState, desk: Desk) -> None:
        rows = [
            f"copy the {zone.side}, {length_text(2 * zone.radius_mm, desk.show)} across"
            for zone in state.sides.zones
        ]
        rows += [
            f"as scanned, {length_text(2 * zone.radius_mm, desk.show)} across"
            for zone in state.sides.odd
        ]
        kind, number = desk.chosen
        self._zones.show_rows(rows, number if kind == "zone" else -1)
        self._delete.setVisible(kind == "zone" and 0 <= number < len(rows))

    def _choose_copy(self, number: int) -> None:
        self.copy_requested.emit(_COPIES[number])

    def _choose_zone(self, row: int) -> None:
        self.row_chosen.emit("zone", row)

    def _choose_station(self, row: int, column: int, before: int, was: int) -> None:
        self.row_chosen.emit("station", row)


def _width(width_mm: float, show: str) -> str:
    if isnan(width_mm):  # one hand was not scanned there
        return "\u2013"
    return plain_number(width_mm / 25.4, 2) if show == "in" else plain_number(width_mm, 1)


def _why_not_yet(state: JobState) -> str:
    if state.scan is None:
        return "Open a scan first."
    if made(state, "Size") is None:
        return "Say the size first: step 2."
    if state.datum.how == "none":
        return "Without a datum there is no left and right: find one in step 4, or go on."
    if made(state, "Datum") is None:
        return "First how it stands: step 4."
    return "" if made(state, "Sides") is not None else "Left is being laid against right."


def answer_words(sides: Sides, show: str) -> str:
    """Return how the sides differ, in plain words."""
    found = sides.left_right
    if found is None:
        return "Only one side was scanned: the other is made from it."
    told = [
        f"Half of the skin is alike to {fine_text(found.median, show)}, 95 parts of 100 to "
        f"{fine_text(found.p95, show)}.",
        f"The most is {fine_text(found.largest, show)}: the {found.further_out} stands out there.",
    ]
    fuller = (
        "Neither side is fuller."
        if found.fuller == "alike"
        else (f"The {found.fuller} is the fuller side.")
    )
    return " ".join([*told, fuller])
