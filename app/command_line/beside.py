"""A second process that works beside this one, where a machine has two cores and a job is large.

What goes wrong over there is done again here: its error is then the one told, in one place.
"""

import multiprocessing
import os
import pickle
import signal
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any, Protocol

from app.job import JobState, Task, next_tasks, with_failure, with_result
from geometry.errors import GeometryError
from geometry.progress import Report, silent

WORTH_IT = 50_000
"""Triangles from which on a second process is worth its start."""


class Runnable(Protocol):
    """Anything with `run(report)`, picklable."""

    def run(self, report: Report) -> Any:
        """Return the result."""


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _work(pipe: Connection) -> None:
    """Run what comes until the other end closes; answer with (True, value) or (False, None)."""
    while True:
        try:
            answer = (True, pickle.loads(pipe.recv_bytes()).run(silent))
        except (EOFError, OSError):
            return
        except Exception:  # done again where it can be told
            answer = (False, None)
        pipe.send(answer)


class Beside:
    """One process beside this one, doing one thing at a time; nobody until it is started."""

    def __init__(self) -> None:
        self._pipe: Connection | None = None
        self._process: SpawnProcess | None = None

    def start(self) -> None:
        """Start it; where a machine does not let that happen, this process goes on alone."""
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(target=_work, args=(theirs,), daemon=True)
        before = signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is answered here alone
        try:
            self._process.start()
        except OSError:
            self.close()
        finally:
            signal.signal(signal.SIGINT, before)
            theirs.close()

    @property
    def is_there(self) -> bool:
        """Return whether anybody works beside this process."""
        return self._pipe is not None

    def give(self, what: Runnable) -> None:
        """Give it something to do; it must be free."""
        if self._pipe is not None:
            try:
                self._pipe.send_bytes(pickle.dumps(what))
            except OSError:
                self.close()

    @property
    def is_done(self) -> bool:
        """Return whether an answer can be taken without waiting."""
        return self._pipe is None or self._pipe.poll()

    def taken(self) -> tuple[bool, Any]:
        """Wait for the answer: whether it came to something, and to what."""
        try:
            if self._pipe is not None:
                went_well, value = self._pipe.recv()
                return bool(went_well), value
        except (EOFError, OSError):  # it is gone: go on alone
            self.close()
        return False, None

    def close(self) -> None:
        """End it, whatever it is at."""
        if self._process is not None and self._process.pid is not None:
            self._process.kill()
            self._process.join(5.0)
        if self._pipe is not None:
            self._pipe.close()
        self._pipe = self._process = None


def carried_beside(
    state: JobState,
    until: str,
    beside: Beside,
    watch: Callable[[Task], Report] = lambda task: silent,
) -> JobState:
    """Return the job with every step up to one made, here and beside; the first error is raised.

    Left against right only informs, unless a side is copied: where it cannot be had, that is kept
    and the rest goes on.

    Parameters
    ----------
    state : JobState
    until : str
        Name of the last step wanted.
    beside : Beside
    watch : function of task
        Called before each task done here; returns the report to run it with.
    """
    away: Task | None = None
    while True:
        if away is not None and beside.is_done:
            state, away = _taken(state, away, beside, watch), None
        ready = [task for task in next_tasks(state, until) if not _is_same(task, away)]
        if away is None and len(ready) > 1 and beside.is_there:
            away = ready.pop()
            beside.give(away)
        if ready:
            state = _done_here(state, ready[0], watch)
        elif away is not None:
            state, away = _taken(state, away, beside, watch), None
        else:
            return state


def _is_same(task: Task, other: Task | None) -> bool:
    return other is not None and (task.step, task.part) == (other.step, other.part)


def _taken(
    state: JobState, away: Task, beside: Beside, watch: Callable[[Task], Report]
) -> JobState:
    went_well, value = beside.taken()
    return with_result(state, away, value) if went_well else _done_here(state, away, watch)


def _done_here(state: JobState, task: Task, watch: Callable[[Task], Report]) -> JobState:
    try:
        return with_result(state, task, task.run(watch(task)))
    except GeometryError as error:
        if task.step != "Sides" or state.sides.copies:
            raise
        return with_failure(state, task, error)


def done_beside(jobs: Sequence[Runnable], beside: Beside, report: Report = silent) -> list[Any]:
    """Return what each job came to, in order: from the first on here, from the last on beside."""
    found: dict[int, Any] = {}
    waiting = list(range(len(jobs)))
    away: int | None = None
    while waiting or away is not None:
        if away is not None and (beside.is_done or not waiting):
            went_well, value = beside.taken()
            if went_well:
                found[away] = value
            else:
                waiting.insert(0, away)
            away = None
        if away is None and len(waiting) > 1 and beside.is_there:
            away = waiting.pop()
            beside.give(jobs[away])
        if waiting:
            at = waiting.pop(0)
            found[at] = jobs[at].run(_share(report, len(found), len(jobs)))
    return [found[at] for at in range(len(jobs))]


def _share(report: Report, done: int, count: int) -> Report:
    """Return the report of one job of many, after so many are done."""

    def inner(part: float, stage: str) -> None:
        report((done + part) / count, stage)

    return inner
