"""`MainWindow`: puts the views together and passes what they ask on. Decides nothing itself."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QMainWindow,
    QMenu,
    QScrollArea,
    QStackedWidget,
    QToolBar,
    QVBoxLayout,
    QWidget,
)

from app.job import JobState, latest
from app.window.actions import ActionSet
from app.window.bench import Bench
from app.window.board_room import BoardRoom
from app.window.bottom_bar import BottomBar
from app.window.breaks_room import BreaksRoom
from app.window.card_room import CardRoom
from app.window.comparer import Comparer
from app.window.comparison_table import ComparisonTable
from app.window.document import Document
from app.window.foreman import Foreman
from app.window.keeper import Keeper
from app.window.key_page import show_about, show_keys
from app.window.link import Spot, change_at, on_blank, on_tank
from app.window.middle import Middle
from app.window.page_canvas import PageCanvas
from app.window.page_keeper import PageKeeper
from app.window.pages_side import PagesSide
from app.window.picture import Pictures
from app.window.press import Press
from app.window.readings_room import ReadingsRoom
from app.window.rest_room import RestRoom
from app.window.scene import TankView
from app.window.seam_costs import SeamCosts
from app.window.setters import Setters
from app.window.sheet_view import SheetView
from app.window.skin_keeper import SkinKeeper
from app.window.skins import PLAIN, SKINS
from app.window.standpoint import Side
from app.window.steps import (
    BlanksView,
    DatumView,
    Desk,
    LinesView,
    PaperView,
    ScanView,
    SeamsView,
    SidesView,
    SizeView,
    StepView,
    TidyView,
)
from app.window.steps_list import StepsList
from app.window.tank_side import TankSide
from app.window.words import change_words

_SIDES: tuple[Side, ...] = ("corner", "front", "back", "left", "right", "top", "below")
_TURNS = {"turn_left": (12, 0), "turn_right": (-12, 0), "turn_up": (0, 12), "turn_down": (0, -12)}


class MainWindow(QMainWindow):
    """The window."""

    def __init__(self) -> None:
        super().__init__()
        self.resize(1500, 940)
        self.setMinimumSize(1000, 640)
        self.setAcceptDrops(True)
        self.document = Document(parent=self)
        self.bench = Bench(self.document, self)
        self.pictures = Pictures(self.bench)
        self.tank, self.sheet, self.comparison = TankView(), SheetView(), ComparisonTable()
        self.pages = PagesSide()
        self.foreman = Foreman(self.document, self.bench, self.pictures, self.tank)
        self.keeper = Keeper(self.document, self.bench, self)
        self.comparer = Comparer(self.document, self.bench, self.foreman, self)
        self.skin_keeper = SkinKeeper(self.document, self.bench, self)
        self.page_keeper = PageKeeper(self.document, self.bench, self)
        pages = (self.page_keeper, self.pages)
        self.press = Press(self.document, self.bench, self.foreman, pages, self)
        self.tank_side = TankSide(self.tank, self.pictures, self.skin_keeper)
        self.board = BoardRoom(self.document, self.bench, self.foreman, self.keeper, self)
        self.card = CardRoom(self.document, self.foreman, self.keeper, self)
        self.breaks = BreaksRoom(
            self.document, self.bench, self.foreman, self.press.print_room, self
        )
        self.readings = ReadingsRoom(self.document, self.foreman, self)
        self.rest = RestRoom(self.document, self.bench, self.foreman, self)
        self.setters = Setters(
            self.document, self.foreman, self.tank, self.bench, self.pictures
        )  # fmt: skip
        self._from_inside: bool | None = None
        self._shown: list[Any] = [None]
        self._lay_out()
        self.actions_ = ActionSet(self, self.tank, self.pages)
        menus = self.actions_.fill_menus(self)
        self._recent = QMenu("Recent", self)
        menus["Job"].insertMenu(self.actions_["save"], self._recent)
        self._recent.aboutToShow.connect(self._fill_recent)
        self._recent.triggered.connect(self._open_recent)
        self._reactions = self._all_reactions()
        self.actions_.fill_tool_bar(self._tools)
        self._connect()
        self.foreman.desk = self.keeper.equip(self.foreman.desk)
        self.keeper.learn_metals()
        self.refresh()

    # ---- putting together

    def _lay_out(self) -> None:
        self._tools = _tool_bar(self)
        self.steps, self._blanks = StepsList(), BlanksView()
        views = (*_setting_views(), self._blanks, PaperView(), *self.rest.views)
        self.views: dict[str, StepView] = {view.step: view for view in views}
        self._right = QStackedWidget()
        self._right.setFixedWidth(340)
        self._rooms: dict[str, QScrollArea] = {}
        for view in self.views.values():
            self._rooms[view.step] = _room(view)
            self._right.addWidget(self._rooms[view.step])
        self._middle = Middle(
            self.tank_side, self.sheet, self.comparison, self.pages, self.rest.side
        )
        self._costs = SeamCosts(self.document, self.bench, self.foreman, self._middle.figures)
        self.bottom = BottomBar()
        across = QHBoxLayout()
        across.setSpacing(0)
        across.addWidget(self.steps)
        across.addWidget(self._middle, 1)
        across.addWidget(self._right)
        whole = QWidget()
        column = QVBoxLayout(whole)
        for layout in (column, across):
            layout.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(across, 1)
        column.addWidget(self.bottom)
        self.setCentralWidget(whole)

    def _connect(self) -> None:
        self.document.changed.connect(self.refresh)
        self.document.changed.connect(self._middle.readout.clear)  # told of what stood before
        self.foreman.changed.connect(self.refresh)
        self.foreman.spotted.connect(self._spot_from_tank)
        self.foreman.reworded.connect(self.tank_side.say_tool_words)
        self.sheet.pointed.connect(self._spot_from_sheet)
        self.keeper.opened.connect(self._begin)
        self.keeper.opened.connect(self.board.opened)
        self.keeper.said.connect(self.bottom.say)
        self.keeper.metals_learnt.connect(self.foreman.learn_metals)
        self._blanks.metal_adding_requested.connect(self.keeper.add_metal_with_dialog)
        self.press.said.connect(self.bottom.say)
        self.press.printed.connect(self.keeper.save_if_kept)
        self.press.print_room.progressed.connect(self.bottom.show_progress)
        self.press.print_room.rested.connect(self._rest)
        self.bench.progressed.connect(self.bottom.show_progress)
        self.bench.progressed.connect(self._show_busy)
        self.bench.rested.connect(self._rest)
        self.bottom.stop_requested.connect(self.press.stop)
        self.bottom.go_on_requested.connect(self.bench.go_on)
        self.bottom.go_on_requested.connect(self.page_keeper.go_on)
        self.steps.step_requested.connect(self.foreman.choose_step)
        self.actions_.asked.connect(self.react)
        for view in self.views.values():
            view.asked.connect(self.react)
        self.skin_keeper.changed.connect(self.refresh)
        self.page_keeper.changed.connect(self.refresh)
        self.rest.changed.connect(self.refresh)
        self.page_keeper.said.connect(self.bottom.say)
        self.pages.asked.connect(self.react)
        self.skin_keeper.said.connect(self.bottom.say)
        self.tank_side.skin_requested.connect(self.react)
        self.comparer.changed.connect(self.refresh)
        self.comparer.said.connect(self.bottom.say)
        self.comparison.put_away_requested.connect(self.comparer.put_away)
        self.comparison.take_requested.connect(self.comparer.take)
        _connect_views(self.views, self.foreman, self.press, self.comparer)
        paper = self.views["Paper"]
        if isinstance(paper, PaperView):
            paper.panel_chosen.connect(self.pages.show_panel)
        self.setters.connect_views(self.views)
        self.setters.said.connect(self.bottom.say)
        self.board.said.connect(self.bottom.say)
        self.foreman.least_changed.connect(self.keeper.keep_least_thickness)
        self.foreman.output_changed.connect(self.keeper.keep_output)

    def _all_reactions(self) -> dict[str, Callable[[], Any]]:
        return {
            **self.foreman.reactions(),
            **self.keeper.reactions(),
            **self.skin_keeper.reactions(),
            **self.page_keeper.reactions(),
            **self.board.reactions(),
            **self.card.reactions(),
            **self.breaks.reactions(),
            **self.readings.reactions(),
            **self.setters.reactions(),
            "undo": self.document.undo,
            "redo": self.document.redo,
            **self.press.reactions(),
            "quit": self.close,
            "fit": self._fit,
            "name_panel": self._name_panel,
            "compare": self._blanks.ask_comparison,
            "turn_over": self._turn_over,
            "inches": self._switch_units,
            "percent": self._switch_units,
            "go_to_tank": self._go_to_picture,
            "go_to_fields": partial(_go_to_fields, self.views, self.foreman),
            "next_page": self.pages.next_page,
            "previous_page": self.pages.previous_page,
        }

    # ---- what is asked for

    def react(self, key: str) -> None:
        """Do what an action of the table asks for."""
        if key in self._reactions:
            self._reactions[key]()
        elif key.startswith("step_"):
            self.foreman.choose_step(key.removeprefix("step_").capitalize())
        elif key.startswith("view_"):
            self.look(next(side for side in _SIDES if key == f"view_{side}"))
        elif key in _TURNS:
            if not self.foreman.hand.nudge(*_TURNS[key]):
                self._picture.turn(*_TURNS[key])
        elif key.startswith("zoom_"):
            self._picture.zoom(1.2 if key == "zoom_in" else 1 / 1.2)
        elif key == "keys":
            show_keys(self)
        elif key == "about":
            show_about(self)

    def look(self, side: Side) -> None:
        """Look at the tank from a standard side."""
        self.tank_side.look(self.document.state, side)

    def _fit(self) -> None:
        self.tank.fit()
        self.sheet.fit()
        self.pages.canvas.fit()

    @property
    def _picture(self) -> TankView | PageCanvas:
        """What the arrow keys turn and + and - zoom."""
        return self.pages.canvas if self.foreman.step == "Paper" else self.tank

    def _go_to_picture(self) -> None:
        self._picture.setFocus()

    def _turn_over(self) -> None:
        inside = self.document.state.marked_face == "inside"
        shown = inside if self._from_inside is None else self._from_inside
        self._from_inside = not shown
        self.refresh()

    def _switch_units(self) -> None:
        wanted = {name: self.actions_[name].isChecked() for name in ("percent", "inches")}
        self.foreman.show_percent(wanted["percent"])  # the window then shows how things stand
        self.foreman.show_inches(wanted["inches"])
        self.keeper.keep_settings(replace(self.keeper.settings, show=self.foreman.desk.show))

    def _name_panel(self) -> None:
        self.foreman.choose_step("Seams")
        view = self.views["Seams"]
        if isinstance(view, SeamsView):
            view.focus_panel_name()

    def _fill_recent(self) -> None:
        self._recent.clear()
        for name in self.keeper.settings.recent_files:
            self._recent.addAction(Path(name).name).setData(name)

    def _open_recent(self, chosen: Any) -> None:
        self.keeper.open(Path(chosen.data()))

    # ---- showing

    def refresh(self) -> None:
        """Show the job as it stands."""
        state, foreman = self.document.state, self.foreman
        foreman.keep_choices_valid()
        self.bench.show_step(foreman.step)
        desk = replace(
            foreman.desk,
            wanted=frozenset(self.bench.wanted),
            was_stopped=self.bench.was_stopped,
            written=self.press.written,
            written_to=self.press.written_to,
            comparison=self.comparer.shown(state, foreman.desk.panel)
            if foreman.step == "Blanks"
            else None,
            pages_current=foreman.step == "Paper" and self.page_keeper.patterns_hold(foreman.desk),
        )
        self._shown = _to_show(self.document, self.foreman, self.bench)
        unsaved = self.document.is_unsaved
        self.setWindowTitle(f"{state.name}{' *' if unsaved else ''} \u2013 Lowcrown")
        self.steps.refresh(state, foreman.step, unsaved=unsaved, show=desk.show)
        self._right.setCurrentWidget(self._rooms[foreman.step])
        self.views[foreman.step].refresh(state, desk)
        self.tank_side.refresh(state, foreman.step, desk)
        self._middle.show_step(foreman.step)
        self._costs.refresh(desk)
        self._show_sheet(state, desk)
        if foreman.step == "Paper":
            self.page_keeper.want(foreman.desk)
            self.pages.refresh(
                self.page_keeper.sheaves, self.board.words() or self.page_keeper.words(),
                stale=self.page_keeper.out_of_date(desk), show=desk.show,
            )  # fmt: skip
        self.rest.refresh(foreman.step, desk)
        self.comparison.refresh(state, desk)
        self._show_busy()

    def _show_sheet(self, state: JobState, desk: Desk) -> None:
        inside = state.marked_face == "inside" if self._from_inside is None else self._from_inside
        sheet = self.pictures.sheet(state, desk, from_inside=inside)
        name = self.foreman.desk.panel
        is_due = ("Blanks", name) in self.bench.wanted
        words = "Draw seams first: step 7."
        if name:
            words = f"{name} is not laid flat yet.\n\nPress L."
            words = f"{name} is being laid flat." if is_due else words
        self.sheet.show_sheet(sheet, words)
        face = "inside" if inside else "outside"
        told = ("The blank", "") if sheet is None else (name, f"seen from the {face}")
        self._middle.caption.say(*told)

    def _show_busy(self) -> None:
        self.actions_.refresh(self.foreman.standing())
        self.actions_.check("inches", self.foreman.desk.show == "in")
        self.actions_.check("percent", self.foreman.desk.percent)
        self.actions_.check("draw_seam", self.foreman.seam_tool is not None)
        self.actions_.check("tape", self.foreman.tape_tool is not None)
        self.actions_.check("snap", self.foreman.desk.snap.is_on)
        for key in (PLAIN, *(skin.key for skin in SKINS)):
            self.actions_.check(f"skin_{key}", self.skin_keeper.chosen == key)

    def _rest(self) -> None:
        self.bottom.rest(was_stopped=self.bench.was_stopped or self.page_keeper.was_stopped)
        state, *others = _to_show(self.document, self.foreman, self.bench)
        if self.foreman.step != "Paper" and self._shown[0] is state and others == self._shown[1:]:
            self._show_busy()
        else:
            self.refresh()

    def _begin(self) -> None:
        self.foreman.forget_choices()
        self.page_keeper.forget()
        self.breaks.forget()
        self.rest.forget()
        self._from_inside = None
        self.refresh()

    # ---- the link

    def _spot_from_tank(self, spot: Spot | None) -> None:
        blank = None if spot is None else latest(self.document.state, "Blanks", spot.panel)
        place = None
        if spot is not None and blank is not None and spot.panel == self.foreman.desk.panel:
            place = on_blank(blank, spot)
        self.sheet.show_spot(place)
        self._read_out(spot)

    def _spot_from_sheet(self, spot: Spot | None) -> None:
        self.tank.show_spot(None if spot is None else on_tank(self.document.state, spot))
        self._read_out(spot)

    def _read_out(self, spot: Spot | None) -> None:
        desk, state = self.foreman.desk, self.document.state
        blank = None if spot is None else latest(state, "Blanks", spot.panel)
        if spot is None:
            hit = self.foreman.pointed_at
            self._middle.readout.setText(self.skin_keeper.reading(state, hit, desk.show))
        elif blank is None:
            self._middle.readout.setText(f"<b>{spot.panel}</b>")
        else:
            words = change_words(
                change_at(blank, spot.face), state.metal.thickness_mm, desk.show,
                percent=desk.percent,
            )  # fmt: skip
            guess = "   |   NOT SCANNED - FILLED BY GUESS" if blank.filled[spot.face] else ""
            self._middle.readout.setText(f"<b>{spot.panel}</b>   {words}{guess}")

    # ---- files dropped, and the end

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802
        """Take files."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802
        """Open what was dropped."""
        names = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        if names:
            event.acceptProposedAction()
            self.keeper.open(Path(names[0]))

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802
        """Offer to save, then let go of everything."""
        if not self.keeper.may_leave():
            event.ignore()
            return
        self.keeper.close()
        self.bench.close()
        self.tank.close_canvas()
        event.accept()


