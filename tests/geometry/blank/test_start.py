"""The start: never folded, decided exactly, on panels that fold every quick layout."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import start
from geometry.blank.conformal import conformal_layout
from geometry.blank.convex_rim import ConvexRim
from geometry.blank.ordering import nested_dissection
from geometry.blank.orientation import folded_or_flat
from geometry.blank.start import CROWDED, capped, fold_free_start, scale_spread
from geometry.blank.stretch import rest_frames, shape_gradients
from geometry.mesh import TriMesh, edge_table, face_areas, part_of_mesh, rims
from tests.bodies import cylinder_sheet, disk_rings, dome, folded_tray, tank_top, torus_patch


def deep_tube(around: int, up: int) -> TriMesh:
    """Return a tube with square cells, closed at its far end by a fan: nothing is harder."""
    radius = around / (2.0 * np.pi)
    level, step = np.meshgrid(np.arange(up), np.arange(around), indexing="ij")
    phi = 2.0 * np.pi * step / around
    wall = np.stack([radius * np.cos(phi), radius * np.sin(phi), level], axis=-1).reshape(-1, 3)
    a = (level[:-1] * around + step[:-1]).ravel()
    b = (level[:-1] * around + (step[:-1] + 1) % around).ravel()
    end = np.arange(around) + (up - 1) * around
    fan = np.stack([end, np.roll(end, -1), np.full(around, up * around)], axis=1)
    sides = [np.stack([a, b, b + around], axis=1), np.stack([a, b + around, a + around], axis=1)]
    return TriMesh(np.concatenate([wall, [[0.0, 0.0, up]]]), np.concatenate([*sides, fan]))


def shaken(mesh: TriMesh, part: float, seed: int) -> TriMesh:
    """Return the mesh with every vertex moved by normal noise of part of an edge's length."""
    edges = edge_table(mesh.faces).edges
    step = float(np.linalg.norm(np.diff(mesh.vertices[edges], axis=1), axis=2).mean())
    noise = np.random.default_rng(seed).normal(scale=part * step, size=mesh.vertices.shape)
    return TriMesh(mesh.vertices + noise, mesh.faces)


def order_of(mesh: TriMesh) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    return nested_dissection(mesh.vertices, edge_table(mesh.faces).edges)


BODIES = {
    "dome": dome(100.0, 0.8, 10),
    "nearly a ball": dome(100.0, np.radians(175.0), 14),
    "tank top": tank_top(10),
    "noise": shaken(tank_top(10), 0.4, 1),
    "band": torus_patch(300.0, 100.0, 4.0, (-0.2, 0.2), (120, 3)),
    "one row": torus_patch(300.0, 100.0, 4.0, (-0.2, 0.2), (120, 1)),
    "slivers": TriMesh(tank_top(10).vertices * [1.0, 1e-4, 1.0], tank_top(10).faces),
    "tube 4 deep": deep_tube(12, 48),
    "tube 16 deep": deep_tube(12, 192),
}


@pytest.mark.parametrize("mesh", BODIES.values(), ids=BODIES.keys())
def test_no_face_of_the_start_is_folded_and_its_area_is_the_panels(mesh: TriMesh) -> None:
    flat, ordering = fold_free_start(mesh, rims(mesh)[0])
    assert not folded_or_flat(flat, mesh.faces).any()
    assert not folded_or_flat(ordering, mesh.faces).any()
    corner = np.pad(flat, ((0, 0), (0, 1)))
    area = face_areas(mesh.vertices, mesh.faces).sum()
    assert face_areas(corner, mesh.faces).sum() == pytest.approx(area, rel=1e-9)


def test_a_tube_deeper_than_the_numbers_reach_is_laid_out_all_the_same() -> None:
    """25 times as deep as wide: every plain layout shrinks its end to a point and folds it."""
    mesh = deep_tube(12, 300)
    convex = ConvexRim(mesh, rims(mesh)[0], order_of(mesh))
    assert folded_or_flat(convex.even(), mesh.faces).any()
    assert folded_or_flat(convex.mean_value(), mesh.faces).any()
    flat, _ = fold_free_start(mesh, rims(mesh)[0])
    assert not folded_or_flat(flat, mesh.faces).any()


