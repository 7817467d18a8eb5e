"""`Step`: one row of the table of steps, and how a step stands."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any

from app.job.choices import JobState

Reader = Callable[[JobState, str], Any]
"""Returns a step's result, or None when there is none or it is out of date: `app.job.made`. Rows
that stand in files of their own are given it, since it in turn reads the table."""


class StepState(Enum):
    """How a step stands, in the words the shaper reads."""

    TO_DO = "to do"
    MADE = "made"
    OUT_OF_DATE = "out of date"
    NEEDS_YOU = "needs you"


@dataclass(frozen=True)
class Step:
    """One row of the table.

    Attributes
    ----------
    name : str
        As the shaper reads it, and the key of its results.
    does : str
        What it is for, in a sentence.
    hangs_on : tuple of str
        Steps whose results it uses.
    shown : bool
        Whether the list of steps shows it; others work behind the next shown one.
    per_panel : bool
        One part per panel instead of one in all.
    inputs : function of (state, part)
        What it is made from, or None while something it hangs on is not made.
    function : callable
        Called with the inputs and `report`.
    asks : function of state
        What the shaper has to do first, or "".
    line : function of (result, state, show)
        A step that is made in one line, its lengths in "mm" or "in"; the result is a tuple of
        those of all panels where it has one part per panel.
    besides : bool
        Whether it is none of the way to the panels: it is left out unless the maker begins it.
    """

    name: str
    does: str
    hangs_on: tuple[str, ...]
    shown: bool
    per_panel: bool
    inputs: Callable[[JobState, str], tuple[Any, ...] | None]
    function: Callable[..., Any]
    asks: Callable[[JobState], str]
    line: Callable[[Any, JobState, str], str]
    besides: bool = False


def ask_nothing(state: JobState) -> str:
    """Return that the shaper has to do nothing first."""
    return ""


def step_besides(
    name: str,
    does: str,
    *,
    inputs: Callable[[JobState, str], tuple[Any, ...] | None],
    function: Callable[..., Any],
    line: Callable[[Any, JobState, str], str],
    asks: Callable[[JobState], str] = ask_nothing,
    hangs_on: tuple[str, ...] = ("Stood",),
) -> Step:
    """Return the row of a step besides the panels: shown, made in one, left out unless begun."""
    return Step(name, does, hangs_on, True, False, inputs, function, asks, line, besides=True)
