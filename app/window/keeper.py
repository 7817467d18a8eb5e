"""`Keeper`: jobs and files. Opens, saves, keeps unsaved work aside, and brings it back."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.delivery import usual_fractions, usual_output
from app.exports import Correction
from app.job import (
    SUFFIX,
    BadFileError,
    JobFileError,
    JobState,
    MetalChoice,
    Metals,
    ScanFile,
    SideFile,
    bent_as_known,
    discard,
    fresh_card,
    keep_own_metal,
    known_metals,
    made,
    open_job,
    read_scan_file,
    read_seams,
    recoverable,
    recovered,
    save_job,
    save_seams,
    with_card,
    with_metal,
    with_scan,
    with_seams_file,
)
from app.log import write_crash_report
from app.messages import sentence_for
from app.settings import (
    MOST_PRINTERS,
    Printer,
    Settings,
    load_settings,
    recovery_folder,
    save_settings,
)
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.metal_form import MetalForm
from app.window.steps import Desk
from app.window.words import sentence
from geometry.metal import METALS
from geometry.progress import Report

SCANS = "Scans and jobs (*.ply *.stl *.obj *.off *.3mf *.lowcrown);;All files (*)"
JOBS = f"Jobs (*{SUFFIX})"
SEAMS = "Seams files (*.json)"


def read_anything(path: Path, *, report: Report) -> ScanFile | JobState:
    """Return the scan or the job in a file, by its name's ending."""
    if path.suffix.lower() != SUFFIX:
        return read_scan_file(path, report=report)
    return replace(open_job(path), results={})  # a mapping that can travel between processes


