"""Break-ups proposed for a job, and advice on its seams."""

from app.job.breakups.advice_words import advice_headline, advice_place_words, advice_reason
from app.job.breakups.advising import (
    Raised,
    raised_advice,
    too_large,
    with_raised_hushed,
    with_raised_told,
)
from app.job.breakups.proposing import (
    Proposed,
    ToPropose,
    breakup_of,
    judged_breakup,
    proposed,
    to_propose,
)

__all__ = [
    "Proposed",
    "Raised",
    "ToPropose",
    "advice_headline",
    "advice_place_words",
    "advice_reason",
    "breakup_of",
    "judged_breakup",
    "proposed",
    "raised_advice",
    "to_propose",
    "too_large",
    "with_raised_hushed",
    "with_raised_told",
]
