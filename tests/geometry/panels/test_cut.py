import numpy as np
import pytest

from geometry.blank import FlatPanel, flatten
from geometry.mesh import (
    TriMesh,
    check_manifold,
    corner_angles,
    edge_table,
    face_areas,
    is_oriented,
    nearest_points,
    part_of_mesh,
    rims,
)
from geometry.panels import (
    CutSurface,
    Cutter,
    Seam,
    SeamCrossesItselfError,
    SeamDoesNotPartError,
    SeamOffSurfaceError,
    SeamTooShortError,
    cut_along,
    panels,
)
from geometry.progress import Cancelled
from tests.bodies import patch
from tests.geometry.mesh.small_meshes import octahedron, plane, tube
from tests.geometry.panels.surfaces import PlainSurface, line, ring, surface_of, wavy_sheet

LIFT = np.array([0.0, 0.0, 1.0])


def panel_count(cut: CutSurface) -> int:
    return int(cut.panel_of_face.max()) + 1


def assert_sound(surface: PlainSurface, cut: CutSurface) -> None:
    """Check what holds of every cut: a sound mesh, seams that are edges, nothing lost."""
    check_manifold(cut.mesh)
    assert is_oriented(cut.mesh.faces)
    edges = {(int(a), int(b)) for a, b in edge_table(cut.mesh.faces).edges}
    for path in cut.seam_paths:
        assert {(int(a), int(b)) for a, b in np.sort(path.edges, axis=1)} <= edges
        assert len(set(path.vertices.tolist())) == len(path.vertices)
    before = face_areas(surface.mesh.vertices, surface.mesh.faces).sum()
    assert face_areas(cut.mesh.vertices, cut.mesh.faces).sum() == pytest.approx(before, rel=1e-9)
    off = nearest_points(surface.mesh, cut.mesh.vertices).distances
    assert off.max() < 1e-9  # cutting parts the surface and moves nothing
    assert len(cut.outside) == len(cut.mesh.vertices)
    assert len(cut.filled) == len(cut.scan_face_of_face) == len(cut.mesh.faces)


def test_a_seam_from_rim_to_rim_parts_a_flat_sheet_at_its_line() -> None:
    """Areas of the two trapezia of a 40 x 30 sheet cut from (0, 10) to (40, 17)."""
    surface = surface_of(plane(41, 31))
    cut = cut_along(surface, [Seam("a", np.array([[0, 10.0, 0], [40, 17.0, 0]]))])
    assert panel_count(cut) == 2
    area = np.bincount(cut.panel_of_face, face_areas(cut.mesh.vertices, cut.mesh.faces))
    assert area == pytest.approx([40 * 16.5, 40 * 13.5], rel=1e-9)
    chain = cut.mesh.vertices[cut.seam_paths[0].vertices]
    assert chain[:, 1] == pytest.approx(10 + 7 * chain[:, 0] / 40, abs=2e-3)  # at a corner hard by
    assert_sound(surface, cut)


@pytest.mark.parametrize("seed", range(4))
def test_two_crossing_seams_and_a_ring_over_them_make_eight_panels(seed: int) -> None:
    surface = surface_of(wavy_sheet(seed), 0.8)
    seams = [
        Seam("across", line((0, 60), (150, 75))),
        Seam("along", line((70, 0), (80, 150), 12)),
        Seam("ring", ring((75, 68), 30.0), closed=True),
    ]
    cut = cut_along(surface, seams)
    assert panel_count(cut) == 8
    assert [path.name for path in cut.seam_paths] == ["across", "along", "ring"]
    assert_sound(surface, cut)


@pytest.mark.parametrize("seed", range(4))
def test_a_cut_leaves_hardly_any_blunt_face_beside_its_seams(seed: int) -> None:
    """Needles remain where a seam passes a corner hard by; blunt faces would spoil a blank.

    Random triangles are blunter than 165 degrees themselves now and then.
    """
    surface = surface_of(wavy_sheet(seed))
    seams = [Seam("a", line((0, 41), (150, 63), 13)), Seam("r", ring((70, 100), 31.0), closed=True)]
    cut = cut_along(surface, seams)
    angle = np.degrees(corner_angles(cut.mesh.vertices, cut.mesh.faces))
    near = np.isin(cut.mesh.faces, np.concatenate([p.vertices for p in cut.seam_paths])).any(axis=1)
    assert (angle[near].max(axis=1) > 165.0).mean() < 0.02


