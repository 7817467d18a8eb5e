"""Fittings: the filler where it is moved or set anew, taps, vents and mounts."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from app.job import (
    Fitted,
    FittingsChoice,
    JobState,
    StoodTank,
    fitted_words,
    made,
    old_filler,
    stands_words,
)
from app.units import length_text
from app.window.steps.optional_form import OptionalForm
from app.window.steps.rest_view import RestView, SpecList
from app.window.steps.spec_form import FormRow
from app.window.steps.standing import Desk
from geometry.tank import THREADS, BossSpec, FillerSpec

_AHEAD = "Ahead of the rear end"
_FILLER_ROWS = (
    FormRow("x_mm", _AHEAD, "place"),
    FormRow("y_mm", "Left of the centre", "place", tip="0 keeps it on the centre plane"),
    FormRow("hole_mm", "Hole for the neck, across", least=1.0),
    FormRow("ring_mm", "Ring, across", least=1.0),
    FormRow(
        "seat", "Seat", "choice", choices=(("flat", "flat"), ("recessed", "recessed, beaten in"))
    ),
    FormRow("recess_mm", "Recess, across inside", least=1.0),
    FormRow("depth_mm", "Depth of the recess", least=0.1),
    FormRow("flange_mm", "Flange beaten round it"),
    FormRow("floor_corner_mm", "Radius at its floor, inside"),
    FormRow("edge_radius_mm", "Radius of the beaten edge, as seen"),
    FormRow("cap_mm", "Cap, across", least=1.0),
    FormRow("cap_height_mm", "Cap, from its seat to its top"),
)
_BOSS_ROWS = (
    FormRow("name", "Called", "text"),
    FormRow(
        "kind", "It is a", "choice", choices=(("tap", "tap"), ("vent", "vent"), ("mount", "mount"))
    ),
    FormRow(
        "thread",
        "Thread",
        "choice",
        choices=tuple((thread.name, thread.name) for thread in THREADS),
    ),
    FormRow("x_mm", _AHEAD, "place"),
    FormRow("y_mm", "Left of the centre", "place", tip="Below 0 it stands right"),
    FormRow("below", "On the bottom", "yes"),
    FormRow("wall_mm", "Metal round the thread", least=0.5),
    FormRow("spigot_mm", "Shoulder on the radius"),
    FormRow(
        "standpipe_mm",
        "Standpipe over the floor",
        tip="Empty: none. What lies below its mouth is the reserve",
        may_be_empty=True,
    ),
)


class FittingsView(RestView):
    """What filler, taps and vents need."""

    STEP = "Fittings"
    TITLE = "Set filler, taps and vents"
    ABOUT = (
        "The filler moved or given another seat, bosses with their threads and drills, the patch "
        "for an old filler hole. Holes are cut after forming. The vent must let air in and "
        "pressure out; how far a cap may stand up is for the local rule to say."
    )
    FIELD = "fittings"
    BEGIN = "Set fittings"
    ROWS = ()

    def __init__(self) -> None:
        super().__init__()
        self.filler = OptionalForm("The filler is moved, or set anew", _FILLER_ROWS)
        self.filler.changed.connect(self._take_filler)
        self.between.addWidget(self.filler)
        self.bosses = SpecList("Taps, vents and mounts", "Add one", _BOSS_ROWS)
        self.bosses.changed.connect(self._take_bosses)
        self.bosses.chosen.connect(self._choose)
        self.between.addWidget(self.bosses)

    def usual(self, state: JobState) -> FittingsChoice:
        """Return what the maker begins with: nothing moved, nothing fitted."""
        return FittingsChoice()

    def told(self, state: JobState, desk: Desk) -> list[str]:
        """Return what is fitted and what it asks for."""
        found: Fitted | None = made(state, "Fittings")
        stood: StoodTank | None = made(state, "Stood")
        if found is None or stood is None:
            return []
        return [*stands_words(stood), *fitted_words(found, desk.show)]

    def show_more(self, state: JobState, desk: Desk, spec: Any) -> None:
        """Show the filler's measures where it is set anew, and the list of bosses."""
        self.filler.show_spec(spec.filler, usual_filler(state), desk.show)
        words = [boss_row(boss, desk.show) for boss in spec.bosses]
        self.bosses.show_items(spec.bosses, words, usual_boss(state), desk.show)

    def follow(self, kind: str, number: int) -> None:
        """Choose a boss."""
        if kind == "boss":
            self.bosses.go_to(number)

    def page_of(self, kind: str, number: int) -> str:
        """Return the page the bosses are drawn on."""
        return "bosses.pdf" if kind == "boss" and number >= 0 else ""

    def _choose(self, at: int) -> None:
        self.row_chosen.emit("boss", at)

    @property
    def _spec(self) -> FittingsChoice:
        spec: FittingsChoice = getattr(self._state.rest, self.FIELD)
        return spec

    def _take_filler(self, filler: FillerSpec | None) -> None:
        self.decide(replace(self._spec, filler=filler), "Filler")

    def _take_bosses(self, bosses: Sequence[BossSpec]) -> None:
        self.decide(replace(self._spec, bosses=tuple(bosses)), "Taps, vents and mounts")


def usual_filler(state: JobState) -> FillerSpec:
    """Return a filler to begin with: where the scanned one is, on the centre plane."""
    stood: StoodTank | None = made(state, "Stood")
    number = None if stood is None else old_filler(stood)
    if stood is None or number is None:
        return FillerSpec(_middle(stood))
    old = stood.openings[number]
    return FillerSpec(round(float(old.centre[0]), 1), hole_mm=round(old.diameter_mm, 1))


def usual_boss(state: JobState) -> BossSpec:
    """Return a tap to begin with: in the larger pool on the level, where that is known."""
    found = made(state, "Capacity")
    if found is not None and found.stances[0].points:
        x, y = (round(float(value), 1) for value in found.stances[0].points[0].place[:2])
        return BossSpec("tap", "G 1/4", x, y)
    return BossSpec("tap", "G 1/4", _middle(made(state, "Stood")), 50.0)


def _middle(stood: StoodTank | None) -> float:
    if stood is None:
        return 200.0
    return round(float(stood.outside.vertices[:, 0].max()) / 2.0, 1)


def boss_row(boss: BossSpec, show: str) -> str:
    """Return what a row of the list says."""
    ahead = length_text(boss.x_mm, show, decimals=0)
    return f"{boss.name}: {boss.kind}, {boss.thread}, {ahead} ahead"
