"""Gauges in the window: begun, changed, a frame added, stations chosen, undone, left out."""

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.job import (
    Directions,
    FrameChoice,
    GaugeChoice,
    Gauges,
    JobState,
    SweepChoice,
    made,
)
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


def test_sweeps_are_asked_for_typed_told_and_undone(window: Any, made_shell: JobState) -> None:
    view = at_step(window, stood(made_shell), "Gauges")
    assert isinstance(view, GaugesView)
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    before = window.document.state
    view.has_sweeps.click()
    assert window.document.state.rest.gauges.sweeps == SweepChoice()
    typed(view.sweep_form.fields["gap_mm"], "0.5 mm")
    assert window.document.state.rest.gauges.sweeps == SweepChoice(gap_mm=0.5)
    QTest.mouseClick(view.radii.add, Qt.MouseButton.LeftButton)
    typed(view.radii.form.fields["at_mm"], "2 in")
    assert window.document.state.rest.gauges.sweeps.radii_mm == pytest.approx((50.8,))
    spin_until(lambda: "Sweep 1: R 50.8 mm (2 in)" in view.told_words)
    found_now = found(window)
    assert found_now is not None
    assert found_now.sweeps is not None
    assert [board.radius_mm for board in found_now.sweeps.boards] == pytest.approx([50.8])
    while window.document.state is not before:
        window.document.undo()
    spin()
    assert not view.has_sweeps.isChecked()
    assert not view.sweeps_part.isVisible()


def test_what_is_not_known_is_asked_for(window: Any, made_shell: JobState) -> None:
    view = at_step(window, stood(made_shell), "Gauges")
    assert isinstance(view, GaugesView)
    window.document.open(replace(window.document.state, directions=Directions()), None)
    window.foreman.choose_step("Gauges")
    spin()
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    spin_until(lambda: "front and up" in view._ask.text())
    assert found(window) is None
