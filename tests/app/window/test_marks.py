"""What sheet and tank mark: where a blank lies over itself, and where a panel is too deep."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from app.job import Blank, made, task_for, with_result
from app.window.look import ASK
from geometry.blank import FlatPanel
from tests.app.window.conftest import spin
from tests.app.window.test_window import laid_flat

pytestmark = pytest.mark.window


def with_flat(window: Any, name: str, **change: Any) -> FlatPanel:
    """Put a blank that differs from the made one into the document; return it."""
    state = window.document.state
    blank: Blank = made(state, "Blanks", name)
    task = task_for(state, "Blanks", name)
    assert task is not None
    bad = replace(blank, flat=replace(blank.flat, **change))
    window.document.take_result(with_result(state, task, bad))
    spin(0.1)
    return bad.flat


def test_where_a_blank_lies_over_itself_is_marked_on_the_sheet(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    """The picture of the sheet changes there, by a ring 13 pixels wide, and not far from it."""
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QColor

    name = laid_flat(window, shell_file)
    place = np.array([20.0, 5.0])

    def ring() -> np.ndarray:
        """Return how far from the mark's colour the places of the ring are."""
        image = window.sheet.grab().toImage()
        at = window.sheet.to_picture().map(QPointF(*place))
        ratio = image.devicePixelRatio()
        found = []
        for turn in np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False):
            x, y = at.x() + 13.0 * np.cos(turn), at.y() + 13.0 * np.sin(turn)
            colour = image.pixelColor(round(x * ratio), round(y * ratio))
            found.append((colour.red(), colour.green(), colour.blue()))
        mark = QColor(ASK)
        off = np.array(found, np.float64) - (mark.red(), mark.green(), mark.blue())
        return np.asarray(np.sqrt((off * off).sum(axis=1)))

    before = ring()
    with_flat(window, name, overlap_area=120.0, overlap_place=place)
    after = ring()
    assert (after < 30.0).mean() > 0.7
    assert (before < 30.0).mean() < 0.2
    assert "lies over itself by 1.2 cm" in window.views["Blanks"]._warning.text()


def test_where_a_panel_is_too_deep_is_marked_on_the_tank(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    name = laid_flat(window, shell_file)
    state = window.document.state
    assert len(window.pictures.tank(state, "Blanks", window.foreman.desk).warned) == 0
    faces = len(made(state, "Blanks", name).flat.faces)
    flat = with_flat(window, name, unsound=np.arange(faces) == 11, converged=False)
    shown = window.pictures.tank(window.document.state, "Blanks", window.foreman.desk)
    np.testing.assert_array_equal(shown.warned, flat.unsound_place[None])
    assert shown.warnings == ("too deep here: add a seam",)
    assert (
        len(window.pictures.tank(window.document.state, "Seams", window.foreman.desk).warned) == 0
    )
