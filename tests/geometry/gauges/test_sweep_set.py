"""Sweeps of bodies with closed forms: their radii, the gap that is told, and how few there are."""

from itertools import combinations

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.gauges import GaugeWishes, SweepSet, SweepWishes, gauge_set, sweep_set
from geometry.gauges.gauge_faults import GaugeSizeError
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.gauges.laid_arc import laid_gap, longest_chord_mm
from geometry.gauges.sweep_set import _fewest
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from tests.bodies import patch
from tests.geometry.gauges.gauged_bodies import barrel, round_skin, skin_of

THICK_MM = 1.6
STATIONS = GaugeWishes(spacing_mm=100.0, profile=False, side_line="none")


def cylinder(radius: float = 100.0, **more: float) -> TriMesh:
    return round_skin(lambda x: np.full_like(x, radius), cells=(20, 240), **more)


def half_pipe() -> TriMesh:
    """Return a shallow gutter between two crowns: seen from outside hollow of R 60 in the middle.

    Arcs of R 60 that turn by 0.8 rad, one hollow between two crowned, tangent to each other.
    """
    turn = np.linspace(-0.8, 0.8, 81)
    hollow = 60.0 * np.stack([np.sin(turn), 1.0 - np.cos(turn)], axis=1)
    crown = np.linspace(0.8, -0.8, 81)[1:]
    end = hollow[-1]
    centre = end + 60.0 * np.array([np.sin(0.8), -np.cos(0.8)])
    right = centre + 60.0 * np.stack([-np.sin(crown), np.cos(crown)], axis=1)
    line = np.concatenate([(right * [-1.0, 1.0])[::-1], hollow, right])
    x = np.linspace(0.0, 400.0, 21)
    across = np.broadcast_to(line[:, 0], (21, len(line)))
    return patch(
        np.broadcast_to(x[:, None], across.shape),
        across,
        np.broadcast_to(line[:, 1], across.shape) + 80.0,
    )


def made(
    mesh: TriMesh, wishes: SweepWishes | None = None, *, inside: bool = False
) -> tuple[SweepSet, dict[int, FloatArray]]:
    nowhere = np.zeros(len(mesh.faces), bool)
    inward = THICK_MM if inside else 0.0
    cut = gauge_set(mesh, nowhere, nowhere, STATIONS, inward_mm=inward)
    other: GaugedSkin = skin_of(mesh, THICK_MM - inward)
    found = sweep_set(cut.stations, other, wishes or SweepWishes(), inside=inside)
    return found, {each.station.number: each.section.arch for each in cut.stations}


def lain_anywhere(line: FloatArray, curvature: float) -> float:
    """Return the least of the widest gaps over ways to lay an edge on, tried one by one."""
    along = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
    x = (line - line[0]) @ along
    x = x - x[-1] / 2.0
    y = (line - line[0]) @ np.array([-along[1], along[0]])
    radius, side = 1.0 / abs(curvature), np.sign(curvature)
    best = np.inf
    for aside in np.linspace(-0.05 * radius, 0.05 * radius, 2001).tolist():
        # The centre below (crowned metal) or above it, brought up until the edge touches.
        rise = np.sqrt(radius**2 - (x - aside) ** 2)
        centre = (y - side * rise).max()
        away = np.hypot(x - aside, y - centre)
        best = min(best, float(np.abs(radius - away).max()))
    return best


def test_a_cylinder_has_one_radius_and_it_is_its_own() -> None:
    found, _ = made(cylinder())
    assert found.boards
    assert {board.radius_mm for board in found.boards} == {100.0}
    assert all(use.edge == "hollow" for use in found.uses if use.board is not None)
    # Its inscribed polygon of 240 sides leaves its circle by R (1 - cos(pi / 480)) = 0.002 mm.
    assert all(use.gap_mm < 0.01 for use in found.uses if use.board is not None)


def test_a_torus_has_the_radius_of_its_tube_at_every_station() -> None:
    """Across a bent tube the outline is a circle: here of 80 mm about a line that rises and falls.

    The centre's height hangs on x alone, so that planes square to x cut circles out.
    """
    x, turn = np.meshgrid(
        np.linspace(0.0, 400.0, 41), np.linspace(-np.pi / 2, np.pi / 2, 241), indexing="ij"
    )
    rise = np.sqrt(600.0**2 - (x - 200.0) ** 2) - 560.0
    found, _ = made(patch(x, 80.0 * np.sin(turn), rise + 80.0 * np.cos(turn)))
    assert {board.radius_mm for board in found.boards} == {80.0}


