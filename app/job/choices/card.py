"""The job card: stages in the maker's own order, and what was done and measured on each panel.

Plain values that never reach a pattern. An edit is a pure function from a card to the next card.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

StageState = Literal["to do", "doing", "waiting", "done"]
STAGE_STATES: tuple[StageState, ...] = get_args(StageState)

USUAL_STAGES = (
    "take the order",
    "receive the tank",
    "scan and set true",
    "clean up the scan",
    "plug, skin and form",
    "choose panel breaks",
    "patterns, tried in card",
    "cut blanks",
    "anneal",
    "bump into the form",
    "lines and details",
    "wheel and planish",
    "tip flanges",
    "trim to fit",
    "tack",
    "weld top and sides",
    "fittings and baffles",
    "tunnel and base",
    "close up",
    "leak test",
    "file and finish",
    "clean and deliver",
)
"""The order a new card starts with; makers differ, so it is theirs to change. Common practice, no
source."""


class BadCardEntryError(ValueError):
    """An entry no job card can hold.

    Attributes
    ----------
    entry : str
        What it was for: "hours", "thickness".
    found : object
    wanted : str
        What it may be.
    """

    def __init__(self, entry: str, found: object, wanted: str) -> None:
        self.entry, self.found, self.wanted = entry, found, wanted
        super().__init__(f"{entry} is {found!r}; it must be {wanted}")


@dataclass(frozen=True)
class Stage:
    """A stage of the job.

    Attributes
    ----------
    name : str
        No two stages of a card share one.
    state : "to do", "doing", "waiting" or "done"
    waiting_for : str
        What for: cure, the customer, metal. Only while waiting.
    """

    name: str
    state: StageState = "to do"
    waiting_for: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise BadCardEntryError("stage", self.name, "a name")
        if self.state not in STAGE_STATES:
            raise BadCardEntryError("stage state", self.state, f"one of {', '.join(STAGE_STATES)}")
        if self.waiting_for and self.state != "waiting":
            raise BadCardEntryError("waiting for", self.waiting_for, "empty unless it waits")

    @property
    def words(self) -> str:
        """The stage and how it stands, in a phrase.

        >>> Stage("cut blanks", "waiting", "metal").words, Stage("tack").words
        ('cut blanks: waiting for metal', 'tack')
        """
        if self.state == "waiting":
            return f"{self.name}: waiting" + (f" for {self.waiting_for}" * bool(self.waiting_for))
        return self.name if self.state == "to do" else f"{self.name}: {self.state}"


@dataclass(frozen=True)
class Reading:
    """Something measured on a panel: a thickness, or a gap to the form or to the next panel.

    Attributes
    ----------
    place : str
        In the maker's words: "crown", "seam A, mark 3".
    mm : float
    """

    place: str
    mm: float

    def __post_init__(self) -> None:
        _check_amount(f"reading at {self.place or 'no place'}", self.mm)


@dataclass(frozen=True)
class PanelCard:
    """What was done and measured on one panel.

    Attributes
    ----------
    panel : str
    stage : str
        The name of the stage it has come to; empty where nobody said.
    anneals : int
        How often it was annealed.
    thickness : tuple of Reading
    gaps : tuple of Reading
    hours : float
        Spent on it.
    metal_mm2 : float
        Sheet taken for it, offcut and second try included; 0 while nobody said.
    note : str
    """

    panel: str
    stage: str = ""
    anneals: int = 0
    thickness: tuple[Reading, ...] = ()
    gaps: tuple[Reading, ...] = ()
    hours: float = 0.0
    metal_mm2: float = 0.0
    note: str = ""

    def __post_init__(self) -> None:
        if type(self.anneals) is not int or self.anneals < 0:
            raise BadCardEntryError("anneals", self.anneals, "a whole number from 0")
        _check_amount("hours", self.hours)
        _check_amount("metal used", self.metal_mm2)


@dataclass(frozen=True)
class JobCard:
    """The card of one tank.

    Attributes
    ----------
    stages : tuple of Stage
        In the maker's own order.
    panels : tuple of PanelCard
        Those something is written down for.
    hours : float
        Spent on the tank as a whole, over and above those of its panels.
    note : str
    """

    stages: tuple[Stage, ...] = tuple(Stage(name) for name in USUAL_STAGES)
    panels: tuple[PanelCard, ...] = ()
    hours: float = 0.0
    note: str = ""

    def __post_init__(self) -> None:
        _check_amount("hours", self.hours)
        for entry, names in (
            ("stage", [stage.name for stage in self.stages]),
            ("panel", [panel.panel for panel in self.panels]),
        ):
            twice = next((name for name in names if names.count(name) > 1), None)
            if twice is not None:
                raise BadCardEntryError(entry, twice, "on the card once")

    @property
    def all_hours(self) -> float:
        """Hours of the tank and of all its panels."""
        return self.hours + sum(panel.hours for panel in self.panels)

    def panel_card(self, panel: str) -> PanelCard:
        """Return what is written down for a panel; an empty card where nothing is."""
        return next((each for each in self.panels if each.panel == panel), PanelCard(panel))


def next_step(card: JobCard) -> Stage | None:
    """Return the stage being done, otherwise the first not done; None when all are.

    >>> next_step(with_stage_state(JobCard(), 0, "done")).words
    'receive the tank'
    """
    doing = (stage for stage in card.stages if stage.state == "doing")
    left = (stage for stage in card.stages if stage.state != "done")
    return next(doing, next(left, None))


def next_step_words(card: JobCard) -> str:
    """Return the next step as a board shows it.

    >>> next_step_words(JobCard()), next_step_words(JobCard(stages=()))
    ('take the order', 'all done')
    """
    step = next_step(card)
    return "all done" if step is None else step.words


def fresh_card(stages: Sequence[str] = ()) -> JobCard:
    """Return the card a new job starts with: the maker's own stages, or the usual ones.

    >>> [stage.name for stage in fresh_card(["base", "sides"]).stages], len(fresh_card().stages)
    (['base', 'sides'], 22)
    """
    return with_stages_named(JobCard(), stages or USUAL_STAGES)


def with_stages_named(card: JobCard, names: Sequence[str]) -> JobCard:
    """Return the card with the maker's own list; a stage kept by name keeps how it stands."""
    there = {stage.name: stage for stage in card.stages}
    return replace(card, stages=tuple(there.get(name, Stage(name)) for name in names))


