"""Capacity and fittings in the window: begun, typed into, taken back, told and shown."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.job import (
    CapacityChoice,
    FittingsChoice,
    JobState,
    PartFill,
    RestOfTank,
    carried_through,
    made,
    next_tasks,
    with_rest,
    with_result,
)
from app.job.choices.state import Directions
from app.window.rest import row_of
from app.window.steps import CapacityView, Desk, FittingsView
from geometry.tank import BossSpec, FillerSpec
from tests.app.job.small_tank import decided

pytestmark = pytest.mark.window


@pytest.fixture(scope="module")
def state() -> JobState:
    """The dome with a recessed filler and a tap, counted and fitted."""
    begun = carried_through(decided(), "Surface")
    filler = FillerSpec(46.0, hole_mm=14.0, ring_mm=20.0, cap_mm=16.0)
    fitted = FittingsChoice(filler, (BossSpec("main tap", "G 1/8", 46.0, 10.0),))
    rest = RestOfTank(capacity=CapacityChoice("flat"), fittings=fitted)
    begun = replace(begun, rest=rest, directions=Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    begun = carried_through(begun, "Stood")
    for task in next_tasks(begun):
        if task.step in ("Capacity", "Fittings"):
            begun = with_result(begun, task, task.run())
    return begun


def asked_of(view: Any) -> list[tuple[str, Any, str]]:
    told: list[tuple[str, Any, str]] = []

    def take(field: str, spec: Any, name: str) -> None:
        told.append((field, spec, name))

    view.decided.connect(take)
    return told


def test_capacity_is_begun_with_nothing_closed(window: Any, state: JobState) -> None:
    view = CapacityView()
    view.setParent(window)
    told = asked_of(view)
    view.refresh(with_rest(state, capacity=None), Desk())
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    assert told == [("capacity", CapacityChoice(), "Begin: capacity")]


def test_capacity_tells_litres_and_asks_for_a_tunnel(window: Any, state: JobState) -> None:
    view = CapacityView()
    view.setParent(window)
    told = asked_of(view)
    view.refresh(state, Desk())
    assert "to the brim" in view.told_words
    assert "low point" in view.told_words
    assert not view.tunnel.form.isVisibleTo(view)
    view.tunnel.box.setChecked(True)
    field, spec, _ = told[-1]
    assert field == "capacity"
    assert spec.tunnel.front_width_mm == 65.0
    view.refresh(with_rest(state, capacity=spec), Desk())
    assert view.tunnel.form.isVisibleTo(view)


def test_some_fuel_in_it_is_asked_for_and_told(window: Any, state: JobState) -> None:
    view = CapacityView()
    view.setParent(window)
    told = asked_of(view)
    view.refresh(state, Desk())
    assert not view.part.form.isVisibleTo(view)
    view.part.box.setChecked(True)
    field, spec, name = told[-1]
    assert (field, spec.part, name) == ("capacity", PartFill(), "Some fuel in it")
    leant = replace(spec, part=PartFill(0.02, np.radians(12.0)))
    begun = with_rest(state, capacity=leant)
    for task in next_tasks(begun):
        if task.step == "Capacity":
            begun = with_result(begun, task, task.run())
    view.refresh(begun, Desk())
    assert view.part.form.isVisibleTo(view)
    field_of_litres: Any = view.part.form.fields["litres"]
    assert field_of_litres.text() == "0.02 l"
    assert "With 20 ml (0.042 US pt, 0.035 imp pt) in it, 12° to the left:" in view.told_words
    assert "Main tap: " in view.told_words
    capacity = row_of("Capacity")
    assert capacity is not None
    shore = [c for c in capacity.picture(begun, Desk()).curves if c.words == "20 ml"]
    (pool,) = made(begun, "Capacity").part.standing.pools
    assert len(shore) == len(pool.shores)
    view.part.box.setChecked(False)
    assert told[-1][1].part is None


def test_fittings_add_a_tap_at_the_low_point(window: Any, state: JobState) -> None:
    view = FittingsView()
    view.setParent(window)
    told = asked_of(view)
    view.refresh(state, Desk())
    assert "Main tap" in view.told_words
    QTest.mouseClick(view.bosses.add, Qt.MouseButton.LeftButton)
    _, spec, _ = told[-1]
    low = made(state, "Capacity").stances[0].points[0].place
    assert len(spec.bosses) == 2
    assert spec.bosses[1].x_mm == pytest.approx(low[0], abs=0.051)
    assert view.page_of("boss", 0) == "bosses.pdf"
    assert view.page_of("boss", -1) == ""
    view.filler.box.setChecked(False)
    assert told[-1][1].filler is None


def test_the_tank_shows_the_room_the_taps_and_the_filler(window: Any, state: JobState) -> None:
    capacity, fittings = row_of("Capacity"), row_of("Fittings")
    assert capacity is not None
    assert fittings is not None
    shown = capacity.picture(state, Desk())
    assert shown.see_through
    assert len(shown.bodies) == 1
    words = {curve.words for curve in shown.curves}
    assert {"low 1", "main tap", "stick"} <= words
    rings = fittings.picture(state, Desk()).curves
    hole = next(curve for curve in rings if curve.words == "hole")
    stood = made(state, "Stood")
    size = made(state, "Size").mm_per_unit
    back = stood.axes.to_tank(np.asarray(hole.points) * size)
    assert np.ptp(back[:, 1]) == pytest.approx(14.0, abs=0.01)
    assert capacity.picture(JobState(), Desk()).bodies == ()
