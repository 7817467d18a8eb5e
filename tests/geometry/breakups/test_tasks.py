"""Doing things on executors: same answers, in order; a stop is heard at once."""

import time
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from threading import Event

import pytest

from geometry.breakups.tasks import done_all
from geometry.progress import Cancelled, silent


def squared(number: int) -> int:
    return number * number


@pytest.mark.parametrize("workers", [0, 1, 3])
def test_answers_come_in_the_order_of_the_items(workers: int) -> None:
    executor = ThreadPoolExecutor(workers) if workers else None
    assert done_all(squared, range(20), executor, silent, "s") == [k * k for k in range(20)]
    assert done_all(squared, [], executor, silent, "s") == []
    if executor:
        executor.shutdown()


@pytest.mark.parametrize("workers", [0, 2])
def test_progress_rises_to_one(workers: int) -> None:
    seen: list[float] = []
    executor = ThreadPoolExecutor(workers) if workers else None
    done_all(squared, range(9), executor, lambda done, _: seen.append(done), "s")
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)
    if executor:
        executor.shutdown()


def test_a_stop_is_heard_while_others_work_and_calls_off_what_waits() -> None:
    let_go, started = Event(), []

    def slow(number: int) -> int:
        started.append(number)
        let_go.wait(20.0)
        return number

    asked = []

    def stop(done: float, stage: str) -> None:
        asked.append(done)
        if len(asked) == 3:
            raise Cancelled

    with ThreadPoolExecutor(2) as executor:
        began = time.perf_counter()
        with pytest.raises(Cancelled):
            done_all(slow, range(50), executor, stop, "s")
        taken = time.perf_counter() - began
        let_go.set()
    assert taken < 5.0  # asked every tenth of a second; the slow ones would hold for twenty
    assert len(started) <= 4


def test_what_goes_wrong_there_is_raised_here() -> None:
    def fails(number: int) -> int:
        if number == 3:
            raise KeyError(number)
        return number

    for executor in (None, ThreadPoolExecutor(2)):
        with pytest.raises(KeyError):
            done_all(fails, range(9), executor, silent, "s")
        if executor:
            executor.shutdown()


class Counting(Executor):
    """An executor of somebody else's: it does each thing when it is handed in."""

    def __init__(self) -> None:
        self.count = 0

    def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
        self.count += 1
        future: Future[object] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def test_any_executor_will_do() -> None:
    mine = Counting()
    assert done_all(squared, range(5), mine, silent, "s") == [0, 1, 4, 9, 16]
    assert mine.count == 5