def _to_show(document: Document, foreman: Foreman, bench: Bench) -> list[Any]:
    """Return what a picture at rest hangs on: with the same, nothing is shown anew."""
    return [document.state, foreman.step, foreman.desk, bench.wanted, bench.was_stopped]


def _go_to_fields(views: dict[str, StepView], foreman: Foreman) -> None:
    """Take the keys to the first field of the step that is shown."""
    views[foreman.step].go_to_first()


def _setting_views() -> tuple[StepView, ...]:
    return (
        ScanView(), SizeView(), TidyView(), DatumView(), SidesView(), LinesView(), SeamsView()
    )  # fmt: skip


def _room(view: QWidget) -> QScrollArea:
    room = QScrollArea()
    room.setWidgetResizable(True)
    room.setFrameShape(QFrame.Shape.NoFrame)
    room.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    room.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    room.setWidget(view)
    return room


def _tool_bar(window: QMainWindow) -> QToolBar:
    bar = QToolBar("Tools", window)
    bar.setMovable(False)
    bar.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
    window.addToolBar(bar)
    return bar


def _connect_views(
    views: dict[str, StepView], foreman: Foreman, press: Press, comparer: Comparer
) -> None:
    size, seams, blanks, paper = (views[name] for name in ("Size", "Seams", "Blanks", "Paper"))
    if isinstance(size, SizeView):
        size.unit_requested.connect(foreman.set_unit)
        size.rescale_requested.connect(foreman.set_rescale)
        size.tape_requested.connect(foreman.add_tape)
        size.allowance_requested.connect(foreman.set_allowance)
        size.tape_kind_requested.connect(foreman.set_tape_kind)
        size.tape_chosen.connect(foreman.choose_tape)
    if isinstance(seams, SeamsView):
        foreman.reworded.connect(seams.say_tool_words)
        seams.seam_chosen.connect(foreman.choose_seam)
        seams.seam_renamed.connect(foreman.rename_seam)
        seams.panel_chosen.connect(foreman.show_panel)
        seams.panel_renamed.connect(foreman.rename_panel)
        seams.note.note_requested.connect(foreman.set_note)
        seams.advice.row_chosen.connect(foreman.choose_row)
        seams.advice.hush_requested.connect(foreman.hush)
        seams.advice.tell_requested.connect(foreman.tell)
    if isinstance(blanks, BlanksView):
        blanks.metal_requested.connect(foreman.set_metal)
        blanks.panel_chosen.connect(foreman.show_panel)
        blanks.making_requested.connect(foreman.set_making)
        blanks.work_requested.connect(foreman.set_work)
        blanks.least_requested.connect(foreman.set_least_thickness)
        blanks.comparison_requested.connect(comparer.compare)
    if isinstance(paper, PaperView):
        paper.name_requested.connect(foreman.set_name)
        paper.marked_face_requested.connect(foreman.set_marked_face)
        paper.trim_requested.connect(foreman.set_trim)
        paper.model_requested.connect(foreman.set_model)
        paper.forming_requested.connect(foreman.set_forming)
        paper.grain_requested.connect(foreman.set_grain)
        paper.panel_chosen.connect(foreman.choose_panel)
        paper.edges.edge_requested.connect(foreman.set_edge)
        paper.edges.edge_left.connect(foreman.leave_edge)
        paper.output.output_requested.connect(foreman.set_output)
        paper.check.printer_chosen.connect(foreman.take_printer)
        paper.check.checked.connect(foreman.check_printer)
        paper.open_folder_requested.connect(press.open_folder)