@pytest.mark.parametrize("beside", [0.3, 0.03, 0.0031])
def test_needles_beside_a_seam_leave_the_blank_as_it_is(beside: float) -> None:
    """A seam along a row of a bulged plate's corners, and one a part of the spacing beside it.

    The strip between goes from one panel to the other and with it its share of the blank, blank
    over skin as beside the seam. Nothing else may change, however thin the needles.
    """
    x, y = np.meshgrid(np.linspace(0, 120, 41), np.linspace(0, 90, 31), indexing="ij")
    surface = surface_of(patch(x, y, 12.0 * np.sin(x / 30.0) * np.cos(y / 40.0)))

    def blank(at: float) -> FlatPanel:
        ground = np.stack([np.linspace(0, 120, 41), np.full(41, at)], axis=1)
        on = np.c_[ground, 12.0 * np.sin(ground[:, 0] / 30.0) * np.cos(ground[:, 1] / 40.0)]
        cut = cut_along(surface, [Seam("a", on)])
        return flatten(panels(cut, ())[0].mesh)

    smooth, needled = blank(45.0), blank(45.0 + 3.0 * beside)
    grown = needled.formed_area / smooth.formed_area
    assert needled.converged
    assert needled.blank_area / smooth.blank_area == pytest.approx(grown, rel=2e-4 * beside + 1e-7)
    assert needled.stretches.max() == pytest.approx(smooth.stretches.max(), abs=2e-3)
    assert needled.stretches.min() == pytest.approx(smooth.stretches.min(), abs=2e-3)


def test_the_seam_stays_on_the_path_whatever_the_triangles() -> None:
    """The same seam over two nets of one flat sheet: both lie within 2 % of the spacing of it."""
    points = np.array([[0, 10.3, 0], [13.1, 14.2, 0], [40, 20.7, 0]])
    for mesh in (plane(41, 31), plane(21, 16, 2.0)):
        cut = cut_along(surface_of(mesh), [Seam("a", points)])
        x, y, _ = cut.mesh.vertices[cut.seam_paths[0].vertices].T
        spacing = mesh.vertices[1, 1]
        assert y == pytest.approx(np.interp(x, points[:, 0], points[:, 1]), abs=0.1 * spacing)


def test_rings_on_a_ball_part_it_into_caps_and_a_band() -> None:
    """Archimedes: cap area 2 pi r h; the ball's own mesh is 0.1 % smaller, its chords too."""
    ball = surface_of(octahedron(5, 100.0))
    turn = 2 * np.pi * np.arange(40) / 40
    circle = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    seams = [
        Seam("low", 80.0 * circle - [0, 0, 60.0], closed=True),
        Seam("high", 80.0 * circle + [0, 0, 60.0], closed=True),
    ]
    cut = cut_along(ball, seams)
    area = np.bincount(cut.panel_of_face, face_areas(cut.mesh.vertices, cut.mesh.faces))
    assert area[0] == pytest.approx(2 * np.pi * 100 * 120, rel=0.01)
    assert area[1:] == pytest.approx([2 * np.pi * 100 * 40] * 2, rel=0.02)
    assert_sound(ball, cut)


def test_ends_are_drawn_to_the_rim_and_to_a_seam_in_the_way() -> None:
    surface = surface_of(wavy_sheet(), 0.8)
    seams = [
        Seam("stub", line((70, 66), (71, 147))),  # ends 2 mm past one seam, 3 mm short of the rim
        Seam("across", line((3, 68), (148, 68))),
    ]
    cut = cut_along(surface, seams)
    assert panel_count(cut) == 3
    stub, across = cut.seam_paths
    assert stub.vertices[0] in across.vertices
    assert stub.vertices[-1] in rims(cut.mesh)[0]
    assert across.vertices[0] in rims(cut.mesh)[0]
    assert_sound(surface, cut)


def test_seams_that_hang_on_each_other_part_in_whatever_order_they_come() -> None:
    half = ring((75, 75), 30.0, 40)
    upper, lower = half[:21], np.concatenate([half[20:], half[:1]])
    windmill = [
        Seam("north", line((60, 90), (110, 90))),
        Seam("east", line((90, 110), (90, 60))),
        Seam("south", line((110, 70), (60, 70))),
        Seam("west", line((70, 60), (70, 110))),
    ]
    surface = surface_of(wavy_sheet())
    loop = cut_along(surface, [Seam("upper", upper), Seam("lower", lower)])
    assert panel_count(loop) == 2
    assert_sound(surface, loop)
    spokes = [
        Seam("a", line((0, 75), (75, 75))),
        Seam("b", line((150, 75), (75, 75))),
        Seam("c", line((75, 75), (75, 0))),
    ]
    for order in (spokes, spokes[::-1], [spokes[1], spokes[0], spokes[2]]):
        cut = cut_along(surface, order)
        assert panel_count(cut) == 3
        assert_sound(surface, cut)
    with pytest.raises(SeamDoesNotPartError):  # they cross, but their ends hang free
        cut_along(surface, windmill)


