"""How far it is, on standard error: a bar for anything that takes over a second, nothing else."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from tqdm import tqdm

from geometry.progress import Report

AFTER_SECONDS = 1.0


@contextmanager
def bar(what: str) -> Iterator[Report]:
    """Give a report that draws a bar once a second has passed; silent when nobody watches."""
    shown = tqdm(
        total=1000,
        desc=what,
        delay=AFTER_SECONDS,
        leave=False,
        file=sys.stderr,
        disable=None if hasattr(sys.stderr, "isatty") else True,
        bar_format="{desc}: {percentage:3.0f} % |{bar}| {elapsed}",
    )

    def report(done: float, stage: str) -> None:
        shown.set_description_str(f"{what}: {stage}" if stage else what, refresh=False)
        shown.update(max(0, round(1000 * min(done, 1.0)) - shown.n))

    try:
        yield report
    finally:
        shown.close()
