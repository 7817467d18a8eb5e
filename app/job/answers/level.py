"""By what a tank stands level, and how sure that is: heights, stances and tilts hang on it."""

import math

from app.job.choices import JobState
from app.job.steps import made
from app.units import angle_text
from geometry.datum import Datum

_LEAST_TOLD_RAD = math.radians(0.1)
"""An edge fitted more closely than that is no surer of how the tank hung in its frame."""

_SAID = "as up was given"


def level_sure_words(state: JobState) -> str:
    """Return by what the tank of a job stands level and how sure that is, in two sentences.

    A bottom edge that is level is a convention: a frame may hold the tank with its nose up.
    """
    datum: Datum | None = made(state, "Datum")
    if datum is None:
        guessed = state.directions.top is None
        how = "a guess: nobody said which way is up" if guessed else _SAID
    elif "level" in datum.guessed:
        how = "a guess: no flat bottom edge was found"
    elif datum.level_spread_rad is None:
        how = _SAID
    else:
        by = "the heights picked" if state.datum.level == "picks" else "the flat bottom edge"
        sure = angle_text(max(datum.level_spread_rad, _LEAST_TOLD_RAD), 1)
        how = f"that of {by}, sure to about {sure}"
    return f"Level is {how}. The frame may hold the tank otherwise."
