"""How long the window takes to answer a click on a scan of half a million triangles.

Run it on a screen, or a virtual one, with `python -m tests.benchmarks.window_click [triangles]`.
Answered means: the place is found on the whole scan, and the picture with its mark is drawn.
docs/performance.md keeps the last measured.
"""

import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from tests.app.window.conftest import open_shell, spin, spin_until, write_stl

CLICKS = 20


def main(triangles: int) -> None:
    """Open a shell of about so many triangles, click it and print the times."""
    from PySide6.QtCore import QPoint, Qt
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    from app.window.look import dress_application
    from app.window.main_window import MainWindow

    app = QApplication(["lowcrown"])
    dress_application(app)
    window = MainWindow()
    window.show()
    side = round(float(np.sqrt(triangles / 4.0)))
    with TemporaryDirectory() as folder:
        path = write_stl(Path(folder) / "large.stl", *open_shell(side, 2 * side))
        began = time.perf_counter()
        window.keeper.open(path)
        spin(0.3)
        spin_until(lambda: not window.bench.is_busy)
        seconds = time.perf_counter() - began
        print(f"{4 * side * side - 2 * side} triangles, reported in {seconds:.1f} s")
    spin(1.0)
    window.foreman.take_tape()
    times = []
    drawn: list[int] = []
    canvas = window.tank.plotter
    canvas.ren_win.AddObserver("EndEvent", lambda *told: drawn.append(1))
    middle = canvas.rect().center()
    for number in range(CLICKS):
        place = middle + QPoint(7 * number - 70, 3 * number - 30)
        window.foreman.take_tape()
        spin(0.1)
        drawn.clear()
        began = time.perf_counter()
        QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=place)
        while not drawn or window.foreman.tape_tool.start is None:  # type: ignore[union-attr]
            QApplication.processEvents()
        times.append(time.perf_counter() - began)
    print(f"click to picture: median {np.median(times):.3f} s, worst {max(times):.3f} s")
    window.document.mark_saved(Path("nowhere"))
    window.close()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500_000)
