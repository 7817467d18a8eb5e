"""Seat face: which flat the seat meets, held or not, and what came of it."""

from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QCheckBox, QPushButton

from app.job import SEAT_FACE, JobState, Seat, SeatChoice, TankSpot, held_seat, made
from app.units import angle_text, length_text, mm_text
from app.window.steps.optional_form import tick_untold
from app.window.steps.rest_view import RestView
from app.window.steps.spec_form import FormRow, SpecForm
from app.window.steps.standing import Desk

SPOT_ROWS = (
    FormRow("ahead_mm", "Ahead of the rear end", "place"),
    FormRow("left_mm", "Left of the centre", "place", tip="Below nothing: to the right"),
    FormRow("up_mm", "Over the lowest place", "place"),
)


class SeatView(RestView):
    """What the seat face needs."""

    STEP = SEAT_FACE
    TITLE = "Hold the face the seat meets"
    ABOUT = (
        "The flat at the back: its plane, its edge, how flat it is, and the line the seat's lip "
        "follows. Once held, neither sides, fillers nor seams move it."
    )
    FIELD = "seat"
    BEGIN = "Find the seat face"
    ROWS = (
        FormRow("line_ahead_mm", "The lip's line, ahead of the face", tip="Beyond its round"),
        FormRow("board_mm", "Width of the template over it", least=5.0),
        FormRow("gap_mm", "May show between face and seat"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.names_place = QCheckBox("I say where on the tank it is")
        self.names_place.toggled.connect(self._take_near)
        self.between.addWidget(self.names_place)
        self.near_form = SpecForm(SPOT_ROWS)
        self.near_form.changed.connect(self._change_near)
        self.between.addWidget(self.near_form)
        self.hold = QPushButton("Hold this face")
        self.hold.clicked.connect(self._hold)
        self.between.addWidget(self.hold)

    def usual(self, state: JobState) -> SeatChoice:
        """Return what the maker begins with."""
        return SeatChoice()

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what came of it."""
        seat: Seat | None = made(state, SEAT_FACE)
        if seat is None:
            return []
        said = [f"Leans {angle_text(seat.plane.lean_rad)} ahead of upright."]
        if seat.face is not None:
            said.append(f"Flat within {mm_text(seat.face.flatness_mm, 1)}, noise taken off.")
        if seat.moved is not None and seat.has_moved:
            said.append(
                f"The skin moved off it: {length_text(abs(seat.moved.out_mm), desk.show)} "
                f"{'out' if seat.moved.out_mm > 0.0 else 'in'}, turned "
                f"{angle_text(seat.moved.tilt_rad, 2)}, edge off by "
                f"{length_text(seat.moved.edge_mm, desk.show)}. The face held stays."
            )
        elif seat.has_moved:
            said.append("The skin has no flat there any more. The face held stays.")
        if seat.line_filled.any():
            said.append("Part of the lip's line was not scanned: filled by guess.")
        return said

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show the place named, and whether the face is held."""
        tick_untold(self.names_place, spec.near is not None)
        self.names_place.setEnabled(spec.held is None)
        self.near_form.setVisible(spec.near is not None and spec.held is None)
        if spec.near is not None:
            self.near_form.show_spec(spec.near, desk.show)
        is_held = spec.held is not None
        self.hold.setText("Let it go: find it anew" if is_held else "Hold this face")
        self.hold.setEnabled(is_held or made(state, SEAT_FACE) is not None)

    # ---- what is asked for

    @property
    def _spec(self) -> SeatChoice:
        spec: SeatChoice = getattr(self._state.rest, self.FIELD)
        return spec

    def _take_near(self, wanted: bool) -> None:
        near = None
        if wanted:
            seat: Seat | None = made(self._state, SEAT_FACE)
            near = TankSpot() if seat is None else _spot(seat)
        self.decide(replace(self._spec, near=near), "Where the seat face is")

    def _change_near(self, near: TankSpot) -> None:
        self.decide(replace(self._spec, near=near), "Where the seat face is")

    def _hold(self) -> None:
        if self._spec.held is not None:
            self.decide(replace(self._spec, held=None), "Let the seat face go")
            return
        seat: Seat | None = made(self._state, SEAT_FACE)
        if seat is not None:
            self.decide(replace(self._spec, held=held_seat(seat)), "Hold the seat face")


def _spot(seat: Seat) -> TankSpot:
    """Return the middle of a seat face, to a tenth of a millimetre."""
    x, y, z = (round(float(value), 1) for value in seat.plane.edge[:-1].mean(axis=0))
    return TankSpot(x, y, z)
