"""A second scan, of what the tank stands on: its file, its unit, and the places it is placed by."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from app.job import (
    FRAME_FIT,
    FrameFit,
    JobState,
    PlacedSpot,
    SecondScan,
    TankSpot,
    made,
)
from app.units import counted, upward_text
from app.window.steps.rest_view import SpecList
from app.window.steps.spec_form import FormRow, SpecForm
from app.window.steps.standing import Desk
from geometry.comparison import LEAST_PLACES
from geometry.scan import MM_PER_UNIT

_UNIT_ROWS = (
    FormRow(
        "unit",
        "A coordinate means",
        "choice",
        choices=(("mm", "mm"), ("cm", "cm"), ("m", "m"), ("in", "inch")),
    ),
)
_PLACE_ROWS = (
    FormRow("scan_x_mm", "On the scan: x", "place", tip="Its own axes"),
    FormRow("scan_y_mm", "On the scan: y", "place"),
    FormRow("scan_z_mm", "On the scan: z", "place"),
    FormRow("ahead_mm", "On the tank: ahead", "place", tip="Of the tank's rear end"),
    FormRow("left_mm", "On the tank: left", "place", tip="Below nothing: to the right"),
    FormRow("up_mm", "On the tank: up", "place", tip="Over the tank's lowest place"),
)

_LEAST_OFF_MM = 0.01


@dataclass(frozen=True)
class PlaceFields:
    """A place known on both as a form edits it: every coordinate a length of its own."""

    scan_x_mm: float = 0.0
    scan_y_mm: float = 0.0
    scan_z_mm: float = 0.0
    ahead_mm: float = 0.0
    left_mm: float = 0.0
    up_mm: float = 0.0


class SecondScanPart(QWidget):
    """The second scan of a frame fit."""

    file_requested = Signal()
    """A scan of the frame is to be chosen."""

    placing_requested = Signal()
    """Places are to be clicked on both scans."""

    changed = Signal(object)
    """The `SecondScan` as it is to be; None for none."""

    def __init__(self) -> None:
        super().__init__()
        self._second = SecondScan("")
        title = QLabel("A second scan, of what it stands on")
        title.setProperty("role", "soft")
        self.choose = QPushButton("Choose a scan of the frame...")
        self.choose.setToolTip("It is kept in the job, as the tank's own is")
        self.choose.clicked.connect(self.file_requested)
        self.source = QLabel()
        self.source.setWordWrap(True)
        self.unit = SpecForm(_UNIT_ROWS)
        self.unit.changed.connect(self.changed)
        self.agreed = QLabel()
        self.agreed.setWordWrap(True)
        self.places = SpecList("Places known on both scans", "Add a place", _PLACE_ROWS)
        self.places.changed.connect(self._take_places)
        self.click = QPushButton("Click places on both...")
        self.click.clicked.connect(self.placing_requested)
        self.let_go = QPushButton("Do without it")
        self.let_go.clicked.connect(self._let_go)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._shown = (
            self.source, self.unit, self.click, self.places, self.agreed, self.let_go
        )  # fmt: skip
        for part in (title, self.source, self.choose, *self._shown[1:]):
            column.addWidget(part)

    def show_second(self, state: JobState, desk: Desk) -> None:
        """Show the second scan of a job, and how well the places it is placed by agree."""
        choice = state.rest.frame_fit
        second = None if choice is None else choice.second
        for part in self._shown:
            part.setVisible(second is not None)
        is_named = second is not None and bool(second.path)
        self.choose.setText("Choose another..." if is_named else "Choose a scan of the frame...")
        if second is None:
            return
        self._second = second
        self.source.setText(source_words(state, second))
        self.unit.show_spec(second, desk.show)
        self.click.setEnabled(state.frame_scan is not None and made(state, "Stood") is not None)
        fit: FrameFit | None = made(state, FRAME_FIT)
        off = () if fit is None else fit.places_off_mm
        places = tuple(_fields_of(place, second) for place in second.places)
        words = place_rows(second, off, desk.show)
        self.places.show_items(places, words, PlaceFields(), desk.show)
        self.agreed.setText(agreed_words(second, off, desk.show))

    # ---- what is asked for

    def _take_places(self, fields: Sequence[PlaceFields]) -> None:
        scale = MM_PER_UNIT[self._second.unit]
        places = tuple(
            PlacedSpot(
                (each.scan_x_mm / scale, each.scan_y_mm / scale, each.scan_z_mm / scale),
                TankSpot(each.ahead_mm, each.left_mm, each.up_mm),
            )
            for each in fields
        )
        self.changed.emit(replace(self._second, places=places))

    def _let_go(self) -> None:
        self.changed.emit(None)


def source_words(state: JobState, second: SecondScan) -> str:
    """Return where a second scan is: in the job, or in a file that may go."""
    kept = state.frame_scan
    if kept is not None:
        count = counted(len(kept.raw.faces), "triangle")
        return f"{kept.file_name}, {count}, kept in this job: its file is not needed again."
    if not second.path:
        return "No file is chosen yet."
    return f"Not kept in this job, read from {second.path} each time: choose it again to keep it."


def place_rows(second: SecondScan, off_mm: Sequence[float], show: str) -> list[str]:
    """Return what is told of every place: how far it is off, once that is known."""
    known = len(off_mm) == len(second.places)
    return [
        f"Place {at + 1}" + (f": off by {off_words(off_mm[at], show)}" if known else "")
        for at in range(len(second.places))
    ]


def off_words(off_mm: float, show: str) -> str:
    """Return how far off a place is, rounded up; never nothing: no tape is that true."""
    return upward_text(max(off_mm, _LEAST_OFF_MM), show)


def agreed_words(second: SecondScan, off_mm: Sequence[float], show: str) -> str:
    """Return how well the places agree, or what is missing."""
    count = len(second.places)
    if count == 0:
        return (
            "No places: it is taken to be in the axes of the tank's scan. Else give "
            f"{LEAST_PLACES} or more, well apart and not on one line."
        )
    if count < LEAST_PLACES:
        return f"{counted(LEAST_PLACES - count, 'place')} more at least, well apart."
    if len(off_mm) != count:
        return ""
    worst = off_words(max(off_mm), show)
    return f"The places agree to {worst} at the worst: gaps to this scan are no surer."


def _fields_of(place: PlacedSpot, second: SecondScan) -> PlaceFields:
    x, y, z = (value * MM_PER_UNIT[second.unit] for value in place.scan)
    return PlaceFields(x, y, z, place.tank.ahead_mm, place.tank.left_mm, place.tank.up_mm)