def test_arms_that_end_on_each_other_in_a_ring_part_the_sheet() -> None:
    surface = surface_of(wavy_sheet())
    arms = [
        Seam("north", line((60, 90), (150, 90))),
        Seam("east", line((90, 90), (90, 0))),
        Seam("south", line((90, 60), (0, 60))),
        Seam("west", line((60, 60), (60, 150))),
    ]
    cut = cut_along(surface, arms)
    assert panel_count(cut) == 5
    assert_sound(surface, cut)


def test_marks_and_maps_carry_over() -> None:
    sheet = wavy_sheet()
    middle = sheet.vertices[sheet.faces].mean(axis=1)
    filled = np.hypot(middle[:, 0] - 75, middle[:, 1] - 68) < 15
    surface = PlainSurface(
        sheet, sheet.vertices + LIFT, filled, np.arange(len(sheet.vertices)) + 1000, filled
    )
    cut = cut_along(surface, [Seam("a", line((0, 60), (150, 75)) + LIFT)])
    area = face_areas(cut.mesh.vertices, cut.mesh.faces)
    before = face_areas(sheet.vertices, sheet.faces)[filled].sum()
    assert area[cut.filled].sum() == pytest.approx(before, rel=2e-3)
    np.testing.assert_array_equal(cut.copied, cut.filled)
    assert cut.outside - cut.mesh.vertices == pytest.approx(
        np.tile(LIFT, (len(cut.outside), 1)), abs=1e-9
    )
    centre = cut.mesh.vertices[cut.mesh.faces].mean(axis=1)
    there = sheet.vertices[cut.scan_face_of_face - 1000]
    assert (
        np.linalg.norm(centre - there, axis=1).max() < 15
    )  # a face's own corner, or a neighbour's


def test_dense_and_shaky_points_make_no_false_crossing() -> None:
    rng = np.random.default_rng(0)
    points = line((0, 60), (150, 75), 400) + rng.normal(0, 0.15, (400, 3))
    surface = surface_of(wavy_sheet())
    cut = cut_along(surface, [Seam("a", points)])
    assert panel_count(cut) == 2
    assert_sound(surface, cut)
    steps = np.linalg.norm(np.diff(cut.mesh.vertices[cut.seam_paths[0].vertices], axis=0), axis=1)
    assert (
        steps.sum()
        < 1.05 * np.linalg.norm(np.diff(line((0, 60), (150, 75), 400), axis=0), axis=1).sum()
    )


def test_a_seam_point_off_the_surface_is_refused_with_place_and_distance() -> None:
    points = line((0, 60), (150, 75))
    points[4, 2] += 9.0
    with pytest.raises(SeamOffSurfaceError) as caught:
        cut_along(surface_of(wavy_sheet()), [Seam("a", points)])
    assert caught.value.seam == "a"
    assert caught.value.point.tolist() == points[4].tolist()
    assert 5 < caught.value.distance_mm <= 9.0


def test_a_seam_that_ends_in_the_middle_is_refused_with_its_end() -> None:
    points = line((0, 60), (90, 75))
    with pytest.raises(SeamDoesNotPartError) as caught:
        cut_along(surface_of(wavy_sheet()), [Seam("a", points)])
    assert caught.value.point == pytest.approx(points[-1], abs=1e-9)
    assert caught.value.gap_mm == pytest.approx(61, abs=6)  # the ground's distance to the side


def test_a_seam_along_a_tube_parts_it_only_with_a_second_one() -> None:
    surface = surface_of(tube(50.0, 120.0, rows=25, around=96))
    along = [np.array([[s * 50.0, 0, 0], [s * 50.0, 0, 120.0]]) for s in (1, -1)]
    with pytest.raises(SeamDoesNotPartError) as caught:
        cut_along(surface, [Seam("one", along[0])])
    assert caught.value.gap_mm == 0
    both = cut_along(surface, [Seam("one", along[0]), Seam("two", along[1])])
    assert panel_count(both) == 2


def test_a_seam_that_crosses_itself_is_refused_with_the_place() -> None:
    loop = np.array([[0, 40], [90, 42], [110, 80], [80, 110], [60, 80], [64, 0.0]])
    x, y = loop.T
    surface = surface_of(wavy_sheet())
    points = np.stack([x, y, 15.0 * np.sin(x / 40.0) * np.cos(y / 50.0)], axis=1)
    with pytest.raises(SeamCrossesItselfError) as caught:
        cut_along(surface, [Seam("a", points)])
    assert np.hypot(caught.value.point[0] - 62, caught.value.point[1] - 41.4) < 10