class Keeper(QObject):
    """Knows where things are kept."""

    opened = Signal()
    said = Signal(str)
    metals_learnt = Signal(object)

    def __init__(self, document: Document, bench: Bench, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._bench, self._window = document, bench, window
        self._side = SideFile(recovery_folder())
        self._kept: JobState | None = None
        self._opening: dict[int, Path] = {}
        self._metals: Metals = METALS
        self.settings: Settings = load_settings()
        document.changed.connect(self.keep_aside)
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.wrong.connect(self.report_bug)

    # ---- opening

    def open_with_dialog(self) -> None:
        """Ask for a file and open it."""
        name, _ = QFileDialog.getOpenFileName(self._window, "Open a scan or a job", "", SCANS)
        if name:
            self.open(Path(name))

    def open_sample(self) -> None:
        """Open the sample tank's scan."""
        import sample_data

        self.open(sample_data.scan_path())

    def open(self, path: Path) -> None:
        """Open a scan, a job or a seams file; the job open now is offered to be saved first."""
        if path.suffix.lower() == ".json" and self._document.state.scan is not None:
            self.load_seams(path)
            return
        if not self.may_leave():
            return
        errand = Errand(f"Reading {path.name}", read_anything, (path,))
        self._opening[id(errand)] = path
        self._bench.stop()
        self._bench.run_errand(errand)

    def _take(self, errand: Errand, value: Any) -> None:
        path = self._opening.pop(id(errand), None)
        if path is None:
            return
        if isinstance(value, JobState):
            self.begin(value, path, unsaved=False)
        else:
            settings = self.settings
            metal = MetalChoice(settings.thickness_mm, settings.alloy, "outside", settings.paint_mm)
            fresh = JobState(
                metal=bent_as_known(metal, self._metals),
                marked_face="outside" if settings.marked_face == "outside" else "inside",
            )
            name = path.stem.replace("_", " ")
            job = with_card(with_scan(fresh, value, name), fresh_card(settings.stages))
            self.begin(job, None, unsaved=True)
        self._remember(path)

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._opening.pop(id(errand), None) is not None:
            self.tell("This cannot be opened", error)

    def begin(self, state: JobState, path: Path | None, *, unsaved: bool) -> None:
        """Begin with a job."""
        self._document.open(state, path, unsaved=unsaved)
        self.opened.emit()

    def _remember(self, path: Path) -> None:
        self.settings = self.settings.with_recent_file(path)
        self.keep_settings(self.settings)

    def keep_settings(self, settings: Settings) -> None:
        """Keep the shaper's settings; where they cannot be kept the work goes on."""
        self.settings = settings
        try:
            save_settings(settings)
        except OSError as error:
            self.said.emit(f"The settings could not be kept: {error.strerror}.")

    def keep_least_thickness(self, least_mm: float) -> None:
        """Keep below which thickness the shaper is warned."""
        self.keep_settings(replace(self.settings, least_thickness_mm=least_mm))

    def equip(self, desk: Desk) -> Desk:
        """Return the desk with the units, papers and printers of the settings."""
        settings = self.settings
        return replace(
            desk,
            show=settings.show,
            least_thickness_mm=settings.least_thickness_mm,
            output=usual_output(settings),
            fractions=usual_fractions(settings),
            printer=settings.printer,
            printers={each.name: Correction(each.x, each.y) for each in settings.printers},
        )

    def keep_output(self, desk: Desk) -> None:
        """Keep papers, roll and printers as they are on the desk."""
        known = tuple(Printer(name, by.x, by.y) for name, by in desk.printers.items())
        self.keep_settings(
            replace(
                self.settings,
                papers=tuple(paper.key for paper in desk.output.papers),
                roll_mm=desk.output.roll_mm,
                printers=known[-MOST_PRINTERS:],
                printer=desk.printer if desk.printer in desk.printers else "",
            )
        )

    # ---- metals

    def learn_metals(self) -> None:
        """Learn the metals there are; a file of the maker's own that is damaged is told about."""
        try:
            self._metals = known_metals()
        except (OSError, BadFileError) as error:
            self.said.emit(sentence(error))
        else:
            self.metals_learnt.emit(self._metals)

    def add_metal_with_dialog(self) -> None:
        """Ask for a metal and its facts, keep it, and make the job of it."""
        form = MetalForm(self._window)
        if form.exec():
            self.add_metal(form.facts)

    def add_metal(self, facts: dict[str, Any]) -> None:
        """Keep a metal of the maker's own, and make the job of it."""
        try:
            metal = keep_own_metal(facts)
        except (OSError, BadFileError) as error:
            self.tell("The metal could not be kept", error)
            return
        self.learn_metals()
        state = self._document.state
        chosen = bent_as_known(replace(state.metal, alloy=metal.name), {metal.name: metal})
        self._document.edit(with_metal(state, chosen), "metal")

    # ---- seams files

    def load_seams_with_dialog(self) -> None:
        """Ask for a seams file and take it."""
        name, _ = QFileDialog.getOpenFileName(self._window, "Take seams from a file", "", SEAMS)
        if name:
            self.load_seams(Path(name))

    def load_seams(self, path: Path) -> None:
        """Take seams, names and directions from a file."""
        state = self._document.state
        size = made(state, "Size")
        if size is None:
            QMessageBox.information(
                self._window, "Say the size first",
                "A seams file carries its own unit: say the size of the scan first (step 2).",
            )  # fmt: skip
            return
        try:
            found = read_seams(path)
        except (OSError, BadFileError) as error:
            self.tell("These seams cannot be taken", error)
            return
        self._document.edit(with_seams_file(state, found, size.mm_per_unit), "seams from a file")

    def save_seams_with_dialog(self) -> None:
        """Ask for a name and keep the seams in a file."""
        size = made(self._document.state, "Size")
        if size is None or size.unit is None:
            QMessageBox.information(
                self._window, "Say the unit first", "Seams are kept in the scan's unit."
            )
            return
        name, _ = QFileDialog.getSaveFileName(self._window, "Keep the seams", "seams.json", SEAMS)
        if name:
            try:
                save_seams(self._document.state, size.unit, Path(name))
            except OSError as error:
                self.tell("The seams could not be kept", error)

    # ---- saving

    def save(self) -> bool:
        """Save the job where it was, or ask where; return whether it is safe."""
        if self._document.path is None:
            return self.save_as()
        return self.save_to(self._document.path)

    def save_if_kept(self) -> None:
        """Save the job where it has a file, so that what was printed is known there."""
        if self._document.path is not None:
            self.save_to(self._document.path)

    def save_as(self) -> bool:
        """Ask where and save the job there; return whether it is safe."""
        suggested = f"{self._document.state.name}{SUFFIX}"
        name, _ = QFileDialog.getSaveFileName(self._window, "Save the job", suggested, JOBS)
        if not name:
            return False
        path = Path(name)
        return self.save_to(path if path.suffix == SUFFIX else path.with_name(path.name + SUFFIX))

    def save_to(self, path: Path) -> bool:
        """Save the job; return whether it is safe."""
        try:
            save_job(self._document.state, path)
        except OSError as error:
            self.tell("The job could not be saved", error)
            return False
        self._document.mark_saved(path)
        self._remember(path)
        self.said.emit(f"Saved as {path.name}.")
        return True

    def may_leave(self) -> bool:
        """Offer to save unsaved work; return whether the job may be left."""
        if not self._document.is_unsaved:
            return True
        answer = QMessageBox.question(
            self._window, "Save the job first?",
            f"{self._document.state.name} has changes that are not saved.",
            QMessageBox.StandardButton.Save
            | QMessageBox.StandardButton.Discard
            | QMessageBox.StandardButton.Cancel,
        )  # fmt: skip
        if answer == QMessageBox.StandardButton.Save:
            return self.save()
        return answer == QMessageBox.StandardButton.Discard

    # ---- unsaved work

    def keep_aside(self) -> None:
        """Keep the decisions in the side file, whenever they change."""
        state = self._document.state
        if state.scan is None or not self._document.is_unsaved:
            return
        try:
            self._side.keep(state, self._document.path)
        except OSError as error:
            self.said.emit(f"Unsaved work could not be kept aside: {error.strerror}.")

    def offer_recovery(self) -> bool:
        """Offer what a crash left behind; return whether it was taken."""
        for side_file in recoverable(recovery_folder()):
            try:
                state, path = recovered(side_file)
            except (OSError, JobFileError):
                discard(side_file)
                continue
            answer = QMessageBox.question(
                self._window, "Unsaved work was kept",
                f"The last time, {state.name} was not closed properly. Its last changes were "
                "kept. Go on with it?",
                QMessageBox.StandardButton.Yes | QMessageBox.StandardButton.No,
            )  # fmt: skip
            if answer == QMessageBox.StandardButton.Yes:
                self.begin(state, path, unsaved=True)
                discard(side_file)
                return True
            discard(side_file)
        return False

    def close(self) -> None:
        """Forget the side file: the job is safe, or was let go."""
        self._document.changed.disconnect(self.keep_aside)
        self._side.forget()

    def report_bug(self, doing: str, error: Exception) -> None:
        """Keep a report of an error that is not the shaper's to mend."""
        if sentence_for(error) is None:
            write_crash_report(error, doing, self._document.state)

    def tell(self, title: str, error: BaseException) -> None:
        """Tell what went wrong."""
        if isinstance(error, Exception):
            self.report_bug(title, error)
        QMessageBox.warning(self._window, title, sentence(error))

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is the keeper's."""
        return {
            "open": self.open_with_dialog,
            "sample": self.open_sample,
            "save": self.save,
            "save_as": self.save_as,
            "load_seams": self.load_seams_with_dialog,
            "save_seams": self.save_seams_with_dialog,
        }
