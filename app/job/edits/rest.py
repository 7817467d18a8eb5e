"""Changes to what is decided besides the panels, from one `JobState` to the next."""

from dataclasses import replace
from typing import Any

from app.job.choices import JobState


def with_rest(state: JobState, **changed: Any) -> JobState:
    """Return the job with fields of its `RestOfTank` changed; the same job where none differ.

    The scan kept of a frame goes with the decision to hold the tank against it.
    """
    rest = replace(state.rest, **changed)
    if rest == state.rest:
        return state
    has_second = rest.frame_fit is not None and rest.frame_fit.second is not None
    return replace(state, rest=rest, frame_scan=state.frame_scan if has_second else None)
