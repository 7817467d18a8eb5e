"""Capacity: how the tank is closed, the tunnel, the stances, and what the tank holds."""

from dataclasses import replace
from typing import Any

from app.job import (
    CapacityChoice,
    Fuel,
    JobState,
    PartFill,
    StoodTank,
    fuel_words,
    made,
    stands_words,
)
from app.window.steps.optional_form import OptionalForm
from app.window.steps.rest_view import RestView
from app.window.steps.spec_form import FormRow
from app.window.steps.standing import Desk
from geometry.tank import PlainTunnel

_TUNNEL_ROWS = (
    FormRow("front_width_mm", "Width at the front, inside", least=1.0),
    FormRow("front_height_mm", "Height at the front", least=1.0, tip="Over the bottom edge"),
    FormRow("rear_width_mm", "Width at the rear, inside", least=1.0),
    FormRow("rear_height_mm", "Height at the rear", least=1.0, tip="Over the bottom edge"),
    FormRow(
        "top",
        "Its top",
        "choice",
        choices=(
            ("half round", "half round"),
            ("flat", "flat"),
            ("three-sided", "three sided, folded square"),
            ("cut corners", "its corners cut off"),
        ),
    ),
)
_PART_ROWS = (
    FormRow("litres", "So much in it", "litres", tip="3.5, 500 ml, 0.9 US gal or 0.75 imp gal"),
    FormRow("lean_rad", "Leant by", "angle"),
    FormRow("lean_to", "To the", "choice", choices=(("left", "left"), ("right", "right"))),
    FormRow("nose_up_rad", "Nose up by", "angle", tip="Below 0, nose down"),
)
_USUAL_TUNNEL = PlainTunnel(65.0, 60.0, 75.0, 65.0)


class CapacityView(RestView):
    """What counting the tank's room needs."""

    STEP = "Capacity"
    TITLE = "Count what the tank holds"
    ABOUT = (
        "Litres and gallons inside the metal, less the tunnel; where fuel gathers on the level, on "
        "the side stand and on a slope, what no tap lets out, the reserve, and a dip chart. Leave "
        "room for fuel to grow warm; keep flame and heat away from fuel and its vapour."
    )
    FIELD = "capacity"
    BEGIN = "Count the capacity"
    ROWS = (
        FormRow(
            "closing",
            "An open bottom edge",
            "choice",
            tip="Nothing is closed unasked",
            choices=(
                ("not said", "not said yet"),
                ("flat", "is closed by one flat sheet"),
                ("ruled", "is closed straight from left to right"),
            ),
        ),
        FormRow("baffles_cm3", "Metal of baffles inside, cm3", "count"),
        FormRow("lean_rad", "Lean on the side stand", "angle"),
        FormRow(
            "lean_to", "It leans to the", "choice", choices=(("left", "left"), ("right", "right"))
        ),
        FormRow("nose_rad", "Slope, nose up and nose down", "angle"),
        FormRow(
            "laid_tunnel",
            "Take off the tunnel laid out at Tunnel",
            "yes",
            tip="Else by its measures",
        ),
        FormRow("crossover", "A tube joins the two low places", "yes"),
        FormRow(
            "stick_x_mm",
            "Dip stick, ahead of the rear end",
            "place",
            tip="Both or neither: under the filler, beside the tunnel, where nobody says",
            may_be_empty=True,
        ),
        FormRow(
            "stick_y_mm",
            "Dip stick, left",
            "place",
            tip="Both or neither; below 0 it stands right of the centre",
            may_be_empty=True,
        ),
    )

    def __init__(self) -> None:
        super().__init__()
        self.tunnel = OptionalForm("A tunnel is to be taken off", _TUNNEL_ROWS)
        self.tunnel.changed.connect(self._take_tunnel)
        self.between.addWidget(self.tunnel)
        self.part = OptionalForm("Look at it with some fuel in it", _PART_ROWS)
        self.part.changed.connect(self._take_part)
        self.between.addWidget(self.part)

    def usual(self, state: JobState) -> CapacityChoice:
        """Return what the maker begins with."""
        return CapacityChoice()

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what the tank holds and where fuel lies."""
        found: Fuel | None = made(state, "Capacity")
        stood: StoodTank | None = made(state, "Stood")
        if found is None or stood is None:
            return []
        return [*stands_words(stood), *fuel_words(found, desk.show)]

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show the tunnel's measures and the part filling where there is one."""
        self.tunnel.show_spec(spec.tunnel, _USUAL_TUNNEL, desk.show)
        self.tunnel.setVisible(not spec.laid_tunnel)
        self.part.show_spec(spec.part, PartFill(), desk.show)

    def _take_tunnel(self, tunnel: PlainTunnel | None) -> None:
        spec: CapacityChoice = getattr(self._state.rest, self.FIELD)
        self.decide(replace(spec, tunnel=tunnel), "Tunnel taken off")

    def _take_part(self, part: PartFill | None) -> None:
        spec: CapacityChoice = getattr(self._state.rest, self.FIELD)
        self.decide(replace(spec, part=part), "Some fuel in it")
