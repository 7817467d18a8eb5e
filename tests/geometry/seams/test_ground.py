from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import NoPathError, PathFinder, SurfacePath, TriMesh, nearest_points, rims
from geometry.progress import Cancelled
from geometry.seams import LineHasNoLengthError, PointOffGroundError, SeamGround
from geometry.seams.cells import cells_of, mesh_edges
from tests.bodies import dome, folded_tray, patch, ring_of_revolution
from tests.convergence import observed_order

STRAIGHT_RAD = 1e-6


def noisy_sheet(seed: int, side: int = 60) -> TriMesh:
    """Return a bumpy sheet 90 mm wide with noise like a scan's."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(0, 90, side), np.linspace(0, 90, side), indexing="ij")
    x, y = x + rng.uniform(-0.4, 0.4, x.shape), y + rng.uniform(-0.4, 0.4, x.shape)
    return patch(x, y, 12 * np.sin(x / 20) * np.cos(y / 17) + rng.normal(0, 0.05, x.shape))


def angle(a: FloatArray, b: FloatArray) -> float:
    return float(np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b))


def bends_across_edges(mesh: TriMesh, path: SurfacePath) -> FloatArray:
    """Return by how much each crossing of an edge bends the line when both faces are laid flat."""
    found = []
    for at in range(1, len(path.points) - 1):
        if path.edge[at, 0] >= 0 and at not in path.corners:
            along = np.subtract(*mesh.vertices[path.edge[at]])
            came, goes = np.diff(path.points[at - 1 : at + 2], axis=0)
            found.append(abs(angle(came, along) - angle(goes, along)))
    return np.array(found)


def test_the_exact_line_is_straight_across_edges_and_no_longer_than_the_edge_walk() -> None:
    """1e-6 rad is asked for; the edge walk is the path finder's own, over the whole mesh."""
    mesh = noisy_sheet(1)
    ground, finder = SeamGround(mesh, coarse_edge_mm=6.0), PathFinder(mesh)
    rng = np.random.default_rng(2)
    for _ in range(25):
        ends = ground.nearest(rng.uniform(2, 88, (2, 3)) * [1, 1, 0]).points
        path = ground.exact(ends)
        walk = finder.edge_walk_length(*ground.places(ends))
        assert path.length <= walk * (1 + 1e-9)
        assert bends_across_edges(mesh, path).max(initial=0.0) < STRAIGHT_RAD
        assert path.points[[0, -1]] == pytest.approx(ends, abs=1e-9)
        for at, face in enumerate(path.faces):
            held = set(mesh.faces[face].tolist())
            assert (set(path.edge[at].tolist()) | {int(path.vertex[at])}) - {-1} <= held


def test_where_only_a_corridor_s_line_is_longer_another_way_is_taken() -> None:
    """A ridge 60 mm high with a gap 44 mm away: over it at least 120 mm, round it about 110."""
    x, y = np.meshgrid(np.linspace(0, 80, 81), np.linspace(0, 80, 81), indexing="ij")
    mesh = patch(x, y, 60 * np.exp(-(((x - 40) / 6) ** 2)) * (y > 16))
    ground = SeamGround(mesh, coarse_edge_mm=5.0)
    start, end = ground.places(np.array([[20.0, 60, 0], [60.0, 60, 0]]))
    ridge = np.linspace(20, 60, 81)
    straight = np.stack([ridge, np.full(81, 60.0), 60 * np.exp(-(((ridge - 40) / 6) ** 2))], axis=1)
    faces = mesh.faces[ground.nearest(straight).faces]
    over = ground._corridors.tightest(start, end, np.unique(ground._cells.cell_of_vertex[faces]))
    assert over.length > 120.0
    found = ground.exact(np.array([[20.0, 60, 0], [60.0, 60, 0]]))
    assert found.length <= PathFinder(mesh).edge_walk_length(start, end)
    assert found.length < 112.0


@pytest.mark.parametrize("rows", [1, 4])
def test_a_corridor_laid_far_off_is_led_to_the_line(rows: int) -> None:
    """On a plane the shortest line is straight, wherever the search began."""
    x, y = np.meshgrid(np.linspace(0, 100, 101), np.linspace(0, 60, 61), indexing="ij")
    ground = SeamGround(patch(x, y, np.zeros_like(x)), coarse_edge_mm=4.0)
    start, end = ground.places(np.array([[3.3, 3.3, 0], [96.7, 4.4, 0]]))
    off = ground.places(np.array([[a, 12.0 * rows, 0] for a in np.linspace(3, 97, 40)]))
    cells = np.unique(
        ground._cells.cell_of_vertex[[ground.mesh.faces[p.face, 0] for p in (start, end, *off)]]
    )
    path = ground._corridors.tightest(start, end, cells)
    assert path.length == pytest.approx(np.hypot(93.4, 1.1), abs=1e-9)


