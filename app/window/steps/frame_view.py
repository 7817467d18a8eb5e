"""Frame fit: bodies beside the tank, the steering, a second scan, and the gaps to them."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import Signal

from app.job import (
    FRAME_FIT,
    FrameBody,
    FrameFit,
    FrameFitChoice,
    FrameGap,
    JobState,
    SecondScan,
    SteeringChoice,
    TankSpot,
    frame_words,
    gap_place_words,
    lock_words,
    made,
    position_words,
)
from app.units import length_text
from app.window.steps.optional_form import OptionalForm
from app.window.steps.rest_view import RestView, SpecList
from app.window.steps.row_list import RowList
from app.window.steps.second_scan_part import SecondScanPart
from app.window.steps.spec_form import FormRow
from app.window.steps.standing import Desk

_KINDS = (
    ("tube", "frame tube"),
    ("bolt", "bolt"),
    ("rubber", "rubber"),
    ("coil", "coil"),
    ("cable", "cable"),
    ("fork leg", "fork leg, turns"),
    ("bar", "bar, turns"),
    ("other", "other"),
)


def _spot_rows(path: str, what: str) -> tuple[FormRow, ...]:
    return (
        FormRow(f"{path}.ahead_mm", f"{what}, ahead", "place", tip="Of the tank's rear end"),
        FormRow(f"{path}.left_mm", f"{what}, left", "place", tip="Below nothing: to the right"),
        FormRow(f"{path}.up_mm", f"{what}, up", "place", tip="Over the tank's lowest place"),
    )


_BODY_ROWS = (
    FormRow("name", "Name", "text"),
    FormRow("kind", "It is a", "choice", choices=_KINDS),
    FormRow("form", "Form", "choice", choices=(("round", "round"), ("block", "block"))),
    *_spot_rows("start", "One end"),
    *_spot_rows("end", "Other end"),
    FormRow("across_mm", "Across", least=0.1, tip="Its diameter, or a block's width"),
    FormRow("height_mm", "Height of a block"),
    FormRow("both_hands", "The same on the other hand", "yes"),
)
_STEERING_ROWS = (
    *_spot_rows("foot", "Axis, low"),
    *_spot_rows("top", "Axis, high"),
    FormRow("lock_rad", "Lock, to either side", "angle", tip="Measure it on the machine"),
)


class FrameView(RestView):
    """What the frame fit needs."""

    STEP = FRAME_FIT
    TITLE = "Hold the tank against the frame"
    ABOUT = (
        "Tubes, bolts, rubbers, coil, fork and bars as simple bodies in tank axes: the least gap "
        "to each, from lock to lock. No proof of fit: check it on the machine."
    )
    FIELD = "frame_fit"
    BEGIN = "Say what it stands beside"
    ROWS = (
        FormRow("at_lock_mm", "Room wanted at full lock"),
        FormRow("over_tube_mm", "Room wanted over a tube"),
        FormRow("beside_mm", "Room wanted beside the rest"),
        FormRow("least_mm", "Too near under"),
        FormRow("squash_mm", "A rubber may be pressed by"),
    )

    second_file_requested = Signal()
    """A scan of the frame is to be chosen."""

    placing_requested = Signal()
    """Places are to be clicked on both scans."""

    def __init__(self) -> None:
        super().__init__()
        self.bodies = SpecList("Bodies, in tank axes", "Add a body", _BODY_ROWS)
        self.bodies.changed.connect(self._take_bodies)
        self.between.addWidget(self.bodies)
        self.steering = OptionalForm("It steers", _STEERING_ROWS)
        self.between.addWidget(self.steering)
        self.steering.changed.connect(self._take_steering)
        self.second = SecondScanPart()
        self.second.changed.connect(self._take_second)
        self.second.file_requested.connect(self.second_file_requested)
        self.second.placing_requested.connect(self.placing_requested)
        self.between.addWidget(self.second)
        self.gaps = RowList()
        self.gaps.chosen.connect(self._choose)
        self.between.addWidget(self.gaps)

    def usual(self, state: JobState) -> FrameFitChoice:
        """Return what the maker begins with."""
        return FrameFitChoice(bodies=(_usual_body(),))

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what came of it."""
        fit: FrameFit | None = made(state, FRAME_FIT)
        if fit is None:
            return []
        said = [f"{frame_words(fit.gaps, desk.show)}.".capitalize()]
        if fit.guessed:
            ways = " and ".join(fit.guessed)
            said.append(f"Nobody said which way is {ways}: guessed. Every place hangs on it.")
        if any(fit.filled_near):
            said.append("Where a gap is least the skin was partly not scanned: see the list.")
        if lock_words(fit.choice):
            said.append(lock_words(fit.choice))
        if fit.placed_off_mm is not None:
            off = length_text(fit.placed_off_mm, desk.show)
            said.append(f"The second scan is placed to {off} at its worst place.")
        said.append("Check full lock, cables and hot parts on the machine, by somebody competent.")
        return said

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show bodies, steering, the second scan, and the gaps."""
        names = [f"{body.name}{', both hands' if body.both_hands else ''}" for body in spec.bodies]
        self.bodies.show_items(spec.bodies, names, _usual_body(), desk.show)
        self.steering.show_spec(spec.steering, _USUAL_STEERING, desk.show)
        self.second.show_second(state, desk)
        fit: FrameFit | None = made(state, FRAME_FIT)
        rows = [] if fit is None else gap_rows(fit, desk.show)
        kind, number = desk.chosen
        self.gaps.show_rows(rows, number if kind == "gap" else -1)

    def page_of(self, kind: str, number: int) -> str:
        """Return the page a row belongs to: the list is one."""
        return "frame fit.pdf" if kind == "gap" else ""

    # ---- what is asked for

    @property
    def _spec(self) -> FrameFitChoice:
        spec: FrameFitChoice = getattr(self._state.rest, self.FIELD)
        return spec

    def _choose(self, at: int) -> None:
        self.row_chosen.emit("gap", at)

    def _take_bodies(self, bodies: tuple[FrameBody, ...]) -> None:
        self.decide(replace(self._spec, bodies=bodies), "Bodies of the frame")

    def _take_steering(self, steering: SteeringChoice | None) -> None:
        self.decide(replace(self._spec, steering=steering), "Steering")

    def _take_second(self, second: SecondScan | None) -> None:
        self.decide(replace(self._spec, second=second), "Second scan")


_USUAL_STEERING = SteeringChoice(TankSpot(600.0, 0.0, 0.0), TankSpot(540.0, 0.0, 180.0))


def _usual_body() -> FrameBody:
    """Return what adding a body begins with: a tube under the tank, to be measured."""
    return FrameBody("top tube", start=TankSpot(0, 0, -30), end=TankSpot(500, 0, -30), across_mm=32)


def gap_rows(fit: FrameFit, show: str) -> list[str]:
    """Return what is told of every gap, a row each."""
    return [
        f"{number}: {position_words(each)}: {_gap(each, show)}; {gap_place_words(each, show)}"
        for number, each in enumerate(fit.gaps, start=1)
    ]


def _gap(each: FrameGap, show: str) -> str:
    if each.gap.side == "through":
        return f"{each.verdict.upper()}, {length_text(each.gap.reach_mm, show)} through"
    words = each.verdict.upper() if each.is_wrong else each.verdict
    return f"{length_text(each.gap_mm, show)}, {words}"
