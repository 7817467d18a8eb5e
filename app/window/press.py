"""`Press`: writes the patterns to a folder, by the same function the command line uses."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.delivery import SUMMARY, deliver
from app.job import JobState, all_made, panel_names
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.steps import Desk
from app.window.words import sentence
from geometry.progress import Report


def write_patterns(
    state: JobState, folder: Path, dated: date, desk: Desk, replacing: bool, *, report: Report
) -> tuple[str, ...]:
    """Write everything of a job to a folder; return the names of the files."""
    summary: Mapping[str, Any] = deliver(
        state, folder, dated=dated, show="in" if desk.show == "in" else "mm", replace=replacing,
        metals=desk.metals, least_mm=desk.least_thickness_mm, report=report,
    )  # fmt: skip
    return tuple(summary["files"])


def _travelling(desk: Desk) -> Desk:
    """Return what has to be known of the desk, such that it can travel between processes."""
    return Desk(
        show=desk.show, least_thickness_mm=desk.least_thickness_mm, metals=dict(desk.metals)
    )


class Press(QObject):
    """Writes patterns: first whatever is still to be made, then the files."""

    said = Signal(str)

    def __init__(self, document: Document, bench: Bench, foreman: Foreman, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._bench, self._foreman = document, bench, foreman
        self._window = window
        self._waiting: tuple[Path, bool] | None = None
        self._writing: tuple[Errand, Path] | None = None
        self.written: tuple[str, ...] = ()
        self.written_to: Path | None = None
        bench.rested.connect(self._go_on)
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._forget)

    def write_with_dialog(self) -> None:
        """Ask for a folder and write everything there."""
        name = QFileDialog.getExistingDirectory(self._window, "Write patterns to a folder")
        if not name:
            return
        folder = Path(name)
        replacing = (folder / SUMMARY).exists()
        if replacing and not self._may_replace(folder):
            return
        self.write(folder, replacing=replacing)

    def _may_replace(self, folder: Path) -> bool:
        answer = QMessageBox.question(
            self._window, "Replace the patterns there?",
            f"{folder.name} holds patterns already. Replace them?",
        )  # fmt: skip
        return answer == QMessageBox.StandardButton.Yes

    def write(self, folder: Path, *, replacing: bool = False) -> None:
        """Write everything into a folder, once every pattern is made."""
        self._waiting = (folder, replacing)
        if all_made(self._document.state, "Paper"):
            self._go_on()
            return
        names = panel_names(self._document.state)
        self._bench.want("Blanks", names)
        self._bench.want("Paper", names)

    def _go_on(self) -> None:
        if self._waiting is None:
            return
        (folder, replacing), self._waiting = self._waiting, None
        state = self._document.state
        if not all_made(state, "Paper"):
            self.said.emit("Nothing was written: not every pattern could be made.")
            return
        travelling = replace(state, results=dict(state.results))
        errand = Errand(
            "Writing patterns",
            write_patterns,
            (travelling, folder, date.today(), _travelling(self._foreman.desk), replacing),
        )
        self._writing = (errand, folder)
        self._bench.run_errand(errand)

    def open_folder(self) -> None:
        """Show the folder written to in the desktop's own way."""
        if self.written_to is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self.written_to)))

    def _take(self, errand: Errand, value: Any) -> None:
        if self._writing is not None and self._writing[0] is errand:
            self.written, self.written_to = value, self._writing[1]
            self._writing = None
            self._foreman.choose_step("Paper")
            self.said.emit(f"{len(value)} files written to the folder {self._folder_name()}.")

    def _folder_name(self) -> str:
        return "" if self.written_to is None else self.written_to.name

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._writing is not None and self._writing[0] is errand:
            self._writing = None
            QMessageBox.warning(self._window, "Nothing was written", sentence(error))

    def _forget(self, errand: Errand) -> None:
        if self._writing is not None and self._writing[0] is errand:
            self._writing = None
            self.said.emit("Stopped: nothing was written.")
