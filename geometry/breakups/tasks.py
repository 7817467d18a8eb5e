"""Doing many things alike, here or on an executor: same answers, in order, stopped at once."""

from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, wait
from typing import TypeVar

from geometry.progress import Report

Item = TypeVar("Item")
Answer = TypeVar("Answer")

ASKED_EVERY_S = 0.1
"""How often the report is asked, while others work, whether to stop."""


def done_all(
    function: Callable[[Item], Answer],
    items: Sequence[Item],
    executor: Executor | None,
    report: Report,
    stage: str,
) -> list[Answer]:
    """Return what a function makes of every item, in order.

    Where the report raises, what waits is called off and what is being done is left to end unheard.

    Parameters
    ----------
    function : callable
        Picklable, where the executor has processes.
    items : sequence
    executor : concurrent.futures.Executor, optional
        Without one, all is done here.
    report : Report
    stage : str
    """
    if executor is None:
        answers = []
        for done, item in enumerate(items):
            report(done / len(items), stage)
            answers.append(function(item))
        report(1.0, stage)
        return answers
    futures = [executor.submit(function, item) for item in items]
    try:
        waiting = set(futures)
        while waiting:
            report(1.0 - len(waiting) / len(items), stage)
            ready, waiting = wait(waiting, ASKED_EVERY_S, FIRST_COMPLETED)
            for future in ready:
                future.result()
    finally:
        for future in futures:
            future.cancel()  # those done are not touched
    report(1.0, stage)
    return [future.result() for future in futures]
