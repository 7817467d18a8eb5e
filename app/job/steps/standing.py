"""How steps stand in a job: made, out of date, or waiting for the shaper."""

from app.job.choices import JobState
from app.job.making import StepState
from app.job.steps.table import failure, latest, made, panel_names, step


def parts_of(state: JobState, name: str) -> tuple[str, ...]:
    """Return a step's parts: the panels' names, or one nameless part."""
    return panel_names(state) if step(name).per_panel else ("",)


def part_state(state: JobState, name: str, part: str = "") -> StepState:
    """Return how one part of a step stands."""
    if made(state, name, part) is not None:
        return StepState.MADE
    if failure(state, name, part) is not None:
        return StepState.NEEDS_YOU
    return StepState.TO_DO if latest(state, name, part) is None else StepState.OUT_OF_DATE


def state_of(state: JobState, name: str) -> StepState:
    """Return how a step stands, all its parts together."""
    states = {part_state(state, name, part) for part in parts_of(state, name)}
    reached = all(all_made(state, before) for before in step(name).hangs_on)
    if StepState.NEEDS_YOU in states or (reached and step(name).asks(state)):
        return StepState.NEEDS_YOU
    if StepState.OUT_OF_DATE in states:
        return StepState.OUT_OF_DATE
    return StepState.MADE if states == {StepState.MADE} else StepState.TO_DO


def all_made(state: JobState, name: str) -> bool:
    """Return whether every part of a step is made."""
    parts = parts_of(state, name)
    return bool(parts) and all(made(state, name, part) is not None for part in parts)


def needed(state: JobState, name: str) -> str:
    """Return what the shaper has to do for a step, in a sentence; "" when nothing.

    For a step that failed see `failure`; its sentence is made by `app.messages`.
    """
    if not all(all_made(state, before) for before in step(name).hangs_on):
        return ""
    return step(name).asks(state)


def line_of(state: JobState, name: str, show: str = "mm") -> str:
    """Return a step's one-line result, lengths in "mm" or "in"; "" unless all of it is made."""
    if not all_made(state, name):
        return ""
    row, found = step(name), [made(state, name, part) for part in parts_of(state, name)]
    return row.line(tuple(found) if row.per_panel else found[0], state, show)
