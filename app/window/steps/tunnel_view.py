"""The tunnel: its form, ends, steps, place, the tube it goes over, clearances; what came of it."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox

from app.job import JobState, Surface, TunnelLaid, made, tunnel_sheet, tunnel_told
from app.units import length_text
from app.window.steps.optional_form import tick_untold
from app.window.steps.rest_view import RestView, SpecList
from app.window.steps.spec_form import FormRow, SpecForm
from app.window.steps.standing import Desk
from app.window.steps.tunnel_sheet_part import TunnelSheetPart
from app.window.steps.tunnel_tube_part import BODY_ROWS, BodyFields, TunnelTubePart, fields_of
from geometry.tank import RoundBody, TunnelEnd, TunnelPlace, TunnelSpec, TunnelStep

_END_ROWS = (
    FormRow("front.height_mm", "Front height, inside", least=1.0, tip="Foot line to crown"),
    FormRow("front.width_mm", "Front width, inside", least=1.0),
    FormRow("rear.height_mm", "Rear height, inside", least=1.0, tip="Foot line to crown"),
    FormRow("rear.width_mm", "Rear width, inside", least=1.0),
)
_FOOT_ROWS = (
    FormRow("place.foot_mm", "Foot line at the rear, up", "place"),
    FormRow("place.nose_up_rad", "Foot line rises ahead", "angle"),
)
_BEND_ROWS = (
    FormRow("bend_radius_mm", "Inside bend radius", least=0.1),
    FormRow("tighter_bend", "Tighter than the metal's least is meant", "yes"),
)
_STEP_ROWS = (
    FormRow("at_mm", "Ahead of the rear end", least=1.0),
    FormRow("behind.height_mm", "Behind it: height", least=1.0),
    FormRow("behind.width_mm", "Behind it: width", least=1.0),
    FormRow("ahead.height_mm", "Ahead of it: height", least=1.0),
    FormRow("ahead.width_mm", "Ahead of it: width", least=1.0),
)
_ROOMS = (
    ("left", "left after welding"),
    ("bolts", "bolts"),
    ("rubbers", "rubbers"),
    ("cables", "cables"),
    ("coil", "coil"),
    ("rubber_squash", "rubber squash"),
    ("weld_pull_in", "weld pull-in"),
)
_ROOM_ROWS = tuple(
    row
    for name, words in _ROOMS
    for row in (
        FormRow(f"room.{name}.over_mm", f"Over the tube: {words}"),
        FormRow(f"room.{name}.side_mm", f"Each side: {words}"),
    )
)


class TunnelView(RestView):
    """What a tunnel needs."""

    STEP = "Tunnel"
    TITLE = "Lay out the tunnel"
    ABOUT = (
        "Its net at full size, rolled or folded, with bend lines, cut-off band and the lines its "
        "ends are scribed to; the sum of clearances, and the gaps before and after welding."
    )
    FIELD = "tunnel"
    BEGIN = "Begin the tunnel"
    ROWS = (
        FormRow(
            "top",
            "Its top",
            "choice",
            tip="A round top that tapers is a half cone, whichever it is called",
            choices=(
                ("half round", "half round"),
                ("half cone", "half cone"),
                ("flat", "flat, rolled corners"),
                ("three sided", "three sided, folded"),
            ),
        ),
        FormRow("length_mm", "Length", least=1.0),
        FormRow("corner_radius_mm", "Corner radius of a flat top, inside", least=0.1),
        FormRow("flare_rad", "Flare of each leg", "angle"),
        FormRow("run_out_mm", "Run-out past the ends and below", tip="Half an inch is usual"),
        FormRow("place.rear_mm", "Rear end ahead of the tank's rear", "place"),
        FormRow("place.fore_aft_mm", "May end up fore or aft by"),
        FormRow("place.up_down_mm", "May end up higher or lower by"),
    )

    tube_file_requested = Signal()
    """A scan of the frame tube is to be chosen."""

    def __init__(self) -> None:
        super().__init__()
        self.follows_tube = self._tick("Ends follow the tube and the clearances", self._follow)
        self.ends_form = self._form(_END_ROWS)
        self.foot_said = self._tick("I say how high it sits", self._say_foot)
        self.foot_form = self._form(_FOOT_ROWS)
        self.sheet = TunnelSheetPart()
        self.sheet.changed.connect(self._change_sheet)
        self.between.addWidget(self.sheet)
        self.bend_said = self._tick("A bend radius of my own", self._say_bend)
        self.bend_form = self._form(_BEND_ROWS)
        self.tube = TunnelTubePart()
        self.tube.taken.connect(self._take_tube)
        self.tube.changed.connect(self._change_tube)
        self.tube.file_requested.connect(self.tube_file_requested)
        self.between.addWidget(self.tube)
        self.room_form = self._form(_ROOM_ROWS)
        self.others = SpecList("Bolts, cables, what else it clears", "Add a body", BODY_ROWS)
        self.others.changed.connect(self._change_others)
        self.between.addWidget(self.others)
        self.steps = SpecList("Steps in height or width", "Add a step", _STEP_ROWS)
        self.steps.changed.connect(self._change_steps)
        self.between.addWidget(self.steps)

    def _tick(self, words: str, take: Any) -> QCheckBox:
        box = QCheckBox(words)
        box.toggled.connect(take)
        self.between.addWidget(box)
        return box

    def _form(self, rows: Sequence[FormRow]) -> SpecForm:
        form = SpecForm(rows)
        form.changed.connect(self._change)
        self.between.addWidget(form)
        return form

    def usual(self, state: JobState) -> TunnelSpec:
        """Return what the maker begins with: three quarters of the tank long, a third high."""
        long, high = _size(state)
        end = TunnelEnd(round(high / 3.0), round(high / 4.0))
        return TunnelSpec(
            float(round(0.75 * long)), end, end, place=TunnelPlace(float(round(0.12 * long)))
        )

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what came of it."""
        found: TunnelLaid | None = made(state, "Tunnel")
        return [] if found is None else list(tunnel_told(found, desk.show))

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show what is said of the ends, the tube, the bodies and the steps."""
        numbers = spec.front is not None and spec.rear is not None
        tick_untold(self.follows_tube, not numbers)
        self.follows_tube.setEnabled(spec.has_tube)
        parts = (
            (self.ends_form, numbers, None),
            (self.foot_form, spec.place.foot_mm is not None, self.foot_said),
            (self.bend_form, spec.bend_radius_mm is not None, self.bend_said),
            (self.room_form, spec.has_tube, None),
        )
        for form, is_said, box in parts:
            form.setVisible(is_said)
            if box is not None:
                tick_untold(box, is_said)
            if is_said:
                form.show_spec(spec, desk.show)
        self.sheet.show_spec(state, spec, desk)
        self.tube.show_spec(state, spec, desk)
        self._show_lists(spec, desk)

    def _show_lists(self, spec: TunnelSpec, desk: Desk) -> None:
        bodies = tuple(fields_of(body) for body in spec.others)
        names = [f"{body.name}, {length_text(body.diameter_mm, desk.show)}" for body in spec.others]
        self.others.show_items(bodies, names, fields_of(_bolt(spec)), desk.show)
        words = [f"{length_text(s.at_mm, desk.show)} ahead of the rear end" for s in spec.steps]
        self.steps.show_items(spec.steps, words, _usual_step(spec), desk.show)

    # ---- what is asked for

    @property
    def _spec(self) -> TunnelSpec:
        spec: TunnelSpec = getattr(self._state.rest, self.FIELD)
        return spec

    def _follow(self, wanted: bool) -> None:
        spec = self._spec
        if wanted:
            self.decide(replace(spec, front=None, rear=None), "Ends of the tunnel")
            return
        found: TunnelLaid | None = made(self._state, "Tunnel")
        usual = self.usual(self._state)
        rear, front = usual.rear, usual.front
        if found is not None:
            rear, front = found.tunnel.spans[0].behind, found.tunnel.spans[-1].ahead
        self.decide(replace(spec, front=front, rear=rear), "Ends of the tunnel")

    def _say_foot(self, wanted: bool) -> None:
        found: TunnelLaid | None = made(self._state, "Tunnel")
        foot, tilt = None, None
        if wanted:
            foot, tilt = 0.0, 0.0
            if found is not None:
                foot, tilt = round(found.tunnel.seat.foot_mm, 1), found.tunnel.seat.nose_up_rad
        place = replace(self._spec.place, foot_mm=foot, nose_up_rad=tilt)
        self.decide(replace(self._spec, place=place), "Height of the tunnel")

    def _change_sheet(self, spec: TunnelSpec) -> None:
        self.decide(spec, "Sheet of the tunnel")

    def _say_bend(self, wanted: bool) -> None:
        sheet = tunnel_sheet(self._spec, self._state.metal)
        radius = max(sheet.thickness_mm, sheet.least_radius_mm or 0.0) if wanted else None
        self.decide(replace(self._spec, bend_radius_mm=radius, tighter_bend=False), "Bend radius")

    def _take_tube(self, wanted: bool) -> None:
        spec = self._spec
        if wanted:
            self.decide(replace(spec, tube=_usual_tube(spec)), "Frame tube")
            return
        usual = self.usual(self._state)
        front, rear = spec.front or usual.front, spec.rear or usual.rear
        without = replace(spec, tube=None, scanned_tube=None, front=front, rear=rear)
        self.decide(without, "No frame tube")

    def _change_tube(self, spec: TunnelSpec) -> None:
        self.decide(spec, "Frame tube")

    def _change_others(self, bodies: Sequence[BodyFields]) -> None:
        others = tuple(fields.body for fields in bodies)
        self.decide(replace(self._spec, others=others), "Bodies under the tunnel")

    def _change_steps(self, steps: tuple[TunnelStep, ...]) -> None:
        self.decide(replace(self._spec, steps=steps), "Steps of the tunnel")


def _size(state: JobState) -> tuple[float, float]:
    """Return about how long and how high the tank is, mm; something usual while it is not known."""
    surface: Surface | None = made(state, "Surface")
    if surface is None:
        return 500.0, 220.0
    places = surface.working.outside[:: max(1, len(surface.working.outside) // 5000)]
    centred = places - places.mean(axis=0)
    reach = np.ptp(centred @ np.linalg.svd(centred, full_matrices=False)[2].T, axis=0)
    return float(reach[0]), float(reach[2])


def _usual_tube(spec: TunnelSpec) -> RoundBody:
    """Return a tube of 1 1/2 inch along the tunnel, half way up it."""
    high = 60.0 if spec.rear is None else 0.5 * spec.rear.height_mm
    rear = spec.place.rear_mm
    return RoundBody(
        "frame tube", (rear - 40.0, 0.0, high), (rear + spec.length_mm + 40.0, 0.0, high), 38.1
    )


def _bolt(spec: TunnelSpec) -> RoundBody:
    """Return a bolt across the middle of the tunnel."""
    ahead = spec.place.rear_mm + 0.5 * spec.length_mm
    return RoundBody("bolt", (ahead, -15.0, 30.0), (ahead, 15.0, 30.0), 8.0)


def _usual_step(spec: TunnelSpec) -> TunnelStep:
    """Return a step in the middle of the last piece, 10 mm larger ahead of it."""
    last = spec.steps[-1].at_mm if spec.steps else 0.0
    behind = spec.steps[-1].ahead if spec.steps else spec.rear or TunnelEnd(70.0, 50.0)
    ahead = TunnelEnd(behind.height_mm + 10.0, behind.width_mm + 20.0)
    return TunnelStep(0.5 * (last + spec.length_mm), behind, ahead)
