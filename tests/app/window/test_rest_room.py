"""The steps besides the panels: reached by their keys, begun, undone to the very job before."""

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.job import STEPS, Directions, JobState, with_directions
from app.window.rest import REST_STEPS
from tests.app.window.conftest import spin
from tests.app.window.test_window import press

pytestmark = pytest.mark.window


@pytest.mark.parametrize("name", [row.name for row in REST_STEPS])
def test_a_step_is_reached_by_its_key_begun_and_undone_exactly(
    window: Any, made_shell: JobState, name: str
) -> None:
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    window.document.open(stood, None)
    spin()
    press(window, next(row.key for row in REST_STEPS if row.name == name))
    assert window.foreman.step == name
    view = next(each for each in window.rest.views if each.step == name)
    before = window.document.state
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    assert getattr(window.document.state.rest, view.FIELD) is not None
    assert not view.begin.isVisible()
    spin(0.2)
    press(window, "Ctrl+Z")
    assert window.document.state is before
    assert view.begin.isVisible()


def test_their_rows_stand_in_the_order_of_the_table_of_steps() -> None:
    assert [row.name for row in REST_STEPS] == [row.name for row in STEPS if row.besides]
    assert [row.key for row in REST_STEPS] == [f"Alt+{at + 1}" for at in range(len(REST_STEPS))]
