"""The running program: Qt's application, the window, and what happens to an unexpected error."""

import os
import signal
import sys
from pathlib import Path
from types import TracebackType

os.environ["QT_API"] = "pyside6"

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox

from app.log import start_log, stop_log, write_crash_report
from app.window.look import dress_application
from app.window.main_window import MainWindow


def run_application(path: Path | None) -> int:
    """Run the window until it is closed; return the exit code."""
    app = QApplication.instance() or QApplication(["lowcrown"])
    if not isinstance(app, QApplication):
        return 1
    app.setApplicationName("Lowcrown")
    dress_application(app)
    start_log()
    window = MainWindow()
    edge = Edge(window)
    sys.excepthook = edge.unexpected
    signal.signal(signal.SIGINT, edge.interrupted)
    alive = QTimer()  # lets Python see Ctrl-C
    alive.start(200)
    window.show()
    taken = window.keeper.offer_recovery()
    if path is not None and not taken:
        window.keeper.open(path)
    code = app.exec()
    sys.excepthook = sys.__excepthook__
    stop_log()
    return code


class Edge:
    """What happens to errors nobody expected: a report is written, the job is kept."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._telling = False

    def unexpected(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        """Write a crash report with the job, and say so once."""
        if issubclass(kind, KeyboardInterrupt):
            QApplication.exit(130)
            return
        report = write_crash_report(error, "in the window", self._window.document.state)
        if self._telling:
            return
        self._telling = True
        where = f"A report and the job were kept:\n{report}" if report is not None else ""
        QMessageBox.critical(
            self._window, "Something went wrong in Lowcrown",
            f"This is our mistake, not yours. Your work is kept; you can go on.\n{where}",
        )  # fmt: skip
        self._telling = False

    def interrupted(self, number: int, frame: object) -> None:
        """Leave on Ctrl-C; unsaved work is kept aside."""
        QApplication.exit(130)
