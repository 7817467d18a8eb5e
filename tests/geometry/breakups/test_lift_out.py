"""Bodies whose normals are known, so that what locks is known in closed form."""

from math import asin, atan2, cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray
from geometry.breakups import lift_out
from geometry.mesh import TriMesh, face_areas, face_normals
from tests.bodies import band_of_revolution, cylinder_sheet, disk_of_revolution, dome, folded_tray
from tests.geometry.mesh.small_meshes import octahedron

SQUARE = radians(0.5)


def facet_tilt(radius: float, mesh: TriMesh) -> float:
    """Return by how much a facet's normal departs from the sphere's at its corners, at most."""
    corners = mesh.vertices[mesh.faces] / radius
    normals = face_normals(mesh.vertices, mesh.faces)
    return float(np.arccos(np.clip((corners * normals[:, None]).sum(axis=2), -1, 1)).max())


def test_a_hemisphere_comes_free_straight_up() -> None:
    ball = dome(100.0, pi / 2, 16)
    lift = lift_out(ball.vertices, ball.faces)
    assert lift.is_free
    assert lift.locked_area_mm2 == 0.0
    assert lift.angle_rad == 0.0
    assert lift.direction == pytest.approx([0, 0, -1], abs=1e-6)
    assert 0.0 < lift.draft_rad < facet_tilt(100.0, ball)


@pytest.mark.parametrize("half_angle", [20.0, 55.0, 80.0])
def test_a_cap_comes_free_with_what_it_lacks_of_a_hemisphere_as_draft(half_angle: float) -> None:
    """Normals lie within the half angle of the axis: the draft is 90 degrees less that."""
    ball = dome(100.0, radians(half_angle), 24)
    lift = lift_out(ball.vertices, ball.faces)
    assert lift.direction == pytest.approx([0, 0, -1], abs=1e-6)
    least = pi / 2 - radians(half_angle)
    assert least <= lift.draft_rad < least + facet_tilt(100.0, ball)


@pytest.mark.parametrize("past", [4.0, 10.0, 25.0])
def test_a_cap_past_a_hemisphere_locks_by_the_belt_beyond_it(past: float) -> None:
    """Locked: the belt 2 pi R^2 (sin a - sin 0.5 deg), a past 90 degrees; worst angle a.

    Archimedes, by height. A row of facets is 1 degree or less: half of one is what it may miss.
    """
    rings = int(90 + past)
    ball = dome(100.0, radians(90.0 + past), rings)
    lift = lift_out(ball.vertices, ball.faces)
    row = radians((90.0 + past) / rings)
    belt = 2 * pi * 100.0**2 * (sin(radians(past)) - sin(SQUARE))
    assert not lift.is_free
    assert lift.draft_rad == 0.0
    assert lift.locked_area_mm2 == pytest.approx(belt, abs=2 * pi * 100.0**2 * 0.75 * row)
    assert lift.angle_rad == pytest.approx(radians(past), abs=row)
    assert lift.direction == pytest.approx([0, 0, -1], abs=2 * row)
    assert lift.locked_area_mm2 == pytest.approx(
        face_areas(ball.vertices, ball.faces)[lift.locked].sum(), rel=1e-12
    )


def test_half_a_tube_lifts_out_and_more_than_half_slides_out_endwise() -> None:
    half = cylinder_sheet(60.0, pi, 200.0, around=60)
    lift = lift_out(half.vertices, half.faces)
    assert lift.is_free
    assert lift.draft_rad == pytest.approx(pi / 120, abs=1e-3)  # half of the last facet's turn
    out = face_normals(half.vertices, half.faces).sum(axis=0)
    assert lift.direction == pytest.approx(-out / np.hypot(*out[1:]), abs=1e-3)

    more = cylinder_sheet(60.0, radians(200.0), 200.0, around=100)
    lift = lift_out(more.vertices, more.faces)
    assert lift.is_free
    assert abs(lift.direction[0]) == pytest.approx(1.0, abs=1e-3)
    assert lift.draft_rad == pytest.approx(0.0, abs=1e-9)


def test_a_cone_comes_free_with_its_own_slope_as_draft() -> None:
    """Slope to the axis: atan((R - r) / h), for facets by the apothems."""
    around = 48
    apothem = cos(pi / around)
    cone = band_of_revolution(np.array([80.0, 40.0]), np.array([0.0, 150.0]), 2 * pi, around)
    lift = lift_out(cone.vertices, cone.faces)
    assert lift.is_free
    assert lift.direction == pytest.approx([0, 0, -1], abs=1e-6)
    assert lift.draft_rad == pytest.approx(atan2(40.0 * apothem, 150.0), rel=1e-6)


