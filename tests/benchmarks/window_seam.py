"""How soon the window tells what seams cost after a point of one was dragged, on the sample job.

Run it on a screen, or a virtual one, with `python -m tests.benchmarks.window_seam [drags]`. A row
for each drag: seconds by the clock from the button's release to the first figures shown, judged on
large triangles, and to the final ones, of the blanks as they are laid; what the window and its
workers took of the processor meanwhile; and how long the window once did not listen. The first row
is the same judging without a window. docs/performance.md keeps the last measured.
"""

import multiprocessing
import os
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

import sample_data
from app.__main__ import THREAD_LIMITS
from tests.app.window.conftest import spin, spin_until

SEAMS = ("top seam", "seat seam", "left nose seam", "right nose seam")
BY_MM = (4.0, -4.0, 3.0)
"""How far points are dragged, square to their seam."""
STEPS = 12
BEGIN_PX = 8.0
"""A press becomes a drag only once the pointer has moved."""


def processor_seconds(pid: int) -> float:
    """Return what a process took of the processor so far, where the system tells it."""
    try:
        told = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    except OSError:
        return float("nan")
    return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")


def workers_seconds() -> float:
    """Return what all workers took of the processor so far."""
    pids = [child.pid for child in multiprocessing.active_children()]
    return sum(processor_seconds(pid) for pid in pids if pid is not None)


def judged_alone(state: Any) -> tuple[float, float]:
    """Return the seconds the same judging takes without a window: first and after a change."""
    from app.job import task_for, with_seam_replaced

    seconds = []
    for changed in (state, with_seam_replaced(state, 0, without_middle(state.seams[0]))):
        task = task_for(changed, "Judged")
        begun = time.perf_counter()
        if task is not None:
            task.run()
        seconds.append(time.perf_counter() - begun)
    return seconds[0], seconds[1]


def without_middle(seam: Any) -> Any:
    """Return a seam without its middle point."""
    middle = len(seam.points) // 2
    return replace(seam, points=seam.points[:middle] + seam.points[middle + 1 :])


def drag_one(window: Any, name: str, by_mm: float, told: Any) -> None:
    """Drag a point of a seam that is seen, and print what came of it."""
    from PySide6.QtCore import QEvent, QPointF, Qt
    from PySide6.QtGui import QMouseEvent
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    seams = window.document.state.seams
    number = [seam.name for seam in seams].index(name)
    window.foreman.choose_seam(number)
    plotter, left = window.tank.plotter, Qt.MouseButton.LeftButton
    start, by = way_to_drag(window, np.array(seams[number].points), by_mm)
    spin(0.3)
    QTest.mousePress(plotter, left, pos=start)
    ways = [QPointF(BEGIN_PX, BEGIN_PX), *(QPointF(by) * (k / STEPS) for k in range(1, STEPS + 1))]
    for way in ways:
        place = QPointF(start) + way
        where = QPointF(plotter.mapToGlobal(place.toPoint()))
        move = QMouseEvent(
            QEvent.Type.MouseMove, place, where, Qt.MouseButton.NoButton, left,
            Qt.KeyboardModifier.ShiftModifier,
        )  # fmt: skip
        QApplication.sendEvent(plotter, move)
        spin(0.05)
    if window.foreman.hand.tool is None:
        QTest.mouseRelease(plotter, left, pos=start + by)
        print(f"{name:20} no point of it was caught")
        return
    held = told.wait_for_trial()
    end = start + by
    own, theirs = time.process_time(), workers_seconds()
    begun = time.perf_counter()
    QTest.mouseRelease(plotter, left, pos=end)
    first, last, deaf = told.wait(begun)
    own, theirs = time.process_time() - own, workers_seconds() - theirs
    print(
        f"{name:20} held still {held:5.2f}, released: first {first:5.2f}, final {last:5.2f} s;"
        f" window {own:5.2f}, workers {theirs:5.2f} s of the processor; deaf {deaf:4.2f} s",
        flush=True,
    )


