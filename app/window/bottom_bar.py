"""The bottom of the window: what runs, how far it is, and Stop."""

from PySide6.QtCore import QElapsedTimer, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QProgressBar, QPushButton

BAR_EVERY_MS = 250
"""A moved bar is painted at once, which takes up to 50 ms: more often the window would drag."""


class BottomBar(QFrame):
    """One line."""

    stop_requested = Signal()
    go_on_requested = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "column")
        layout = QHBoxLayout(self)
        layout.setContentsMargins(16, 5, 12, 5)
        layout.setSpacing(12)
        self._words = QLabel()
        self._words.setMinimumWidth(320)
        self._bar = QProgressBar()
        self._bar.setRange(0, 1000)
        self._bar.setFormat("%p of 100")
        self._bar.setFixedWidth(300)
        self._stop = QPushButton("Stop  (Ctrl+.)")
        self._stop.clicked.connect(self.stop_requested)
        self._go_on = QPushButton("Go on with what was stopped")
        self._go_on.clicked.connect(self.go_on_requested)
        layout.addWidget(self._words, 1)
        layout.addWidget(self._go_on)
        layout.addWidget(self._bar)
        layout.addWidget(self._stop)
        self._said = False
        self._since = QElapsedTimer()
        self.rest(was_stopped=False)

    def show_progress(self, what: str, done: float, stage: str) -> None:
        """Show how far a task is."""
        self._words.setText(f"{what}: {stage[:1].lower()}{stage[1:]}" if stage else what)
        self._said = False
        if self._bar.isHidden() or self._since.elapsed() >= BAR_EVERY_MS:
            self._since.start()
            self._bar.setValue(round(1000 * min(max(done, 0.0), 1.0)))
        self._bar.show()
        self._stop.show()
        self._go_on.hide()

    def rest(self, *, was_stopped: bool) -> None:
        """Show that nothing runs."""
        self._bar.hide()
        self._bar.reset()
        self._stop.hide()
        self._go_on.setVisible(was_stopped)
        if not self._said:
            self._words.setText("Stopped." if was_stopped else "Ready.")

    def say(self, words: str) -> None:
        """Say something; it stays until the next work."""
        self._said = True
        self._words.setText(words)