@pytest.mark.parametrize("turned", [30.0, 60.0, 85.0])
def test_a_curled_bottom_edge_locks_by_its_curl_alone(turned: float) -> None:
    """A cap, a wall straight down and a lip curling in by an angle a on a radius r of 8.

    The lip's area from angle t0 to a is that of a ring of a torus about R - r:
    2 pi r ((R - r) (a - t0) + r (sin a - sin t0)), t0 the half degree that counts as square.
    """
    bend, facets = radians(turned), 20
    cap = np.linspace(0.0, pi / 2, 31)
    curl = np.linspace(0.0, bend, facets + 1)[1:]
    radius = np.concatenate([60 * np.sin(cap), [60.0, 60.0], 52 + 8 * np.cos(curl)])
    height = np.concatenate([60 * np.cos(cap), [-12.0, -24.0], -24 - 8 * np.sin(curl)])
    body = disk_of_revolution(radius, height)
    lift = lift_out(body.vertices, body.faces)
    ring = 2 * pi * 8 * (52 * (bend - SQUARE) + 8 * (sin(bend) - sin(SQUARE)))
    facet = bend / facets
    assert lift.direction == pytest.approx([0, 0, -1], abs=0.01)
    assert lift.locked_area_mm2 == pytest.approx(ring, abs=0.6 * 2 * pi * 60 * 8 * facet)
    assert lift.angle_rad == pytest.approx(bend, abs=facet)
    assert body.vertices[body.faces[lift.locked], 2].max() <= -24.0


def lopsided(seed: int = 3) -> TriMesh:
    """A lump with no symmetry, its edge going past square in places."""
    rng = np.random.default_rng(seed)
    ball = dome(1.0, radians(100.0), 20)
    squash = np.diag([90.0, 60.0, 70.0])
    shear = np.eye(3) + 0.3 * rng.standard_normal((3, 3))
    return TriMesh(ball.vertices @ squash @ shear, ball.faces)


@pytest.mark.parametrize(
    "body", [dome(50.0, radians(65.0), 12), lopsided(), folded_tray(60, 20, 6)]
)
def test_turning_and_moving_the_panel_turns_the_answer(body: TriMesh) -> None:
    first = lift_out(body.vertices, body.faces)
    for turn in Rotation.random(4, random_state=5):
        moved = turn.apply(body.vertices.copy()) + [300.0, -20.0, 7.0]
        lift = lift_out(moved, body.faces)
        assert lift.locked_area_mm2 == pytest.approx(first.locked_area_mm2, rel=1e-6, abs=1e-6)
        assert lift.angle_rad == pytest.approx(first.angle_rad, abs=1e-4)
        assert lift.draft_rad == pytest.approx(first.draft_rad, abs=1e-6)
        assert lift.direction == pytest.approx(turn.apply(first.direction.copy()), abs=2e-3)


@pytest.mark.parametrize("seed", range(12))
def test_free_or_not_is_what_a_linear_programme_says(seed: int) -> None:
    """Free without tolerance: a d with n . d <= -1 for every normal exists. scipy's own solver."""
    rng = np.random.default_rng(seed)
    ball = dome(1.0, radians(rng.uniform(50.0, 80.0)), 10)
    body = TriMesh(ball.vertices @ (np.eye(3) + 0.7 * rng.standard_normal((3, 3))), ball.faces)
    if np.linalg.det(np.linalg.lstsq(ball.vertices, body.vertices, rcond=None)[0]) < 0:
        body = TriMesh(body.vertices, body.faces[:, ::-1])
    normals = face_normals(body.vertices, body.faces)
    found = linprog(np.zeros(3), normals, -np.ones(len(normals)), bounds=(None, None))
    lift = lift_out(body.vertices, body.faces)
    if found.status == 0:
        assert lift.is_free
        way = np.asarray(found.x, np.float64)
        draft = draft_along(normals, way / np.linalg.norm(way))
        assert lift.draft_rad >= draft - 1e-9
    else:
        assert lift.draft_rad == 0.0


def draft_along(normals: FloatArray, direction: FloatArray) -> float:
    return -asin(float((normals @ direction).max()))


def test_no_other_way_locks_less() -> None:
    """Twenty thousand directions tried blindly on a lump that locks."""
    body = lopsided()
    lift = lift_out(body.vertices, body.faces)
    assert not lift.is_free
    normals, areas = face_normals(body.vertices, body.faces), face_areas(body.vertices, body.faces)
    ways = np.random.default_rng(0).standard_normal((20_000, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    held = [areas[normals @ way > sin(SQUARE)].sum() for way in ways]
    assert lift.locked_area_mm2 <= min(held) + 2e-3 * areas.sum()


def test_a_ball_all_round_locks_by_half() -> None:
    """One half always faces the pull; a belt of 1 degree and a row of facets square to it apart."""
    ball = octahedron(4, 100.0)
    lift = lift_out(ball.vertices, ball.faces)
    half = face_areas(ball.vertices, ball.faces).sum() / 2
    assert 0.93 * half < lift.locked_area_mm2 < half
    assert lift.angle_rad == pytest.approx(pi / 2, abs=0.1)


def test_noise_under_the_tolerance_locks_nothing() -> None:
    """Walls square to the pull, wavering by 0.3 degrees: sqrt(2) of that on a facet's corner."""
    tube = cylinder_sheet(60.0, pi, 200.0, around=20, along=10)
    rng = np.random.default_rng(1)
    step = 20.0 * radians(0.3) / sqrt(2.0) / 3.0
    shaken = tube.vertices + step * rng.uniform(-1, 1, tube.vertices.shape)
    assert lift_out(shaken, tube.faces).is_free
