"""Changes to the character lines the maker decided about: pure functions."""

from dataclasses import replace

from app.job.choices import JobState, LineChoice
from app.job.making import Lines
from app.job.steps import latest
from geometry.datum import Point3

Points = tuple[Point3, ...]


def with_lines_sought(state: JobState, find: bool) -> JobState:
    """Return the job with character lines looked for, or not."""
    return replace(state, find_lines=find)


def with_line_locked(state: JobState, points: Points) -> JobState:
    """Return the job holding a line that was found."""
    return _with(state, LineChoice(points, "locked"))


def with_line_rejected(state: JobState, points: Points) -> JobState:
    """Return the job with a line that was found thrown out, so that it is not offered again."""
    return _with(state, LineChoice(points, "rejected"))


def with_line_drawn(state: JobState, points: Points, made_of: tuple[Points, ...] = ()) -> JobState:
    """Return the job holding a line drawn by hand, or made of others: joined, or one led on.

    Of those it is made of, what was drawn goes; what was found is not offered beside it.
    """
    drawn = {line.points for line in state.lines if line.drawn}
    rest = tuple(line for line in state.lines if line.points not in made_of)
    found = tuple(LineChoice(each, "rejected") for each in made_of if each not in drawn)
    return replace(state, lines=(*rest, *found, LineChoice(points, "locked", drawn=True)))


def without_line_choice(state: JobState, at: int) -> JobState:
    """Return the job without its decision number `at` about a line, counted from 0."""
    return replace(state, lines=state.lines[:at] + state.lines[at + 1 :])


def with_sure_lines_locked(state: JobState, least_confidence: float = 0.8) -> JobState:
    """Return the job holding every line found that is sure enough and not rejected."""
    found: Lines | None = latest(state, "Lines")
    if found is None:
        return state
    decided = {line.points for line in state.lines}
    for line, places in zip(found.found, found.places, strict=True):
        if line.confidence >= least_confidence and places not in decided:
            state = with_line_locked(state, places)
    return state


def _with(state: JobState, choice: LineChoice) -> JobState:
    """Return the job with a decision; an earlier one about the very same points gives way."""
    rest = tuple(line for line in state.lines if line.points != choice.points)
    return replace(state, lines=(*rest, choice))
