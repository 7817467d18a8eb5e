"""Datum: the centre plane, the level, FRONT and TOP, and how sure they are."""

import numpy as np
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit

from app.job import HowDatum, JobState, latest, made
from app.units import plain_number
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk
from app.window.steps.step_view import StepView
from app.window.words import fine_text
from geometry.datum import Datum

_HOWS: tuple[HowDatum, ...] = ("auto", "picks", "none")
_MOST_TILT_DEG = 45.0


class DatumView(StepView):
    """Where the tank stands."""

    how_requested = Signal(str)
    edge_requested = Signal()
    tilt_requested = Signal(float)
    other_requested = Signal()
    row_chosen = Signal(str, int)

    def __init__(self) -> None:
        super().__init__(
            "Datum", "Datum",
            "How the tank stands: the plane between left and right, what is level, front and top.",
        )  # fmt: skip
        self.label("The centre plane", "heading")
        self._hows = self.choices(
            ("where both sides mirror best", "from places I pick", "none: go on without a datum"),
            self._choose_how,
        )
        self._centre = self.asking_button("Centre line  (J)", "pick_centre")
        self._pairs = self.asking_button("Both sides  (Shift+J)", "pick_pairs", beside=self._centre)
        self._prompt = self.label("", "ask")
        self._leave = self.asking_button("Leave off  (Esc)", "leave_off")
        self._picks = RowList()
        self._picks.setMaximumHeight(110)
        self._picks.chosen.connect(self._choose_pick)
        self.column.addWidget(self._picks)
        self._delete = self.asking_button("Take this pick back  (Del)", "delete")
        self._answer = self.label("", "answer")
        self._weak = self.label("", "ask")
        self._other = self.button("Take the next best plane", self.other_requested.emit)
        self._level_title = self.label("Level", "heading")
        self._level = self.label("", "soft")
        self._edge = self.button("By its bottom edge", self.edge_requested.emit)
        self._picked_level = self.asking_button("By heights  (H)", "pick_level",
                                                beside=self._edge)  # fmt: skip
        self._tilt = QLineEdit()
        self._tilt.setPlaceholderText("degrees")
        self._tilt.returnPressed.connect(self._take_tilt)
        self.fields(("Tilt the nose up by", self._tilt))
        self._way_title = self.label("FRONT and TOP", "heading")
        self._way = self.label("", "soft")
        self._front_click = self.asking_button("Click the front end  (Y)", "pick_front")
        self._front = self.asking_button("I see its front", "is_front")
        self._top = self.asking_button("I see its top", "is_top", beside=self._front)
        self._next = self.asking_button("Next: left against right", "step_sides", leading=True)
        self.column.addStretch(1)

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show how it stands."""
        self.show_need(state, also=_why_not_yet(state))
        how = state.datum.how
        if how in _HOWS:
            self._hows.button(_HOWS.index(how)).setChecked(True)
        self._show_picks(state, desk)
        datum: Datum | None = made(state, "Datum")
        self._answer.setVisible(datum is not None)
        self._weak.setVisible(datum is not None and bool(datum.plane.weak))
        self._other.setVisible(datum is not None and bool(datum.plane.others))
        for part in (self._level_title, self._level, self._edge, self._picked_level):
            part.setVisible(datum is not None)
        self._tilt.setEnabled(datum is not None)
        if datum is not None:
            self._answer.setText(answer_words(datum, desk.show))
            self._weak.setText("Not held by the shape: " + "; ".join(datum.plane.weak) + ".")
            self._level.setText(level_words(datum, state.datum.level))
        said = [
            f"{name} {'said' if way is not None else 'not said'}"
            for name, way in (("Front", state.directions.front), ("top", state.directions.top))
        ]
        guessed = datum.guessed if datum is not None else ()
        doubt = " Say it where the words stand wrong." if {"front", "up"} & set(guessed) else ""
        self._way.setText(f"{said[0]}, {said[1]}.{doubt}")
        self._next.setVisible(datum is not None or how == "none")

    def _show_picks(self, state: JobState, desk: Desk) -> None:
        picking = desk.tool == "picks"
        for part in (self._centre, self._pairs):
            part.setVisible(not picking)
            part.setEnabled(latest(state, "Tidy") is not None)
        self._prompt.setVisible(picking)
        self._prompt.setText(desk.tool_words)
        self._leave.setVisible(picking)
        rows = [f"centre line, point {at + 1}" for at in range(len(state.datum.on_centre))]
        rows += [f"left and right, place {at + 1}" for at in range(len(state.datum.pairs))]
        kind, number = desk.chosen
        self._picks.show_rows(rows, number if kind == "pick" else -1)
        self._delete.setVisible(kind == "pick" and 0 <= number < len(rows))

    def _choose_how(self, number: int) -> None:
        self.how_requested.emit(_HOWS[number])

    def _choose_pick(self, row: int) -> None:
        self.row_chosen.emit("pick", row)

    def _take_tilt(self) -> None:
        try:
            angle = float(self._tilt.text().replace(",", ".").replace("\u00b0", ""))
        except ValueError:
            angle = np.nan
        wrong = not abs(angle) <= _MOST_TILT_DEG
        self._tilt.setProperty("wrong", wrong)
        self._tilt.setToolTip("Type degrees, at most 45." if wrong else "")
        self._tilt.style().unpolish(self._tilt)
        self._tilt.style().polish(self._tilt)
        if not wrong:
            self._tilt.clear()
            self.tilt_requested.emit(float(np.deg2rad(angle)))


def _why_not_yet(state: JobState) -> str:
    if state.scan is None:
        return "Open a scan first."
    if made(state, "Size") is None:
        return "Say the size first: step 2."
    if state.datum.how == "none":
        return "Not looked for. Choose how the centre plane is found, or go on without a datum."
    return "" if latest(state, "Datum") is not None else "How it stands is being worked out."


def answer_words(datum: Datum, show: str) -> str:
    """Return how sure the plane is, in plain words."""
    plane = datum.plane
    degrees = float(np.degrees(plane.spread_rad))
    told = [
        f"The plane is sure to {fine_text(plane.spread_mm, show)} and "
        f"{plain_number(degrees, 2) if degrees >= 0.005 else 'under 0.01'} degrees."
    ]
    if plane.matched_share is not None:
        told.append(f"{share_words(plane.matched_share)} of the skin has its like on the other "
                    f"side, to within {fine_text(plane.residual_mm, show)}.")  # fmt: skip
    elif plane.residual_mm > 0.0:
        told.append(f"The picks lie within {fine_text(plane.residual_mm, show)} of it.")
    return " ".join(told)


def share_words(share: float) -> str:
    """Return a share as a shaper says it.

    >>> share_words(0.97), share_words(0.72), share_words(0.4)
    ('Nearly all', 'Seven parts in ten', 'Four parts in ten')
    """
    tenths = round(10.0 * share)
    names = ("None", "One part", "Two parts", "Three parts", "Four parts", "Five parts",
             "Six parts", "Seven parts", "Eight parts", "Nine parts")  # fmt: skip
    return "Nearly all" if tenths >= 10 else f"{names[tenths]} in ten" if tenths else "Hardly any"


def level_words(datum: Datum, level: str) -> str:
    """Return what it is levelled by."""
    if "level" in datum.guessed:
        return "A guess: no flat bottom edge was found. Say it by heights or degrees."
    how = {
        "auto": "By the flat bottom edge",
        "picks": "By the heights picked",
        "given": "As typed",
    }[level]
    if datum.level_spread_rad is None:
        return f"{how}."
    degrees = plain_number(float(np.degrees(datum.level_spread_rad)), 2)
    return f"{how}, sure to {degrees} degrees."