def test_a_barrels_boards_hold_its_own_radii() -> None:
    """At every station the barrel is a circle of r(x): the board's differs by what the gap lets.

    Over a chord c radii r and R leave no more between them than half of c^2 / 8 (1 / r - 1 / R).
    """
    found, _ = made(round_skin(barrel, cells=(80, 240)))
    whole = np.linspace(0.0, 400.0, 401)
    for use in found.uses:
        if use.board is not None:
            assert barrel(whole).min() - 3.0 < use.board.radius_mm < barrel(whole).max() + 3.0


def test_the_gap_told_is_the_true_one() -> None:
    found, arches = made(round_skin(barrel, cells=(40, 240)), SweepWishes(100.0, 0.5))
    seen = 0
    for use in found.uses:
        if use.board is None or use.board.chord_mm != use.place.chord_mm:
            continue
        by_hand = lain_anywhere(use.place.line, 1.0 / use.board.radius_mm)
        assert use.gap_mm == pytest.approx(by_hand, abs=0.002)
        assert use.gap_mm <= 0.5
        seen += 1
    assert seen > 5
    assert arches


@pytest.mark.parametrize("curvature", [1 / 80.0, 1 / 100.0, 1 / 130.0, -1 / 90.0])
def test_a_laid_edge_is_lain_as_well_as_can_be(curvature: float) -> None:
    """On a wavy arc of 100 mm, tilted."""
    turn = np.linspace(2.1, 1.3, 300)
    wave = 0.2 * np.sin(9.0 * turn) + 0.1 * np.sin(23.0 * turn)
    line = (np.sign(curvature) * 100.0 + wave)[:, None] * np.stack(
        [np.cos(turn), np.sin(turn)], axis=1
    )
    if curvature < 0.0:
        line = line[::-1] * [-1.0, 1.0]
        line = line if line[0, 0] < line[-1, 0] else line[::-1]
    assert laid_gap(line, curvature) == pytest.approx(lain_anywhere(line, curvature), rel=2e-3)


def test_a_gap_is_the_difference_of_the_rises_where_both_are_arcs() -> None:
    """Of a chord c: a flatter edge touches in the middle, a tighter one at its ends."""
    turn = np.linspace(0.4, -0.4, 401) + np.pi / 2.0
    line = 100.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    half = 100.0 * np.sin(0.4)
    for radius in (95.0, 110.0):
        rises = [r - np.sqrt(r**2 - half**2) for r in (100.0, radius)]
        told = laid_gap(line, 1.0 / radius)
        assert told == pytest.approx(abs(rises[0] - rises[1]), rel=0.1)
    assert laid_gap(line, 1.0 / 30.0) == np.inf  # it does not reach over


def test_no_set_of_fewer_radii_serves() -> None:
    """All sets of one radius less are tried: of spans' ends, where a fewest set can always lie."""
    drawn = np.random.default_rng(3)
    middles = drawn.uniform(0.005, 0.03, 9)
    spans = {
        k: (float(m - w), float(m + w))
        for k, (m, w) in enumerate(zip(middles, drawn.uniform(1e-4, 2e-3, 9), strict=True))
    }
    found = _fewest(spans)
    assert sorted(k for _, hit in found for k in hit) == list(range(9))
    for radius, hit in found:
        assert all(spans[k][0] <= 1.0 / radius <= spans[k][1] for k in hit)
    ends = [high for _, high in spans.values()]
    assert not any(
        all(any(low <= at <= high for at in tried) for low, high in spans.values())
        for tried in combinations(ends, len(found) - 1)
    )


def test_a_finer_gap_takes_no_fewer_boards_and_is_kept() -> None:
    mesh = round_skin(barrel, cells=(60, 240))
    counts = []
    for gap in (0.1, 0.25, 1.0):
        found, _ = made(mesh, SweepWishes(gap_mm=gap))
        counts.append(len(found.boards))
        assert all(use.gap_mm <= gap for use in found.uses)
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > counts[-1]


def test_hollow_metal_takes_the_crowned_edge() -> None:
    """Of the stretches of 50 mm that lie on one arc: from the middle one, half of it, outward."""
    found, _ = made(half_pipe())
    arc = 60.0 * 0.8
    edges = set()
    for use in found.uses:
        if use.place.chord_mm < 49.0 or use.place.from_mm < arc < use.place.to_mm:
            continue
        edges.add(use.edge)
        assert use.edge == ("crowned" if use.place.to_mm <= arc else "hollow")
        assert use.board is not None
        assert use.board.radius_mm == 60.0
        assert abs(use.place.curvature) == pytest.approx(1 / 60.0, rel=1e-3)
    assert "hollow" in edges
    assert any(use.edge == "crowned" for use in found.uses)


