"""Sentences and numbers as this window says them; the sentences for errors are `app.messages`'."""

import re
from functools import lru_cache

import numpy as np

from app.job import Blank, Comparison, how_made
from app.messages import sentence_for
from app.units import (
    change_text,
    decimal_inch_text,
    fraction_text,
    mm_text,
    percent_text,
    thickness_text,
)
from app.window.link import Change
from app.window.tasks import WorkerLostError
from geometry.arrays import FloatArray
from geometry.pattern import RollLine, ShapeField

_OPTIONS = re.compile(r" \(--[^)]*\)")
"""Options of the command line, as sentences name them in brackets."""


def sentence(error: BaseException) -> str:
    """Return what the shaper reads about an error, without options that only a command has."""
    known = sentence_for(error)
    if known is not None:
        return _OPTIONS.sub("", known)
    if isinstance(error, WorkerLostError):
        return "The work ended by itself: most often the memory was used up. Try it again."
    return "Something went wrong that should not have. A report was kept beside the log."


def change_words(change: Change, thickness_mm: float, show: str, *, percent: bool) -> str:
    """Return what happens to the metal at a place, in a line."""

    def told(stretch: float) -> str:
        more = f" ({percent_text(stretch)})" if percent else ""
        return change_text(stretch, show) + more

    thick = thickness_text(change.thickness * thickness_mm, show)
    return f"{told(change.most)}   |   across it {told(change.least)}   |   {thick} thick"


def fine_text(length_mm: float, show: str) -> str:
    """Return a short length in hundredths of a mm and thousandths of an inch, never as nothing.

    >>> fine_text(0.004, "mm"), fine_text(0.07, "in")
    ('under 0.01 mm (under .001 in)', '.003 in (0.07 mm)')
    """
    metric = mm_text(length_mm, 2) if length_mm >= 0.005 else "under 0.01 mm"
    inches = decimal_inch_text(length_mm) if length_mm >= 0.0127 else "under .001 in"
    return f"{inches} ({metric})" if show == "in" else f"{metric} ({inches})"


def signed_length(length_mm: float, show: str) -> str:
    """Return a signed length as a bare number, in mm or in inches.

    >>> signed_length(0.84, "mm"), signed_length(-0.84, "in"), signed_length(0.001, "mm")
    ('+0.84', '\u2212.033', '0')
    >>> signed_length(float("nan"), "mm")
    '\u2013'
    """
    if not np.isfinite(length_mm):
        return "\u2013"
    number = mm_text(abs(length_mm), 2).removesuffix(" mm")
    if show == "in":
        number = decimal_inch_text(abs(length_mm)).removesuffix(" in")
    if float(number) == 0.0:
        return "0"
    return ("+" if length_mm > 0.0 else "\u2212") + number


def ways_of(found: Comparison) -> tuple[str, str]:
    """Return what the two ways of a comparison are called."""
    one, two = (how_made(choice.work) or "by numbers" for choice in found.choices)
    return one, two


def roll_words(roll: RollLine, show: str, *, up: bool) -> str:
    """Return what to do along a roll line or a fold, as short as a sheet needs it."""
    way = "up" if up else "down"
    if roll.is_fold:
        return f"fold {way} {np.degrees(roll.turn_rad):.0f}\u00b0"
    radius = float(np.median(roll.radii))
    return f"roll {way} R {mm_text(radius, 0) if show == 'mm' else fraction_text(radius)}"


def worst_words(blank: Blank, show: str) -> tuple[str, str]:
    """Return the most stretch and the most shrink, as everywhere else: fitted at vertices."""
    change = change_of(blank)
    most, least = max(float(change.max()), 0.0), min(float(change.min()), 0.0)
    return change_text(1.0 + most, show), change_text(1.0 + least, show)


@lru_cache(maxsize=16)
def change_of(blank: Blank) -> FloatArray:
    """Return the map's (n,) signed change at the vertices of a blank, worked out once."""
    flat = blank.flat
    return ShapeField(flat.flat_vertices, flat.faces, flat.stretches).change
