"""Lines: the character lines found, each locked, thrown out, joined, made longer, or drawn."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox

from app.job import JobState, latest, made
from app.units import area_text, counted
from app.window.line_rows import SURE, LineRow, line_rows
from app.window.steps.row_list import RowList
from app.window.steps.standing import Desk
from app.window.steps.step_view import StepView
from app.window.words import fine_text
from geometry.surface import FlatFace


class LinesView(StepView):
    """Character lines."""

    sought_requested = Signal(bool)
    row_chosen = Signal(str, int)

    def __init__(self) -> None:
        super().__init__(
            "Lines", "Lines",
            "Crisp lines the eye follows. A locked line stays as crisp as it was scanned; the "
            "others may be smoothed over.",
        )  # fmt: skip
        self._sought = QCheckBox("Look for lines")
        self._sought.clicked.connect(self.sought_requested)
        self.column.addWidget(self._sought)
        self._found = self.label("", "soft")
        self._sure = self.asking_button("Lock all sure ones  (Shift+A)", "lock_sure", leading=True)
        self._list = RowList()
        self._list.setWordWrap(True)
        self._list.setMinimumHeight(240)
        self._list.chosen.connect(self._choose)
        self.column.addWidget(self._list, 1)
        self._lock = self.asking_button("Lock it  (A)", "lock_line")
        self._reject = self.asking_button("Throw it out  (R)", "reject_line", beside=self._lock)
        self._join = self.asking_button("Join it with...  (Shift+B)", "join_line")
        self._extend = self.asking_button("Longer...  (G)", "extend_line", beside=self._join)
        self._again = self.asking_button("Decide anew  (Shift+R)", "offer_line")
        self._draw = self.asking_button("Draw a line  (W)", "draw_line")
        self._flats_title = self.label("Flat faces", "heading")
        self._flats = self.label("", "soft")
        self._prompt = self.label("", "ask")
        self._end = self.asking_button("End it here  (Enter)", "end_seam")
        self._close = self.asking_button("Close it to a ring  (C)", "close_seam")
        self._leave = self.asking_button("Leave off  (Esc)", "leave_off")
        self._next = self.asking_button("Next: draw seams", "step_seams", leading=True)
        self.column.addStretch(0)

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show every line."""
        self.show_need(state, also=_why_not_yet(state))
        self._sought.setChecked(state.find_lines)
        rows = line_rows(state)
        self._show_list(rows, desk)
        drawing = desk.tool in ("line", "picks")
        kind, number = desk.chosen
        row = rows[number] if kind == "line" and 0 <= number < len(rows) else None
        for part in (self._lock, self._reject, self._join, self._extend):
            part.setVisible(row is not None and not drawing)
        if row is not None:
            self._lock.setEnabled(row.standing != "locked")
            self._reject.setEnabled(row.standing != "rejected")
            self._again.setVisible(row.decision >= 0 and not row.drawn and not drawing)
        else:
            self._again.setVisible(False)
        sure = [r for r in rows if r.standing == "offered" and r.confidence >= SURE]
        self._sure.setVisible(bool(sure) and not drawing)
        self._draw.setVisible(not drawing)
        self._draw.setEnabled(made(state, "Tidy") is not None)
        self._prompt.setVisible(drawing)
        self._prompt.setText(desk.tool_words)
        for part in (self._end, self._close):
            part.setVisible(desk.tool == "line")
        self._leave.setVisible(drawing)
        flats = flat_words(latest(state, "Flat faces"), desk.show)
        for label in (self._flats_title, self._flats):
            label.setVisible(bool(flats))
        self._flats.setText("\n".join(flats))
        self._next.setVisible(made(state, "Tidy") is not None)

    def _show_list(self, rows: tuple[LineRow, ...], desk: Desk) -> None:
        kind, number = desk.chosen
        words = [row.words(desk.show) for row in rows]
        self._list.show_rows(words, number if kind == "line" else -1)
        counts = [
            f"{sum(row.standing == standing for row in rows)} {said}"
            for standing, said in (
                ("locked", "locked"), ("offered", "offered"), ("rejected", "thrown out")
            )
        ]  # fmt: skip
        self._found.setVisible(bool(rows))
        self._found.setText(f"{counted(len(rows), 'line')}: {', '.join(counts)}.")

    def _choose(self, row: int) -> None:
        self.row_chosen.emit("line", row)


def flat_words(found: tuple[FlatFace, ...] | None, show: str) -> list[str]:
    """Return what is told about each flat face, a line each."""
    return [
        f"{at + 1}   {area_text(face.area, show)}, flat to {fine_text(face.flatness_mm, show)}"
        for at, face in enumerate(found or ())
    ]


def _why_not_yet(state: JobState) -> str:
    if state.scan is None:
        return "Open a scan first."
    if made(state, "Size") is None:
        return "Say the size first: step 2."
    if not state.find_lines:
        return "" if state.lines else "Tick the box to have lines looked for, or draw one."
    if latest(state, "Lines") is None:
        return "Lines are being looked for. You can go on meanwhile."
    return "" if line_rows(state) else "No character line was found. Draw one where you see it."
