"""Crown: kinds, sweeps, errors; orders of convergence stand in `tests/validation/test_crown.py`."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from geometry.surface.crown import (
    CrownKind,
    CrownLimits,
    calm_normals,
    crown_kinds,
    crown_of,
    sweeps,
)
from tests import bodies
from tests.geometry.surface.crown.skins import noisy, outward_tube, turned_in


def _middle(mesh: TriMesh, within: float) -> np.ndarray:
    away = np.linalg.norm(mesh.vertices - mesh.vertices.mean(axis=0), axis=1)
    return np.asarray(away < within)


@pytest.mark.parametrize(
    ("skin", "kind"),
    [
        (bodies.dome(100.0, 0.6, 40), CrownKind.HIGH),
        (bodies.dome(900.0, 0.06, 40), CrownKind.LOW),
        (outward_tube(90.0, 60), CrownKind.LOW),
        (bodies.graph_patch(np.zeros((60, 60)), 60.0, 60.0), CrownKind.FLAT),
        (turned_in(bodies.dome(100.0, 0.6, 40)), CrownKind.HOLLOW),
        (turned_in(outward_tube(90.0, 60)), CrownKind.HOLLOW),
        (bodies.hyperbolic_saddle(150.0, 0.5, 40), CrownKind.REVERSE),
    ],
)
def test_each_body_is_of_its_kind_through_scan_noise(skin: TriMesh, kind: CrownKind) -> None:
    """Where noise blurs a curvature by half of what counts, one place in fifty may be off."""
    for noise in (0.0, 0.05):
        crown = crown_of(noisy(skin, noise))
        middle = _middle(skin, 30.0)
        assert (crown.kind[middle] == kind).mean() > (0.98 if noise else 0.999)


def test_limits_move_where_one_kind_becomes_another() -> None:
    curvatures = np.array([[1 / 200.0, 1 / 250.0]])
    assert crown_kinds(curvatures)[0] == CrownKind.HIGH
    assert crown_kinds(curvatures, CrownLimits(high_sweep_mm=220.0))[0] == CrownKind.LOW
    assert crown_kinds(curvatures, CrownLimits(100.0, 150.0))[0] == CrownKind.FLAT


def test_a_sweep_is_the_radius_and_a_straight_one_is_infinite() -> None:
    assert sweeps(np.array([[0.005, 0.0]])).tolist() == [[200.0, np.inf]]


def test_the_standard_error_tells_how_far_curvatures_scatter() -> None:
    """Scatter over the stated error is 1; the mixing of stations calms it by up to a third."""
    dome = bodies.dome(200.0, 0.35, 60)
    crown = crown_of(noisy(dome, 0.05), reach_mm=9.0)
    middle = _middle(dome, 50.0)
    ratio = (crown.curvatures[middle].mean(axis=1) - 1 / 200.0) / crown.standard_error[middle]
    # the mean of two curvatures scatters by sqrt(1/2) of one, or more where they hang together
    assert 0.4 < float(np.sqrt((ratio**2).mean())) < 1.1


def test_more_noise_makes_the_reach_longer_by_its_cube_root() -> None:
    skin = bodies.dome(200.0, 0.5, 90)
    calm, rough = (crown_of(noisy(skin, noise)).reach_mm for noise in (0.025, 0.2))
    assert rough / calm == pytest.approx(2.0, rel=0.05)  # (0.2 / 0.025)^(1/3)


def test_turning_moving_and_mirroring_change_nothing() -> None:
    skin = noisy(bodies.torus_patch(120.0, 40.0, 0.6, (-0.6, 0.6), (48, 32)), 0.02)
    crown = crown_of(skin, reach_mm=6.0)
    turn = Rotation.from_euler("xyz", [0.4, 1.1, -0.7])
    moved = TriMesh(turn.apply(skin.vertices.copy()) + (30.0, -200.0, 9.0), skin.faces)
    other = crown_of(moved, reach_mm=6.0)
    # cubes in which points are pooled lie otherwise on a turned skin: the noise is met otherwise
    assert np.median(np.abs(other.curvatures - crown.curvatures)) < np.median(crown.standard_error)
    flipped = TriMesh(skin.vertices * (-1.0, 1.0, 1.0), skin.faces[:, ::-1])
    mirrored = crown_of(flipped, reach_mm=6.0)
    assert np.median(np.abs(mirrored.curvatures - crown.curvatures)) < 5e-4


def test_twice_the_size_halves_the_curvature() -> None:
    skin = noisy(bodies.dome(100.0, 0.5, 30), 0.02)
    once = crown_of(skin, reach_mm=9.0)
    twice = crown_of(TriMesh(2.0 * skin.vertices, skin.faces), reach_mm=18.0)
    np.testing.assert_allclose(twice.curvatures, once.curvatures / 2.0, atol=1e-9)


def test_two_walls_a_sheet_apart_keep_their_own_sides() -> None:
    """Out is +z above and -z below; one bulges as much as the other is hollow."""
    top = outward_tube(60.0, 60)
    inner = top.vertices * (1.0, 58.8 / 60.0, 58.8 / 60.0)
    both = TriMesh(
        np.concatenate([top.vertices, inner]),
        np.concatenate([top.faces, top.faces[:, ::-1] + len(top.vertices)]),
    )
    crown = crown_of(both, reach_mm=8.0)
    assert np.einsum("ij,ij->i", crown.normals[: len(inner)], crown.normals[len(inner) :]).max() < 0


def test_directions_are_square_to_each_other_and_to_the_normal() -> None:
    skin = outward_tube(60.0, 40)
    crown = crown_of(skin)
    first, second = crown.directions[:, 0], crown.directions[:, 1]
    assert np.abs(np.einsum("ij,ij->i", first, second)).max() < 1e-12
    assert np.abs(np.einsum("ij,ij->i", first, crown.normals)).max() < 1e-12
    # a tube bends round its axis, x, and not along it
    assert np.abs(first[_middle(skin, 30.0), 0]).max() < 1e-3


def test_a_few_lone_triangles_are_not_determined() -> None:
    few = bodies.graph_patch(np.zeros((2, 2)), 1.0, 1.0)
    assert not crown_of(few).determined.any()


def test_noise_tilts_calm_normals_by_what_they_say() -> None:
    dome = bodies.dome(300.0, 0.3, 75)
    found = calm_normals(noisy(dome, 0.08))
    middle = _middle(dome, 60.0)
    tilt = np.linalg.norm(found.normals - dome.vertices / 300.0, axis=1)[middle] / np.sqrt(2.0)
    assert np.sqrt((tilt**2).mean()) < 1.1 * np.median(found.standard_error[middle]) < 0.005


def test_progress_rises_and_stops_when_asked() -> None:
    skin = bodies.dome(200.0, 0.3, 30)
    seen: list[float] = []

    def listen(done: float, stage: str) -> None:
        seen.append(done)

    crown_of(skin, report=listen)
    assert seen == sorted(seen)
    assert seen[0] >= 0.0
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        crown_of(skin, report=stop)
