"""How a frame fit is told: its worst in a line, how a body stands, where a gap is least."""

from collections.abc import Sequence

import numpy as np

from app.job.choices import FrameFitChoice
from app.job.rest.frame_gaps import FrameGap
from app.job.rest.place_words import side_words
from app.units import angle_text, length_text

_WIDE_LOCK_RAD = np.radians(60.0)
"""Beyond it a lock is doubted. Common practice, no source."""


def frame_words(gaps: Sequence[FrameGap], show: str) -> str:
    """Return the worst of it, in a line."""
    if not gaps:
        return "nothing to measure to"
    wrong = {each.body.name for each in gaps if each.is_wrong}
    if wrong:
        bodies = "1 body" if len(wrong) == 1 else f"{len(wrong)} bodies"
        return f"{bodies} too near or through the skin"
    least = gaps[0]
    return f"least gap {length_text(least.gap_mm, show)}, {least.body.name}"


def lock_words(choice: FrameFitChoice) -> str:
    """Return what is to be said of a lock wider than bars usually have; "" for others.

    >>> lock_words(FrameFitChoice())
    ''
    """
    steering = choice.steering
    if steering is None or steering.lock_rad <= _WIDE_LOCK_RAD:
        return ""
    return f"A lock of {angle_text(steering.lock_rad)} is more than bars usually turn: measure it."


def position_words(each: FrameGap) -> str:
    """Return how a body stands: its hand, and how far the bars are turned."""
    words = f"{each.body.name}, {each.hand}" if each.hand else each.body.name
    if each.against != "tank":
        words += f", to the {each.against}"
    if each.turn_rad is None:
        return words
    turned = round(float(np.degrees(abs(each.turn_rad))))
    if turned == 0:
        return f"{words}, straight ahead"
    return f"{words}, bars {turned}\u00b0 {'left' if each.turn_rad > 0.0 else 'right'}"


def gap_place_words(each: FrameGap, show: str) -> str:
    """Return where on the tank a gap is least, or a body goes through."""
    at = each.gap.on_skin
    return f"{_length(at[0], show)} ahead, {side_words(at, show)}, {_length(at[2], show)} up"


def _length(value_mm: float, show: str) -> str:
    return length_text(value_mm, show, decimals=0)
