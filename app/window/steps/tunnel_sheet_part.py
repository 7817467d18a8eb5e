"""The sheet a tunnel is made of, where it is another than the panels', and what it bends over."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QVBoxLayout, QWidget

from app.job import JobState, Metals, tunnel_of_metal, tunnel_sheet
from app.units import length_text
from app.window.steps.spec_form import ChoiceBox
from app.window.steps.standing import Desk
from app.window.steps.typed_edit import LengthEdit
from geometry.metal import METALS
from geometry.tank import TunnelSpec


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
        self.metal.taken.connect(self._take_metal)
        self.thickness = LengthEdit(0.1)
        self.thickness.taken.connect(self._take_thickness)
        self.least = QLabel()
        self.least.setWordWrap(True)
        self.least.setProperty("role", "soft")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.said)
        self._fields = QWidget()
        grid = QGridLayout(self._fields)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(1, 1)
        for row, (words, field) in enumerate(
            (("Metal", self.metal), ("Thickness", self.thickness))
        ):
            title = QLabel(words)
            title.setProperty("role", "soft")
            title.setBuddy(field)
            grid.addWidget(title, row, 0)
            grid.addWidget(field, row, 1)
        column.addWidget(self._fields)
        column.addWidget(self.least)

    def show_spec(self, state: JobState, spec: TunnelSpec, desk: Desk) -> None:
        """Show the sheet a tunnel is made of."""
        self._state, self._spec, self._metals = state, spec, desk.metals
        own = spec.sheet_mm is not None or bool(spec.metal)
        self.said.blockSignals(True)
        self.said.setChecked(own)
        self.said.blockSignals(False)
        self._fields.setVisible(own)
        sheet = tunnel_sheet(spec, state.metal)
        self._show_metals(spec.metal)
        self.thickness.show_length(sheet.thickness_mm, desk.show)
        least = f"No least bend radius is known for {sheet.name}: try a strip first."
        if sheet.least_radius_mm is not None:
            radius = length_text(sheet.least_radius_mm, desk.show, 32)
            least = f"{sheet.name} is bent cold over an inside radius of {radius} at least."
        if sheet.least_radius_mm == 0.0:
            least = f"{sheet.name} may be bent cold flat upon itself, by the table."
        self.least.setText(least)
        self.least.setVisible(not spec.is_round)

    def _show_metals(self, name: str) -> None:
        names = [*self._metals, *([name] if name and name not in self._metals else [])]
        rows = [
            (f"{self._state.metal.alloy}, as the panels", ""),
            *((each, each) for each in names),
        ]
        if [
            (self.metal.itemText(k), self.metal.itemData(k)) for k in range(self.metal.count())
        ] != rows:
            self.metal.clear()
            for words, value in rows:
                self.metal.addItem(words, value)
        self.metal.setCurrentIndex(self.metal.findData(name))

    # ---- what is asked for

    def _say(self, wanted: bool) -> None:
        thickness = self._state.metal.thickness_mm if wanted else None
        self._give(sheet_mm=thickness, metal="", bend_ratio=None)

    def _take_thickness(self, thickness_mm: float) -> None:
        self._give(sheet_mm=thickness_mm)

    def _take_metal(self, name: str) -> None:
        self._give(metal=name)

    def _give(self, **changed: Any) -> None:
        """Tell the tunnel of another sheet; a metal's own figures go by the thickness."""
        spec = replace(self._spec, **changed)
        if not spec.metal or spec.metal in self._metals:
            spec = tunnel_of_metal(spec, spec.metal, self._metals, self._state.metal.thickness_mm)
        if spec != self._spec:
            self.changed.emit(spec)
