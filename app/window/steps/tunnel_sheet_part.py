"""The sheet a tunnel is made of, where it is another than the panels', and what it bends over."""

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QLabel, QVBoxLayout, QWidget

from app.job import JobState, Metals, tunnel_of_metal, tunnel_sheet
from app.units import length_text
from app.window.steps.optional_form import tick_untold
from app.window.steps.spec_form import ChoiceBox, FormRow, SpecForm
from app.window.steps.standing import Desk
from geometry.metal import METALS
from geometry.tank import TunnelSpec

_AS_PANELS = ""


class TunnelSheetPart(QWidget):
    """A tunnel's own metal and thickness; tells the least radius that comes of them."""

    changed = Signal(object)
    """The tunnel of another sheet."""

    def __init__(self) -> None:
        super().__init__()
        self._state, self._spec = JobState(), TunnelSpec(1.0)
        self._metals: Metals = METALS
        self.said = QCheckBox("Of another sheet than the panels")
        self.said.toggled.connect(self._say)
        self.metal = ChoiceBox(())
        self.metal.setAccessibleName("Metal")
        self.metal.taken.connect(self._take_metal)
        self.thickness = SpecForm((FormRow("sheet_mm", "Thickness", least=0.1),))
        self.thickness.changed.connect(self._give)
        self.least = QLabel()
        self.least.setWordWrap(True)
        self.least.setProperty("role", "soft")
        title = QLabel("Metal")
        title.setProperty("role", "soft")
        title.setBuddy(self.metal)
        self._own = QWidget()
        for whole, parts in (
            (self._own, (title, self.metal, self.thickness)),
            (self, (self.said, self._own, self.least)),
        ):
            column = QVBoxLayout(whole)
            column.setContentsMargins(0, 0, 0, 0)
            for part in parts:
                column.addWidget(part)

    def show_spec(self, state: JobState, spec: TunnelSpec, desk: Desk) -> None:
        """Show the sheet a tunnel is made of."""
        self._state, self._spec, self._metals = state, spec, desk.metals
        own = spec.sheet_mm is not None or spec.metal is not None
        tick_untold(self.said, own)
        self._own.setVisible(own)
        sheet = tunnel_sheet(spec, state.metal)
        self._show_metals(spec.metal)
        self.thickness.show_spec(replace(spec, sheet_mm=sheet.thickness_mm), desk.show)
        least = f"No least bend radius is known for {sheet.name}: try a strip first."
        if sheet.least_radius_mm is not None:
            radius = length_text(sheet.least_radius_mm, desk.show, 32)
            least = f"{sheet.name} is bent cold over an inside radius of {radius} at least."
        if sheet.least_radius_mm == 0.0:
            least = f"{sheet.name} may be bent cold flat upon itself, by the table."
        self.least.setText(least)
        self.least.setVisible(not spec.is_round)

    def _show_metals(self, name: str | None) -> None:
        names = [*self._metals, *([name] if name and name not in self._metals else [])]
        of_panels = f"{self._state.metal.alloy}, as the panels"
        rows = [(of_panels, _AS_PANELS), *((each, each) for each in names)]
        box = self.metal
        if [(box.itemText(at), box.itemData(at)) for at in range(box.count())] != rows:
            box.clear()
            for words, value in rows:
                box.addItem(words, value)
        box.setCurrentIndex(box.findData(name or _AS_PANELS))

    # ---- what is asked for

    def _say(self, wanted: bool) -> None:
        thickness = self._state.metal.thickness_mm if wanted else None
        self._give(replace(self._spec, sheet_mm=thickness, metal=None))

    def _take_metal(self, name: str) -> None:
        self._give(replace(self._spec, metal=name or None))

    def _give(self, spec: TunnelSpec) -> None:
        """Tell the tunnel of another sheet; a metal's own figures go by the thickness."""
        if spec.metal is None or spec.metal in self._metals:
            spec = tunnel_of_metal(spec, spec.metal, self._metals, self._state.metal.thickness_mm)
        if spec != self._spec:
            self.changed.emit(spec)