def test_a_seam_without_length_is_refused() -> None:
    surface = surface_of(wavy_sheet())
    spot = line((50, 50), (50, 50), 3)
    for points, closed in ((spot, True), (spot[:1], False), (np.empty((0, 3)), False)):
        with pytest.raises((SeamTooShortError, SeamDoesNotPartError)):
            cut_along(surface, [Seam("a", points, closed=closed)])


def test_no_seams_leave_the_surface_as_it_is() -> None:
    surface = surface_of(wavy_sheet())
    cut = cut_along(surface, [])
    assert (cut.mesh.faces == surface.mesh.faces).all()
    assert (cut.mesh.vertices == surface.mesh.vertices).all()
    assert panel_count(cut) == 1


def test_a_hole_keeps_its_rim_and_a_seam_may_run_into_it() -> None:
    sheet = wavy_sheet()
    middle = sheet.vertices[sheet.faces].mean(axis=1)
    gap = np.hypot(middle[:, 0] - 75, middle[:, 1] - 75)
    holed, _ = part_of_mesh(sheet, np.flatnonzero(gap > 20))
    surface = surface_of(TriMesh(holed.vertices, holed.faces))
    hole = rims(holed)[1]
    left = holed.vertices[hole[np.argmin(holed.vertices[hole, 0])]]
    right = holed.vertices[hole[np.argmax(holed.vertices[hole, 0])]]
    seams = [
        Seam("left", line((0, 75), (left[0], left[1]))),
        Seam("right", line((right[0], right[1]), (150, 75))),
    ]
    cut = cut_along(surface, seams)
    assert panel_count(cut) == 2
    assert_sound(surface, cut)


def test_progress_rises_and_a_stop_halfway_is_passed_on() -> None:
    surface = surface_of(wavy_sheet())
    seams = [Seam("a", line((0, 60), (150, 75))), Seam("b", line((70, 0), (80, 150)))]
    seen: list[float] = []
    cut_along(surface, seams, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        cut_along(surface, seams, report=stop)


def test_the_same_seams_give_the_same_cut() -> None:
    surface = surface_of(wavy_sheet())
    seams = [Seam("a", line((0, 60), (150, 75))), Seam("r", ring((70, 100), 31.0), closed=True)]
    one, two = cut_along(surface, seams), cut_along(surface, seams)
    assert (one.mesh.faces == two.mesh.faces).all()
    assert (one.mesh.vertices == two.mesh.vertices).all()


def test_a_seam_drawn_on_along_the_rim_ends_where_it_meets_it() -> None:
    points = np.concatenate([line((0, 60), (150, 75)), line((150, 78), (150, 110))])
    surface = surface_of(wavy_sheet())
    cut = cut_along(surface, [Seam("a", points)])
    assert panel_count(cut) == 2
    assert_sound(surface, cut)
    end = cut.mesh.vertices[cut.seam_paths[0].vertices[-1]]
    assert np.hypot(end[0] - 150, end[1] - 75) < 0.5


def test_a_cutter_that_has_cut_before_cuts_the_same_to_the_last_digit() -> None:
    surface = surface_of(wavy_sheet(), 0.8)
    across = Seam("across", line((0, 60), (150, 75)))
    first = Seam("along", line((70, 0), (80, 150), 12))
    moved = Seam("along", line((70, 0), (86, 150), 12))
    cutter = Cutter(surface)
    for seams in ([across, first], [across, moved], [moved, across], [first], [across, first]):
        kept, fresh = cutter.cut(seams), cut_along(surface, seams)
        assert np.array_equal(kept.mesh.vertices, fresh.mesh.vertices)
        assert np.array_equal(kept.mesh.faces, fresh.mesh.faces)
        assert np.array_equal(kept.panel_of_face, fresh.panel_of_face)
    loose = cutter.cut([across, first], end_tolerance_mm=2.0)
    fresh = cut_along(surface, [across, first], end_tolerance_mm=2.0)
    assert np.array_equal(loose.mesh.vertices, fresh.mesh.vertices)


def test_a_cutter_goes_on_after_a_seam_it_refused() -> None:
    surface = surface_of(wavy_sheet(), 0.8)
    across = Seam("across", line((0, 60), (150, 75)))
    cutter = Cutter(surface)
    with pytest.raises(SeamDoesNotPartError):
        cutter.cut([across, Seam("stub", line((30, 20), (60, 30)))])
    assert np.array_equal(
        cutter.cut([across]).mesh.vertices, cut_along(surface, [across]).mesh.vertices
    )
