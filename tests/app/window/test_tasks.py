"""Work off the window's thread, with a real worker process."""

import multiprocessing
import os
import time
from dataclasses import dataclass
from typing import Any

import pytest

from geometry.datum import Tape, TapeTooShortError
from geometry.progress import Report
from tests.app.window.conftest import spin_until

pytestmark = pytest.mark.window


@dataclass(frozen=True)
class Counted:
    """Counts to 100, reporting; slow enough to be stopped."""

    pause_s: float = 0.001

    def run(self, report: Report) -> int:
        for step in range(100):
            report(step / 100.0, "counting")
            time.sleep(self.pause_s)
        return os.getpid()


@dataclass(frozen=True)
class Deaf:
    """Never looks whether it should stop."""

    def run(self, report: Report) -> None:
        time.sleep(600.0)


@dataclass(frozen=True)
class Failing:
    def run(self, report: Report) -> None:
        raise TapeTooShortError(Tape((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 5.0))


@dataclass(frozen=True)
class Dying:
    def run(self, report: Report) -> None:
        os._exit(3)


class Heard:
    """Notes everything a `Tasks` tells."""

    def __init__(self, tasks: Any) -> None:
        self.reports: list[float] = []
        self.values: list[Any] = []
        self.errors: list[Exception] = []
        self.stops = 0
        tasks.reported.connect(self._report)
        tasks.finished.connect(self._finish)
        tasks.failed.connect(self._fail)
        tasks.stopped.connect(self._stop)

    def _report(self, task: object, done: float, stage: str) -> None:
        self.reports.append(done)

    def _finish(self, task: object, value: object) -> None:
        self.values.append(value)

    def _fail(self, task: object, error: Exception) -> None:
        self.errors.append(error)

    def _stop(self, task: object) -> None:
        self.stops += 1


@pytest.fixture
def tasks(app):  # type: ignore[no-untyped-def]
    from app.window.tasks import Tasks

    made = Tasks()
    yield made
    made.close()


def test_the_heavy_lane_is_one_process_that_is_kept(tasks) -> None:  # type: ignore[no-untyped-def]
    heard = Heard(tasks)
    tasks.run(Counted(), "heavy")
    spin_until(lambda: len(heard.values) == 1)
    first = list(heard.reports)
    tasks.run(Counted(), "heavy")
    spin_until(lambda: len(heard.values) == 2)
    assert heard.values[0] == heard.values[1] != os.getpid()
    assert len(heard.reports) >= 2
    assert first == sorted(first)


def test_both_lanes_work_at_once(tasks) -> None:  # type: ignore[no-untyped-def]
    heard = Heard(tasks)
    tasks.run(Counted(0.01), "heavy")
    tasks.run(Counted(0.0), "light")
    spin_until(lambda: heard.values)
    assert heard.values == [os.getpid()]
    spin_until(lambda: tasks.is_idle)


def test_two_processes_work_beside_each_other(tasks) -> None:  # type: ignore[no-untyped-def]
    heard = Heard(tasks)
    tasks.warm_beside()
    tasks.run(Counted(), "heavy")
    tasks.run(Counted(), "beside")
    spin_until(lambda: len(heard.values) == 2)
    assert len({*heard.values, os.getpid()}) == 3


@pytest.mark.parametrize("lane", ["heavy", "beside", "light"])
def test_a_task_stops_halfway(tasks, lane) -> None:  # type: ignore[no-untyped-def]
    heard = Heard(tasks)
    tasks.run(Counted(0.05), lane)
    spin_until(lambda: heard.reports)
    tasks.stop(lane)
    spin_until(lambda: tasks.is_idle)
    assert (heard.stops, heard.values, heard.errors) == (1, [], [])


def test_a_task_that_does_not_listen_is_ended_and_the_lane_works_again(tasks) -> None:  # type: ignore[no-untyped-def]
    heard = Heard(tasks)
    tasks.run(Deaf(), "heavy")
    tasks.stop("heavy")
    spin_until(lambda: tasks.is_idle, 20.0)
    assert heard.stops == 1
    tasks.run(Counted(), "heavy")
    spin_until(lambda: heard.values)


def test_an_error_arrives_with_what_it_carries(tasks) -> None:  # type: ignore[no-untyped-def]
    heard = Heard(tasks)
    tasks.run(Failing(), "heavy")
    spin_until(lambda: heard.errors)
    (error,) = heard.errors
    assert isinstance(error, TapeTooShortError)
    assert error.tape.length_mm == 5.0


def test_a_worker_that_dies_is_told_and_replaced(tasks) -> None:  # type: ignore[no-untyped-def]
    from app.window.tasks import WorkerLostError

    heard = Heard(tasks)
    tasks.run(Dying(), "heavy")
    spin_until(lambda: heard.errors)
    assert isinstance(heard.errors[0], WorkerLostError)
    tasks.run(Counted(), "heavy")
    spin_until(lambda: heard.values)


def refuses() -> Any:
    raise ValueError("it cannot be read again")


@dataclass(frozen=True)
class Unreadable:
    """Travels, and cannot be read where it arrives."""

    def __reduce__(self) -> Any:
        return (refuses, ())

    def run(self, report: Report) -> None:
        raise AssertionError


@dataclass(frozen=True)
class Untellable:
    """Gives what cannot travel."""

    def run(self, report: Report) -> Any:
        return lambda: None


class StuckError(Exception):
    """Carries what cannot travel."""

    def __init__(self) -> None:
        self.stuck = lambda: None
        super().__init__("stuck")


@dataclass(frozen=True)
class Sticking:
    def run(self, report: Report) -> None:
        raise StuckError


@pytest.mark.parametrize("task", [Unreadable(), Untellable(), Sticking()])
def test_what_cannot_travel_is_told_as_an_error_and_the_worker_lives_on(tasks, task) -> None:  # type: ignore[no-untyped-def]
    heard = Heard(tasks)
    tasks.run(Counted(0.0), "heavy")
    spin_until(lambda: heard.values)
    tasks.run(task, "heavy")
    spin_until(lambda: heard.errors)
    (error,) = heard.errors
    assert isinstance(error, ValueError | RuntimeError)
    assert "cannot" in str(error)
    tasks.run(Counted(0.0), "heavy")
    spin_until(lambda: len(heard.values) == 2)
    assert heard.values[0] == heard.values[1]  # the same process


def test_what_is_closed_while_its_worker_starts_ends_it(
    app: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    from app.window.tasks import Tasks

    begin = multiprocessing.process.BaseProcess.start
    started: list[multiprocessing.process.BaseProcess] = []

    def begin_late(process: multiprocessing.process.BaseProcess) -> None:
        time.sleep(0.3)
        begin(process)
        started.append(process)

    monkeypatch.setattr(multiprocessing.process.BaseProcess, "start", begin_late)
    made = Tasks()
    time.sleep(0.05)
    made.close()
    spin_until(lambda: started)
    started[0].join(10.0)
    assert not started[0].is_alive()
