"""The centre plane of a scan: found in any pose, not pulled by what is odd, honest where open."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.arrays import BoolArray, FloatArray
from geometry.datum import CentrePlane, NoSymmetryError, centre_plane
from geometry.mesh import TriMesh, part_of_mesh
from geometry.progress import Cancelled
from tests.bodies import cylinder_sheet, dome, patch
from tests.tanks import Dent, Tank, tank

WITHIN_DEG, WITHIN_MM = 0.05, 0.1
AIM_DEG, AIM_MM = 0.02, 0.05
DENTED = (Dent(depth=6.0, radius=40.0), Dent(200.0, 60.0, -1.0, 4.0, 25.0))


def placed(mesh: TriMesh, seed: int) -> TriMesh:
    turn = Rotation.random(random_state=seed)
    return TriMesh(turn.apply(mesh.vertices.copy()) + 300.0, mesh.faces)


def ellipsoid(length: float, width: float, height: float, rings: int = 40) -> TriMesh:
    ball = dome(1.0, 0.999 * np.pi, rings)
    return TriMesh(ball.vertices * (np.array([length, width, height]) / 2.0), ball.faces)


def tube(radius: float, length: float) -> TriMesh:
    x, turn = np.meshgrid(np.linspace(0, length, 50), np.linspace(0, 2 * np.pi, 91))
    return patch(x, radius * np.cos(turn), radius * np.sin(turn))


def lump(seed: int) -> TriMesh:
    """Return a ball pushed in and out by waves that run any way."""
    ball = ellipsoid(2.0, 2.0, 2.0)
    rng = np.random.default_rng(seed)
    waves = ball.vertices @ rng.normal(0, 2.5, (3, 12)) + rng.uniform(0, 6, 12)
    reach = 1.0 + 0.1 * np.sin(waves).sum(axis=1)
    return TriMesh(ball.vertices * reach[:, None] * np.array([200.0, 100, 100]), ball.faces)


def kept(mesh: TriMesh, stays: BoolArray) -> TriMesh:
    return part_of_mesh(mesh, np.flatnonzero(stays[mesh.faces].all(axis=1)))[0]


def joined(*meshes: TriMesh) -> TriMesh:
    """Return meshes as one, not welded."""
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    return TriMesh(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate([mesh.faces + start for mesh, start in zip(meshes, starts, strict=False)]),
    )


def assert_within(scanned: Tank, plane: CentrePlane, turn_deg: float, off_mm: float) -> None:
    found_turn, found_off = scanned.plane_errors(plane.point, plane.normal)
    assert found_turn < turn_deg
    assert found_off < off_mm


@pytest.mark.parametrize(("seed", "side"), [(1, 0.0), (2, 1.0), (3, -1.0)])
def test_a_dented_tank_with_a_third_missing_is_found_in_any_pose(seed: int, side: float) -> None:
    scanned = tank(
        4.0, noise_mm=0.1, seed=seed, dents=DENTED, missing=0.3, missing_side=side, turned=True
    )
    plane = centre_plane(scanned.mesh)
    assert_within(scanned, plane, AIM_DEG, AIM_MM)
    assert plane.weak == ()
    assert plane.others == ()
    assert plane.matched_share is not None
    assert plane.matched_share > 0.5


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("side", [0.0, 1.0, -1.0])
def test_it_is_found_in_twenty_poses(seed: int, side: float) -> None:
    scanned = tank(
        2.0,
        noise_mm=0.1,
        seed=100 + seed,
        dents=DENTED,
        missing=0.3,
        missing_side=side,
        turned=True,
    )
    assert_within(scanned, centre_plane(scanned.mesh), AIM_DEG, AIM_MM)


def test_a_deep_wide_dent_does_not_pull() -> None:
    """A dent 12 mm deep and 160 mm across leaves the plane of the tank without it."""
    sound = tank(4.0, noise_mm=0.1, seed=4)
    dented = tank(4.0, noise_mm=0.1, seed=4, dents=[Dent(depth=12.0, radius=80.0)])
    assert_within(sound, centre_plane(sound.mesh), AIM_DEG, AIM_MM)
    plane = centre_plane(dented.mesh)
    assert_within(dented, plane, AIM_DEG, AIM_MM)
    assert plane.matched_share is not None
    assert plane.matched_share < 0.97


def test_things_on_one_side_and_scraps_do_not_pull() -> None:
    scanned = tank(4.0, noise_mm=0.1, seed=5)
    knob, scrap = ellipsoid(60.0, 40.0, 40.0, 12), ellipsoid(150.0, 90.0, 60.0, 12)
    together = joined(
        scanned.mesh,
        TriMesh(knob.vertices + [150.0, 120.0, 60.0], knob.faces),
        TriMesh(scrap.vertices + [-200.0, 260.0, 0.0], scrap.faces),
    )
    assert_within(scanned, centre_plane(together), AIM_DEG, AIM_MM)


def test_a_bench_scanned_along_with_it_does_not_lead_astray() -> None:
    """A bench top of three times the tank's area is alike about any upright plane at all."""
    scanned = tank(5.0, noise_mm=0.1, seed=5)
    x, y = np.meshgrid(np.linspace(-300, 900, 60), np.linspace(-450, 750, 60), indexing="ij")
    plane = centre_plane(joined(scanned.mesh, patch(x, y, np.full(x.shape, -20.0))))
    assert_within(scanned, plane, AIM_DEG, AIM_MM)
    assert plane.weak == ()


