"""Changes to the character lines the maker decided about: pure functions."""

from dataclasses import replace

from app.job.choices import LineChoice
from app.job.results import Lines
from app.job.state import JobState
from app.job.steps import made
from geometry.datum import Point3

Points = tuple[Point3, ...]


def with_lines_sought(state: JobState, find: bool) -> JobState:
    """Return the job with character lines looked for, or not."""
    return replace(state, find_lines=find)


def with_line_choices(state: JobState, lines: tuple[LineChoice, ...]) -> JobState:
    """Return the job with these decisions about lines and no others."""
    return replace(state, lines=lines)


def with_line_locked(state: JobState, points: Points) -> JobState:
    """Return the job holding a line that was found."""
    return _with(state, LineChoice(points, "locked"))


def with_line_rejected(state: JobState, points: Points) -> JobState:
    """Return the job with a line that was found thrown out, so that it is not offered again."""
    return _with(state, LineChoice(points, "rejected"))


def with_line_drawn(state: JobState, points: Points) -> JobState:
    """Return the job holding a line drawn by hand."""
    return _with(state, LineChoice(points, "locked", drawn=True))


def without_line_choice(state: JobState, at: int) -> JobState:
    """Return the job without its decision number `at` about a line, counted from 0."""
    return replace(state, lines=state.lines[:at] + state.lines[at + 1 :])


def with_sure_lines_locked(state: JobState, least_confidence: float = 0.8) -> JobState:
    """Return the job holding every line found that is sure enough and not rejected."""
    found: Lines | None = made(state, "Lines")
    if found is None:
        return state
    decided = {line.points for line in state.lines}
    for line, places in zip(found.found, found.places, strict=True):
        if line.confidence >= least_confidence and places not in decided:
            state = with_line_locked(state, places)
    return state


def with_line_replaced(state: JobState, at: int, points: Points) -> JobState:
    """Return the job with line number `at`, from 0, extended or redrawn; it stays as decided."""
    line = replace(state.lines[at], points=points)
    return replace(state, lines=(*state.lines[:at], line, *state.lines[at + 1 :]))


def with_lines_joined(state: JobState, one: int, other: int, points: Points) -> JobState:
    """Return the job with two of its lines, by number from 0, made one: it is locked."""
    drawn = state.lines[one].drawn or state.lines[other].drawn
    rest = tuple(line for at, line in enumerate(state.lines) if at not in (one, other))
    return replace(state, lines=(*rest, LineChoice(points, "locked", drawn)))


def _with(state: JobState, choice: LineChoice) -> JobState:
    """Return the job with a decision; an earlier one about the very same points gives way."""
    rest = tuple(line for line in state.lines if line.points != choice.points)
    return replace(state, lines=(*rest, choice))