def test_a_line_over_a_dome_tends_to_the_great_circle() -> None:
    """Great circle: radius times the angle between the ends; an inscribed mesh errs as h^2."""
    ends = 50.0 * np.array(
        [
            [np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)]
            for t, p in ((0.9, 0.2), (0.7, 2.6))
        ]
    )
    circle = 50.0 * angle(*ends)

    def error(size: float) -> float:
        ground = SeamGround(dome(50.0, 1.2, round(60.0 / size)), coarse_edge_mm=8.0)
        return abs(ground.exact(ends).length - circle)

    assert observed_order(error, [4.0, 2.0, 1.0]) == pytest.approx(2.0, abs=0.4)


def test_the_line_for_the_eye_begins_and_ends_where_asked_and_stays_near() -> None:
    """On a smooth dome of 60 mm the eye's line keeps within half a millimetre of the exact one."""
    ground = SeamGround(dome(60.0, 1.2, 72))
    points = ground.nearest(
        np.array([[40.0, 0, 45], [10, 30, 50], [-35, 20, 45], [-20, -30, 48]])
    ).points
    for closed in (False, True):
        quick, exact = ground.quick(points, closed=closed), ground.exact(points, closed=closed)
        fine = np.concatenate(
            [np.linspace(a, b, 30) for a, b in zip(exact.points, exact.points[1:], strict=False)]
        )
        off = np.linalg.norm(quick[:, None] - fine[None], axis=2).min(axis=1)
        assert off.max() < 0.5
        assert quick[0] == pytest.approx(points[0], abs=1e-9)
        assert quick[-1] == pytest.approx(points[0 if closed else -1], abs=1e-9)
        assert len(exact.corners) == (5 if closed else 4)


def test_a_dragged_point_costs_the_legs_beside_it_alone() -> None:
    ground = SeamGround(dome(60.0, 1.2, 40))
    points = ground.nearest(np.array([[40.0, 0, 45], [10, 30, 50], [-35, 20, 45], [-20, -30, 48]]))
    ground.quick(points.points)
    before = set(ground._quick_legs)
    moved = points.points.copy()
    moved[3] = ground.nearest(moved[3:] + 4.0).points[0]
    ground.quick(moved)
    assert len(set(ground._quick_legs) - before) == 1


def test_the_coarse_copy_is_manifold_and_keeps_pieces_and_rims() -> None:
    ring = ring_of_revolution(np.linspace(20.0, 80.0, 61), np.linspace(40.0, 0.0, 61) ** 1.2, 240)
    apart = TriMesh(
        np.concatenate([ring.vertices, ring.vertices + [0, 0, 90]]),
        np.concatenate([ring.faces, ring.faces + len(ring.vertices)]),
    )
    cells = cells_of(apart, mesh_edges(apart), 6.0)
    assert len(rims(cells.coarse)) == 4
    near = SeamGround(apart).nearest(cells.coarse.vertices)
    assert near.distances.max() < 1e-9


def test_every_place_is_the_nearest_one() -> None:
    """Against the distance to every face, by the mesh folder's own search."""
    mesh = noisy_sheet(3, 40)
    ground = SeamGround(mesh)
    points = np.random.default_rng(4).uniform(-20, 110, (700, 3))
    assert ground.nearest(points).distances == pytest.approx(
        nearest_points(mesh, points).distances, abs=1e-12
    )


def test_a_line_keeps_to_its_own_skin_where_two_lie_close() -> None:
    """A sheet folded back on itself 3 mm above: 60 mm out and back along it, never across."""
    tray = folded_tray(3.0, 60.0, 60)
    ends = np.array([[-1.5, 1.5, 55.0], [1.5, 1.5, 55.0]])
    ground = SeamGround(TriMesh(tray.vertices * [1, 20, 1], tray.faces), coarse_edge_mm=6.0)
    assert ground.exact(ends).length == pytest.approx(55 + 3 + 55, abs=1e-6)
    quick = ground.quick(ends)
    assert np.linalg.norm(np.diff(quick, axis=0), axis=1).sum() == pytest.approx(113, abs=3.0)


def test_points_off_the_surface_are_refused_with_how_far() -> None:
    ground = SeamGround(dome(60.0, 1.2, 20))
    for point, distance in (([0, 0, 70.0], 10.0), ([0, 0, np.nan], np.inf)):
        with pytest.raises(PointOffGroundError) as refused:
            ground.exact(np.array([[20.0, 0, 56.57], point]))
        assert refused.value.distance_mm == pytest.approx(distance, abs=0.2)
        assert refused.value.point == pytest.approx(np.array(point), nan_ok=True)
    ground.place(np.array([0, 0, 70.0]), within_mm=11.0)
    with pytest.raises(PointOffGroundError):  # what was allowed once is not allowed for good
        ground.place(np.array([0, 0, 70.0]))


