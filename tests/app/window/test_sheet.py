"""How a blank lies in the window: as on paper, TOP up."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from app.job import JobState
from tests.app.window.conftest import spin

pytestmark = pytest.mark.window


class Slope:
    """A flat panel that stands at a slope: how it lies on its blank is told in closed form."""

    def __init__(self, steep_deg: float, turned_deg: float) -> None:
        u, v = np.meshgrid(np.linspace(0, 300, 7), np.linspace(0, 200, 5))
        self.flat_vertices = np.stack([u.ravel(), v.ravel()], axis=1)
        steep, turn = np.radians([steep_deg, turned_deg])
        up_on_blank = np.array([-np.sin(turn), np.cos(turn)])
        along = np.array([up_on_blank[1], -up_on_blank[0]])
        rows = self.flat_vertices @ np.stack([along, up_on_blank], axis=1)
        rise = np.array([0.0, np.cos(steep), np.sin(steep)])
        self.vertices = rows[:, :1] * np.array([1.0, 0.0, 0.0]) + rows[:, 1:] * rise


@pytest.mark.parametrize(
    ("steep_deg", "turned_deg", "hangs"),
    [(80, 0, False), (80, 180, True), (80, 100, True), (80, 95, False), (30, -150, True),
     (5, 180, False)],
)  # fmt: skip
def test_a_panel_whose_top_hangs_down_is_known(
    steep_deg: float, turned_deg: float, hangs: bool
) -> None:
    from app.window.sheet import top_hangs_down

    flat: Any = Slope(steep_deg, turned_deg)
    assert top_hangs_down(flat, (0.0, 0.0, 2.0)) is hangs
    assert not top_hangs_down(flat, None)


@pytest.mark.parametrize("from_inside", [False, True])
def test_a_blank_turned_top_up_is_turned_never_mirrored(
    window: Any, made_shell: JobState, from_inside: bool
) -> None:
    """Half a turn about the middle; a spot pointed at is found where it is drawn."""
    from PySide6.QtCore import QPointF

    window.keeper.begin(made_shell, None, unsaved=False)
    window.foreman.show_panel(next(iter(name for step, name in made_shell.results if name)))
    spin(0.2)
    view = window.sheet
    assert view._sheet is not None
    places = view._sheet.blank.flat.flat_vertices[:5]
    found = []
    for is_turned in (False, True):
        view.show_sheet(replace(view._sheet, from_inside=from_inside, is_turned=is_turned), "")
        shown = view.to_picture()
        ends = [shown.map(QPointF(*place)) for place in places]
        found.append(np.array([(end.x(), end.y()) for end in ends]))
        spot = view.spot_at(QPointF(*found[-1].mean(axis=0)))
        assert spot is None or spot.panel == view._sheet.blank.panel
        assert shown.determinant() > 0.0 if from_inside else shown.determinant() < 0.0
    sides = [np.diff(points, axis=0) for points in found]
    np.testing.assert_allclose(sides[1], -sides[0], atol=1e-6)
