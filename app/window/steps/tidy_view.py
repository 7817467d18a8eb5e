"""Tidy: pieces kept or dropped, what is cut away, and what becomes of every hole."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox

from app.job import Fill, JobState, Scanned, latest, made
from app.units import counted
from app.window.steps.checked_list import CheckedList
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk
from app.window.steps.step_view import NarrowBox, StepView
from app.window.tidy_rows import HoleRow, crop_rows, hole_rows, piece_rows
from app.window.words import fine_text
from geometry.surface import Difference

_FILLS: tuple[tuple[Fill, str], ...] = (
    ("usual", "as usual: fill the small ones"),
    ("all", "fill all of them"),
    ("none", "leave all of them open"),
)


class TidyView(StepView):
    """Pieces, cuts and holes."""

    piece_requested = Signal(int, bool)
    hole_requested = Signal(int, str)
    fill_requested = Signal(str)
    row_chosen = Signal(str, int)
    cut_inside_requested = Signal(bool)
    keep_inside_requested = Signal(bool)
    plane_requested = Signal()

    def __init__(self) -> None:
        super().__init__(
            "Tidy", "Tidy", "What of the scan is the tank. Points that were scanned never move."
        )
        self._pieces_title = self.label("Pieces: tick what stays", "heading")
        self._pieces = CheckedList(150)
        self._pieces.switched.connect(self.piece_requested)
        self.column.addWidget(self._pieces)
        self._add_cuts()
        self._holes_title = self.label("Holes: tick what is filled by guess", "heading")
        self._fill = NarrowBox()
        self._fill.addItems([words for _, words in _FILLS])
        self._fill.activated.connect(self._choose_fill)
        self.fields(("By themselves", self._fill))
        self._holes = CheckedList(230)
        self._holes.chosen.connect(self._choose_hole)
        self._holes.switched.connect(self._switch_hole)
        self.column.addWidget(self._holes)
        self._usual = self.button("Treat this hole as usual", self._leave_to_rule)
        self._mended_title = self.label("What was mended", "heading")
        self._mended = self.label("", "soft")
        self._change_title = self.label("Before and after", "heading")
        self._change = self.label("", "soft")
        self._next = self.asking_button("Next: how it stands", "step_datum", leading=True)
        self.column.addStretch(1)
        self._hole_rows: tuple[HoleRow, ...] = ()

    def _add_cuts(self) -> None:
        self._cuts_title = self.label("Cut away", "heading")
        self._lasso = self.asking_button("Draw round it  (B)", "lasso")
        self._plane = self.asking_button("By a plane  (X)", "plane", beside=self._lasso)
        self._round = self.asking_button("A round place: cap, tap, clamp  (U)", "cut_round")
        self._prompt = self.label("", "ask")
        self._front_only = QCheckBox("Only what faces me, not what lies behind")
        self.column.addWidget(self._front_only)
        self._cut = self.button("Cut away what is inside", self._cut_inside, leading=True)
        self._keep = self.button("Keep only what is inside", self._keep_inside)
        self._crop = self.button("Cut it off here", self.plane_requested.emit, leading=True)
        self._flip = self.asking_button("The other side stays  (V)", "flip_plane")
        self._leave = self.asking_button("Leave off  (Esc)", "leave_off")
        self._cuts = RowList()
        self._cuts.setMaximumHeight(90)
        self._cuts.chosen.connect(self._choose_crop)
        self.column.addWidget(self._cuts)
        self._delete = self.asking_button("Take this cut back  (Del)", "delete")

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show pieces, cuts and holes."""
        self.show_need(state, also=_why_not_yet(state))
        kind, number = desk.chosen
        pieces = piece_rows(state)
        self._pieces_title.setVisible(bool(pieces))
        self._pieces.show_rows([(r.words(at, desk.show), r.is_kept) for at, r in enumerate(pieces)],
                               number if kind == "piece" else -1)  # fmt: skip
        self._show_cuts(state, desk)
        self._hole_rows = hole_rows(state)
        there = latest(state, "Tidy") is not None
        self._holes_title.setVisible(there)
        self._holes_title.setText(
            "Holes: tick what is filled by guess" if self._hole_rows else "No holes are left."
        )
        self._holes.show_rows(
            [(r.words(at, desk.show), r.is_filled) for at, r in enumerate(self._hole_rows)],
            number if kind == "hole" else -1,
        )
        self._fill.setCurrentIndex([fill for fill, _ in _FILLS].index(state.tidy.fill))
        chosen = kind == "hole" and 0 <= number < len(self._hole_rows)
        self._usual.setVisible(chosen and self._hole_rows[number].by_hand)
        self._show_mended(state)
        self._show_change(state, desk)
        self._next.setVisible(made(state, "Tidy") is not None)

    def _show_cuts(self, state: JobState, desk: Desk) -> None:
        tool, laid = desk.tool, desk.tool_laid
        drawing = tool in ("lasso", "plane", "zone")
        for part in (self._lasso, self._plane, self._round):
            part.setVisible(not drawing)
            part.setEnabled(state.scan is not None)
        self._round.setEnabled(made(state, "Size") is not None)
        self._prompt.setVisible(drawing)
        self._prompt.setText(desk.tool_words)
        for choice in (self._front_only, self._cut, self._keep):
            choice.setVisible(tool == "lasso" and laid)
        for part in (self._crop, self._flip):
            part.setVisible(tool == "plane" and laid)
        self._leave.setVisible(drawing)
        rows = crop_rows(state)
        kind, number = desk.chosen
        self._cuts.show_rows([row.words for row in rows], number if kind == "crop" else -1)
        self._delete.setVisible(kind == "crop" and 0 <= number < len(rows))

    def _show_mended(self, state: JobState) -> None:
        scanned: Scanned | None = latest(state, "Scan")
        words = mended_words(scanned)
        self._mended_title.setVisible(scanned is not None)
        self._mended.setVisible(scanned is not None)
        self._mended.setText("\n".join(words) or "Nothing had to be mended.")

    def _show_change(self, state: JobState, desk: Desk) -> None:
        found: Difference | None = made(state, "Difference")
        self._change_title.setVisible(found is not None)
        self._change.setVisible(found is not None)
        if found is not None:
            self._change.setText(
                "The smooth surface against the scanned points, guessed places apart: half of "
                f"them lie within {fine_text(found.median, desk.show)}, 95 of 100 within "
                f"{fine_text(found.p95, desk.show)}, the farthest is "
                f"{fine_text(found.largest, desk.show)} off."
            )

    def _choose_fill(self, row: int) -> None:
        self.fill_requested.emit(_FILLS[row][0])

    def _choose_hole(self, row: int) -> None:
        self.row_chosen.emit("hole", row)

    def _choose_crop(self, row: int) -> None:
        self.row_chosen.emit("crop", row)

    def _switch_hole(self, row: int, on: bool) -> None:
        self.hole_requested.emit(row, "filled" if on else "left")

    def _leave_to_rule(self) -> None:
        self.hole_requested.emit(self._holes.currentRow(), "usual")

    def _cut_inside(self) -> None:
        self.cut_inside_requested.emit(self._front_only.isChecked())

    def _keep_inside(self) -> None:
        self.keep_inside_requested.emit(self._front_only.isChecked())


def _why_not_yet(state: JobState) -> str:
    if state.scan is None:
        return "Open a scan first."
    if made(state, "Size") is None:
        return "Say the size first: step 2."
    return "" if latest(state, "Tidy") is not None else "The scan is being looked through."


def mended_words(scanned: Scanned | None) -> list[str]:
    """Return what had to be mended for the scan to hold together, a line each."""
    if scanned is None:
        return []
    repairs = scanned.sound.repairs
    told = (
        (repairs.joined_points, "doubled point", "joined"),
        (repairs.flat_faces + repairs.caps_mended, "sliver", "taken out"),
        (repairs.duplicate_faces, "doubled triangle", "taken out"),
        (repairs.faces_turned, "triangle", "turned the right way out"),
        (repairs.pieces_turned, "piece", "turned the right way out"),
        (repairs.crowded_edges, "edge", "parted where three faces met"),
        (repairs.cut_faces, "triangle", "cut out there"),
        (repairs.split_vertices, "point", "parted where two parts touched"),
        (repairs.one_sided_faces, "triangle", "of one-sided scraps taken out"),
    )
    return [f"{counted(number, thing)} {what}" for number, thing, what in told if number]