def way_to_drag(window: Any, points: Any, by_mm: float) -> tuple[Any, Any]:
    """Return where a point of a seam is drawn that is seen well, and the way square to the seam."""
    from PySide6.QtCore import QPoint

    middle = len(points) // 2
    order = sorted(range(2, len(points) - 2), key=lambda k: abs(k - middle))
    rect = window.tank.plotter.rect()
    mm = made_size(window)
    for side in ("corner", "top", "back", "front", "left", "right", "back"):
        window.look(side)
        window.tank.fit()
        spin(0.3)
        for k in order[: len(order) // 2]:
            x, y = window.tank.picture_point(points[k])
            there = QPoint(round(x), round(y))
            hit = window.tank.hit_at(x, y) if rect.contains(there) else None
            if hit is None or window.setters.seams._grip_at(there.x(), there.y()) != k:
                continue
            pixel = window.tank.pixel_size(hit.point)
            before, after = (np.array(window.tank.picture_point(points[k + n])) for n in (-1, 1))
            along = (after - before) / max(float(np.linalg.norm(after - before)), 1e-9)
            aside = np.array([-along[1], along[0]]) * by_mm / (mm * pixel)
            return there, QPoint(*(round(float(v)) for v in aside))
    raise SystemExit("no point of the seam is seen")


def made_size(window: Any) -> float:
    """Return how many mm a unit of the scan's file is."""
    from app.job import made

    return float(made(window.document.state, "Size").mm_per_unit)


class Told:
    """What the strip under the tank tells."""

    def __init__(self, window: Any) -> None:
        self.window = window
        self.view = window._middle.figures

    def wait_for_trial(self, most_s: float = 4.0) -> float:
        """Return how long it takes until figures of the seam in the hand are shown."""
        from PySide6.QtWidgets import QApplication

        begun = time.perf_counter()
        while (taken := time.perf_counter() - begun) < most_s:
            QApplication.processEvents()
            words = self.view.heading.text()
            if "in the hand" in words and "OUT OF DATE" not in words:
                return taken
            time.sleep(0.002)
        return float("nan")

    def wait(self, begun: float) -> tuple[float, float, float]:
        """Return when the first figures and the final ones were shown, and the longest wait."""
        from PySide6.QtWidgets import QApplication

        from app.job import made

        first, deaf, before = float("nan"), 0.0, time.perf_counter()
        while True:
            QApplication.processEvents()
            now = time.perf_counter()
            deaf, before = max(deaf, now - before), now
            state, words = self.window.document.state, self.view.heading.text()
            fresh = "OUT OF DATE" not in words and "in the hand" not in words
            if fresh and np.isnan(first) and made(state, "Judged") is not None:
                first = now - begun
            if "As the blanks are laid" in words and made(state, "Costs") is not None:
                return first, now - begun, deaf
            if now - begun > 60.0:
                return first, float("nan"), deaf
            time.sleep(0.001)


def main(drags: int) -> None:
    """Open the sample's job, drag points of its seams and print the rows."""
    from PySide6.QtWidgets import QApplication

    from app.job import made
    from app.window.look import dress_application
    from app.window.main_window import MainWindow

    app = QApplication(["lowcrown"])
    dress_application(app)
    window = MainWindow()
    window.show()
    begun = time.perf_counter()
    window.keeper.open(Path(sample_data.__file__).parent / "brackwater.lowcrown")
    spin_until(lambda: window.document.state.scan is not None, 60.0)
    window.foreman.choose_step("Seams")
    spin_until(lambda: made(window.document.state, "Costs") is not None, 180.0)
    spin_until(lambda: not window.bench.is_busy, 60.0)
    print(f"job opened, judged and laid flat in {time.perf_counter() - begun:.1f} s")
    first, again = judged_alone(window.document.state)
    print(
        f"judged without a window: first {first:.2f} s, one seam changed {again:.2f} s", flush=True
    )
    told = Told(window)
    for drag in range(drags):
        drag_one(window, SEAMS[drag % len(SEAMS)], BY_MM[drag % len(BY_MM)], told)
        spin_until(lambda: not window.bench.is_busy, 60.0)
        spin(0.5)
    window.document.mark_saved(Path("nowhere"))
    window.close()


if __name__ == "__main__":
    if any(name not in os.environ for name in THREAD_LIMITS):  # as the program itself does
        os.environ.update(dict.fromkeys(THREAD_LIMITS, "1"))
        os.execv(
            sys.executable, [sys.executable, "-m", "tests.benchmarks.window_seam", *sys.argv[1:]]
        )
    main(int(sys.argv[1]) if len(sys.argv) > 1 else len(SEAMS))