def with_stage_added(card: JobCard, name: str, at: int | None = None) -> JobCard:
    """Return the card with one more stage, before number `at` from 0, or last."""
    at = len(card.stages) if at is None else at
    return replace(card, stages=(*card.stages[:at], Stage(name), *card.stages[at:]))


def without_stage(card: JobCard, at: int) -> JobCard:
    """Return the card without its stage number `at`, from 0."""
    return replace(card, stages=card.stages[:at] + card.stages[at + 1 :])


def with_stage_moved(card: JobCard, at: int, to: int) -> JobCard:
    """Return the card with stage number `at` taken out and put back as number `to`, from 0."""
    rest = card.stages[:at] + card.stages[at + 1 :]
    return replace(card, stages=(*rest[:to], card.stages[at], *rest[to:]))


def with_stage_renamed(card: JobCard, at: int, name: str) -> JobCard:
    """Return the card with a stage called otherwise, for its panels too."""
    old = card.stages[at].name
    panels = tuple(
        replace(panel, stage=name) if panel.stage == old else panel for panel in card.panels
    )
    return replace(_with_stage(card, at, replace(card.stages[at], name=name)), panels=panels)


def with_stage_state(card: JobCard, at: int, state: StageState, waiting_for: str = "") -> JobCard:
    """Return the card with stage number `at`, from 0, standing otherwise."""
    stage = Stage(card.stages[at].name, state, waiting_for)
    return _with_stage(card, at, stage)


def with_panel_card(card: JobCard, panel: PanelCard) -> JobCard:
    """Return the card with what is written down for one panel, in place of what was."""
    names = [each.panel for each in card.panels]
    if panel.panel not in names:
        return replace(card, panels=(*card.panels, panel))
    at = names.index(panel.panel)
    return replace(card, panels=(*card.panels[:at], panel, *card.panels[at + 1 :]))


def without_panel_card(card: JobCard, panel: str) -> JobCard:
    """Return the card with nothing written down for a panel."""
    return replace(card, panels=tuple(each for each in card.panels if each.panel != panel))


def with_panel_card_renamed(card: JobCard, old: str, new: str) -> JobCard:
    """Return the card with a panel called otherwise."""
    panels = (replace(each, panel=new) if each.panel == old else each for each in card.panels)
    return replace(card, panels=tuple(panels))


def with_anneal(card: JobCard, panel: str) -> JobCard:
    """Return the card with a panel annealed once more."""
    there = card.panel_card(panel)
    return with_panel_card(card, replace(there, anneals=there.anneals + 1))


def with_thickness(card: JobCard, panel: str, reading: Reading) -> JobCard:
    """Return the card with one more thickness reading of a panel."""
    there = card.panel_card(panel)
    return with_panel_card(card, replace(there, thickness=(*there.thickness, reading)))


def with_gap(card: JobCard, panel: str, reading: Reading) -> JobCard:
    """Return the card with one more fit gap of a panel."""
    there = card.panel_card(panel)
    return with_panel_card(card, replace(there, gaps=(*there.gaps, reading)))


def with_hours(card: JobCard, hours: float, panel: str | None = None) -> JobCard:
    """Return the card with hours more spent on a panel, or on the tank as a whole."""
    _check_amount("hours", hours)
    if panel is None:
        return replace(card, hours=card.hours + hours)
    there = card.panel_card(panel)
    return with_panel_card(card, replace(there, hours=there.hours + hours))


def _with_stage(card: JobCard, at: int, stage: Stage) -> JobCard:
    return replace(card, stages=(*card.stages[:at], stage, *card.stages[at + 1 :]))


def _check_amount(entry: str, amount: float) -> None:
    if not (math.isfinite(amount) and amount >= 0.0):
        raise BadCardEntryError(entry, amount, "a number from 0")
