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
        self._is_at_work = False

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
        """Give it something to do; what it was at before, and nobody took, is let go."""
        if self._is_at_work:
            self.taken()
        if self._pipe is not None:
            self._is_at_work = True
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
        self._is_at_work = False
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
        self._is_at_work = False


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
    return _Steps(state, until, beside).carried(watch)


class _Steps:
    """A job's steps shared out: whenever work here reports, what is done beside is taken."""

    def __init__(self, state: JobState, until: str, beside: Beside) -> None:
        self._state, self._until, self._beside = state, until, beside
        self._here: Task | None = None
        self._away: Task | None = None
        self._failed: set[tuple[str, str]] = set()

    def carried(self, watch: Callable[[Task], Report]) -> JobState:
        """Return the job with every step made."""
        while True:
            ready = self._ready()
            if ready:
                self._do(ready[0], watch(ready[0]))
            elif self._away is not None:
                self._take()
            else:
                return self._state

    def _ready(self) -> list[Task]:
        under_way = [(task.step, task.part) for task in (self._here, self._away) if task]
        tasks = next_tasks(self._state, self._until)
        return [task for task in tasks if (task.step, task.part) not in under_way]

    def _do(self, task: Task, told: Report) -> None:
        self._here = task

        def report(done: float, stage: str) -> None:
            told(done, stage)
            self._exchange()

        self._exchange()
        try:
            value = task.run(report)
        except GeometryError as error:
            if task.step != "Sides" or self._state.sides.copies:
                raise
            self._state = with_failure(self._state, task, error)
        else:
            self._state = with_result(self._state, task, value)
        self._here = None

    def _exchange(self) -> None:
        """Take what is done beside, and give what is next."""
        if self._away is not None and self._beside.is_done:
            self._take()
        if self._away is None and self._beside.is_there:
            spare = [task for task in self._ready() if (task.step, task.part) not in self._failed]
            if spare:
                self._away = spare[0]
                self._beside.give(spare[0])

    def _take(self) -> None:
        task, self._away = self._away, None
        went_well, value = self._beside.taken()
        if task is not None and went_well:
            self._state = with_result(self._state, task, value)
        elif task is not None:
            self._failed.add((task.step, task.part))


def done_beside(jobs: Sequence[Runnable], beside: Beside, report: Report = silent) -> list[Any]:
    """Return what each job came to, in order; whoever is free takes the next, here and beside."""
    found: dict[int, Any] = {}
    waiting = list(range(len(jobs)))
    failed: set[int] = set()
    away: int | None = None

    def take(at: int) -> None:
        went_well, value = beside.taken()
        if went_well:
            found[at] = value
        else:
            failed.add(at)
            waiting.insert(0, at)

    def exchange() -> None:
        nonlocal away
        if away is not None and beside.is_done:
            take(away)
            away = None
        spare = [at for at in waiting if at not in failed]
        if away is None and beside.is_there and spare:
            away = spare[0]
            waiting.remove(away)
            beside.give(jobs[away])

    def told(done: float, stage: str) -> None:
        report((len(found) + done) / len(jobs), stage)
        exchange()

    while waiting or away is not None:
        if waiting:
            at = waiting.pop(0)
            exchange()
            found[at] = jobs[at].run(told)
        elif away is not None:
            take(away)
            away = None
    return [found[at] for at in range(len(jobs))]