def test_on_the_inside_the_radius_is_less_by_the_sheet_and_the_edge_the_other() -> None:
    """Rounded to 98 from 98.4: over 100 mm that leaves 100^2 / 8 (1 / 98 - 1 / 98.4) = 0.05 mm."""
    found, _ = made(cylinder(), inside=True)
    assert {board.radius_mm for board in found.boards} == {98.0}
    used = [use for use in found.uses if use.board is not None]
    assert {use.edge for use in used} == {"crowned"}
    long = [use.place.curvature for use in used if use.place.chord_mm > 40.0]
    assert long == pytest.approx([1.0 / (100.0 - THICK_MM)] * len(long), rel=1e-3)


def test_the_other_face_is_told_as_it_is() -> None:
    """A crowned edge of R inside a skin of R - t, over a chord c: ends touch, the rises differ."""
    found, _ = made(cylinder(), SweepWishes(chord_mm=100.0))
    use = next(use for use in found.uses if use.place.chord_mm == 100.0)
    assert use.board is not None
    inner = use.board.radius_mm - THICK_MM
    half = 50.0 * inner / use.board.radius_mm
    rises = [r - np.sqrt(r**2 - half**2) for r in (use.board.radius_mm, inner)]
    assert use.other_gap_mm == pytest.approx(abs(rises[1] - rises[0]), rel=0.05)


def test_typed_radii_are_all_there_is_and_the_nearest_serves() -> None:
    found, _ = made(cylinder(), SweepWishes(radii_mm=(152.4, 90.0, 105.0)))
    assert [board.radius_mm for board in found.boards] == [90.0, 105.0, 152.4]
    assert [board.number for board in found.boards] == [1, 2, 3]
    assert {use.board.radius_mm for use in found.uses if use.board is not None} <= {90.0, 105.0}
    # On R 100 a radius r leaves c^2 / 8 |1 / r - 1 / 100|. 90: 0.35 mm over 50 mm, 0.09 over 25.
    # 105: 0.60 over 100, 0.15 over 50. 152.4: 0.27 over 25, so that it serves nowhere.
    assert [board.chord_mm for board in found.boards] == pytest.approx([25.0, 50.0, 150.0])
    tight, _ = made(cylinder(), SweepWishes(radii_mm=(20.0,)))
    assert tight.boards[0].chord_mm == pytest.approx(longest_chord_mm(20.0))
    assert all(use.gap_mm > 0.25 for use in tight.uses if use.board is not None)


def test_both_edges_of_a_board_are_arcs_of_its_radius() -> None:
    found, _ = made(round_skin(barrel, cells=(40, 240)))
    for board in found.boards:
        points = board.outline
        sides = [
            points[(points[:, 1] <= board.rise_mm + 1e-9)],
            points[points[:, 1] >= 40.0 - 1e-9],
        ]
        for side, foot in zip(sides, (0.0, 40.0), strict=True):
            centre = np.array([0.0, foot + board.rise_mm - board.radius_mm])
            away = np.linalg.norm(side - centre, axis=1)
            assert np.abs(away - board.radius_mm).max() < 1e-9
        assert np.abs(board.outline[board.corners] - board.curve.points).max() == 0.0


@pytest.mark.parametrize(
    "wishes",
    [SweepWishes(chord_mm=20.0), SweepWishes(gap_mm=0.0), SweepWishes(radii_mm=(100.0, 5.0))],
)
def test_sizes_no_sweep_can_have_are_refused(wishes: SweepWishes) -> None:
    with pytest.raises(GaugeSizeError) as caught:
        made(cylinder(), wishes)
    assert "sweep" in caught.value.what


def test_it_tells_how_far_it_is_and_can_be_stopped() -> None:
    mesh = round_skin(barrel, cells=(40, 120))
    nowhere = np.zeros(len(mesh.faces), bool)
    cut = gauge_set(mesh, nowhere, nowhere, STATIONS)
    told: list[float] = []

    def stop(done: float, stage: str) -> None:
        told.append(done)
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        sweep_set(cut.stations, skin_of(mesh, THICK_MM), SweepWishes(), report=stop)
    assert told == sorted(told)
    assert len(told) > 3
