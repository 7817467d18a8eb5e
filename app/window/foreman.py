"""`Foreman`: what is chosen and which tool is in the hand; turns what is asked for into edits."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from PySide6.QtCore import QObject, Signal

from app.exports import Correction, Output
from app.job import (
    MAKING,
    STEPS,
    Directions,
    EdgeChoice,
    Forming,
    Grain,
    Metals,
    Panels,
    Raised,
    Scanned,
    SeamLine,
    SeamNote,
    bent_as_known,
    latest,
    made,
    panel_names,
    with_blank_choice,
    with_directions,
    with_edge,
    with_forming,
    with_grain,
    with_marked_face,
    with_metal,
    with_model,
    with_name,
    with_panel_renamed,
    with_raised_hushed,
    with_raised_told,
    with_seam_note,
    with_seam_renamed,
    with_size,
    with_tape,
    with_trim,
    without_edge,
    without_seam,
    without_tape,
)
from app.window.actions import Standing
from app.window.bench import BESIDES, Bench
from app.window.document import Document
from app.window.hand import Hand
from app.window.hands import TapeTool
from app.window.link import Spot, spot_of_hit
from app.window.picture import Pictures
from app.window.scene import Hit, TankView
from app.window.seam_hand import SEAM_POINT, SeamTool
from app.window.seam_snaps import SnapChoice, twin_of
from app.window.standpoint import axes_of
from app.window.steps import Desk
from geometry.blank import Work
from geometry.datum import TapeKind, point3
from geometry.scan import Unit

SHOWN_STEPS = tuple(row.name for row in STEPS if row.shown)


class Foreman(QObject):
    """Decides; views ask it."""

    changed = Signal()
    spotted = Signal(object)
    clicked = Signal(object)
    delete_requested = Signal(str, int)
    least_changed = Signal(float)
    output_changed = Signal(object)
    """Papers, roll or printer: the desk as it is now."""
    reworded = Signal(str)
    trial_changed = Signal()
    """The seams would be others, or are what the job says again: `trial_seams`."""

    def __init__(
        self, document: Document, bench: Bench, pictures: Pictures, tank: TankView
    ) -> None:
        super().__init__(tank)
        self._document, self._bench, self._pictures, self._tank = document, bench, pictures, tank
        self.step = "Scan"
        self.desk = Desk()
        self.hand = Hand(tank)
        self.pointed_at: Hit | None = None
        self.clicks_first: list[Callable[[Hit | None], bool]] = []
        """Asked before anything else whether they take a click while no tool is in the hand."""
        self.trial_seams: tuple[SeamLine, ...] | None = None
        """The seams as they would be, while a point of one is dragged."""
        self.hand.changed.connect(self._tool_changed)
        self.hand.reworded.connect(self._tool_reworded)
        tank.pointed.connect(self.point)
        tank.hit.connect(self.hit)

    @property
    def seam_tool(self) -> SeamTool | None:
        """The pencil, while it is in the hand."""
        return self.hand.tool if isinstance(self.hand.tool, SeamTool) else None

    @property
    def tape_tool(self) -> TapeTool | None:
        """The tape, while it is in the hand."""
        return self.hand.tool if isinstance(self.hand.tool, TapeTool) else None

    # ---- choosing

    def choose_step(self, step: str) -> None:
        """Show another step; what is in the hand is put down."""
        if step not in SHOWN_STEPS:
            return
        if step != self.step:
            self.leave_off()
        if step != self.step:
            self.desk = replace(self.desk, chosen=("", -1))
        self.step = step
        if step in ("Blanks", "Paper") and not self.desk.panel:
            names = panel_names(self._document.state)
            self.desk = replace(self.desk, panel=names[0] if names else "")
        self.changed.emit()

    def choose_panel(self, panel: str) -> None:
        """Choose a panel."""
        self._set(panel=panel, seam=-1)

    def show_panel(self, panel: str) -> None:
        """Choose a panel by its name, and look at it."""
        self.choose_panel(panel)
        panels: Panels | None = latest(self._document.state, "Seams")
        found = [p for p in panels.panels if p.name == panel] if panels is not None else []
        if found:
            a, b, c = (found[0].outside[found[0].mesh.faces[:, k]] for k in range(3))
            way = np.cross(b - a, c - a).sum(axis=0)
            length = float(np.linalg.norm(way))
            scanned: Scanned | None = latest(self._document.state, "Scan")
            if length > 0.0 and scanned is not None:
                up = axes_of(self._document.state, scanned.sound.mesh).top
                way = way / length + 0.25 * up
                self._tank.look_from(way / np.linalg.norm(way), up)

    def choose_seam(self, seam: int) -> None:
        """Choose a seam."""
        self._set(seam=seam, panel="", chosen=("", -1), seam_words="")

    def say_of_seam(self, words: str) -> None:
        """Say beside the chosen seam what came of what was asked."""
        self._set(seam_words=words)

    def set_snap(self, snap: SnapChoice) -> None:
        """Let points of seams catch more strongly, more weakly or on nothing."""
        self._set(snap=snap)

    def set_amount(self, name: str, mm: float) -> None:
        """Let the commands on a seam go so far."""
        self._set(amounts=replace(self.desk.amounts, **{name: mm}))

    def show_trial(self, seams: tuple[SeamLine, ...] | None) -> None:
        """Tell what the seams would be while a point is dragged; None when it is let go."""
        if seams is not self.trial_seams:
            self.trial_seams = seams
            self.trial_changed.emit()

    def choose_row(self, kind: str, number: int) -> None:
        """Choose a row of one of a step's lists; ("", -1) for none."""
        if self.desk.chosen != (kind, number):
            self._set(chosen=(kind, number))

    def choose_tape(self, tape: int) -> None:
        """Choose a tape."""
        self._set(tape=tape)

    def next_panel(self) -> None:
        """Choose the next panel."""
        self._step_panel(1)

    def previous_panel(self) -> None:
        """Choose the panel before."""
        self._step_panel(-1)

    def _step_panel(self, by: int) -> None:
        names = panel_names(self._document.state)
        if names:
            at = names.index(self.desk.panel) if self.desk.panel in names else -1 if by > 0 else 0
            self.show_panel(names[(at + by) % len(names)])

    def forget_choices(self) -> None:
        """Choose nothing: another job was opened."""
        self.hand.drop()
        self.desk = Desk(
            show=self.desk.show,
            percent=self.desk.percent,
            least_thickness_mm=self.desk.least_thickness_mm,
            metals=self.desk.metals,
            tape_kind=self.desk.tape_kind,
            output=self.desk.output,
            printer=self.desk.printer,
            printers=self.desk.printers,
            fractions=self.desk.fractions,
            snap=self.desk.snap,
            amounts=self.desk.amounts,
        )
        self.step = "Scan"

    def _set(self, **what: Any) -> None:
        self.desk = replace(self.desk, **what)
        self.changed.emit()

    def keep_choices_valid(self) -> None:
        """Let go of what is no longer there."""
        state = self._document.state
        names = panel_names(state)
        panel = self.desk.panel if self.desk.panel in names else ""
        if self.desk.chosen[0] == SEAM_POINT and not self._has_point(*self.desk.chosen):
            self.desk = replace(self.desk, chosen=("", -1))
        if not panel and names and self.step in ("Blanks", "Paper"):
            panel = names[0]
        self.desk = replace(
            self.desk,
            panel=panel,
            seam=self.desk.seam if self.desk.seam < len(state.seams) else -1,
            tape=self.desk.tape if self.desk.tape < len(state.size.tapes) else -1,
        )

    def _has_point(self, kind: str, number: int) -> bool:
        seams, at = self._document.state.seams, self.desk.seam
        return 0 <= at < len(seams) and number < len(seams[at].points)

    # ---- units

    def show_inches(self, on: bool) -> None:
        """Say inches first, or mm."""
        self._set(show="in" if on else "mm")

    def show_percent(self, on: bool) -> None:
        """Say percent as well."""
        self._set(percent=on)

    def set_least_thickness(self, least_mm: float) -> None:
        """Warn below another thickness."""
        self._set(least_thickness_mm=least_mm)
        self.least_changed.emit(least_mm)

    def learn_metals(self, metals: Metals) -> None:
        """Know these metals' figures."""
        self._set(metals=metals)

    # ---- size

    def set_unit(self, unit: Unit | None) -> None:
        """Take what a coordinate of the file means."""
        size = self._document.state.size
        rescale = size.rescale and unit is None
        self._edit(
            with_size(self._document.state, replace(size, unit=unit, rescale=rescale)), "unit"
        )

    def set_rescale(self, on: bool) -> None:
        """Take the scale from the tapes."""
        size = replace(self._document.state.size, rescale=on, unit=None)
        self._edit(with_size(self._document.state, size), "scale from tapes")

    def set_allowance(self, allowed_mm: float) -> None:
        """Let tapes be off by more, or less."""
        size = self._document.state.size
        allowed = replace(size.allowed, mm=allowed_mm)
        if allowed != size.allowed:
            self._edit(with_size(self._document.state, replace(size, allowed=allowed)), "tolerance")

    def take_tape(self) -> None:
        """Take the tape into the hand."""
        self.step = "Size"
        self.hand.take(TapeTool(self.desk.tape_kind), self._ended_tape)

    def _ended_tape(self, how: str) -> None:
        """Wait for what the tape said."""

    def set_tape_kind(self, kind: TapeKind) -> None:
        """Lay tapes another way; one that is being laid begins anew."""
        self.desk = replace(self.desk, tape_kind=kind)
        if self.tape_tool is not None:
            self.take_tape()
        else:
            self.changed.emit()

    def add_tape(self, length_mm: float) -> None:
        """Add the tape laid, with what it said."""
        tool = self.tape_tool
        if tool is None or not tool.is_laid:
            return
        tape = tool.tape(length_mm)
        self.hand.put_down()
        self._edit(with_tape(self._document.state, tape), "tape")

    # ---- seams

    def close_drawn(self) -> None:
        """Join what is being drawn to a ring."""
        self.hand.end("close")

    def end_drawn(self) -> None:
        """Take what is being drawn as it is."""
        self.hand.end("end")

    def rename_seam(self, place: int, name: str) -> None:
        """Rename a seam; what was made goes along."""
        state = self._document.state
        after = with_seam_renamed(state, place, name)
        if after is not state:
            self._edit(after, "seam's name")

    def rename_panel(self, old: str, new: str) -> None:
        """Name a panel; what was made of it goes along."""
        state = self._document.state
        after = with_panel_renamed(state, old, new)
        if after is not state:
            due = [step for step, part in self._bench.wanted if part == old]
            self.desk = replace(self.desk, panel=new)
            self._edit(after, "panel's name")
            for step in due:  # what was under way goes on under the new name
                self._bench.want(step, (new,))

    def set_note(self, note: SeamNote) -> None:
        """Take what is said of a seam."""
        self._edit(with_seam_note(self._document.state, note), "note on a seam")

    def hush(self, raised: Raised) -> None:
        """Tell a piece of advice no more."""
        self._edit(with_raised_hushed(self._document.state, raised), "hushing advice")

    def tell(self, raised: Raised) -> None:
        """Tell a piece of advice again."""
        self._edit(with_raised_told(self._document.state, raised), "telling advice again")

    # ---- blanks and paper

    def set_metal(self, what: tuple[str, Any]) -> None:
        """Take another sheet, or another face scanned."""
        metal = replace(self._document.state.metal, **dict([what]))
        metal = bent_as_known(metal, self.desk.metals)
        self._edit(with_metal(self._document.state, metal), "sheet")

    def set_making(self, panel: str, how: str) -> None:
        """Take how a panel will be made."""
        work = next(work for name, work in MAKING.items() if name == how)
        self.make(panel, work, exact=False)

    def set_work(self, panel: str, work: Work) -> None:
        """Take how a panel will be made by its numbers, exactly."""
        self.make(panel, work, exact=True)

    def make(self, panel: str, work: Work, *, exact: bool) -> None:
        """Take how a panel will be made; where it was laid flat before, lay it flat anew."""
        if not panel:
            return
        state = self._document.state
        self._edit(with_blank_choice(state, panel, work, exact=exact), "how it is made")
        if latest(state, "Blanks", panel) is not None and made(state, "Seams") is not None:
            self._want((panel,))

    def set_name(self, name: str) -> None:
        """Name the job."""
        self._edit(with_name(self._document.state, name), "job's name")

    def set_marked_face(self, face: str) -> None:
        """Mark the other face."""
        self._edit(
            with_marked_face(self._document.state, "inside" if face == "inside" else "outside"),
            "marked face",
        )

    def set_model(self, model: str) -> None:
        """Say what the tank is for."""
        self._edit(with_model(self._document.state, model), "model")

    def set_forming(self, forming: Forming) -> None:
        """Form another way, with the trim usual for that."""
        self._edit(with_forming(self._document.state, forming), "how it is formed")

    def set_grain(self, grain: Grain) -> None:
        """Let the sheet's grain run another way."""
        self._edit(with_grain(self._document.state, grain), "grain")

    def set_edge(self, edge: EdgeChoice) -> None:
        """Leave something else along an edge."""
        self._edit(with_edge(self._document.state, edge), "edge")

    def leave_edge(self, panel: str, edge: str) -> None:
        """Leave the usual trim along an edge."""
        self._edit(without_edge(self._document.state, panel, edge), "edge")

    def set_trim(self, trim_mm: float) -> None:
        """Move the trim line."""
        self._edit(with_trim(self._document.state, trim_mm), "trim")

    # ---- how pages come out

    def set_output(self, output: Output) -> None:
        """Take other papers, another roll, or other kinds of file."""
        if output != self.desk.output:
            self._set(output=output)
            self.output_changed.emit(self.desk)

    def take_printer(self, name: str) -> None:
        """Make pages for a printer, put right by what its check page measured."""
        if name != self.desk.printer:
            known = self.desk.printers.get(name, Correction())
            self._set(printer=name, output=replace(self.desk.output, correction=known))
            self.output_changed.emit(self.desk)

    def check_printer(self, name: str, correction: Correction) -> None:
        """Keep what puts a printer right, and make pages for it."""
        printers = {**self.desk.printers, name: correction}
        output = replace(self.desk.output, correction=correction)
        self._set(printers=printers, printer=name, output=output)
        self.output_changed.emit(self.desk)

    def flatten(self) -> None:
        """Lay the chosen panel flat, and dress it."""
        self._want((self.desk.panel,) if self.desk.panel else ())

    def flatten_all(self) -> None:
        """Lay all panels flat."""
        self._want(panel_names(self._document.state))

    def _want(self, panels: tuple[str, ...]) -> None:
        if panels:
            self.step = "Blanks" if self.step not in ("Blanks", "Paper") else self.step
            if not self.desk.panel:
                self.desk = replace(self.desk, panel=panels[0])
            self._bench.want("Blanks", panels)
            self._bench.want("Paper", panels)
            self._bench.want("Thickness", panels)
            self.changed.emit()

    # ---- directions

    def is_front(self) -> None:
        """Take the side looked at as the front."""
        way = point3(self._tank.eye_direction())
        directions = replace(self._document.state.directions, front=way)
        self._edit(with_directions(self._document.state, directions), "front")

    def is_top(self) -> None:
        """Take the side looked at as the top."""
        way = point3(self._tank.eye_direction())
        directions = Directions(self._document.state.directions.front, way)
        self._edit(with_directions(self._document.state, directions), "top")

    # ---- the tool in the hand

    def put_here(self) -> None:
        """Put a point down under the pointer, or in the middle of the view."""
        hit = self._tank.hit_at_pointer()
        self.point(hit)
        self.hit(hit)

    def take_back(self) -> None:
        """Take the last point back."""
        self.hand.take_back()

    def leave_off(self) -> None:
        """Put the tool down."""
        self.hand.put_down()

    def delete(self) -> None:
        """Delete the chosen seam or tape, or the chosen row of another list."""
        state = self._document.state
        if self.desk.chosen[1] >= 0:
            self.delete_requested.emit(*self.desk.chosen)
            return
        if self.step == "Seams" and 0 <= self.desk.seam < len(state.seams):
            place, self.desk = self.desk.seam, replace(self.desk, seam=-1)
            self._edit(without_seam(state, place), "deleting a seam")
        elif self.step == "Size" and 0 <= self.desk.tape < len(state.size.tapes):
            place, self.desk = self.desk.tape, replace(self.desk, tape=-1)
            self._edit(without_tape(state, place), "deleting a tape")

    def point(self, hit: Hit | None) -> None:
        """Follow the pointer over the tank."""
        self.pointed_at = hit
        if self.hand.tool is not None:
            self.hand.follow(hit)
        else:
            self.spotted.emit(spot_of_hit(self._document.state, hit))

    def hit(self, hit: Hit | None) -> None:
        """Put a point down, or choose what was clicked."""
        if self.hand.tool is not None:
            self.hand.put(hit)
            return
        if any(takes(hit) for takes in self.clicks_first):
            return
        spot: Spot | None = spot_of_hit(self._document.state, hit)
        if spot is not None and spot.panel != self.desk.panel:
            self.choose_panel(spot.panel)
        elif spot is None:
            self.clicked.emit(hit)
            self.choose_panel("" if self.step == "Seams" else self.desk.panel)

    def _tool_reworded(self, words: str) -> None:
        """Say what the tool asks for now; nothing else has changed."""
        self.desk = replace(self.desk, tool_words=words)
        self.reworded.emit(words)

    def _tool_changed(self) -> None:
        tool = self.hand.tool
        self.desk = replace(
            self.desk,
            tool=self.hand.held,
            tool_words="" if tool is None else tool.words(),
            tape_laid=self.tape_tool is not None and self.tape_tool.is_laid,
            tool_laid=tool is not None and tool.is_laid,
        )
        self.changed.emit()

    # ---- edits

    def _edit(self, state: Any, name: str) -> None:
        self._document.edit(state, name)

    def standing(self) -> Standing:
        """Return what decides which actions can be asked for."""
        state, tool = self._document.state, self.hand.tool
        return Standing(
            has_scan=state.scan is not None,
            has_surface=made(state, "Surface") is not None,
            has_panels=bool(panel_names(state)),
            has_blank=bool(self.desk.panel)
            and latest(state, "Blanks", self.desk.panel) is not None,
            has_tool=tool is not None,
            can_take_back=tool is not None and tool.has_begun,
            can_close=tool is not None and tool.can_close,
            can_end=tool is not None and tool.can_end,
            can_undo=bool(self._document.undo_name),
            can_redo=bool(self._document.redo_name),
            is_busy=self._bench.is_busy,
            has_chosen_panel=bool(self.desk.panel) and made(state, "Seams") is not None,
            has_chosen=(self.step == "Seams" and self.desk.seam >= 0)
            or (self.step == "Size" and self.desk.tape >= 0)
            or self.desk.chosen[1] >= 0,
            has_size=made(state, "Size") is not None,
            has_tidy=made(state, "Tidy") is not None,
            has_datum=made(state, "Datum") is not None,
            has_lines=latest(state, "Lines") is not None or bool(state.lines),
            has_chosen_line=self.step == "Lines" and self.desk.chosen[0] == "line",
            has_laid_tool=tool is not None and tool.is_laid,
            has_chosen_seam=self.step == "Seams" and self.desk.seam >= 0 and tool is None,
            has_chosen_point=self.step == "Seams" and self.desk.chosen[0] == SEAM_POINT,
            has_linked_seam=self.step == "Seams"
            and 0 <= self.desk.seam < len(state.seams)
            and twin_of(state.seams, self.desk.seam) >= 0,
            has_seams=bool(state.seams),
            at_paper=self.step == "Paper",
            at_made_rest=self.step in BESIDES and made(state, self.step) is not None,
        )

    def reactions(self) -> dict[str, Callable[[], None]]:
        """Return what answers each action of the table that is the foreman's."""
        return {
            "delete": self.delete,
            "tape": self.take_tape,
            "place": self.put_here,
            "take_back": self.take_back,
            "close_seam": self.close_drawn,
            "end_seam": self.end_drawn,
            "leave_off": self.leave_off,
            "next_panel": self.next_panel,
            "previous_panel": self.previous_panel,
            "flatten": self.flatten,
            "flatten_all": self.flatten_all,
            "is_front": self.is_front,
            "is_top": self.is_top,
        }
