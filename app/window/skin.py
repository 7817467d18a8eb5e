"""`Skin`: one way to look at the tank: how its skin is coloured, and what that needs worked out.

A way with a `function` has something to work out first: it runs in the worker once the way is
chosen, and again when its inputs change. Nothing here is part of the job.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from app.job import JobState
from app.window.legend import Swatch
from app.window.scene import Hit


def _nothing_to_say(value: Any, show: str) -> tuple[Swatch, ...]:
    return ()


def _nothing_to_read(value: Any, hit: Hit, show: str) -> str:
    return ""


@dataclass(frozen=True)
class Skin:
    """One way to look at the tank.

    Attributes
    ----------
    key : str
        Also its painter's in `scene.skin_painter.SKIN_PAINTERS`, and its action's: skin_<key>.
    words : str
        As the box of ways and the menu say it.
    tip, shortcut : str
    inputs : function of the job
        What it is worked out from, or None while that is not there yet.
    function : callable or None
        Module-level, called in the worker as function(*inputs, report=...). None where the first
        of the inputs is itself the value.
    painted : function of (value, inputs, show)
        What the painter draws: has `vertices` and `faces` in file coordinates.
    legend : function of (value, show)
    reading : function of (value, hit, show)
        What is read under the pointer; `hit.on` is "skin", its face one of the painted faces.
    doing : str
        What the bottom bar says while it is worked out.
    not_yet : str
        What to do first, while `inputs` gives None.
    """

    key: str
    words: str
    tip: str
    shortcut: str
    inputs: Callable[[JobState], tuple[Any, ...] | None]
    painted: Callable[[Any, tuple[Any, ...], str], Any]
    function: Callable[..., Any] | None = None
    legend: Callable[[Any, str], tuple[Swatch, ...]] = _nothing_to_say
    reading: Callable[[Any, Hit, str], str] = _nothing_to_read
    doing: str = ""
    not_yet: str = ""
