"""What stands on the tank is told apart, and hides nothing."""

from itertools import combinations
from typing import Any

import numpy as np
import pytest

pytestmark = pytest.mark.window


def test_lines_of_the_legend_are_told_apart_without_colour(app: object) -> None:
    """Whatever two kinds of line are shown together, a photocopy of their samples differs."""
    from dataclasses import replace

    from PySide6.QtCore import QRectF
    from PySide6.QtGui import QImage, QPainter

    from app.window.legend import Swatch, paint_sample
    from app.window.setting_picture import _FILLED, _LINE_SWATCHES

    def sample(swatch: Swatch) -> np.ndarray:
        image = QImage(40, 15, QImage.Format.Format_Grayscale8)
        image.fill(255)
        with QPainter(image) as painter:
            paint_sample(painter, replace(swatch, colour="black"), QRectF(4, 1, 32, 13))
        return np.frombuffer(image.constBits(), np.uint8).reshape(15, -1)[:, :40].astype(float)

    pictures = [sample(swatch) for swatch in (_FILLED, *_LINE_SWATCHES.values())]
    for one, other in combinations(pictures, 2):
        assert (np.abs(one - other) > 100.0).sum() >= 15


def test_a_level_tape_is_seen_from_end_to_end_under_its_length(app: object) -> None:
    import pyvista as pv
    from PySide6.QtGui import QColor

    from app.window.look import TAPE
    from app.window.scene.mark_painter import TapePainter

    plotter: Any = pv.Plotter(off_screen=True, window_size=[400, 200])
    plotter.set_background("white")
    ends = np.array([[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    TapePainter(plotter).draw((ends,), ("426 mm (16 3/4 in)",), -1)
    plotter.camera_position = "xy"
    plotter.show(auto_close=False)
    picture: np.ndarray = np.asarray(plotter.screenshot(return_img=True), np.int64)
    plotter.close()
    colour = QColor(TAPE)
    tape = np.array([colour.red(), colour.green(), colour.blue()])
    off: np.ndarray = np.abs(picture - tape)
    drawn: np.ndarray = off.sum(axis=2) < 60
    level = int(drawn.sum(axis=1).argmax())
    along = np.flatnonzero(drawn[level])
    assert len(along) == along[-1] - along[0] + 1 > 200
    words = np.flatnonzero((picture.sum(axis=2) < 250).any(axis=1) & ~drawn.any(axis=1))
    assert len(words) > 5  # the length is there,
    assert words.max() < level  # above the tape
