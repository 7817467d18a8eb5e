"""What is worked out, and when: only what the view that is shown tells, or what goes on from it."""

from pathlib import Path
from typing import Any

import pytest

from app.job import made
from app.window.bench import DOING
from tests.app.window.conftest import open_shell, write_stl
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
