"""The tank kept, everything else named: scraps, spikes, second shells, a second tank."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, check_manifold, face_areas, is_oriented, piece_of_face, rims
from geometry.progress import Cancelled
from geometry.scan import (
    Ball,
    HalfSpace,
    Lasso,
    NoPieceNearError,
    NothingLeftError,
    OnlyScrapsError,
    Region,
    SeveralTanksError,
    TidyScan,
    WrongSizeError,
    holes_of,
    pieces_of,
    tidy_for_panels,
)
from tests.geometry.scan.scans import ball, box, joined, rough, sheet, tube

TANK = tube(80.0, 240.0, 4.0, sweep=4.0)


def _second_shell() -> TriMesh:
    return tube(80.0, 240.0, 3.7, start=4.0 - 0.06, sweep=1.5)


def test_a_tank_alone_is_kept_as_it_is() -> None:
    tidy = tidy_for_panels(rough(TANK, 0.05))
    np.testing.assert_array_equal(tidy.mesh.faces, TANK.faces)
    assert (tidy.dropped, tidy.spikes_dropped, tidy.shells_joined) == ((), 0, 0)
    assert not tidy.bridged.any()


def test_scraps_are_dropped_and_listed_with_their_size() -> None:
    scraps = box((8, 6, 4), (300, 0, 0)), box((2, 2, 2), (0, 300, 0))
    tidy = tidy_for_panels(joined(scraps[1], TANK, scraps[0]))
    assert len(tidy.mesh.faces) == len(TANK.faces)
    np.testing.assert_allclose([piece.size for piece in tidy.dropped], [(8, 6, 4), (2, 2, 2)])
    np.testing.assert_allclose(tidy.dropped[0].centre, [304, 3, 2])
    assert [piece.triangles for piece in tidy.dropped] == [12, 12]
    assert tidy.dropped[0].area == pytest.approx(2 * (48 + 32 + 24))


def test_a_second_shell_is_joined_and_its_bridge_marked() -> None:
    tidy = tidy_for_panels(joined(_second_shell(), rough(TANK, 0.05)))
    check_manifold(tidy.mesh)
    assert is_oriented(tidy.mesh.faces)
    assert piece_of_face(tidy.mesh.faces).max() == 0
    assert (tidy.shells_joined, len(tidy.dropped)) == (1, 0)
    assert len(rims(tidy.mesh)) == 1
    assert tidy.bridged.shape == (len(tidy.mesh.faces),)
    bridge = tidy.mesh.vertices[tidy.mesh.faces[tidy.bridged]].mean(axis=1)
    turn = np.arctan2(bridge[:, 1], bridge[:, 0]) % (2 * np.pi)
    np.testing.assert_allclose(turn, 4.0, atol=0.15)  # along the edge where the shells meet


def test_three_shells_are_joined_one_after_the_other() -> None:
    """The third meets only the second, whose number in the file comes after it."""
    third = tube(80.0, 240.0, 3.9, start=5.44 - 0.06, sweep=0.5)
    tidy = tidy_for_panels(joined(TANK, third, _second_shell()))
    assert (tidy.shells_joined, len(tidy.dropped)) == (2, 0)
    assert len(rims(tidy.mesh)) == 1


def test_spikes_are_counted() -> None:
    points = TANK.vertices.copy()
    tip = rims(TANK)[0][40]
    points[tip] *= [1.08, 1.08, 1.0]  # 6 mm off the skin
    tidy = tidy_for_panels(TriMesh(points, TANK.faces))
    assert 1 <= tidy.spikes_dropped <= 5
    assert len(tidy.mesh.faces) == len(TANK.faces) - tidy.spikes_dropped


def test_two_tanks_in_one_file_are_asked_about_with_their_sizes_and_places() -> None:
    one, other = ball(120.0, 1500), ball(100.0, 1500)
    both = joined(TriMesh(other.vertices + [500, 0, 0], other.faces), one)
    with pytest.raises(SeveralTanksError) as caught:
        tidy_for_panels(both)
    first, second = caught.value.pieces
    np.testing.assert_allclose(first.size, 240.0, rtol=0.01)
    np.testing.assert_allclose(second.size, 200.0, rtol=0.01)
    np.testing.assert_allclose(first.centre, [0, 0, 0], atol=0.5)
    np.testing.assert_allclose(second.centre, [500, 0, 0], atol=0.5)


def test_tidying_tells_how_far_it_is_and_can_be_stopped_halfway() -> None:
    scan = joined(TANK, _second_shell(), box((8, 6, 4), (300, 0, 0)))
    seen: list[float] = []
    tidy_for_panels(scan, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert len(seen) > 3
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        tidy_for_panels(scan, report=stop)


def _middles(mesh: TriMesh) -> FloatArray:
    return np.asarray(mesh.vertices[mesh.faces].mean(axis=1))


def _faces_are_the_scans(tidy: TidyScan, scan: TriMesh) -> None:
    known = tidy.scan_face_of_face >= 0
    np.testing.assert_array_equal(known, ~tidy.bridged)
    np.testing.assert_array_equal(
        tidy.mesh.vertices[tidy.mesh.faces[known]],
        scan.vertices[scan.faces[tidy.scan_face_of_face[known]]],
    )


def test_every_face_knows_which_of_the_scans_it_is() -> None:
    """Scraps, spikes, doubled and bridged faces all at once: not a point has moved."""
    thorny = rough(TANK, 0.05)
    points = thorny.vertices.copy()
    points[rims(TANK)[0][40]] *= [1.08, 1.08, 1.0]
    scan = joined(box((8, 6, 4), (300, 0, 0)), _second_shell(), TriMesh(points, TANK.faces))
    tidy = tidy_for_panels(scan)
    assert tidy.shells_joined == 1
    assert tidy.spikes_dropped > 0
    _faces_are_the_scans(tidy, scan)


def test_the_areas_add_up_to_the_scans() -> None:
    scan = joined(box((8, 6, 4), (300, 0, 0)), _second_shell(), rough(TANK, 0.05))
    lid = HalfSpace(np.array([0.0, 0, 200]), np.array([0.0, 0, -1]))
    hole = Ball(AT_CLAMP, 15.0)
    area = tidy_for_panels(scan, crops=[lid], cuts=[hole]).areas
    gone = area.cropped + area.cut + area.dropped + area.spikes + area.doubled
    assert area.scanned == pytest.approx(face_areas(scan.vertices, scan.faces).sum())
    assert area.kept + gone == pytest.approx(area.scanned)
    assert area.cut == pytest.approx(np.pi * 15.0**2, rel=0.1)
    assert area.cropped == pytest.approx(80.0 * (4.0 + 1.5) * 40.0, rel=0.05)
    assert area.dropped == pytest.approx(2 * (48 + 32 + 24))
    assert area.bridged > 0.0


BENCH = HalfSpace(np.array([0.0, 0, -20]), np.array([0.0, 0, 1]))


@pytest.mark.parametrize("crops", [[], [BENCH]])
def test_the_pieces_listed_are_the_whole_scans_whatever_is_cropped(crops: list[Region]) -> None:
    scan = joined(box((8, 6, 4), (300, 0, -60)), _second_shell(), TANK)
    tidy = tidy_for_panels(scan, crops=crops)
    for listed, piece in zip(tidy.pieces, pieces_of(scan), strict=True):
        assert (listed.triangles, listed.area) == (piece.triangles, piece.area)
        np.testing.assert_array_equal(listed.point, piece.point)
    assert tidy.kept == (True, True, False)


def test_a_piece_pointed_at_is_kept_or_dropped_whatever_the_rule() -> None:
    badge = box((8, 6, 4), (300, 0, 0))
    scan = joined(badge, TANK)
    kept = tidy_for_panels(scan, keep=[(304.0, 3.0, 4.5)])
    assert len(kept.mesh.faces) == len(scan.faces)
    assert kept.dropped == ()
    _faces_are_the_scans(kept, scan)
    shells = joined(_second_shell(), rough(TANK, 0.05))
    alone = tidy_for_panels(shells, drop=_second_shell().vertices[[500]])
    assert len(alone.mesh.faces) == len(TANK.faces)
    assert (alone.shells_joined, len(alone.dropped)) == (0, 1)


def test_one_of_two_tanks_is_kept_by_pointing_at_it_or_dropping_the_other() -> None:
    one, other = ball(120.0, 1500), ball(100.0, 1500)
    far = TriMesh(other.vertices + [500, 0, 0], other.faces)
    both = joined(far, one)
    for tidy in (
        tidy_for_panels(both, keep=[(500.0, 0, 100.0)]),
        tidy_for_panels(both, drop=[(0.0, 0, 120.0)]),
    ):
        np.testing.assert_array_equal(tidy.mesh.vertices, far.vertices)
        assert [piece.area for piece in tidy.dropped] == [
            pytest.approx(face_areas(one.vertices, one.faces).sum())
        ]


def test_the_point_that_names_a_piece_lies_on_it() -> None:
    scan = joined(box((8, 6, 4), (300, 0, 0)), TANK)
    tank, scrap = pieces_of(scan)
    assert np.hypot(*tank.point[:2]) == pytest.approx(80.0, abs=0.1)
    assert (tank.triangles, scrap.triangles) == (len(TANK.faces), 12)
    assert tidy_for_panels(scan, keep=scrap.point[None]).dropped == ()


def test_a_crop_takes_the_bench_away_and_a_cut_leaves_a_hole_that_is_listed() -> None:
    lid = HalfSpace(np.array([0.0, 0, 200]), np.array([0.0, 0, -1]))
    tidy = tidy_for_panels(rough(TANK, 0.05), crops=[lid], cuts=[Ball(AT_CLAMP, 15.0)])
    assert _middles(tidy.mesh)[:, 2].max() < 201.0
    check_manifold(tidy.mesh)
    edge, hole = holes_of(tidy.mesh)
    assert edge.is_edge
    assert hole.is_round
    assert hole.across == pytest.approx(30.0, abs=4.0)
    np.testing.assert_allclose(hole.centre, AT_CLAMP, atol=2.0)


AT_CLAMP = np.array([80.0 * np.cos(2.0), 80.0 * np.sin(2.0), 100.0])


def test_parts_that_only_touch_after_a_cut_are_parted() -> None:
    """Two faces left at one corner of a checkered cut: no rim goes through a point twice."""
    skin = sheet(30, 30, 10.0)
    cuts = [
        Lasso(np.array([[0.0, 0, 0], [150, 0, 0], [150, 150, 0], [0, 150, 0]]), DOWN),
        Lasso(np.array([[150.0, 150, 0], [290, 150, 0], [290, 290, 0], [150, 290, 0]]), DOWN),
    ]
    tidy = tidy_for_panels(skin, cuts=cuts, keep=[(200.0, 50.0, 0.0)])
    check_manifold(tidy.mesh)
    assert piece_of_face(tidy.mesh.faces).max() == 0


DOWN = np.array([0.0, 0.0, -1.0])


def test_what_leaves_nothing_is_refused_and_says_what_took_the_last() -> None:
    away = HalfSpace(np.array([0.0, 0, 900]), np.array([0.0, 0, 1]))
    all_of_it = HalfSpace(np.array([0.0, 0, 900]), np.array([0.0, 0, -1]))
    none: list[Region] = []
    nowhere: list[tuple[float, float, float]] = []
    for crops, cuts, drop, by, number in (
        ([all_of_it, away], none, nowhere, "crop", 1),
        (none, [away, all_of_it], nowhere, "cut", 1),
        (none, none, [(80.0, 0.0, 100.0)], "drop", 0),
    ):
        with pytest.raises(NothingLeftError) as caught:
            tidy_for_panels(TANK, crops=crops, cuts=cuts, drop=drop)
        assert (caught.value.by, caught.value.number) == (by, number)


def test_a_place_off_every_piece_is_refused_and_one_on_what_was_cut_away_is_not() -> None:
    with pytest.raises(NoPieceNearError) as caught:
        tidy_for_panels(TANK, drop=[(200.0, 0.0, 100.0)])
    assert caught.value.distance_mm == pytest.approx(120.0, abs=0.1)
    lid = HalfSpace(np.array([0.0, 0, 200]), np.array([0.0, 0, -1]))
    bench = box((90, 60, 4), (300, 0, 300))
    tidy = tidy_for_panels(joined(TANK, bench), crops=[lid], drop=[(340.0, 30.0, 304.0)])
    assert tidy.dropped == ()


def test_a_heap_of_scraps_is_no_tank() -> None:
    heap = joined(*(box((12, 12, 12), (40.0 * k, 0, 0)) for k in range(30)))
    with pytest.raises(OnlyScrapsError) as caught:
        tidy_for_panels(heap)
    assert caught.value.pieces == 30
    np.testing.assert_allclose(caught.value.largest.size, 12.0)
    few = joined(*(box((12, 12, 12), (40.0 * k, 0, 0)) for k in range(3)))
    with pytest.raises(SeveralTanksError):
        tidy_for_panels(few)


@pytest.mark.parametrize("factor", [0.001, 1000.0])
def test_a_tank_in_the_wrong_unit_is_refused_with_its_length(factor: float) -> None:
    with pytest.raises(WrongSizeError) as caught:
        tidy_for_panels(TriMesh(TANK.vertices * factor, TANK.faces))
    box_mm = float(np.linalg.norm(np.ptp(TANK.vertices, axis=0)))
    assert caught.value.length_mm == pytest.approx(factor * box_mm)
