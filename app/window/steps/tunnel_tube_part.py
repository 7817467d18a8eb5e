"""The frame tube a tunnel goes over: typed, or fitted to a scan of it."""

from dataclasses import dataclass, replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QLabel, QPushButton, QVBoxLayout, QWidget

from app.job import JobState, StoodTank, TunnelLaid, made, tube_placed, tunnel_tube_words
from app.window.steps.optional_form import tick_untold
from app.window.steps.spec_form import FormRow, SpecForm
from app.window.steps.standing import Desk
from geometry.tank import RoundBody, TunnelSpec

BODY_ROWS = (
    FormRow("name", "Name", "text"),
    FormRow("diameter_mm", "Diameter", least=0.1),
    FormRow("start_ahead_mm", "One end: ahead of the tank's rear", "place"),
    FormRow("start_left_mm", "One end: left", "place"),
    FormRow("start_up_mm", "One end: up", "place"),
    FormRow("end_ahead_mm", "Other end: ahead", "place"),
    FormRow("end_left_mm", "Other end: left", "place"),
    FormRow("end_up_mm", "Other end: up", "place"),
)


@dataclass(frozen=True)
class BodyFields:
    """A round body as a form edits it: every coordinate a field of its own."""

    name: str
    diameter_mm: float
    start_ahead_mm: float
    start_left_mm: float
    start_up_mm: float
    end_ahead_mm: float
    end_left_mm: float
    end_up_mm: float

    @property
    def body(self) -> RoundBody:
        """The body they describe."""
        start = (self.start_ahead_mm, self.start_left_mm, self.start_up_mm)
        end = (self.end_ahead_mm, self.end_left_mm, self.end_up_mm)
        return RoundBody(self.name or "body", start, end, self.diameter_mm)


def fields_of(body: RoundBody) -> BodyFields:
    """Return a body's fields."""
    return BodyFields(body.name, body.diameter_mm, *body.start_mm, *body.end_mm)


class TunnelTubePart(QWidget):
    """Whether a tunnel goes over a frame tube, and which."""

    taken = Signal(bool)
    """It goes over one, or over none."""

    changed = Signal(object)
    """The tunnel over another tube."""

    file_requested = Signal()
    """A scan of the tube is to be chosen."""

    def __init__(self) -> None:
        super().__init__()
        self._spec, self._placed = TunnelSpec(1.0), TunnelSpec(1.0)
        self.has_tube = QCheckBox("It goes over a frame tube")
        self.has_tube.toggled.connect(self.taken)
        self.form = SpecForm(BODY_ROWS)
        self.form.changed.connect(self._type)
        self.source = QLabel()
        self.source.setWordWrap(True)
        self.fit = QPushButton("Fit it to a scan of the tube...")
        self.fit.setToolTip(
            "A scan of the tube alone, in the axes and the unit of the tank's. The tube found is "
            "kept in the job: the file is not needed again."
        )
        self.fit.clicked.connect(self.file_requested)
        self.let_go = QPushButton("Type it instead, from where it is")
        self.let_go.clicked.connect(self._let_go)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        for part in (self.has_tube, self.source, self.form, self.fit, self.let_go):
            column.addWidget(part)

    def show_spec(self, state: JobState, spec: TunnelSpec, desk: Desk) -> None:
        """Show the tube a tunnel goes over."""
        self._spec, self._placed = spec, _placed(state, spec)
        is_scanned = spec.scanned_tube is not None
        tick_untold(self.has_tube, spec.has_tube)
        self.form.setVisible(spec.tube is not None and not is_scanned)
        if spec.tube is not None:
            self.form.show_spec(fields_of(spec.tube), desk.show)
        self.source.setVisible(is_scanned)
        self.let_go.setVisible(is_scanned)
        self.let_go.setEnabled(self._placed.tube is not None)
        self.source.setText(self._source(state, desk) if is_scanned else "")
        self.fit.setVisible(spec.has_tube)
        self.fit.setText(
            "Fit it to another scan..." if is_scanned else "Fit it to a scan of the tube..."
        )
        self.fit.setEnabled(made(state, "Size") is not None)

    def _source(self, state: JobState, desk: Desk) -> str:
        laid: TunnelLaid | None = made(state, "Tunnel")
        words = "" if laid is None else tunnel_tube_words(laid.tunnel, desk.show)
        scanned = self._spec.scanned_tube
        return words or (f"As scanned: {scanned.file_name}." if scanned else "")

    # ---- what is asked for

    def _type(self, fields: BodyFields) -> None:
        self.changed.emit(replace(self._spec, tube=fields.body))

    def _let_go(self) -> None:
        self.changed.emit(replace(self._placed, scanned_tube=None))


def _placed(state: JobState, spec: TunnelSpec) -> TunnelSpec:
    """Return a tunnel over its tube where it stands, as far as that is known."""
    stood: StoodTank | None = made(state, "Stood")
    size = made(state, "Size")
    if stood is None or size is None:
        return replace(spec, tube=None) if spec.scanned_tube is not None else spec
    return tube_placed(spec, stood.axes, size.mm_per_unit)
