"""Changes to what is decided besides the panels, from one `JobState` to the next."""

from dataclasses import replace
from typing import Any

from app.job.state import JobState


def with_rest(state: JobState, **changed: Any) -> JobState:
    """Return the job with fields of its `RestOfTank` changed; the same job where none differ."""
    rest = replace(state.rest, **changed)
    return state if rest == state.rest else replace(state, rest=rest)
