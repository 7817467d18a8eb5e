"""Reserve and dip stick on boxes, whose charts are straight lines."""

import numpy as np
import pytest

from geometry.tank import (
    LEVEL,
    FuelSpace,
    PlainTunnel,
    Stance,
    StandpipeTooTallError,
    TapOutsideError,
    dip_chart,
    floor_under,
    fuel_space,
    reserve_of,
    rooms_over,
    stick_marks,
    under_roof,
    volume_to,
)
from tests.geometry.tank.bodies_to_fill import box


@pytest.fixture(scope="module")
def saddle() -> FuelSpace:
    tunnel = PlainTunnel(60.0, 60.0, 80.0, 80.0, "flat")
    return fuel_space(box(400.0, 250.0, 200.0), wall_mm=0.0, tunnel=tunnel)


def test_the_chart_of_a_box_with_a_tunnel_has_one_kink(saddle: FuelSpace) -> None:
    """Up to the roof 400 x 190 a millimetre, over it 400 x 250."""
    chart = dip_chart(saddle, 200.0, 70.0)
    wetted = chart.depth_mm
    exact = np.where(wetted < 80.0, 76_000.0 * wetted, 6_080_000.0 + 100_000.0 * (wetted - 80.0))
    assert chart.volume_mm3 == pytest.approx(exact, rel=1e-9, abs=1.0)
    assert chart.depth_mm[-1] == pytest.approx(200.0)
    assert chart.volume_mm3[-1] == pytest.approx(saddle.volume_mm3, rel=1e-9)


def test_notches_on_the_stick_read_the_chart_backwards(saddle: FuelSpace) -> None:
    chart = dip_chart(saddle, 200.0, 70.0)
    marks = stick_marks(chart, [1e6, 10e6, 99e6])
    assert marks[:2] == pytest.approx([1e6 / 76_000.0, 80.0 + 3_920_000.0 / 100_000.0])
    assert np.isnan(marks[2])


def test_a_leant_stick_reads_the_prism_under_the_surface() -> None:
    """Mid stick in a leant box: the mean depth is the stick's, whatever the lean."""
    whole = fuel_space(box(400.0, 250.0, 200.0), wall_mm=0.0)
    chart = dip_chart(whole, 200.0, 0.0, stance=Stance("leant", lean_left_rad=0.2))
    at = int(np.flatnonzero(chart.depth_mm == 100.0)[0])
    assert chart.volume_mm3[at] == pytest.approx(400.0 * 250.0 * 100.0, rel=1e-9)


def test_reserve_is_what_stands_between_standpipe_and_floor(saddle: FuelSpace) -> None:
    """One tap: its own leg's 400 x 95 a millimetre; the other leg never runs out."""
    tap, _ = floor_under(saddle, 200.0, 70.0, "tap")
    found = reserve_of(saddle, tap, 25.0)
    assert found.usable_mm3 == pytest.approx(400 * 95 * 25, rel=1e-4)
    assert found.stranded_mm3 == pytest.approx(400 * 95 * 80, rel=1e-4)


def test_a_crossover_brings_the_other_leg_into_the_reserve(saddle: FuelSpace) -> None:
    tap, _ = floor_under(saddle, 200.0, 70.0, "tap")
    ends = (tap + [0, 0, 1e-4], tap * [1, -1, 1] + [0, 0, 1e-4])
    found = reserve_of(saddle, tap, 25.0, crossovers=[ends])
    assert found.usable_mm3 == pytest.approx(2 * 400 * 95 * 25, rel=1e-4)
    assert found.stranded_mm3 < 50.0


def test_a_standpipe_through_the_roof_is_refused(saddle: FuelSpace) -> None:
    tap, room = floor_under(saddle, 200.0, 70.0, "tap")
    assert room == pytest.approx(200.0)
    with pytest.raises(StandpipeTooTallError) as caught:
        reserve_of(saddle, tap, 230.0)
    assert caught.value.height_mm == 230.0
    assert caught.value.room_mm == pytest.approx(200.0)


def test_a_stick_beside_the_tank_is_refused(saddle: FuelSpace) -> None:
    with pytest.raises(TapOutsideError) as caught:
        dip_chart(saddle, 430.0, 125.0)
    assert caught.value.name == "dip stick"
    assert caught.value.away_mm == pytest.approx(30.0)


def test_rooms_and_roofs_at_many_places(saddle: FuelSpace) -> None:
    """Beside the tunnel 200, over it 120, beside the tank nothing."""
    places = np.array([[200.0, 70.0], [200.0, 0.0], [500.0, 0.0]])
    assert rooms_over(saddle, places) == pytest.approx([200.0, 120.0, 0.0])
    roof = under_roof(saddle, places, 12.0)
    assert roof == pytest.approx(np.array([[200.0, 70.0, 188.0], [200.0, 0.0, 188.0]]))
    assert under_roof(saddle, places[:1], 150.0)[0, 2] == pytest.approx(100.0)  # half the room


def test_the_volume_to_a_height_on_the_level(saddle: FuelSpace) -> None:
    assert volume_to(saddle, 50.0, LEVEL) == pytest.approx(76_000.0 * 50.0, rel=1e-9)
