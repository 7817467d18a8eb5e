"""The window: the only part that knows Qt. Offers `open_window`."""

from pathlib import Path


def open_window(path: Path | None = None) -> int:
    """Open the window on a scan or a job, or empty; return the exit code once it is closed.

    Where no window can be opened, says why on standard error and returns 1.
    """
    from app.window.start import start

    return start(path)
