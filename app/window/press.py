"""`Press`: lets patterns out, to a folder or a printer, and notes each revision that left."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.delivery import SUMMARY, Composed, check_folder, deliver, files_of_step, write_result
from app.job import JobState, all_made, made, panel_names, with_print
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.page_keeper import PageKeeper, travelling_desk
from app.window.pages_side import PagesSide
from app.window.printing import Asked, PrintRoom
from app.window.rest import REST_STEPS, row_of
from app.window.steps import Desk
from app.window.words import sentence
from geometry.progress import Report


def write_patterns(
    state: JobState,
    folder: Path,
    desk: Desk,
    replacing: bool,
    kept: Composed | None,
    *,
    report: Report,
) -> tuple[str, ...]:
    """Write everything of a job to a folder; return the names of the files.

    Pages that are kept and still what would come out are not composed again.
    """
    summary: Mapping[str, Any] = deliver(
        state, folder, dated=dated_of(state), replace=replacing,
        show="in" if desk.show == "in" else "mm", metals=desk.metals,
        least_mm=desk.least_thickness_mm, output=desk.output,
        fractions=desk.fractions, kept=kept, report=report,
    )  # fmt: skip
    return tuple(summary["files"])


def write_step(
    state: JobState, step: str, folder: Path, desk: Desk, replacing: bool, *, report: Report
) -> tuple[str, ...]:
    """Write the files of one step besides the panels to a folder; return their names."""
    numbers = numbers_of(step)
    check_folder(folder, replace=replacing, result=numbers)
    files = files_of_step(
        state, step, numbers, dated=dated_of(state), show="in" if desk.show == "in" else "mm",
        output=desk.output, metals=desk.metals, report=report,
    )  # fmt: skip
    write_result(folder, files, replace=replacing, result=numbers)
    return tuple(files)


def numbers_of(step: str) -> str:
    """Return the name of the file that the numbers of a step besides the panels go to."""
    return f"{step.lower()}.json"


def not_made(state: JobState) -> tuple[str, ...]:
    """Return which steps besides the panels are begun and not made."""
    begun = [row.name for row in REST_STEPS if getattr(state.rest, row.view.FIELD) is not None]
    return tuple(name for name in begun if made(state, name) is None)


def dated_of(state: JobState) -> date:
    """Return the day on a job's pages: that of its revision."""
    return date.fromisoformat(state.revised) if state.revised else date.today()


