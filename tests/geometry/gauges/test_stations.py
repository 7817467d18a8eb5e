"""Where stations stand: every so often from the front, at the peaks, closer where it bends."""

import itertools

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.gauges.gauge_faults import StationOffTankError, StationSpacingError
from geometry.gauges.stations import LET_OUT_MM, girthing, stations_of, widest_line
from tests.geometry.gauges.gauged_bodies import barrel, round_skin, skin_of


def test_the_peaks_of_a_barrel_are_found() -> None:
    girth = girthing(skin_of(round_skin(barrel)))
    assert abs(girth.widest_mm - 230.0) < 0.5
    assert abs(girth.highest_mm - 230.0) < 0.5


def test_stations_are_counted_from_the_front_and_one_moves_to_the_peak() -> None:
    skin = skin_of(round_skin(barrel))
    stations = stations_of(skin, girthing(skin), spacing_mm=80.0)
    assert [each.number for each in stations] == list(range(1, len(stations) + 1))
    backs = [each.back_mm for each in stations]
    assert backs == sorted(backs)
    assert all(abs(each.at_mm + each.back_mm - 400.0) < 1e-9 for each in stations)
    peak = [each for each in stations if each.why == "widest"]
    assert len(peak) == 1
    assert abs(peak[0].at_mm - 230.0) < 0.5
    every = [each.back_mm for each in stations if each.why == "every"]
    assert np.allclose(every, [80.0, 240.0, 320.0])  # 160 lies 10 mm from the peak: moved there


def test_stations_stand_closer_in_a_tight_nose() -> None:
    """Between stations no outline leaves its chord by more than the limit."""

    def nosed(x: FloatArray) -> FloatArray:
        return np.asarray(90.0 * np.sqrt(np.clip(1.0 - ((x - 320.0) / 82.0) ** 2, 0.0, 1.0)))

    def radius(x: FloatArray) -> FloatArray:
        return np.asarray(np.where(x < 320.0, 90.0, nosed(x)))

    skin = skin_of(round_skin(radius, cells=(200, 60)))
    stations = stations_of(skin, girthing(skin), spacing_mm=75.0)
    at = sorted(each.at_mm for each in stations)
    assert any(each.why == "tight" and each.at_mm > 330.0 for each in stations)
    assert not any(each.why == "tight" and each.at_mm < 250.0 for each in stations)
    for low, high in itertools.pairwise(at):
        x = np.linspace(low, high, 50)
        chord = np.interp(x, [low, high], radius(np.array([low, high])))
        slope = (chord[-1] - chord[0]) / (high - low)
        assert np.abs(radius(x) - chord).max() / np.hypot(1.0, slope) < LET_OUT_MM + 0.3


def test_the_makers_own_stations_are_kept_and_may_be_all() -> None:
    skin = skin_of(round_skin(barrel))
    girth = girthing(skin)
    among = stations_of(skin, girth, spacing_mm=100.0, asked_mm=(33.0, 251.5))
    assert {33.0, 251.5} <= {round(each.back_mm, 9) for each in among}
    alone = stations_of(skin, girth, asked_mm=(33.0, 251.5), only_asked=True)
    assert [(round(each.back_mm, 9), each.why) for each in alone] == [
        (33.0, "asked"),
        (251.5, "asked"),
    ]


@pytest.mark.parametrize("back", [-1.0, 0.0, 401.0, 1e6, float("nan")])
def test_a_station_off_the_tank_is_refused(back: float) -> None:
    skin = skin_of(round_skin(barrel))
    with pytest.raises(StationOffTankError) as caught:
        stations_of(skin, girthing(skin), asked_mm=(back,))
    assert caught.value.length_mm == pytest.approx(400.0)
    assert caught.value.station_mm == pytest.approx(back, nan_ok=True)


@pytest.mark.parametrize("spacing", [0.0, -75.0, 1e6, 0.5, float("nan")])
def test_a_spacing_nobody_can_work_to_is_refused(spacing: float) -> None:
    skin = skin_of(round_skin(barrel))
    with pytest.raises(StationSpacingError) as caught:
        stations_of(skin, girthing(skin), spacing_mm=spacing)
    assert caught.value.least_mm == 10.0


def test_the_widest_line_of_a_barrel_runs_level_at_its_middle() -> None:
    girth = girthing(skin_of(round_skin(barrel, under=2.0)))
    for hand, side in (("left", 1.0), ("right", -1.0)):
        line = widest_line(girth, hand)
        assert np.abs(side * line[:, 1] - barrel(line[:, 0])).max() < 0.05
        assert np.abs(line[:, 2] - 100.0).max() < 0.5
