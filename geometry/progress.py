"""How long work tells how far it is, and how it is stopped."""

from collections.abc import Callable

Report = Callable[[float, str], None]
"""Called with `done`, rising from 0 to 1, and the stage in words; raises `Cancelled` to stop."""


class Cancelled(Exception):  # noqa: N818 - a stop asked for is not an error
    """The caller asked to stop. Geometry never catches it."""


def silent(done: float, stage: str) -> None:
    """Ignore the report."""


def part_of(report: Report, start: float, end: float) -> Report:
    """Return a report whose 0 to 1 is `start` to `end` of another.

    >>> seen = []
    >>> part_of(lambda done, stage: seen.append((done, stage)), 0.5, 0.7)(0.5, "fit")
    >>> seen
    [(0.6, 'fit')]
    """

    def inner(done: float, stage: str) -> None:
        report(start + (end - start) * done, stage)

    return inner
