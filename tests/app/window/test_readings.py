"""Squares of the grid read back from a worked panel."""

from typing import Any

import pytest

from app.exports import marked_out_as_shown
from app.job import JobState, made, panel_names
from tests.app.window.conftest import spin

pytestmark = pytest.mark.window


def test_a_square_read_as_it_was_drawn_tells_that_nothing_was_stretched(
    window: Any, made_shell: JobState
) -> None:
    """All sides 25 mm: 100 stays 100 both ways, and 1.6 mm of sheet is 1.6 mm still."""
    name = panel_names(made_shell)[0]
    window.keeper.begin(made_shell, None, unsaved=False)
    window.foreman.choose_panel(name)
    window.react("readings")
    spin(0.1)
    view = window.readings.view
    blank, pattern = made(made_shell, "Blanks", name), made(made_shell, "Paper", name)
    shown = marked_out_as_shown(pattern, blank.flat, show="mm", sheet_mm=1.6, least_mm=1.2)
    assert shown.grid_mm == 25.0
    for field, words in ((view.square, "c2"), (view.along, "25"), (view.across, "25 25")):
        field.setText(words)
    view.take.click()
    assert not view._wrong.isVisible(), view._wrong.text()
    row = view.list.topLevelItem(0)
    assert row.text(0) == "C2"
    assert row.text(1).startswith("100 -> 100 x 100 ")
    assert row.text(3) == "1.6 mm"
    view.square.setText("Z99")
    view.along.setText("25")
    view.across.setText("25")
    view.take.click()
    assert "Z99" in view._wrong.text()
    assert view.list.topLevelItemCount() == 1
    window.readings.window_.close()
