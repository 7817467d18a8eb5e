"""The step of the gauges: begun and made, on the right face of the sheet, refused where unsure."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.job import (
    Directions,
    DirectionsUnknownError,
    FrameChoice,
    GaugeChoice,
    Gauges,
    JobState,
    MetalChoice,
    board_count,
    carried_through,
    line_of,
    made,
    read_rest,
    task_for,
    with_metal,
    with_rest,
    with_result,
)
from geometry.gauges import StationOffTankError
from geometry.progress import silent
from tests.app.job.small_tank import RADIUS_MM, decided


@cache
def surfaced() -> JobState:
    return carried_through(with_metal(decided(), MetalChoice(2.0, "3003-H14")), "Surface")


def with_gauges(choice: GaugeChoice, state: JobState | None = None) -> JobState:
    state = with_rest(surfaced() if state is None else state, gauges=choice)
    for name in ("Stood", "Gauges"):
        task = task_for(state, name)
        assert task is not None
        state = with_result(state, task, task.run())
    return state


def gauges(choice: GaugeChoice, state: JobState | None = None) -> Gauges:
    return made(with_gauges(choice, state), "Gauges")  # type: ignore[no-any-return]


def radius_of(found: Gauges, number: int = 0) -> float:
    """Return how far a station's outline lies from the dome's middle: its top stands R over it."""
    each = found.cut.stations[number]
    top = float(each.section.arch[:, 1].max())
    low = RADIUS_MM * np.cos(1.2)  # the dome's rim lies at the foot of the tank's axes
    ahead = each.station.at_mm - RADIUS_MM * np.sin(1.2)
    return float(np.hypot(ahead, top + low))


MIDDLE = GaugeChoice(stations_mm=(46.6, 66.0), only_stations=True, profile=False, side_line="none")


@pytest.mark.parametrize(
    ("changed", "inward"),
    [
        ({}, 0.0),
        ({"kind": "male"}, 2.0),
        ({"face": "inside"}, 2.0),
        ({"kind": "male", "face": "outside"}, 0.0),
    ],
)
def test_gauges_touch_the_outside_or_lie_the_full_sheet_in(
    changed: dict[str, Any], inward: float
) -> None:
    """On a sphere of 50 mm, 2 mm sheet: outlines lie on R 50 or R 48."""
    found = gauges(replace(MIDDLE, **changed))
    for number in range(2):
        # Triangles of the working surface, 3 mm, leave R 50 by up to 0.03 mm.
        assert radius_of(found, number) == pytest.approx(RADIUS_MM - inward, abs=0.08)


def test_a_scan_of_the_middle_puts_the_outside_half_a_sheet_further_out() -> None:
    state = with_metal(decided(), MetalChoice(2.0, "3003-H14", "middle"))
    state = carried_through(state, "Surface")
    outer = gauges(MIDDLE, state)
    assert (outer.inward_mm, gauges(replace(MIDDLE, kind="male"), state).inward_mm) == (-1.0, 1.0)
    assert radius_of(outer) == pytest.approx(RADIUS_MM + 1.0, abs=0.08)


def test_nothing_is_made_until_gauges_are_begun() -> None:
    assert task_for(surfaced(), "Gauges") is None
    assert made(surfaced(), "Gauges") is None


def test_a_change_puts_gauges_out_of_date_and_undo_makes_them_current_again() -> None:
    state = with_gauges(MIDDLE)
    changed = with_rest(state, gauges=replace(MIDDLE, board_mm=60.0))
    assert made(changed, "Gauges") is None
    assert made(with_rest(changed, gauges=MIDDLE), "Gauges") is made(state, "Gauges")


def test_the_line_tells_stations_and_boards() -> None:
    state = with_gauges(replace(MIDDLE, frame=FrameChoice(3.0)))
    found: Gauges = made(state, "Gauges")
    assert board_count(found) == 2 + 3
    assert line_of(state, "Gauges").startswith("2 stations, 5 boards; hands differ by up to 0")


def test_where_front_and_up_are_only_guessed_there_are_no_gauges() -> None:
    state = with_rest(replace(surfaced(), directions=Directions()), gauges=MIDDLE)
    task = task_for(state, "Stood")
    assert task is not None
    state = with_result(state, task, task.run())
    task = task_for(state, "Gauges")
    assert task is not None
    with pytest.raises(DirectionsUnknownError) as caught:
        task.run(silent)
    assert caught.value.missing == ("front", "up")


def test_a_station_off_the_tank_is_refused() -> None:
    state = with_rest(surfaced(), gauges=replace(MIDDLE, stations_mm=(500.0,)))
    with pytest.raises(StationOffTankError):
        carried_through(state, "Gauges")


def test_a_makers_file_says_gauges_in_its_own_unit(tmp_path: Path) -> None:
    path = tmp_path / "rest.json"
    path.write_text(
        '{"unit": "in", "gauges": {"spacing": 3, "stations": [2.5], "kind": "male", '
        '"frame": {"sheet": 0.25, "beside": [3]}}}'
    )
    frame = FrameChoice(6.35, beside_mm=(76.2,))
    found = read_rest(path).gauges
    assert found is not None
    assert found.spacing_mm == pytest.approx(76.2)
    assert found.stations_mm == pytest.approx((63.5,))
    assert found.frame is not None
    assert found.frame.sheet_mm == pytest.approx(frame.sheet_mm)
    assert found.frame.beside_mm == pytest.approx(frame.beside_mm)
