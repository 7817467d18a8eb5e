"""How far it is, on standard error: a bar for anything that takes over a second, nothing else."""

import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Never

from tqdm import tqdm

from geometry.progress import Report

AFTER_SECONDS = 1.0
USUAL_COLUMNS = 80
"""Taken where a terminal does not say how wide it is."""


class _Bars:
    """One bar after another, each cleared when the next begins."""

    def __init__(self) -> None:
        self._shown: tqdm[Never] | None = None

    def begin(self, what: str) -> Report:
        """Clear the bar before, and return the report that draws the next."""
        self.clear()
        shown = self._shown = tqdm(
            total=1000,
            desc=what,
            delay=AFTER_SECONDS,
            leave=False,
            file=sys.stderr,
            disable=None,
            ncols=None if shutil.get_terminal_size((0, 0)).columns else USUAL_COLUMNS,
            nrows=3,  # left to be asked for, a terminal without a size draws nothing
            bar_format="{desc}: {percentage:3.0f} % |{bar}| {elapsed}",
        )

        def report(done: float, stage: str) -> None:
            shown.set_description_str(f"{what}: {stage}" if stage else what, refresh=False)
            shown.update(max(0, round(1000 * min(done, 1.0)) - shown.n))

        return report

    def clear(self) -> None:
        """Take the bar off the screen."""
        if self._shown is not None:
            self._shown.close()


@contextmanager
def bars() -> Iterator[Callable[[str], Report]]:
    """Give a function that begins a bar by name; silent when nobody watches.

    A bar is drawn once its work has taken a second, and leaves no trace.
    """
    row = _Bars()
    try:
        yield row.begin
    finally:
        row.clear()


@contextmanager
def bar(what: str) -> Iterator[Report]:
    """Give the report of a single bar."""
    with bars() as begin:
        yield begin(what)
