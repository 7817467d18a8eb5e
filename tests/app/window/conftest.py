"""The window under test: a real one, with a small shell for a tank, driven by mouse and keys."""

import multiprocessing
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.job import (
    Directions,
    JobState,
    SeamLine,
    carried_through,
    read_scan_file,
    with_directions,
    with_scan,
    with_seam,
    with_tape,
)
from geometry.datum import Tape

os.environ["QT_API"] = "pyside6"


def open_shell(rings: int = 26, around: int = 72) -> tuple[np.ndarray, np.ndarray]:
    """Return half an ellipsoid, open below, 160 x 100 x 60 mm: a tank of a kind, top outward.

    x = 80 sin p cos t, y = 50 sin p sin t, z = 60 cos p; p from 0 to pi/2.
    """
    down = np.linspace(0.0, np.pi / 2.0, rings + 1)[1:]
    turn = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
    p, t = np.meshgrid(down, turn, indexing="ij")
    grid = np.stack([80 * np.sin(p) * np.cos(t), 50 * np.sin(p) * np.sin(t), 60 * np.cos(p)], -1)
    vertices = np.concatenate([[[0.0, 0.0, 60.0]], grid.reshape(-1, 3)])
    here = np.arange(around)
    after = (here + 1) % around
    faces = [np.stack([np.zeros(around, int), 1 + here, 1 + after], axis=1)]
    for ring in range(rings - 1):
        a, b = 1 + ring * around + here, 1 + ring * around + after
        faces += [np.stack([a, a + around, b + around], 1), np.stack([a, b + around, b], 1)]
    return vertices, np.concatenate(faces)


def write_stl(path: Path, vertices: np.ndarray, faces: np.ndarray) -> Path:
    """Write a binary STL."""
    record = np.zeros(len(faces), np.dtype([("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")]))
    record["v"] = vertices[faces]
    path.write_bytes(b"\0" * 80 + np.uint32(len(faces)).tobytes() + record.tobytes())
    return path


@pytest.fixture
def shell_file(tmp_path: Path) -> Path:
    """Return a scan of the shell, in mm."""
    return write_stl(tmp_path / "shell.stl", *open_shell())


@pytest.fixture(scope="session")
def made_shell(tmp_path_factory: pytest.TempPathFactory) -> JobState:
    """Return the shell's job, taped and parted lengthwise, every pattern made; made once a run."""
    path = write_stl(tmp_path_factory.mktemp("shell") / "shell.stl", *open_shell())
    state = with_scan(JobState(), read_scan_file(path), "shell")
    places = [(x, 0.0, 60.0 * float(np.sqrt(1.0 - (x / 80.0) ** 2))) for x in (-80, -40, 0, 40, 80)]
    state = with_seam(state, SeamLine("middle", tuple(places)))
    across = Tape((0.0, -50.0, 0.0), (0.0, 50.0, 0.0), 100.0)
    along = Tape((-80.0, 0.0, 0.0), (80.0, 0.0, 0.0), 160.0)
    return carried_through(with_tape(with_tape(state, along), across), "Paper")


@pytest.fixture(scope="session")
def app() -> Iterator[object]:
    """Return the one application of this run."""
    from PySide6.QtWidgets import QApplication

    from app.window.look import dress_application

    made = QApplication.instance() or QApplication(["lowcrown"])
    assert isinstance(made, QApplication)
    dress_application(made)
    yield made
    made.processEvents()


@pytest.fixture(scope="session")
def ready_workers() -> object:
    """Return what starts a window's worker from a process that has loaded everything once.

    A worker of its own loads for two seconds, window after window. `test_tasks` has spawned ones.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["app.window.tasks.worker", "app.delivery", "app.job"])
    return context


@pytest.fixture
def window(app: object, ready_workers: object, monkeypatch: pytest.MonkeyPatch) -> Iterator[object]:
    """Return an open window, closed afterwards without a question."""
    from app.window.main_window import MainWindow

    lanes = "app.window.tasks.lanes"
    monkeypatch.setattr(f"{lanes}.multiprocessing.get_context", lambda way: ready_workers)
    made = MainWindow()
    made.resize(1400, 900)
    made.show()
    spin()
    yield made
    made.document.mark_saved(Path("nowhere"))
    made.close()
    made.deleteLater()
    spin()


def spin(seconds: float = 0.1) -> None:
    """Let the window live for a while."""
    from PySide6.QtWidgets import QApplication

    end = time.monotonic() + seconds
    while time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.005)


def spin_until(is_so: Callable[[], object], seconds: float = 120.0) -> None:
    """Let the window live until something is so; fail when it never is."""
    end = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < end, "it did not come about in time"
        spin(0.02)


def stood(state: JobState) -> JobState:
    """Return a job with front and up said: x ahead, z up."""
    return with_directions(state, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))


def at_step(window: Any, state: JobState, step: str) -> Any:
    """Open a job at a step besides the panels; return the step's view."""
    window.document.open(state, None)
    window.foreman.choose_step(step)
    spin()
    return next(each for each in window.rest.views if each.step == step)


def typed(widget: Any, words: str) -> None:
    """Type over what a field holds, and press Return."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    widget.setFocus()
    widget.setText("")
    QTest.keyClicks(widget, words)
    QTest.keyClick(widget, Qt.Key.Key_Return)
    spin(0.05)
