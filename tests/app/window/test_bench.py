"""What is worked out, and when: only what the view that is shown tells, or what goes on from it."""

import os
import time
from collections.abc import Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Any

import pytest

from app.job import made
from app.window.bench import DOING, Errand
from geometry.breakups.tasks import done_all
from geometry.progress import Report
from tests.app.window.conftest import open_shell, spin_until, write_stl
from tests.app.window.test_window import opened, press, rest

pytestmark = pytest.mark.window


def test_how_far_the_surface_lies_off_is_worked_out_while_tidy_is_shown(
    window: Any, tmp_path: Path
) -> None:
    opened(window, write_stl(tmp_path / "shell.stl", *open_shell()))
    window.foreman.set_unit("mm")
    rest(window)
    assert made(window.document.state, "Surface") is not None
    assert made(window.document.state, "Difference") is None
    press(window, "Ctrl+3")
    rest(window)
    found = made(window.document.state, "Difference")
    words = window.views["Tidy"]._change.text()
    assert f"the farthest is {found.largest:.2f} mm (" in words


def test_long_work_and_its_stop_are_shown_before_the_worker_says_a_word(
    window: Any, tmp_path: Path
) -> None:
    opened(window, write_stl(tmp_path / "shell.stl", *open_shell()))
    told: list[tuple[str, float, str]] = []
    window.bench.progressed.connect(lambda *said: told.append(said))
    window.foreman.set_unit("mm")
    rest(window)
    first = next(said for said in told if said[0] == DOING["Surface"])
    assert first == (DOING["Surface"], 0.0, "")


def slow_square(number: int) -> tuple[int, int]:
    """Return who worked it out, and the square; 13 has none."""
    time.sleep(0.05)
    if number == 13:
        raise ValueError("no square of 13")
    return os.getpid(), number * number


def squares(numbers: Sequence[int], *, executor: Executor, report: Report) -> list[Any]:
    return done_all(slow_square, list(numbers), executor, report, "squaring")


def test_what_is_shared_is_done_by_both_workers_in_order_and_its_errors_are_told(
    window: Any,
) -> None:
    found: list[Any] = []
    window.bench.errand_done.connect(lambda errand, value: found.append(value))
    window.bench.errand_failed.connect(lambda errand, error: found.append(error))
    window.bench.tasks.warm_beside()
    window.bench.run_errand(Errand("Squaring", squares, (range(60),), is_shared=False))
    spin_until(lambda: len(found) == 1)
    assert isinstance(found[0], TypeError)  # alone it has no executor
    window.bench.run_errand(
        Errand("Squaring", squares, ([*range(13), *range(14, 90)],), is_shared=True)
    )
    spin_until(lambda: len(found) == 2)
    assert [square for _, square in found[1]] == [n * n for n in range(90) if n != 13]
    assert len({who for who, _ in found[1]} - {os.getpid()}) == 2
    window.bench.run_errand(Errand("Squaring", squares, (range(20),), is_shared=True))
    spin_until(lambda: len(found) == 3)
    assert str(found[2]) == "no square of 13"


def test_what_is_shared_stops_halfway_and_the_workers_go_on(window: Any) -> None:
    found: list[Any] = []
    stopped: list[Any] = []
    window.bench.errand_done.connect(lambda errand, value: found.append(value))
    window.bench.errand_stopped.connect(stopped.append)
    window.bench.tasks.warm_beside()
    long = Errand("Squaring", squares, (range(100, 1100),), is_shared=True)
    window.bench.run_errand(long)
    spin_until(lambda: window.bench.tasks.running("beside") is not None)
    window.bench.stop()
    spin_until(lambda: not window.bench.is_busy, 20.0)
    assert stopped == [long]
    window.bench.run_errand(Errand("Squaring", squares, (range(5),), is_shared=True))
    spin_until(lambda: found)
    assert [square for _, square in found[0]] == [0, 1, 4, 9, 16]
