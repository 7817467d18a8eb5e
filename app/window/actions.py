"""The one table of what can be asked for; menus, tool bar and the page of keys come from it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu, QToolBar, QWidget

from app.window.rest import REST_STEPS
from app.window.skins import PLAIN, SKINS

Place = Literal["anywhere", "view", "pages"]
"""Where keys work: in the whole window, on tank and page, or on the page alone."""


@dataclass(frozen=True)
class Standing:
    """What decides whether an action can be asked for now."""

    has_scan: bool = False
    has_surface: bool = False
    has_panels: bool = False
    has_blank: bool = False
    has_tool: bool = False
    can_take_back: bool = False
    can_close: bool = False
    can_end: bool = False
    can_undo: bool = False
    can_redo: bool = False
    is_busy: bool = False
    has_chosen: bool = False
    has_chosen_panel: bool = False
    has_size: bool = False
    has_tidy: bool = False
    has_datum: bool = False
    has_lines: bool = False
    has_chosen_line: bool = False
    has_laid_tool: bool = False
    has_seams: bool = False
    has_chosen_seam: bool = False
    has_chosen_point: bool = False
    has_linked_seam: bool = False
    at_paper: bool = False
    at_made_rest: bool = False
    """At a step besides the panels that is made."""


def _with_size(now: Standing) -> bool:
    return now.has_size


def _with_tidy(now: Standing) -> bool:
    return now.has_tidy


def _with_datum(now: Standing) -> bool:
    return now.has_datum


def _with_lines(now: Standing) -> bool:
    return now.has_lines


def _with_chosen_line(now: Standing) -> bool:
    return now.has_chosen_line


def _with_laid_tool(now: Standing) -> bool:
    return now.has_laid_tool


def _with_seams(now: Standing) -> bool:
    return now.has_seams


def _with_chosen_seam(now: Standing) -> bool:
    return now.has_chosen_seam


def _with_chosen_point(now: Standing) -> bool:
    return now.has_chosen_point


def _with_linked_seam(now: Standing) -> bool:
    return now.has_linked_seam


def _at_paper(now: Standing) -> bool:
    return now.at_paper


def _always(now: Standing) -> bool:
    return True


def _with_scan(now: Standing) -> bool:
    return now.has_scan


def _with_panels(now: Standing) -> bool:
    return now.has_panels


def _at_made_rest(now: Standing) -> bool:
    return now.at_made_rest


def _with_surface(now: Standing) -> bool:
    return now.has_surface


def _at_work(now: Standing) -> bool:
    return now.has_tool


@dataclass(frozen=True)
class Action:
    """One thing that can be asked for.

    Attributes
    ----------
    key : str
        Its name in the program.
    menu : str
    text : str
        As menus say it.
    shortcuts : tuple of str
        The first is shown.
    tip : str
    short : str
        As the tool bar says it; "" keeps it off the tool bar.
    when : function of Standing
    stays : bool
        Whether it is switched on and off.
    place : "anywhere", "view" or "pages"
    """

    key: str
    menu: str
    text: str
    shortcuts: tuple[str, ...] = ()
    tip: str = ""
    short: str = ""
    when: Callable[[Standing], bool] = _always
    stays: bool = False
    place: Place = "anywhere"


def _can_undo(now: Standing) -> bool:
    return now.can_undo


def _can_redo(now: Standing) -> bool:
    return now.can_redo


def _can_take_back(now: Standing) -> bool:
    return now.can_take_back


def _can_close(now: Standing) -> bool:
    return now.can_close


def _can_end(now: Standing) -> bool:
    return now.can_end


def _is_busy(now: Standing) -> bool:
    return now.is_busy


def _has_chosen(now: Standing) -> bool:
    return now.has_chosen


def _with_chosen_panel(now: Standing) -> bool:
    return now.has_chosen_panel


def _has_blank(now: Standing) -> bool:
    return now.has_blank


ACTIONS: tuple[Action, ...] = (
    Action("open", "Job", "Open a scan or a job...", ("Ctrl+O",),
           "Open a scanner's file or a job kept before.", "Open"),
    Action("sample", "Job", "Open the sample tank", ("Ctrl+Shift+O",),
           "Open the Brackwater 225 scrambler scan that comes along."),
    Action("save", "Job", "Save the job", ("Ctrl+S",), "Keep everything decided.", "Save",
           _with_scan),
    Action("save_as", "Job", "Save the job as...", ("Ctrl+Shift+S",), "", "", _with_scan),
    Action("load_seams", "Job", "Take seams from a file...", ("Ctrl+L",),
           "Replace seams and panel names by those in a seams file.", "", _with_scan),
    Action("save_seams", "Job", "Keep the seams in a file...", (), "", "", _with_scan),
    Action("export", "Job", "Write patterns to a folder...", ("Ctrl+E",),
           "Write paper and cutting files.", "", _with_panels),
    Action("export_step", "Job", "Write this step to a folder...", ("Ctrl+Shift+E",),
           "Pages, cutting files and numbers of a step besides the panels, by themselves.", "",
           _at_made_rest),
    Action("print", "Job", "Print this file...", ("Ctrl+P",),
           "At full size, through the system's own print dialog.", "Print", _at_paper),
    Action("card", "Job", "Job card...", ("Ctrl+J",),
           "Stages, anneals, thickness, gaps, hours and metal.", "Card", _with_scan),
    Action("board", "Job", "Job board...", ("Ctrl+B",),
           "Every job of a folder: its next step and its latest print.", "Board"),
    Action("quit", "Job", "Leave", ("Ctrl+Q",)),
    Action("undo", "Edit", "Undo", ("Ctrl+Z",), "Take the last change back.", "Undo", _can_undo),
    Action("redo", "Edit", "Redo", ("Ctrl+Y", "Ctrl+Shift+Z"), "Bring it again.", "Redo",
           _can_redo),
    Action("delete", "Edit", "Delete what is chosen", ("Del",),
           "Delete the chosen seam or tape.", "", _has_chosen),
    Action("step_scan", "Step", "Scan", ("Ctrl+1",)),
    Action("step_size", "Step", "Size", ("Ctrl+2",)),
    Action("step_tidy", "Step", "Tidy", ("Ctrl+3",)),
    Action("step_datum", "Step", "Datum", ("Ctrl+4",)),
    Action("step_sides", "Step", "Sides", ("Ctrl+5",)),
    Action("step_lines", "Step", "Lines", ("Ctrl+6",)),
    Action("step_seams", "Step", "Seams", ("Ctrl+7",)),
    Action("step_blanks", "Step", "Blanks", ("Ctrl+8",)),
    Action("step_paper", "Step", "Paper", ("Ctrl+9",)),
    *(Action(f"step_{row.name.lower()}", "Step", row.name, (row.key,)) for row in REST_STEPS),
    Action("tape", "Work", "Lay a tape", ("M",),
           "Click where the tape lay on the tank, then type what it said.", "Tape", _with_scan,
           True),
    Action("lasso", "Set up", "Draw round a part to cut away or keep", ("B",),
           "Draw round it on the picture; then say what becomes of it.", "", _with_scan),
    Action("plane", "Set up", "Cut off by a plane", ("X",),
           "Draw a line across the tank: the plane is seen edge-on.", "", _with_scan),
    Action("cut_round", "Set up", "Cut out a round place", ("U",),
           "A cap, a tap, a clamp: click its middle, then where it ends.", "", _with_size),
    Action("flip_plane", "Set up", "The other side of the plane stays", ("V",), "", "",
           _with_laid_tool),
    Action("pick_centre", "Set up", "Pick points on the centre line", ("J",), "", "", _with_tidy),
    Action("pick_pairs", "Set up", "Pick places on both sides", ("Shift+J",), "", "", _with_tidy),
    Action("pick_level", "Set up", "Pick equal heights", ("H",), "", "", _with_tidy),
    Action("pick_front", "Set up", "Click the front end", ("Y",), "", "", _with_tidy),
    Action("is_front", "Set up", "This is its front", ("Ctrl+F",),
           "The side seen now is the headstock end.", "", _with_scan),
    Action("is_top", "Set up", "This is its top", ("Ctrl+T",),
           "The side seen now is the top.", "", _with_scan),
    Action("zone_left", "Set up", "Copy the left here", ("Shift+Z",),
           "Click the middle of a place, then where it ends.", "", _with_datum),
    Action("zone_right", "Set up", "Copy the right here", ("Shift+X",),
           "Click the middle of a place, then where it ends.", "", _with_datum),
    Action("zone_odd", "Set up", "Leave as scanned here", ("Shift+O",),
           "A tap, a key, a badge: click its middle, then where it ends.", "", _with_datum),
    Action("draw_line", "Set up", "Draw a character line", ("W",),
           "Click points along it; it is drawn to the ridge near them.", "", _with_tidy),
    Action("next_line", "Set up", "Next line", ("Q",), "", "", _with_lines),
    Action("lock_line", "Set up", "Lock this line", ("A",), "", "", _with_chosen_line),
    Action("reject_line", "Set up", "Throw this line out", ("R",), "", "", _with_chosen_line),
    Action("offer_line", "Set up", "Decide anew about this line", ("Shift+R",), "", "",
           _with_chosen_line),
    Action("join_line", "Set up", "Join this line with...", ("Shift+B",), "", "",
           _with_chosen_line),
    Action("extend_line", "Set up", "Make this line longer...", ("G",), "", "",
           _with_chosen_line),
    Action("lock_sure", "Set up", "Lock all lines that are sure", ("Shift+A",), "", "",
           _with_lines),
    Action("draw_seam", "Work", "Draw a seam", ("D",),
           "Click points on the tank: the seam runs over the surface between them.", "Draw seam",
           _with_surface, True),
    Action("next_seam", "Seams", "Next seam", ("T",), "", "", _with_seams),
    Action("next_point", "Seams", "Next point of the seam", (".",),
           "Its points show; drag one, or click on the line to put one in.", "",
           _with_chosen_seam),
    Action("previous_point", "Seams", "Point before", (",",), "", "", _with_chosen_seam),
    Action("insert_point", "Seams", "Put a point in after the chosen one", ("Ins",),
           "Halfway to the next point; a click on the line puts one there.", "",
           _with_chosen_seam),
    Action("carry_point", "Seams", "Move the chosen point", ("Shift+G",),
           "It follows the pointer, or the cross as the tank turns; Space leaves it there.", "",
           _with_chosen_point),
    Action("let_go_point", "Seams", "Choose no point", ("Shift+N",), "", "", _with_chosen_point),
    Action("fair_seam", "Seams", "Make the seam fair", ("Shift+F",),
           "It turns as evenly in the sheet as it can, hardly moved.", "", _with_chosen_seam),
    Action("slide_seam", "Seams", "Slide the seam to least shape", ("Shift+S",),
           "To where the skin beside it bulges least.", "", _with_chosen_seam),
    Action("stand_off", "Seams", "Stand the seam off the line beside it", ("Shift+Y",),
           "6 to 12 mm from a crisp line, so that the weld's heat does not reach it.", "",
           _with_chosen_seam),
    Action("stand_off_other", "Seams", "Stand it off on the other side", ("Ctrl+Shift+Y",),
           "", "", _with_chosen_seam),
    Action("mirror_seam", "Seams", "Mirror the seam to the other hand", ("Shift+M",),
           "Both move together until they are unlinked.", "", _with_chosen_seam),
    Action("unlink_seam", "Seams", "Unlink the seam from its mirror image", ("Shift+U",),
           "", "", _with_linked_seam),
    Action("snap", "Seams", "Points catch on lines", ("S",),
           "On locked lines, rims, stations, the centre plane and seams; hold Shift for none.", "",
           _with_surface),
    Action("snap_strength", "Seams", "Catch from nearer or farther", ("Shift+C",),
           "Weakly, as usual, strongly, from so many mm.", "", _with_surface),
    Action("place", "Work", "Put a point here", ("Space",),
           "Under the pointer, or at the cross in the middle of the view.", "", _at_work,
           False, "view"),
    Action("take_back", "Work", "Take the last point back", ("Backspace",), "", "",
           _can_take_back),
    Action("close_seam", "Work", "Close what is drawn to a ring", ("C",),
           "Join the last point to the first.", "", _can_close),
    Action("end_seam", "Work", "End what is drawn here", ("E", "Return", "Enter"),
           "Keep it as it is drawn.", "", _can_end),
    Action("leave_off", "Work", "Leave off", ("Esc",), "Put the tool down.", "", _at_work),
    Action("keep_breakup", "Seams", "Keep these seams as a break-up...", ("Ctrl+Shift+K",),
           "Under a name, to compare and to come back to.", "", _with_seams),
    Action("breaks", "Seams", "Compare break-ups...", ("Ctrl+K",),
           "All that are kept in one table; others proposed.", "Break-ups", _with_surface),
    Action("name_panel", "Work", "Name the panel...", ("N",), "", "", _with_panels),
    Action("next_panel", "Work", "Next panel", ("]",), "", "", _with_panels, False, "view"),
    Action("previous_panel", "Work", "Panel before", ("[",), "", "", _with_panels,
           False, "view"),
    Action("flatten", "Work", "Lay this panel flat", ("L",), "", "", _with_panels),
    Action("flatten_all", "Work", "Lay all panels flat", ("Shift+L",),
           "In the background: you can go on working.", "Lay all flat", _with_panels),
    Action("compare", "Work", "Compare two ways to make it", ("K",),
           "Both blanks on each other, and how they differ.", "", _with_chosen_panel),
    Action("readings", "Work", "Grid readings...", ("Ctrl+G",),
           "Measure squares on the worked panel: stretch reached beside that asked.", "",
           _has_blank),
    Action("stop", "Work", "Stop what runs", ("Ctrl+.", "Pause"), "", "", _is_busy),
    Action("fit", "Look", "Fit to the view", ("F",), "Show the whole tank and the whole blank.",
           "Fit", _with_scan),
    Action("view_corner", "Look", "From a corner", ("0",), "", "", _with_scan),
    Action("view_front", "Look", "At the front", ("1",), "", "", _with_scan),
    Action("view_back", "Look", "At the back", ("2",), "", "", _with_scan),
    Action("view_left", "Look", "At the left side", ("3",), "", "", _with_scan),
    Action("view_right", "Look", "At the right side", ("4",), "", "", _with_scan),
    Action("view_top", "Look", "From the top", ("5",), "", "", _with_scan),
    Action("view_below", "Look", "From below", ("6",), "", "", _with_scan),
    Action("turn_left", "Look", "Turn left", ("Left",), "", "", _with_scan, False, "view"),
    Action("turn_right", "Look", "Turn right", ("Right",), "", "", _with_scan, False, "view"),
    Action("turn_up", "Look", "Tilt up", ("Up",), "", "", _with_scan, False, "view"),
    Action("turn_down", "Look", "Tilt down", ("Down",), "", "", _with_scan, False, "view"),
    Action("zoom_in", "Look", "Closer", ("+", "="), "", "", _with_scan, False, "view"),
    Action("zoom_out", "Look", "Farther off", ("-",), "", "", _with_scan, False, "view"),
    Action("next_page", "Look", "Next page", ("PgDown",), "", "", _at_paper, False, "pages"),
    Action("previous_page", "Look", "Page before", ("PgUp",), "", "", _at_paper, False, "pages"),
    Action("pages_again", "Look", "Make the pages again", ("Ctrl+R",), "", "", _at_paper),
    Action(f"skin_{PLAIN}", "Look", "Plain metal", ("F2",), "The tank without colours.", "",
           _with_scan, True),
    *(Action(f"skin_{skin.key}", "Look", skin.words, (skin.shortcut,), skin.tip, "", _with_scan,
             True) for skin in SKINS),
    Action("turn_over", "Look", "Turn the sheet over", ("O",),
           "See the blank from its other face.", "", _has_blank),
    Action("inches", "Look", "Inches first", ("I",), "Numbers in inch before mm.", "", _always,
           True),
    Action("percent", "Look", "Percent too", ("P",), "Say stretch in percent as well.", "",
           _always, True),
    Action("go_to_tank", "Look", "Keys to the tank", ("F6",), "The arrow keys turn the tank."),
    Action("go_to_fields", "Look", "Keys to the fields", ("F7",),
           "To the first of what the step asks for, on the right."),
    Action("keys", "Help", "All keys...", ("F1", "?"), "", ""),
    Action("about", "Help", "About Lowcrown..."),
)  # fmt: skip
"""In the order of the menus."""

SEPARATED = frozenset(
    ["save", "load_seams", "card", "quit", "delete", "take_back", "name_panel", "flatten", "stop",
     "turn_left", "next_page", f"skin_{PLAIN}", "turn_over", "pick_centre", "is_front", "zone_left",
     "draw_line", "insert_point", "fair_seam", "mirror_seam", "snap", "go_to_tank", "about"]
)  # fmt: skip
"""Actions with a line above them in their menu."""


def action(key: str) -> Action:
    """Return a row of the table."""
    return next(row for row in ACTIONS if row.key == key)


class ActionSet(QObject):
    """The table as Qt's actions; says which was asked for."""

    asked = Signal(str)

    def __init__(self, window: QMainWindow, tank: QWidget, pages: QWidget) -> None:
        super().__init__(window)
        self._made: dict[str, QAction] = {}
        self._now: Standing | None = None
        places: dict[Place, tuple[QWidget, ...]] = {
            "anywhere": (window,), "view": (tank, pages), "pages": (pages,)
        }  # fmt: skip
        for row in ACTIONS:
            made = _AskedAction(row, self)
            made.asked.connect(self.asked)
            self._made[row.key] = made
            for place in places[row.place]:
                place.addAction(made)

    def __getitem__(self, key: str) -> QAction:
        return self._made[key]

    def refresh(self, now: Standing) -> None:
        """Switch every action on or off."""
        if now == self._now:
            return
        self._now = now
        for row in ACTIONS:
            self._made[row.key].setEnabled(row.when(now))

    def check(self, key: str, on: bool) -> None:
        """Show an action that stays as on or off, without asking for it."""
        self._made[key].setChecked(on)

    def fill_menus(self, window: QMainWindow) -> dict[str, QMenu]:
        """Draw the menus; return them by name."""
        menus: dict[str, QMenu] = {}
        for row in ACTIONS:
            if row.menu not in menus:
                menus[row.menu] = window.menuBar().addMenu(f"&{row.menu}")
            elif row.key in SEPARATED:
                menus[row.menu].addSeparator()
            menus[row.menu].addAction(self._made[row.key])
        return menus

    def fill_tool_bar(self, bar: QToolBar) -> None:
        """Draw the tool bar."""
        menu = ""
        for row in ACTIONS:
            if row.short:
                if menu and row.menu != menu:
                    bar.addSeparator()
                menu = row.menu
                bar.addAction(self._made[row.key])


class _AskedAction(QAction):
    """A row of the table that says its key when triggered."""

    asked = Signal(str)

    def __init__(self, row: Action, parent: QObject) -> None:
        super().__init__(row.text, parent)
        self._key = row.key
        self.setCheckable(row.stays)
        self.setShortcuts([QKeySequence(keys) for keys in row.shortcuts])
        if row.short:
            self.setIconText(row.short)
        if row.place != "anywhere":
            self.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        keys = f"  ({row.shortcuts[0]})" if row.shortcuts else ""
        self.setToolTip((row.tip or row.text.rstrip(".")) + keys)
        self.triggered.connect(self._ask)

    def _ask(self) -> None:
        self.asked.emit(self._key)
