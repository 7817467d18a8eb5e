"""The tank in its own axes: only where something besides the panels is begun; alike to the scan."""

from dataclasses import replace

import numpy as np

from app.job import (
    Directions,
    GaugeChoice,
    StoodTank,
    carried_through,
    made,
    next_tasks,
    with_rest,
)
from geometry.mesh import face_areas
from tests.app.job.small_tank import carried, decided


def begun() -> StoodTank:
    state = with_rest(carried_through(decided(), "Surface"), gauges=GaugeChoice())
    state = replace(state, directions=Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    return made(carried_through(state, "Stood"), "Stood")  # type: ignore[no-any-return]


def test_nothing_is_stood_up_while_nothing_besides_the_panels_is_begun() -> None:
    assert made(carried(), "Stood") is None
    assert not any(task.step == "Stood" for task in next_tasks(carried()))


def test_the_stood_tank_is_the_surface_moved_and_turned() -> None:
    stood = begun()
    state = carried_through(decided(), "Surface")
    working = made(state, "Surface").working
    areas = face_areas(stood.outside.vertices, stood.outside.faces)
    assert np.allclose(areas, face_areas(working.outside, working.mesh.faces), rtol=1e-9)
    back = stood.axes.from_tank(stood.outside.vertices)
    assert np.allclose(back, working.outside, atol=1e-9)
    low = stood.outside.vertices[np.unique(stood.outside.faces)].min(axis=0)
    assert np.allclose(low[[0, 2]], 0.0, atol=1e-9)


def test_directions_nobody_said_are_told_as_guessed() -> None:
    assert begun().guessed == ()
    state = with_rest(carried_through(decided(), "Surface"), gauges=GaugeChoice())
    state = replace(state, directions=Directions())
    stood: StoodTank = made(carried_through(state, "Stood"), "Stood")
    assert stood.guessed == ("front", "up")
    assert not stood.has_plane
