"""All gauges of a tank: one board for both hands where it serves, two where not, all told."""

import numpy as np
import pytest
import shapely

from geometry.arrays import FloatArray
from geometry.gauges import FrameSizes, GaugeSet, GaugeWishes, gauge_set
from geometry.gauges.gauge_faults import GaugeSizeError, StationOffTankError
from geometry.mesh import TriMesh
from geometry.pattern import fitted_curve
from geometry.progress import Cancelled
from tests.bodies import patch
from tests.geometry.gauges.gauged_bodies import barrel, round_skin

USUAL = GaugeWishes(spacing_mm=100.0)


def made(mesh: TriMesh, wishes: GaugeWishes = USUAL, **more: object) -> GaugeSet:
    nowhere = np.zeros(len(mesh.faces), bool)
    return gauge_set(mesh, nowhere, nowhere, wishes, **more)  # type: ignore[arg-type]


def small(right: float = 1.0) -> TriMesh:
    return round_skin(barrel, right=right, cells=(40, 60))


@pytest.mark.parametrize(("wider", "boards"), [(1.0, 1), (1.015, 1), (1.04, 2)])
def test_one_board_serves_both_hands_up_to_the_limit(wider: float, boards: int) -> None:
    """The right hand is wider by a share of up to 90 mm: 1.35 mm passes 2 mm, 3.6 mm does not."""
    found = made(small(wider))
    middle = next(each for each in found.stations if each.station.why == "widest")
    assert middle.difference is not None
    assert middle.difference.largest_mm == pytest.approx(90.0 * (wider - 1.0), abs=0.05)
    assert len(middle.boards) == boards
    assert [hand for hand, _ in middle.boards] == (["both"] if boards == 1 else ["left", "right"])


def walled(right_foot: float) -> TriMesh:
    """Half round, R 100, with walls to 60 under its middle on the left, less on the right."""
    turn = np.linspace(-np.pi / 2.0, np.pi / 2.0, 61)
    walls = [np.linspace(right_foot, 0.0, 13)[:-1], np.linspace(0.0, -60.0, 13)[1:]]
    y = np.concatenate([np.full(12, -100.0), 100.0 * np.sin(turn), np.full(12, 100.0)])
    z = np.concatenate([walls[0], 100.0 * np.cos(turn), walls[1]])
    x = np.linspace(0.0, 300.0, 31)
    ones = np.ones_like
    return patch(np.outer(x, ones(y)), np.outer(ones(x), y), np.outer(ones(x), z))


@pytest.mark.parametrize(("foot", "hands"), [(-59.0, ["both"]), (-20.0, ["left", "right"])])
def test_halves_that_end_at_other_heights_need_a_board_each(foot: float, hands: list[str]) -> None:
    """Alike wherever there are both: the longer goes on along its wall by what the other lacks."""
    (found,) = made(walled(foot), GaugeWishes(asked_mm=(150.0,), only_asked=True)).stations
    assert found.difference is not None
    assert found.difference.largest_mm == pytest.approx(0.0, abs=1e-6)
    assert found.difference.ends_mm == pytest.approx(60.0 + foot, abs=1e-6)
    assert [hand for hand, _ in found.boards] == hands


def test_stations_are_counted_back_from_where_the_front_end_is_said_to_stand() -> None:
    wishes = GaugeWishes(asked_mm=(100.0,), only_asked=True)
    found = made(small(), wishes, ends_mm=(3.0, 398.0))
    (only,) = found.stations
    assert (only.station.at_mm, found.length_mm, found.front_mm) == (298.0, 395.0, 398.0)


def test_a_limit_of_nothing_makes_two_of_each() -> None:
    found = made(small(1.015), GaugeWishes(spacing_mm=100.0, limit_mm=0.0))
    assert all(len(each.boards) == 2 for each in found.stations)


def test_whole_boards_are_one_a_station() -> None:
    found = made(small(), GaugeWishes(spacing_mm=100.0, in_halves=False))
    assert all([hand for hand, _ in each.boards] == ["whole"] for each in found.stations)
    assert all(each.difference is None for each in found.stations)


def test_boards_for_the_inside_lie_the_sheet_further_in() -> None:
    wishes = GaugeWishes(spacing_mm=100.0, kind="male", in_halves=False)
    outer, inner = (made(small(), wishes, inward_mm=inward) for inward in (0.0, 1.6))
    for one, other in zip(outer.stations, inner.stations, strict=True):
        top = [float(t.outline[:, 1].max()) for t in (one.boards[0][1], other.boards[0][1])]
        assert top[0] - top[1] == pytest.approx(
            1.6 * np.hypot(1.0, (one.station.at_mm - 230.0) / 750.0), abs=0.02
        )


def test_a_fitted_outline_is_within_0_02_mm_of_the_section() -> None:
    for each in made(small()).stations:
        for _, board in each.boards:
            fit = fitted_curve(
                board.outline, closed=True, kind="arcs", tolerance_mm=0.01, corners=board.corners
            )
            drawn = shapely.LineString(fit.curve.sampled(0.001))
            for edge in board.edges:
                off = shapely.distance(shapely.points(edge), drawn)
                assert off.max() <= 0.0151


def test_nothing_along_is_made_where_none_is_wished() -> None:
    found = made(small(), GaugeWishes(spacing_mm=100.0, profile=False, side_line="none"))
    assert (found.longs, found.bars, found.frame, found.profile) == ((), (), (), None)


def test_crisp_lines_give_the_side_line() -> None:
    x = np.linspace(40.0, 360.0, 60)
    lines = [np.column_stack([x, side * (barrel(x) * 0.8), 150.0 + 0.0 * x]) for side in (1, -1)]
    short = np.array([[0.0, 50.0, 120.0], [30.0, 50.0, 120.0]])
    wishes = GaugeWishes(spacing_mm=100.0, profile=False, side_line="crisp")
    found = made(small(), wishes, crisp=(short, lines[0], lines[1][::-1]))
    assert [(each.of, each.view, each.hand) for each in found.longs] == [
        ("side line", "side", "both"),
        ("side line", "plan", "both"),
    ]
    assert made(small(), wishes, crisp=(short,)).longs == ()


def test_a_frame_is_made_and_stood_up_with_the_stations() -> None:
    found = made(small(), GaugeWishes(spacing_mm=100.0, frame=FrameSizes()), frame_inward_mm=1.6)
    assert found.check is not None
    assert found.check.crossings == len(found.stations)
    assert found.check.clash_mm == 0.0


def _on_its_head(mesh: TriMesh) -> TriMesh:
    turned: FloatArray = mesh.vertices * np.array([1.0, -1.0, -1.0])
    return TriMesh(turned, mesh.faces)


def test_a_tank_on_its_head_is_noticed() -> None:
    assert not made(small()).top_open
    wishes = GaugeWishes(spacing_mm=100.0, profile=False, side_line="none")
    nowhere = np.zeros(len(small().faces), bool)
    found = gauge_set(_on_its_head(small()), nowhere, nowhere, wishes)
    assert found.top_open


def test_what_cannot_be_made_is_refused() -> None:
    with pytest.raises(StationOffTankError):
        made(small(), GaugeWishes(asked_mm=(900.0,)))
    with pytest.raises(GaugeSizeError) as caught:
        made(small(), GaugeWishes(limit_mm=-1.0))
    assert caught.value.given_mm == -1.0


def test_progress_rises_and_may_stop_it() -> None:
    told: list[float] = []
    made(small(), report=lambda done, stage: told.append(done))
    assert told == sorted(told)
    assert told[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        made(small(), report=stop)
