"""`Setters`: the five together, each connected to its view; the step shown decides who answers."""

from collections.abc import Callable, Mapping
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.window.bench import Bench
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.picture import Pictures
from app.window.scene import Hit, TankView
from app.window.setters.datum_setter import DatumSetter
from app.window.setters.lines_setter import LinesSetter
from app.window.setters.seams_setter import SeamsSetter
from app.window.setters.setter import Setter
from app.window.setters.sides_setter import SidesSetter
from app.window.setters.tidy_setter import TidySetter
from app.window.steps import DatumView, LinesView, SeamsView, SidesView, StepView, TidyView


class Setters(QObject):
    """Passes clicks and keys on to the setter of the step that is shown."""

    said = Signal(str)

    def __init__(
        self, document: Document, foreman: Foreman, tank: TankView, bench: Bench,
        pictures: Pictures,
    ) -> None:  # fmt: skip
        super().__init__(foreman)
        self._foreman = foreman
        self.tidy = TidySetter(document, foreman, tank)
        self.datum = DatumSetter(document, foreman, tank)
        self.sides = SidesSetter(document, foreman, tank)
        self.lines = LinesSetter(document, foreman, tank, bench)
        self.seams = SeamsSetter(document, foreman, tank, bench, pictures)
        for setter in self._all():
            setter.said.connect(self.said)
        foreman.clicked.connect(self._click)
        foreman.delete_requested.connect(self._delete)

    def _all(self) -> tuple[Setter, ...]:
        return self.tidy, self.datum, self.sides, self.lines, self.seams

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is a setter's."""
        found: dict[str, Callable[[], Any]] = {}
        for setter in self._all():
            found |= setter.reactions()
        return found

    def connect_views(self, views: Mapping[str, StepView]) -> None:
        """Let the views ask."""
        tidy, datum, sides, lines, seams = (views[setter.step] for setter in self._all())
        if isinstance(tidy, TidyView):
            tidy.piece_requested.connect(self.tidy.keep_piece)
            tidy.hole_requested.connect(self.tidy.set_hole)
            tidy.fill_requested.connect(self.tidy.set_fill)
            tidy.row_chosen.connect(self.tidy.choose)
            tidy.cut_inside_requested.connect(self.tidy.cut_inside)
            tidy.keep_inside_requested.connect(self.tidy.keep_inside)
            tidy.plane_requested.connect(self.tidy.take_plane)
        if isinstance(datum, DatumView):
            datum.how_requested.connect(self.datum.set_how)
            datum.edge_requested.connect(self.datum.level_by_edge)
            datum.tilt_requested.connect(self.datum.tilt)
            datum.other_requested.connect(self.datum.take_other_plane)
            datum.row_chosen.connect(self.datum.choose)
        if isinstance(sides, SidesView):
            sides.copy_requested.connect(self.sides.set_copy)
            sides.row_chosen.connect(self.sides.choose)
        if isinstance(lines, LinesView):
            lines.sought_requested.connect(self.lines.set_sought)
            lines.row_chosen.connect(self.lines.choose)
        if isinstance(seams, SeamsView):
            seams.hand.snap_requested.connect(self.seams.set_snap)
            seams.hand.amount_requested.connect(self._foreman.set_amount)

    def _shown(self) -> Setter | None:
        step = self._foreman.step
        return next((setter for setter in self._all() if setter.step == step), None)

    def _click(self, hit: Hit | None) -> None:
        setter = self._shown()
        if setter is not None:
            setter.clicked(hit)

    def _delete(self, kind: str, number: int) -> None:
        setter = self._shown()
        if setter is not None:
            setter.delete(kind, number)
