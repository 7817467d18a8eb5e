"""What the worker process runs: one task at a time, its progress and its result sent back. No Qt.

Errors travel as their class, arguments and fields, because an error that carries data cannot be
rebuilt from its message alone.
"""

import pickle
import traceback
from concurrent.futures import Executor
from dataclasses import dataclass
from multiprocessing.connection import Connection
from threading import Lock
from time import monotonic
from typing import Any, Protocol, runtime_checkable

from app.window.tasks.lent import Returned, TwoHands
from geometry.progress import Cancelled, Report

LEAST_BETWEEN_REPORTS_S = 0.15
"""A window draws what is told at once, 10 to 50 ms of it each time."""


class Runnable(Protocol):
    """Anything with `run(report)`, picklable."""

    def run(self, report: Report) -> Any:
        """Return the result."""


@runtime_checkable
class Shared(Protocol):
    """What can be done by two workers at once, if it `is_shared`."""

    is_shared: bool

    def run_by(self, hands: Executor, report: Report) -> Any:
        """Return the result."""


class Answers(Protocol):
    """Where answers go: a pipe, or a signal."""

    def send(self, answer: Any, /) -> None:
        """Send one."""


class StopFlag(Protocol):
    """Set by whoever wants the task stopped."""

    def is_set(self) -> bool:
        """Whether it is."""


@dataclass(frozen=True)
class Reported:
    """Task number `number` is `done` of the way, at `stage`."""

    number: int
    done: float
    stage: str


@dataclass(frozen=True)
class Finished:
    """Task number `number` gave `value`."""

    number: int
    value: Any


@dataclass(frozen=True)
class Stopped:
    """Task number `number` was stopped."""

    number: int


@dataclass(frozen=True)
class Failed:
    """Task number `number` ended in an error, with its trace as text."""

    number: int
    kind: type[Exception]
    arguments: tuple[Any, ...]
    fields: dict[str, Any]
    trace: str

    def error(self) -> Exception:
        """Return the error as it was raised."""
        rebuilt = self.kind.__new__(self.kind)
        rebuilt.args = self.arguments
        rebuilt.__dict__.update(self.fields)
        rebuilt.add_note(self.trace)
        return rebuilt


def failed(number: int, error: Exception) -> Failed:
    """Return an error ready to travel."""
    trace = "".join(traceback.format_exception(error))
    return Failed(number, type(error), error.args, dict(error.__dict__), trace)


def work(tasks: Connection, answers: Connection, stop: StopFlag) -> None:
    """Run tasks until the other end closes; each comes as its number and then its pickle."""
    said = _OneAtATime(answers)
    while True:
        try:
            number = tasks.recv()
            if isinstance(number, Returned):
                continue  # of a task that ended without it
            sent = tasks.recv_bytes()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        try:
            task = pickle.loads(sent)
        except Exception as error:  # a task that cannot be read
            tell(said, failed(number, error))
        else:
            if isinstance(task, Shared) and task.is_shared:
                task = _ByTwo(task, TwoHands(number, said.send, tasks))
            tell(said, answer(number, task, said, stop))


class _OneAtATime:
    """A pipe that two threads write into."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe, self._lock = pipe, Lock()

    def send(self, message: Any, /) -> None:
        with self._lock:
            self._pipe.send(message)


@dataclass(frozen=True)
class _ByTwo:
    """A task that is shared, with what shares it."""

    task: Shared
    hands: TwoHands

    def run(self, report: Report) -> Any:
        """Return the result."""
        try:
            return self.task.run_by(self.hands, report)
        finally:
            self.hands.shutdown()


def tell(answers: Answers, found: "Finished | Stopped | Failed") -> None:
    """Send what became of a task; what cannot travel is told as an error, in words at the last."""
    try:
        answers.send(found)
    except Exception as error:  # a value, or an error's own fields, that cannot travel
        trace = "".join(traceback.format_exception(error))
        words = f"what became of it cannot travel: {type(error).__name__}: {error}"
        answers.send(Failed(found.number, RuntimeError, (words,), {}, trace))


def answer(
    number: int, task: Runnable, answers: Answers, stop: StopFlag
) -> Finished | Stopped | Failed:
    """Run one task, sending reports as it goes; whatever it ends in comes back as an answer."""
    last = 0.0

    def report(done: float, stage: str) -> None:
        nonlocal last
        if stop.is_set():
            raise Cancelled
        if monotonic() - last >= LEAST_BETWEEN_REPORTS_S:
            last = monotonic()
            answers.send(Reported(number, done, stage))

    try:
        return Finished(number, task.run(report))
    except Cancelled:
        return Stopped(number)
    except Exception as error:
        return failed(number, error)
