"""`RestRoom`: the views of the steps besides the panels, and their pages beside the tank."""

from typing import Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.job import made, with_flange_on_blanks, with_lip_cut_off, with_rest
from app.window.bench import Bench
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.plates_side import PlatesSide
from app.window.rest import REST_STEPS, row_of
from app.window.rest_files import RestFiles
from app.window.rest_pages import RestPages
from app.window.scene import Hit
from app.window.steps import Desk, FlangesView, FrameView, RestView, TunnelView

_NOTHING = "Nothing decided yet: begin on the right."
_NOT_MADE = "Its pages come once it is made."
_REACH_MM = 20.0
"""A click on the tank no farther off than this chooses what is drawn there."""


class RestRoom(QObject):
    """Turns what these views ask for into edits, and keeps their pages."""

    changed = Signal()

    def __init__(self, document: Document, bench: Bench, foreman: Foreman, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._foreman = document, foreman
        self.views: tuple[RestView, ...] = tuple(row.view() for row in REST_STEPS)
        self.files = RestFiles(document, bench, window)
        self.side = PlatesSide()
        self.pages = RestPages(document, bench, self)
        self.pages.changed.connect(self.changed)
        self.side.page_chosen.connect(self._choose_row_of)
        foreman.clicks_first.append(self._take_click)
        for view in self.views:
            view.decided.connect(self.decide)
            view.row_chosen.connect(self._choose_row)
            if isinstance(view, FlangesView):
                view.lip_off_requested.connect(self.cut_lip_off)
                view.on_blanks_requested.connect(self.leave_on_blanks)
            if isinstance(view, TunnelView):
                view.tube_file_requested.connect(self.files.choose_tube)
            if isinstance(view, FrameView):
                view.second_file_requested.connect(self.files.choose_second)
                view.placing_requested.connect(self.place_second)

    def decide(self, field: str, spec: Any, name: str) -> None:
        """Let a field of what is decided besides the panels hold something else."""
        self._document.edit(with_rest(self._document.state, **{field: spec}), name)

    def _shown(self) -> RestView | None:
        return next((view for view in self.views if view.step == self._foreman.step), None)

    def _choose_row(self, kind: str, number: int) -> None:
        """Choose a row of the view shown: on the tank, and its page."""
        self._foreman.choose_row(kind, number)
        view = self._shown()
        page = "" if view is None else view.page_of(kind, number)
        if page:
            self.side.choose(page)

    def _choose_row_of(self, page: str) -> None:
        """Choose the row a page belongs to."""
        view = self._shown()
        row = ("", -1) if view is None else view.row_of(page)
        if row[0]:
            self._foreman.choose_row(*row)

    def _take_click(self, hit: Hit | None) -> bool:
        """Choose the row of what was clicked on the tank, where it is near enough."""
        row, size = row_of(self._foreman.step), made(self._document.state, "Size")
        if row is None or size is None or hit is None:
            return False
        picture = row.picture(self._document.state, self._foreman.desk)
        kind, number = picture.row_at(hit.point, _REACH_MM / size.mm_per_unit)
        if kind:
            self._choose_row(kind, number)
        return bool(kind)

    def cut_lip_off(self, number: int) -> None:
        """Let the root line of a lip be a seam, and the flange run along it."""
        self._document.edit(with_lip_cut_off(self._document.state, number), "Cut the lip off")

    def leave_on_blanks(self, number: int) -> None:
        """Leave a flange on the edges of its blanks."""
        state = with_flange_on_blanks(self._document.state, number)
        self._document.edit(state, "Leave the flange on the blank")

    def place_second(self) -> None:
        """Let places be clicked on the second scan and on the tank."""
        self.files.place_second(self._foreman.desk.show)

    def forget(self) -> None:
        """Keep nothing: another job was opened."""
        self.pages.forget()

    def refresh(self, step: str, desk: Desk) -> None:
        """Show the pages of a step, if it is one besides the panels."""
        row = row_of(step)
        if row is None:
            return
        self.pages.want(step, desk)
        view = next(view for view in self.views if view.step == step)
        decided = getattr(self._document.state.rest, view.FIELD) is not None
        nothing = _NOTHING if self._document.state.scan is not None else ""
        words = (self.pages.words or _NOT_MADE) if decided else nothing
        self.side.refresh(
            self.pages.sheaves(step) if decided else (),
            words,
            stale=not self.pages.is_current(step, desk),
            show=desk.show,
        )
