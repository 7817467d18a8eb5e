"""Gauges in the window: begun, changed, a frame added, stations chosen, undone, left out."""

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.job import Directions, FrameChoice, GaugeChoice, Gauges, JobState, made
from app.window.steps import GaugesView
from tests.app.window.conftest import at_step, spin, spin_until, stood, typed

pytestmark = pytest.mark.window


def found(window: Any) -> Gauges | None:
    return made(window.document.state, "Gauges")  # type: ignore[no-any-return]


def test_gauges_are_begun_changed_framed_chosen_undone_and_left_out(
    window: Any, made_shell: JobState
) -> None:
    view = at_step(window, stood(made_shell), "Gauges")
    assert isinstance(view, GaugesView)
    before = window.document.state
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.gauges == GaugeChoice()
    spin_until(lambda: found(window) is not None)
    spin_until(lambda: "stations" in view.told_words)

    typed(view.form.fields["spacing_mm"], "40 mm")
    assert window.document.state.rest.gauges.spacing_mm == 40.0
    QTest.mouseClick(view.own.add, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.gauges.stations_mm == (25.0,)
    typed(view.own.form.fields["at_mm"], "33")
    assert window.document.state.rest.gauges.stations_mm == (33.0,)
    view.has_frame.click()
    assert window.document.state.rest.gauges.frame == FrameChoice()
    typed(view.frame_form.fields["sheet_mm"], "4 mm")
    assert window.document.state.rest.gauges.frame == FrameChoice(4.0)
    spin_until(lambda: found(window) is not None)
    spin_until(lambda: "Checking frame" in view.told_words)
    rows = [view.stations.item(at).text() for at in range(view.stations.count())]
    assert any("33 mm" in row for row in rows)

    view.stations.setCurrentRow(1)
    spin(0.2)
    assert window.foreman.desk.chosen == ("station", 1)
    spin_until(lambda: window.rest.side.pages, 60.0)
    assert view.page_of("station", 1).startswith("station 02")
    assert view.row_of("station 02.pdf") == ("station", 1)
    assert view.row_of("frame 02.pdf") == ("", -1)

    while window.document.state is not before:
        window.document.undo()
    assert found(window) is None
    window.document.redo()
    QTest.mouseClick(view.leave_out, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.gauges is None


def test_what_is_not_known_is_asked_for(window: Any, made_shell: JobState) -> None:
    view = at_step(window, stood(made_shell), "Gauges")
    assert isinstance(view, GaugesView)
    window.document.open(replace(window.document.state, directions=Directions()), None)
    window.foreman.choose_step("Gauges")
    spin()
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    spin_until(lambda: "front and up" in view._ask.text())
    assert found(window) is None
