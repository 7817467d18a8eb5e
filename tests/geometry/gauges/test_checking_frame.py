"""The checking frame stood up by its outlines: boards meet, none runs into another."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from geometry.gauges.checking_frame import (
    FrameBoard,
    FrameSizes,
    checking_frame,
    stood_up,
)
from geometry.gauges.gauge_faults import GaugeSizeError
from geometry.gauges.stations import GaugeStation
from tests.geometry.gauges.gauged_bodies import barrel, round_skin, skin_of

STATIONS = (60.0, 140.0, 230.0, 300.0, 360.0)


def frame(sizes: FrameSizes) -> tuple[FrameBoard, ...]:
    stations = [
        GaugeStation(k, at, 400.0 - at, "asked") for k, at in enumerate(STATIONS[::-1], start=1)
    ]
    return checking_frame(skin_of(round_skin(barrel), 1.6), stations, 230.0, sizes)


@pytest.mark.parametrize("beside", [(), (40.0,), (30.0, 60.0)])
@pytest.mark.parametrize("sheet", [3.0, 6.0, 12.0])
def test_the_frame_stands_up(sheet: float, beside: tuple[float, ...]) -> None:
    boards = frame(FrameSizes(sheet_mm=sheet, beside_mm=beside))
    check = stood_up(boards)
    assert check.crossings == 5 * (1 + 2 * len(beside))
    assert check.clash_mm == 0.0
    assert check.off_centre_mm < 0.05
    assert check.feet_apart_mm < 1e-9
    assert check.loose == ()
    # Both edges are the skin's own where they cross: chords of 2 mm and 5 mm facets.
    assert check.tops_apart_mm < 0.05


def test_slots_are_as_wide_as_the_board_and_its_play_and_half_as_deep() -> None:
    sizes = FrameSizes(sheet_mm=6.0, play_mm=0.4)
    boards = frame(sizes)
    across, along = boards[2], boards[-1]
    assert across.at_mm == 230.0
    assert along.axis == 1
    shape = Polygon(across.template.outline)
    foot = shape.bounds[1]
    at_foot = shape.intersection(box(-30.0, foot, 30.0, foot + 0.001))
    assert 60.0 - at_foot.area / 0.001 == pytest.approx(6.4, rel=1e-6)
    depth = across.slots[0].place[1] - foot
    top = 100.0 + 90.0 - 1.6
    assert depth == pytest.approx((top - foot) / 2.0 + 0.2, abs=0.1)
    assert along.slots[2].place[1] == pytest.approx(across.slots[0].place[1] - 0.4)


def test_boards_lie_inside_the_skin_with_all_their_thickness() -> None:
    """A board's thickness lies toward the widest place, where the skin is further out."""
    for board in frame(FrameSizes(sheet_mm=6.0)):
        if board.axis == 0:
            reach = [barrel(np.array([at]))[0] for at in board.band]
            # The one at the widest place loses (6 mm)^2 / 2 R = 0.024 whichever side it lies.
            assert min(reach) > barrel(np.array([board.at_mm]))[0] - 0.025


def test_a_board_cut_wrongly_is_found_out() -> None:
    boards = frame(FrameSizes())
    moved = replace(boards[1].template, outline=boards[1].template.outline + np.array([0.5, 0.0]))
    off = (boards[0], replace(boards[1], template=moved), *boards[2:])
    assert stood_up(off).off_centre_mm == pytest.approx(0.5)
    assert stood_up(off).clash_mm > 10.0  # the slot is half as much wider than the board
    sunk = replace(boards[1].template, outline=boards[1].template.outline - np.array([0.0, 2.0]))
    low = (boards[0], replace(boards[1], template=sunk), *boards[2:])
    assert stood_up(low).feet_apart_mm == pytest.approx(2.0)
    assert stood_up(boards[:-1]).loose == (1, 2, 3, 4, 5)


def test_a_board_along_ends_where_it_would_cut_one_across_through() -> None:
    """At x = 60 the barrel is 70.7 wide to a hand: a board 66 beside leaves no neck there."""
    boards = frame(FrameSizes(beside_mm=(66.0,)))
    check = stood_up(boards)
    assert check.clash_mm == 0.0
    beside = [board for board in boards if board.axis == 1 and board.at_mm != 0.0]
    assert all(board.template.outline[:, 0].min() > 60.0 for board in beside)
    assert all(len(board.slots) < 5 for board in beside)


@pytest.mark.parametrize(
    "sizes",
    [
        FrameSizes(sheet_mm=0.0),
        FrameSizes(sheet_mm=1e3),
        FrameSizes(play_mm=-0.1),
        FrameSizes(foot_mm=float("nan")),
        FrameSizes(beside_mm=(1.0,)),
        FrameSizes(beside_mm=(40.0, 50.0)),
    ],
)
def test_sizes_no_frame_can_have_are_refused(sizes: FrameSizes) -> None:
    with pytest.raises(GaugeSizeError) as caught:
        frame(sizes)
    assert caught.value.what
