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
    SweepChoice,
    board_count,
    carried_through,
    line_of,
    made,
    open_job,
    read_rest,
    save_job,
    task_for,
    with_metal,
    with_rest,
    with_result,
)
from geometry.gauges import GaugeSizeError, StationOffTankError
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


@pytest.mark.parametrize("kind", ["female", "male"])
def test_sweeps_of_a_ball_have_the_radii_of_its_sections(kind: Any) -> None:
    """A plane at d from the middle of a ball of R cuts a circle of sqrt(R^2 - d^2)."""
    sweeps = SweepChoice(chord_mm=60.0)
    found = gauges(replace(MIDDLE, kind=kind, sweeps=sweeps))
    assert found.sweeps is not None
    assert found.sweeps.inside == (kind == "male")
    assert board_count(found) == sum(len(e.boards) for e in found.cut.stations) + len(
        found.sweeps.boards
    )
    seen = 0
    for use in found.sweeps.uses:
        if use.place.chord_mm < 39.0:
            continue
        station = found.cut.stations[use.place.station - 1].station
        ahead = station.at_mm - RADIUS_MM * np.sin(1.2)
        ball = RADIUS_MM - (2.0 if kind == "male" else 0.0)
        # Triangles of 3 mm leave the ball by 0.03 mm: over a chord of 40 mm a radius of 50 by 0.6.
        assert 1.0 / use.place.curvature == pytest.approx(np.sqrt(ball**2 - ahead**2), abs=0.8)
        assert use.edge == ("crowned" if kind == "male" else "hollow")
        assert use.gap_mm <= sweeps.gap_mm
        seen += 1
    assert seen >= 2


def test_a_sweep_no_board_can_be_is_refused_when_made() -> None:
    state = with_rest(surfaced(), gauges=replace(MIDDLE, sweeps=SweepChoice(radii_mm=(4.0,))))
    with pytest.raises(GaugeSizeError, match="radius of a sweep"):
        carried_through(state, "Gauges")


def test_sweeps_are_kept_in_the_job_file_and_one_without_them_is_read(tmp_path: Path) -> None:
    sweeps = SweepChoice(120.0, 0.4, (50.0, 152.4))
    asked = replace(MIDDLE, sweeps=sweeps)
    state = with_rest(surfaced(), gauges=asked)
    save_job(state, tmp_path / "tank.lowcrown")
    assert open_job(tmp_path / "tank.lowcrown").rest.gauges == asked
    path = tmp_path / "rest.json"
    path.write_text(
        '{"unit": "in", "gauges": {"sweeps": {"chord": 6, "gap": 0.02, "radii": [2, 6]}}}'
    )
    found = read_rest(path).gauges
    assert found is not None
    assert found.sweeps is not None
    assert found.sweeps.radii_mm == pytest.approx((50.8, 152.4))
    assert (found.sweeps.chord_mm, found.sweeps.gap_mm) == pytest.approx((152.4, 0.508))
    path.write_text('{"unit": "mm", "gauges": {"spacing": 75}}')
    assert read_rest(path).gauges == GaugeChoice()


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