class Press(QObject):
    """Writes patterns, first making whatever is still to be made; prints the pages shown."""

    said = Signal(str)
    printed = Signal()
    """A revision left: the job's own file has to know."""

    def __init__(
        self,
        document: Document,
        bench: Bench,
        foreman: Foreman,
        pages: tuple[PageKeeper, PagesSide],
        window: QWidget,
    ) -> None:
        super().__init__(window)
        self._document, self._bench, self._foreman = document, bench, foreman
        self._keeper, self._shown = pages
        self._window = window
        self.print_room = PrintRoom(window)
        self.print_room.said.connect(self.said)
        self._to_print: tuple[Asked, str] | None = None
        self._keeper.changed.connect(self._pages_came)
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

    def write_step_with_dialog(self) -> None:
        """Ask for a folder and write there what the step shown comes to, panels or none."""
        step = self._foreman.step
        if row_of(step) is None or made(self._document.state, step) is None:
            self.said.emit("Nothing was written: the step is not made.")
            return
        name = QFileDialog.getExistingDirectory(self._window, f"Write to a folder: {step.lower()}")
        if not name:
            return
        folder = Path(name)
        replacing = (folder / numbers_of(step)).exists()
        if replacing and not self._may_replace(folder):
            return
        self.write_step(folder, replacing=replacing)

    def write_step(self, folder: Path, *, replacing: bool = False) -> None:
        """Write what the step shown comes to into a folder."""
        self._note_print()
        state = self._document.state
        light = {part: state.results[part] for part in state.results if not part[1]}
        told = (replace(state, results=light), self._foreman.step, folder)
        desk = travelling_desk(self._foreman.desk)
        self._run(Errand("Writing files", write_step, (*told, desk, replacing)), folder)

    def _may_replace(self, folder: Path) -> bool:
        answer = QMessageBox.question(
            self._window, "Replace the patterns there?",
            f"{folder.name} holds patterns already. Replace them?",
        )  # fmt: skip
        return answer == QMessageBox.StandardButton.Yes

    def write(self, folder: Path, *, replacing: bool = False) -> None:
        """Write everything into a folder, once every pattern, and what goes with it, is made."""
        self._waiting = (folder, replacing)
        if not_made(self._document.state):
            self._foreman.choose_step("Paper")  # what is besides the panels is made while it shows
        if all_made(self._document.state, "Paper"):
            if not self._bench.is_busy or not not_made(self._document.state):
                self._go_on()
            return
        names = panel_names(self._document.state)
        self._bench.want("Paper", names)  # first: where the blanks are made it must not rest yet
        self._bench.want("Blanks", names)

    def _go_on(self) -> None:
        if self._waiting is None:
            return
        (folder, replacing), self._waiting = self._waiting, None
        if not all_made(self._document.state, "Paper"):
            self.said.emit("Nothing was written: not every pattern could be made.")
            return
        self._note_print()
        state = self._document.state
        desk = self._foreman.desk
        travelling = replace(state, results=dict(state.results))
        told = (travelling, folder, travelling_desk(desk), replacing)
        errand = Errand("Writing patterns", write_patterns, (*told, self._keeper.current(desk)))
        self._run(errand, folder)

    def _run(self, errand: Errand, folder: Path) -> None:
        self._writing = (errand, folder)
        self._bench.run_errand(errand)

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that lets pages out."""
        return {
            "export": self.write_with_dialog,
            "export_step": self.write_step_with_dialog,
            "print": self.print_with_dialog,
            "stop": self.stop,
        }

    def stop(self) -> None:
        """Stop what runs, a print included."""
        self._to_print = None
        self.print_room.stop()
        if self._waiting is not None:
            self._waiting = None
            self.said.emit("Stopped: nothing was written.")
        self._bench.stop()

    # ---- printing

    def print_with_dialog(self) -> None:
        """Print the file whose page is shown, by the system's own dialog."""
        sheaf = self._shown.sheaf
        if sheaf is None or not self._keeper.is_current(self._foreman.desk, sheaf.name):
            why = "there are no pages yet" if sheaf is None else "the pages shown are out of date"
            self.said.emit(f"Nothing was printed: {why}.")
            return
        printer = self._foreman.desk.printer
        asked = self.print_room.ask(sheaf, self._shown.page_number, printer)
        if asked is None:
            return
        self._foreman.take_printer(asked.name)  # pages made for another are made anew for it
        self._to_print = (asked, sheaf.name)
        if not self._keeper.is_current(self._foreman.desk, sheaf.name):
            self.said.emit(f"The pages are made anew for {asked.name}; then they are printed.")
        self._print_waiting()

    def _pages_came(self) -> None:
        """Print what waits for its pages; forget it where they are not those waited for."""
        self._print_waiting()
        if self._to_print is not None:
            self._to_print = None
            self.said.emit("Nothing was printed: the pages could not be made, or changed.")

    def _print_waiting(self) -> None:
        """Print what was asked for if its pages are those of the printer chosen."""
        if self._to_print is None:
            return
        asked, name = self._to_print
        if not self._keeper.is_current(self._foreman.desk, name):
            return
        self._to_print = None
        found = [sheaf for sheaf in self._keeper.sheaves if sheaf.name == name]
        if found and max(asked.pages) < len(found[0].pages):
            self._note_print()
            self.print_room.start(asked, found[0])
        else:
            self.said.emit("Nothing was printed: the pages changed. Look at them and print again.")

    def _note_print(self) -> None:
        """Note what leaves as the job's newest revision, if it differs from the last."""
        state = with_print(self._document.state, date.today())
        if state is not self._document.state:
            self._document.take_print(state)
            self.printed.emit()

    def open_folder(self) -> None:
        """Show the folder written to in the desktop's own way."""
        if self.written_to is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self.written_to)))

    def _take(self, errand: Errand, value: Any) -> None:
        if self._writing is not None and self._writing[0] is errand:
            folder, self._writing = self._writing[1], None
            said = f"{len(value)} files written to the folder {folder.name}."
            if errand.function is write_patterns:
                self.written, self.written_to = value, folder
                self._foreman.choose_step("Paper")
                without = ", ".join(not_made(self._document.state))
                said += f" NOT among them, as not made: {without}." if without else ""
            self.said.emit(said)

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._writing is not None and self._writing[0] is errand:
            self._writing = None
            QMessageBox.warning(self._window, "Nothing was written", sentence(error))

    def _forget(self, errand: Errand) -> None:
        if self._writing is not None and self._writing[0] is errand:
            self._writing = None
            self.said.emit("Stopped: nothing was written.")
