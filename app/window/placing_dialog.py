"""Placing a second scan by clicking: the same places on it and on the tank, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.job import ScanFile
from app.units import counted
from app.window.look import DRAWN
from app.window.scene import Body, Curve, Hit, TankPicture, TankView, lighter
from app.window.steps import off_words
from geometry.arrays import FloatArray
from geometry.comparison import LEAST_PLACES, PlacingPlacesError, placing_by
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent
from geometry.scan import scaled, sound_mesh

Pair = tuple[FloatArray, FloatArray]
"""A place on the second scan, mm, and where it belongs on the tank, in its axes."""

_ABOUT = (
    "Click a place on the scan of the frame that you know on the tank too, then the same place on "
    "the tank: three places or more, well apart and not on one line. A drag turns, the wheel zooms."
)
_FRAME = "#5d6b58"
_SIZE = (1120, 720)
_CORNER, _UP = np.array([0.62, 0.68, 0.39]), np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class ToPlace:
    """Both scans ready to be clicked on, mm.

    Attributes
    ----------
    frame : TriMesh
        In its own axes.
    frame_shown : TriMesh
        What is drawn of it.
    tank : TriMesh
        In tank axes.
    tank_shown : TriMesh
    """

    frame: TriMesh
    frame_shown: TriMesh
    tank: TriMesh
    tank_shown: TriMesh


def ready_to_place(
    scan: ScanFile, mm_per_unit: float, tank: TriMesh, *, report: Report = silent
) -> ToPlace:
    """Return both scans ready to be clicked on.

    Raises
    ------
    GeometryError
    """
    sound = sound_mesh(scan.raw, report=part_of(report, 0.0, 0.7))
    frame = scaled(sound.mesh, mm_per_unit)
    report(0.8, "lightening the pictures")
    return ToPlace(frame, lighter(frame), tank, lighter(tank))


class PlacingDialog(QDialog):
    """Two views; `pairs` are the places known on both."""

    def __init__(
        self, scans: ToPlace, pairs: Sequence[Pair], show: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Place the scan of the frame")
        self.resize(*_SIZE)
        self.pairs: list[Pair] = list(pairs)
        self._scans, self._show = scans, show
        self._waiting: FloatArray | None = None
        self.frame, self.tank = TankView(self), TankView(self)
        self.says = [QLabel(), QLabel()]
        self.agreed = QLabel()
        self.agreed.setWordWrap(True)
        self.take_back = QPushButton("Take the last one back")
        self.take_back.clicked.connect(self._take_back)
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self.buttons.button(QDialogButtonBox.StandardButton.Ok).setText("Use these places")
        for button in self.buttons.buttons():
            button.setIcon(QIcon())
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self._lay_out()
        for view, mesh in ((self.frame, scans.frame), (self.tank, scans.tank)):
            view.set_pick("scan", mesh, mesh.vertices, mesh.faces)
            view.set_extent(mesh.vertices.min(axis=0), mesh.vertices.max(axis=0))
        self.frame.hit.connect(self._click_frame)
        self.tank.hit.connect(self._click_tank)
        self.finished.connect(self._close_views)
        self._refresh()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        about = QLabel(_ABOUT)
        about.setWordWrap(True)
        about.setProperty("role", "soft")
        column.addWidget(about)
        across = QHBoxLayout()
        for words, view in zip(self.says, (self.frame, self.tank), strict=True):
            half = QVBoxLayout()
            half.addWidget(words)
            half.addWidget(view, 1)
            across.addLayout(half, 1)
        column.addLayout(across, 1)
        column.addWidget(self.agreed)
        foot = QHBoxLayout()
        foot.addWidget(self.take_back)
        foot.addStretch(1)
        foot.addWidget(self.buttons)
        column.addLayout(foot)

    def look(self) -> None:
        """Look at both from a corner, all of each in view."""
        for view in (self.frame, self.tank):
            view.look_from(_CORNER / np.linalg.norm(_CORNER), _UP)

    # ---- clicks

    def _click_frame(self, hit: Hit | None) -> None:
        if hit is not None:
            self._waiting = hit.point
            self._refresh()

    def _click_tank(self, hit: Hit | None) -> None:
        if hit is not None and self._waiting is not None:
            self.pairs.append((self._waiting, hit.point))
            self._waiting = None
            self._refresh()

    def _take_back(self) -> None:
        if self._waiting is not None:
            self._waiting = None
        elif self.pairs:
            self.pairs.pop()
        self._refresh()

    # ---- showing

    def _refresh(self) -> None:
        number = len(self.pairs) + 1
        waits = self._waiting is not None
        self.says[0].setText("The frame" if waits else f"Click place {number} on the frame")
        self.says[1].setText(f"Now place {number} on the tank" if waits else "The tank")
        self.take_back.setEnabled(waits or bool(self.pairs))
        placed, words = _agreed(self.pairs, self._scans.frame_shown, self._show)
        self.agreed.setText(words)
        self.buttons.button(QDialogButtonBox.StandardButton.Ok).setEnabled(placed is not None)
        on_frame = [one for one, _ in self.pairs]
        on_tank = [other for _, other in self.pairs]
        if self._waiting is not None:
            on_frame.append(self._waiting)
        body = () if placed is None else (Body(placed.vertices, placed.faces, _FRAME),)
        _show(self.frame, self._scans.frame_shown, on_frame, ())
        _show(self.tank, self._scans.tank_shown, on_tank, body)

    def _close_views(self) -> None:
        for view in (self.frame, self.tank):
            view.close_canvas()


def _show(
    view: TankView, mesh: TriMesh, places: Sequence[FloatArray], bodies: tuple[Body, ...]
) -> None:
    dots = tuple(
        Curve(place[None], colour=DRAWN, words=str(at), dots=True, on_top=True)
        for at, place in enumerate(places, start=1)
    )
    shown = (mesh.vertices, mesh.faces)
    view.show_picture(TankPicture(scan=shown, curves=dots, bodies=bodies))


def _agreed(pairs: Sequence[Pair], frame: TriMesh, show: str) -> tuple[TriMesh | None, str]:
    """Return the frame where the places put it, and how well they agree or what is missing."""
    count = len(pairs)
    if count < LEAST_PLACES:
        return None, f"{counted(LEAST_PLACES - count, 'place')} more at least."
    here, there = (np.stack(each) for each in zip(*pairs, strict=True))
    try:
        placing = placing_by(here, there)
    except PlacingPlacesError:
        return None, "The places lie on one line: click one beside it."
    off = "; ".join(
        f"{at}: {off_words(value, show)}" for at, value in enumerate(placing.off_mm, start=1)
    )
    worst = off_words(float(placing.off_mm.max()), show)
    return placing.placed(frame), f"The places agree to {worst} at the worst; off by {off}."
