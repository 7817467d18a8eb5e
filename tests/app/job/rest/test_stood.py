"""The tank in its own axes: only where something besides the panels is begun; alike to the scan."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import (
    Directions,
    GaugeChoice,
    StoodTank,
    carried_through,
    made,
    next_tasks,
    stood_step,
    with_rest,
)
from app.job.rest.gauges_step import GaugedScan, GaugedSheet, gauges_step
from geometry.datum import SEVERAL_PLANES, CentrePlane, Datum
from geometry.mesh import face_areas
from geometry.progress import silent
from geometry.surface import working_surface
from tests.app.job.small_tank import carried, decided
from tests.bodies import square_ended


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


def test_ends_and_foot_stand_where_the_scan_does_though_sharp_edges_are_thrown_out() -> None:
    """Exact, 100 long from x = 0, its foot at -30: vertices of the calm surface reach farther."""
    surface = replace(made(carried(), "Surface"), working=working_surface(square_ended()))
    ways = Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    stood = stood_step(surface, None, ways, report=silent)
    assert stood.length_mm == pytest.approx(100.0, abs=0.2)
    corner = stood.axes.to_tank(np.array([[0.0, 0.0, -30.0]]))[0]
    assert corner == pytest.approx([0.0, 0.0, 0.0], abs=0.11)
    assert np.ptp(stood.outside.vertices[:, 0]) > 102.0
    choice = GaugeChoice(stations_mm=(40.0,), only_stations=True, profile=False, side_line="none")
    cut = gauges_step(stood, choice, GaugedSheet(1.6, 0.8), GaugedScan(1.0, (), 3.0), report=silent)
    (station,) = cut.cut.stations
    at = stood.axes.from_tank(np.array([[station.station.at_mm, 0.0, 0.0]]))[0, 0]
    assert at == pytest.approx(60.0, abs=0.2)


def leant(weak: tuple[str, ...]) -> Datum:
    """A datum rolled by 2 degrees to one hand, 7 mm beside the middle."""
    left = np.array([0.0, np.cos(np.radians(2.0)), np.sin(np.radians(2.0))])
    plane = CentrePlane(np.array([0.0, 7.0, 0.0]), left, 0.0, 0.0, weak)
    return Datum(plane, np.cross([1.0, 0, 0], left), np.array([1.0, 0, 0]), np.zeros(3))


@pytest.mark.parametrize(
    ("weak", "front", "up", "roll_deg"),
    [
        ((), True, True, 2.0),
        (("held only loosely",), True, True, 0.0),
        (("held only loosely",), True, False, 2.0),
        (("held only loosely",), False, False, 2.0),
        ((SEVERAL_PLANES,), True, True, 2.0),
    ],
)
def test_a_plane_the_shape_does_not_hold_gives_way_to_what_is_said(
    weak: tuple[str, ...], front: bool, up: bool, roll_deg: float
) -> None:
    """Both ways said stand as said; without, the loose plane's do, and it is told how loose."""
    said = Directions((1.0, 0.0, 0.0) if front else None, (0.0, 0.0, 1.0) if up else None)
    surface = made(carried(), "Surface")
    stood = stood_step(surface, leant(weak), said, report=silent)
    assert np.degrees(np.arccos(stood.axes.axes[2, 2])) == pytest.approx(roll_deg, abs=1e-3)
    assert stood.has_plane == (weak == ())
    is_loose = weak == ("held only loosely",) and not (front and up)
    assert stood.loose == (weak if is_loose else ())
    across = np.quantile(stood.outside.vertices[:, 1], [0.005, 0.995])
    assert (abs(across.sum()) < 1e-6) == (weak != ())  # the middle of the width, as is told


def test_directions_nobody_said_are_told_as_guessed() -> None:
    assert begun().guessed == ()
    state = with_rest(carried_through(decided(), "Surface"), gauges=GaugeChoice())
    state = replace(state, directions=Directions())
    stood: StoodTank = made(carried_through(state, "Stood"), "Stood")
    assert stood.guessed == ("front", "up")
    assert not stood.has_plane
