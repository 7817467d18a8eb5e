"""Whether VTK can draw here, tried for real."""

from typing import Any


def draws_here() -> bool:
    """Return whether one small picture can be drawn on the screen; may end the process instead."""
    from PySide6.QtWidgets import QApplication
    from pyvistaqt import QtInteractor

    canvas = QtInteractor(None, auto_update=False, multi_samples=0)
    canvas.resize(64, 64)
    canvas.show()
    for _ in range(5):
        QApplication.processEvents()
    window: Any = canvas.ren_win
    drawn = bool(canvas.isValid() and window.GetReadyForRendering())
    canvas.close()
    return drawn