def test_a_panel_that_no_round_could_lay_out_is_refused_with_its_place(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(start, "EVENING_ROUNDS", 2)
    mesh = deep_tube(12, 300)
    with pytest.raises(start.NoFoldFreeStartError) as caught:
        start.fold_free_start(mesh, rims(mesh)[0])
    assert len(caught.value.faces) > 100
    first = mesh.vertices[mesh.faces[caught.value.faces[0]]].mean(axis=0)
    np.testing.assert_array_equal(caught.value.place, first)


def test_a_conformal_layout_that_folds_in_a_few_places_is_mended_there_and_kept_elsewhere() -> None:
    mesh = next(
        mesh
        for mesh in (shaken(tank_top(14), 0.3, seed) for seed in range(40))
        if folded_or_flat(conformal_layout(mesh, rims(mesh)[0], order_of(mesh)), mesh.faces).any()
    )
    rim = rims(mesh)[0]
    conformal = conformal_layout(mesh, rim, order_of(mesh))
    flat, _ = fold_free_start(mesh, rim)
    assert not folded_or_flat(flat, mesh.faces).any()
    x, y = conformal - conformal.mean(axis=0), flat - flat.mean(axis=0)
    scale = np.linalg.norm(y[rim]) / np.linalg.norm(x[rim])
    kept = np.linalg.norm(y - scale * x, axis=1) < 1e-2 * np.linalg.norm(y, axis=1).max()
    assert kept.mean() > 0.9


def test_rim_on_a_circle_lays_a_flat_disk_out_as_it_is() -> None:
    """Mean-value weights reproduce a flat disk with its rim on a circle (linear precision)."""
    fraction, angle, faces = disk_rings(5)
    places = np.stack([fraction * np.cos(angle), fraction * np.sin(angle)], axis=1)
    random = np.random.default_rng(4)
    inner = fraction < 0.99
    places[inner] += 0.05 * random.uniform(-1.0, 1.0, (inner.sum(), 2))
    mesh = TriMesh(np.pad(places, ((0, 0), (0, 1))), faces)
    rim = rims(mesh)[0]
    flat = ConvexRim(mesh, rim, order_of(mesh)).mean_value()
    turn = complex(*flat[rim[0]]) / complex(*places[rim[0]])
    back = (flat[:, 0] + 1j * flat[:, 1]) / turn
    np.testing.assert_allclose(back, places[:, 0] + 1j * places[:, 1], atol=1e-12)


@pytest.mark.parametrize(
    "mesh",
    [cylinder_sheet(100.0, np.pi, 200.0), folded_tray(100.0, 30.0, 6)],
    ids=["cylinder", "tray"],
)
def test_the_conformal_layout_of_what_unrolls_is_its_unrolling(mesh: TriMesh) -> None:
    """The faces' maps are all one turn and one scale."""
    flat, _ = fold_free_start(mesh, rims(mesh)[0])
    assert scale_spread(flat, mesh) == pytest.approx(1.0, abs=1e-8)
    maps = flat[mesh.faces].transpose(0, 2, 1) @ shape_gradients(
        rest_frames(mesh.vertices, mesh.faces)
    )
    np.testing.assert_allclose(maps[:, 0, 0], maps[:, 1, 1], atol=1e-8)
    np.testing.assert_allclose(maps[:, 0, 1], -maps[:, 1, 0], atol=1e-8)


def _conformal_energy(mesh: TriMesh, flat: FloatArray) -> float:
    """Return the sum over faces of area times |u_x - v_y|^2 + |u_y + v_x|^2, in real numbers."""
    frames = rest_frames(mesh.vertices, mesh.faces)
    maps = flat[mesh.faces].transpose(0, 2, 1) @ shape_gradients(frames)
    areas = face_areas(mesh.vertices, mesh.faces)
    one = maps[:, 0, 0] - maps[:, 1, 1]
    two = maps[:, 0, 1] + maps[:, 1, 0]
    return float(areas @ (one**2 + two**2))


def test_no_layout_near_the_conformal_one_keeps_angles_better() -> None:
    """Its energy, computed face by face, rises by the square of any move of the vertices let go."""
    mesh = dome(100.0, 1.2, 8)
    rim = rims(mesh)[0]
    flat = conformal_layout(mesh, rim, order_of(mesh), held=(int(rim[0]), int(rim[20])))
    least = _conformal_energy(mesh, flat)
    move = np.random.default_rng(2).normal(size=flat.shape)
    move[[rim[0], rim[20]]] = 0.0
    rises = [_conformal_energy(mesh, flat + step * move) - least for step in (-1e-2, 1e-2, 2e-2)]
    assert rises[0] == pytest.approx(rises[1], rel=1e-6)
    assert rises[2] == pytest.approx(4.0 * rises[1], rel=1e-6)
    assert rises[0] > 0.0


def test_each_round_of_evening_takes_stretch_away_where_most_is() -> None:
    mesh = deep_tube(12, 30)
    convex = ConvexRim(mesh, rims(mesh)[0], order_of(mesh))
    rounds = convex.evened()
    most = [float(convex.stretch_at_vertices(next(rounds)).max()) for _ in range(8)]
    assert most == sorted(most, reverse=True)
    assert most[-1] < 1e-3 * most[0]


def test_a_layout_crowded_out_of_proportion_is_not_what_the_search_begins_from() -> None:
    """A tube four times as deep as wide is fold-free conformally, but e^25 smaller at its end."""
    mesh = deep_tube(12, 48)
    rim = rims(mesh)[0]
    assert scale_spread(conformal_layout(mesh, rim, order_of(mesh)), mesh) > 1e6
    flat, _ = fold_free_start(mesh, rim)
    assert scale_spread(flat, mesh) < CROWDED


def test_holes_are_capped_by_fans_that_keep_vertices_and_faces_first() -> None:
    whole = dome(150.0, 0.8, 10)
    low = whole.vertices[:, 2] < 150.0 * np.cos(0.25)
    pierced = part_of_mesh(whole, np.flatnonzero(low[whole.faces].any(axis=1)))[0]
    outer, hole = rims(pierced)
    closed = capped(pierced, outer)
    assert len(rims(closed)) == 1
    np.testing.assert_array_equal(closed.faces[: len(pierced.faces)], pierced.faces)
    assert len(closed.faces) == len(pierced.faces) + len(hole)
    flat, _ = fold_free_start(closed, outer)
    assert not folded_or_flat(flat, closed.faces).any()


def test_a_disk_wound_twice_round_its_middle_is_no_start_though_no_face_is_folded() -> None:
    """Sent to its square (z to z^2) every face keeps its side, but the middle has 720 degrees."""
    fraction, angle, faces = disk_rings(6)
    once, twice = (
        np.stack([fraction * np.cos(turns * angle), fraction * np.sin(turns * angle)], axis=1)
        for turns in (1, 2)
    )
    loops = rims(TriMesh(np.pad(once, ((0, 0), (0, 1))), faces))
    assert start.is_unfolded(once, faces, loops)
    assert not folded_or_flat(twice, faces).any()
    assert not start.is_unfolded(twice, faces, loops)


def test_a_ring_is_unfolded_with_both_its_rims_counted() -> None:
    fraction, angle, faces = disk_rings(6)
    flat = np.stack([fraction * np.cos(angle), fraction * np.sin(angle)], axis=1)
    whole = TriMesh(np.pad(flat, ((0, 0), (0, 1))), faces)
    ring, _ = part_of_mesh(whole, np.flatnonzero((faces > 6).any(axis=1)))
    assert start.is_unfolded(ring.vertices[:, :2], ring.faces, rims(ring))
    assert not start.is_unfolded(ring.vertices[:, :2] * [1.0, -1.0], ring.faces, rims(ring))


def test_vertices_of_no_face_do_not_stand_in_the_way() -> None:
    mesh = tank_top(10)
    loose = TriMesh(np.concatenate([[[9.0, 9.0, 9.0]], mesh.vertices]), mesh.faces + 1)
    flat, _ = fold_free_start(loose, rims(loose)[0])
    without, _ = fold_free_start(mesh, rims(mesh)[0])
    np.testing.assert_allclose(flat[1:], without, atol=1e-9)
    assert np.isfinite(flat[0]).all()


def test_the_same_panel_always_starts_from_the_same_bytes() -> None:
    mesh = BODIES["noise"]
    one, _ = fold_free_start(mesh, rims(mesh)[0])
    two, _ = fold_free_start(TriMesh(mesh.vertices.copy(), mesh.faces.copy()), rims(mesh)[0])
    assert one.tobytes() == two.tobytes()
