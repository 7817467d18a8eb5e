"""`RestFiles`: scans of what a tank stands on, chosen, read in the background, then decided on."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.job import (
    PlacedSpot,
    ScanFile,
    SecondScan,
    TankSpot,
    made,
    read_scan_file,
    read_tube,
    with_rest,
    with_second_scan,
)
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.placing_dialog import PlacingDialog, ToPlace, ready_to_place
from app.window.words import sentence
from geometry.arrays import FloatArray
from geometry.datum import Point3
from geometry.scan import MM_PER_UNIT
from geometry.tank import ScannedTube

_SCANS = "Scans (*.ply *.stl *.obj *.off *.3mf);;All files (*)"


@dataclass(frozen=True, eq=False)
class _Asked:
    """A file that is being read: for which tank, what becomes of it, what is said if nothing."""

    scan: ScanFile | None
    take: Callable[[Any], None]
    refusal: str


class RestFiles(QObject):
    """Asks for files, reads them, and turns what is in them into edits."""

    def __init__(self, document: Document, bench: Bench, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._bench, self._window = document, bench, window
        self._asked: dict[int, _Asked] = {}
        self.placing: PlacingDialog | None = None
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._forget)

    def choose_tube(self) -> None:
        """Ask for a scan of the frame tube, and fit the tunnel's to it."""
        name = self._named("A scan of the frame tube")
        if name:
            self.fit_tube(Path(name))

    def fit_tube(self, path: Path) -> None:
        """Fit the tunnel's frame tube to a scan, in the axes and the unit of the tank's."""
        size = made(self._document.state, "Size")
        if size is not None:
            errand = Errand(f"Reading {path.name}", read_tube, (path, size.mm_per_unit))
            self._run(errand, self._take_tube, "No tube was taken from this scan")

    def _take_tube(self, tube: ScannedTube) -> None:
        state = self._document.state
        if state.rest.tunnel is not None:
            tunnel = replace(state.rest.tunnel, tube=None, scanned_tube=tube)
            self._document.edit(with_rest(state, tunnel=tunnel), "Frame tube from a scan")

    def choose_second(self) -> None:
        """Ask for a scan of what the tank stands on."""
        name = self._named("A scan of what the tank stands on")
        if name:
            self.take_second(Path(name))

    def take_second(self, path: Path) -> None:
        """Hold the tank against a second scan; the job keeps it."""
        errand = Errand(f"Reading {path.name}", read_scan_file, (path,))
        self._run(errand, self._keep_second, "This scan cannot be taken")

    def _keep_second(self, scan: ScanFile) -> None:
        self._document.edit(with_second_scan(self._document.state, scan), "Second scan")

    def place_second(self, show: str) -> None:
        """Have places clicked on the second scan and on the tank; lengths in "mm" or "in"."""
        state = self._document.state
        choice, stood = state.rest.frame_fit, made(state, "Stood")
        if state.frame_scan is None or choice is None or choice.second is None or stood is None:
            return
        per_unit = MM_PER_UNIT[choice.second.unit]
        errand = Errand(
            "Getting both scans ready", ready_to_place, (state.frame_scan, per_unit, stood.outside)
        )
        self._run(errand, partial(self._open_placing, choice.second, show), "This cannot be placed")

    def _open_placing(self, second: SecondScan, show: str, scans: ToPlace) -> None:
        scale = MM_PER_UNIT[second.unit]
        pairs = [
            (
                np.array(each.scan) * scale,
                np.array([each.tank.ahead_mm, each.tank.left_mm, each.tank.up_mm]),
            )
            for each in second.places
        ]
        self.placing = PlacingDialog(scans, pairs, show, self._window)
        self.placing.accepted.connect(partial(self._take_places, second))
        self.placing.open()
        self.placing.look()

    def _take_places(self, second: SecondScan) -> None:
        state, scale = self._document.state, MM_PER_UNIT[second.unit]
        choice = state.rest.frame_fit
        if self.placing is None or choice is None or choice.second is None:
            return
        places = tuple(
            PlacedSpot(_numbers(one / scale), TankSpot(*_numbers(other)))
            for one, other in self.placing.pairs
        )
        if places != second.places:
            placed = replace(choice, second=replace(choice.second, places=places))
            self._document.edit(with_rest(state, frame_fit=placed), "Places of the second scan")

    # ---- reading

    def _named(self, title: str) -> str:
        name, _ = QFileDialog.getOpenFileName(self._window, title, "", _SCANS)
        return name

    def _run(self, errand: Errand, take: Callable[[Any], None], refusal: str) -> None:
        self._asked[id(errand)] = _Asked(self._document.state.scan, take, refusal)
        self._bench.run_errand(errand)

    def _take(self, errand: Errand, value: Any) -> None:
        asked = self._asked.pop(id(errand), None)
        if asked is not None and asked.scan is self._document.state.scan:
            asked.take(value)

    def _refuse(self, errand: Errand, error: Exception) -> None:
        asked = self._asked.pop(id(errand), None)
        if asked is not None:
            self._bench.wrong.emit(errand.words, error)
            QMessageBox.warning(self._window, asked.refusal, sentence(error))

    def _forget(self, errand: Errand) -> None:
        self._asked.pop(id(errand), None)


def _numbers(point: FloatArray) -> Point3:
    x, y, z = (float(value) for value in point)
    return x, y, z