@pytest.mark.parametrize("count", [0, 1, 3])
def test_points_all_in_one_place_make_no_line(count: int) -> None:
    ground = SeamGround(dome(60.0, 1.2, 20))
    for draw in (ground.quick, ground.exact):
        with pytest.raises(LineHasNoLengthError) as refused:
            draw(np.tile([[0.0, 0, 60]], (count, 1)))
        assert len(refused.value.points) == count


def test_a_point_put_down_twice_changes_nothing() -> None:
    ground = SeamGround(dome(60.0, 1.2, 20))
    points = ground.nearest(np.array([[30.0, 0, 50], [0, 0, 60], [0, 0, 60], [-30, 9, 50]])).points
    once = ground.exact(points[[0, 1, 3]])
    assert (ground.exact(points).points == once.points).all()


def test_a_point_on_a_stray_piece_is_told_with_both_places() -> None:
    cap = dome(60.0, 1.2, 20)
    stray = dome(6.0, 1.0, 3)
    both = TriMesh(
        np.concatenate([cap.vertices, stray.vertices + [100, 0, 0]]),
        np.concatenate([cap.faces, stray.faces + len(cap.vertices)]),
    )
    ground = SeamGround(both)
    for draw in (ground.quick, ground.exact):
        with pytest.raises(NoPathError) as refused:
            draw(np.array([[0.0, 0, 60], [100.0, 0, 6]]))
        assert refused.value.end == pytest.approx([100, 0, 6], abs=1e-9)
    assert ground.exact(np.array([[100.0, 0, 6], both.vertices[-1]])).length < 12


def test_setting_up_tells_how_far_it_is_and_can_be_stopped() -> None:
    seen: list[float] = []
    SeamGround(dome(60.0, 1.2, 20), report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert len(seen) > 5
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        SeamGround(dome(60.0, 1.2, 20), report=stop)


def test_a_mesh_coarser_than_its_copy_is_drawn_on_as_it_is() -> None:
    ground = SeamGround(dome(60.0, 1.2, 4), coarse_edge_mm=6.0)
    ends = ground.nearest(np.array([[40.0, 0, 45], [-35, 20, 45]])).points
    quick = ground.quick(ends)
    assert np.linalg.norm(np.diff(quick, axis=0), axis=1).sum() == pytest.approx(
        ground.exact(ends).length, rel=0.02
    )


def test_a_line_across_a_hole_runs_round_its_rim() -> None:
    """Straight to the circle of radius r, round it, straight on, from the distance a on each side:
    2 sqrt(a^2 - r^2) + r (pi - 2 acos(r / a)); the rim's chords make it shorter by 1e-4.
    """
    plate = ring_of_revolution(np.linspace(20.0, 80.0, 41), np.zeros(41), 240)
    ground = SeamGround(plate)
    path = ground.exact(np.array([[-50.0, 0, 0], [50.0, 0.0, 0]]))
    round_ = 2 * np.sqrt(2100.0) + 20.0 * (np.pi - 2 * np.arccos(0.4))
    assert path.length == pytest.approx(round_, rel=3e-4)
    assert path.length <= round_
    reach = np.linalg.norm(path.points, axis=1)
    assert (np.isclose(reach, 20.0, atol=1e-9)).sum() > 20


def test_a_line_between_points_of_a_rim_can_run_along_it() -> None:
    """Round the inside of a flat ring the rim is the shortest way: an eighth of it, in chords."""
    plate = ring_of_revolution(np.linspace(20.0, 80.0, 41), np.zeros(41), 240)
    turn = np.array([0.0, np.pi / 4])
    ends = 20.0 * np.stack([np.cos(turn), np.sin(turn), np.zeros(2)], axis=1)
    path = SeamGround(plate).exact(ends)
    assert path.length == pytest.approx(30 * 40.0 * np.sin(np.pi / 240), abs=1e-9)
    assert (path.vertex >= 0).all()


def test_several_threads_may_draw_at_once_and_get_what_one_alone_gets() -> None:
    """Four threads over one ground, more places than are kept, against a ground of its own."""
    x, y = np.meshgrid(np.linspace(0, 100, 41), np.linspace(0, 100, 41), indexing="ij")
    mesh = patch(x, y, np.zeros_like(x))
    shared, alone = SeamGround(mesh), SeamGround(mesh)
    rng = np.random.default_rng(3)
    lines = [np.c_[rng.uniform(1.0, 99.0, (3, 2)), np.zeros(3)] for _ in range(60)]
    many = np.c_[rng.uniform(1.0, 99.0, (1500, 2)), np.zeros(1500)]

    def drawn(turn: int) -> list[float]:
        for start in range(0, len(many), 50):
            shared.places(many[start + turn :: 97])
        return [shared.exact(lines[(k + 7 * turn) % len(lines)]).length for k in range(len(lines))]

    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(drawn, range(4)))
    for turn, lengths in enumerate(found):
        expected = [alone.exact(lines[(k + 7 * turn) % len(lines)]).length for k in range(60)]
        assert lengths == pytest.approx(expected, rel=1e-12)