def test_the_plane_moves_with_the_scan() -> None:
    """Samples are drawn over the faces, whatever the pose: two poses agree to a few microns."""
    still = tank(4.0, noise_mm=0.1, seed=6, dents=DENTED)
    turned = tank(4.0, noise_mm=0.1, seed=6, dents=DENTED, turned=True)
    one, other = centre_plane(still.mesh), centre_plane(turned.mesh)
    assert turned.from_file(other.point[None])[0] @ one.normal == pytest.approx(
        one.point @ one.normal, abs=0.01
    )
    assert np.linalg.norm(np.cross(turned.turn.apply(one.normal.copy()), other.normal)) < 1e-4


def test_one_and_the_same_scan_gives_one_and_the_same_plane() -> None:
    mesh = tank(6.0, noise_mm=0.1, seed=7).mesh
    one, other = centre_plane(mesh), centre_plane(mesh)
    assert np.array_equal(one.normal, other.normal)
    assert np.array_equal(one.point, other.point)


def test_a_ball_may_be_parted_any_way_and_says_so() -> None:
    plane = centre_plane(placed(ellipsoid(200.0, 200.0, 200.0), 1))
    assert any("any way" in words for words in plane.weak)
    assert plane.off(np.full(3, 300.0)) == pytest.approx(0.0, abs=0.05)
    assert plane.others == ()


def test_a_round_tube_can_turn_and_says_so() -> None:
    mesh = placed(tube(80.0, 500.0), 2)
    plane = centre_plane(mesh)
    axis = Rotation.random(random_state=2).apply([1.0, 0.0, 0.0])
    assert abs(plane.normal @ axis) < 1e-3
    assert any("turn" in words for words in plane.weak)
    across = next(one for one in plane.others if abs(one.normal @ axis) > 0.999)
    assert any("slide" in words for words in across.weak)


def test_a_rolled_sheet_can_slide_along_its_roll() -> None:
    """Its centre plane through the roll's middle turns; the one across it slides."""
    plane = centre_plane(cylinder_sheet(100.0, 2.5, 200.0, 60, 40))
    every = {words for one in (plane, *plane.others) for words in one.weak}
    assert any("slide" in words for words in every)
    assert any("turn" in words for words in every)


def test_a_body_with_three_planes_tells_them_all() -> None:
    plane = centre_plane(placed(ellipsoid(520.0, 260.0, 200.0), 3))
    normals = np.stack([plane.normal, *(one.normal for one in plane.others)])
    assert np.allclose(np.abs(normals @ normals.T), np.eye(3), atol=1e-3)
    longest = Rotation.random(random_state=3).apply([1.0, 0.0, 0.0])
    assert abs(normals[2] @ longest) > 0.999  # a tank is longer than wide: told last
    assert any("another" in words for words in plane.weak)


def test_told_near_which_plane_it_stays_there() -> None:
    mesh = placed(ellipsoid(520.0, 260.0, 200.0), 3)
    last = centre_plane(mesh).others[-1]
    rough = last.normal + [0.05, -0.04, 0.06]
    near = CentrePlane(last.point + 4.0 * last.normal, rough, 0.0, 0.0)
    found = centre_plane(mesh, near=near)
    assert abs(found.normal @ last.normal) > 1.0 - 1e-8
    assert found.others == ()


@pytest.mark.parametrize("seed", range(2))
def test_a_lump_has_none(seed: int) -> None:
    with pytest.raises(NoSymmetryError) as caught:
        centre_plane(lump(seed))
    assert 0.0 < caught.value.share < 0.5


def test_half_a_tank_has_none() -> None:
    whole = tank(4.0, noise_mm=0.1, seed=8).mesh
    with pytest.raises(NoSymmetryError) as caught:
        centre_plane(kept(whole, whole.vertices[:, 1] > 0.0))
    assert caught.value.share < 0.5


def test_three_quarters_of_a_tank_are_enough() -> None:
    scanned = tank(4.0, noise_mm=0.1, seed=9)
    seen: FloatArray = scanned.mesh.vertices[:, 1]
    plane = centre_plane(kept(scanned.mesh, seen > -70.0))
    assert_within(scanned, plane, WITHIN_DEG, WITHIN_MM)


def test_a_mesh_without_area_has_none() -> None:
    line = TriMesh(np.outer(np.arange(3.0), [1.0, 2.0, 3.0]), np.array([[0, 1, 2]]))
    for mesh in (line, TriMesh(np.zeros((0, 3)), np.zeros((0, 3), np.int64))):
        with pytest.raises(NoSymmetryError):
            centre_plane(mesh)


def test_it_says_how_far_it_is_and_can_be_stopped() -> None:
    mesh = tank(8.0, seed=1).mesh
    told: list[float] = []
    centre_plane(mesh, report=lambda done, _: told.append(done))
    assert len(told) > 10
    assert told == sorted(told)
    assert told[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        centre_plane(mesh, report=stop)
