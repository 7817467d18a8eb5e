"""Opening the window: first tried in a process of its own, because a screen that is missing, or a
picture driver, ends the whole process instead of raising.
"""

import os
import subprocess
import sys
from pathlib import Path

LONGEST_TRIAL_S = 60.0

_TRIAL = """
import os, sys
os.environ["QT_API"] = "pyside6"
from PySide6.QtWidgets import QApplication
app = QApplication(["lowcrown"])
from app.window.scene import draws_here
sys.exit(0 if draws_here() else 7)
"""

_NO_SCREEN = (
    "lowcrown: no window can be opened here: there is no screen, or a system library the window "
    "needs is missing.\n"
    "What to do: on Linux start it from a desktop, and see the list of system packages in "
    "README.md.\nEverything but the window works without a screen: lowcrown --help.\n"
)
_NO_PICTURE = (
    "lowcrown: the screen is there, but nothing can be drawn on it in three dimensions (OpenGL).\n"
    "What to do: install the graphics libraries README.md lists, or update the graphics driver; "
    "LIBGL_ALWAYS_SOFTWARE=1 draws without a graphics card.\n"
    "Everything but the window works without: lowcrown --help.\n"
)


def start(path: Path | None) -> int:
    """Open the window and return its exit code."""
    trouble = why_no_window()
    if trouble:
        sys.stderr.write(trouble)
        return 1
    from app.window.application import run_application

    return run_application(path)


def why_no_window() -> str:
    """Return why no window can be opened here, in a few sentences; "" when one can."""
    try:
        trial = subprocess.run(
            [sys.executable, "-c", _TRIAL],
            capture_output=True,
            text=True,
            errors="replace",
            timeout=LONGEST_TRIAL_S,
            check=False,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(entry for entry in sys.path if entry)},
        )
    except subprocess.TimeoutExpired:
        return _NO_PICTURE
    if trial.returncode == 0:
        return ""
    said = trial.stderr.strip().splitlines()
    detail = f"The system said: {said[-1]}\n" if said else ""
    no_qt = trial.returncode != 7 and ("qt.qpa" in trial.stderr or "ImportError" in trial.stderr)
    return (_NO_SCREEN if no_qt else _NO_PICTURE) + detail
