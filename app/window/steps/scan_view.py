"""Scan: open one, see what was found on it, say which way its front and top are."""

from app.job import JobState, Scanned, latest
from app.units import plain_number
from app.window.steps.standing import Desk
from app.window.steps.step_view import StepView
from geometry.scan import UNIT_WORDS


class ScanView(StepView):
    """The scan's report."""

    def __init__(self) -> None:
        super().__init__("Scan", "Scan", "What the scanner's file holds. It is never altered.")
        self._open = self.asking_button("Open a scan or a job...", "open", leading=True)
        self._sample = self.asking_button("Open the sample tank", "sample")
        self._values = self.pairs(
            ("File", "Triangles", "Pieces", "Holes", "Box", "Noise", "Likely unit")
        )
        self._doubts_title = self.label("Worth knowing", "heading")
        self._doubts = self.label("")
        self._way_title = self.label("Which way it faces", "heading")
        self._way = self.label("", "soft")
        self._front = self.asking_button("I am looking at its front", "is_front")
        self._top = self.asking_button("I am looking at its top", "is_top")
        self._next = self.asking_button("Next: prove the size", "step_size", leading=True)
        self.column.addStretch(1)

    def refresh(self, state: JobState, desk: Desk) -> None:
        """Show what was found."""
        self.show_need(state)
        scanned: Scanned | None = latest(state, "Scan")
        has_scan = state.scan is not None
        for part in (self._way_title, self._way, self._front, self._top):
            part.setVisible(scanned is not None)
        for part in (self._open, self._sample):
            part.setVisible(not has_scan)
        self._next.setVisible(scanned is not None)
        if state.scan is not None:
            self._values[0].setText(state.scan.file_name)
        self._show_report(scanned)
        said = [
            f"{name}: {'said' if way is not None else 'not said'}"
            for name, way in (("Front", state.directions.front), ("top", state.directions.top))
        ]
        self._way.setText(
            f"{said[0]}, {said[1]}. Turn the tank, then say what you see: patterns are laid "
            "with FRONT along the sheet."
        )

    def _show_report(self, scanned: Scanned | None) -> None:
        shown = scanned is not None
        for value in self._values[1:]:
            value.setText("" if shown else "\u2013")
        self._doubts_title.setVisible(shown and bool(scanned and scanned.report.doubts))
        self._doubts.setVisible(self._doubts_title.isVisibleTo(self))
        if scanned is None:
            return
        report = scanned.report
        size = " x ".join(plain_number(float(side), 2) for side in report.size)
        holes = f"{report.hole_count}, rims included"
        if report.holes:
            holes += (
                f"; longest rim {plain_number(report.holes[0].rim_length, 1)} of the file's units"
            )
        for value, words in zip(
            self._values[1:],
            (
                f"{report.triangles:,}",
                f"{report.piece_count}",
                holes,
                f"{size} of the file's units",
                f"about {plain_number(report.noise, 4)} of the file's units",
                f"{UNIT_WORDS[report.likely_unit]} \u2013 a guess from the size",
            ),
            strict=True,
        ):
            value.setText(words)
        self._doubts.setText("\n".join(f"\u2022 {doubt}" for doubt in report.doubts))
