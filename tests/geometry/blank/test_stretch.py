"""Principal stretches against known linear maps, invariance, and folded faces."""

import numpy as np
import pytest

from geometry.blank import InvertedFacesError, principal_stretches
from geometry.blank.elements import Elements
from geometry.blank.stretch import singular_values
from tests.bodies import dome


def test_the_two_stretches_are_the_singular_values_of_a_map() -> None:
    """Against numpy's own; below 0 where the map folds over."""
    maps = np.random.default_rng(4).normal(size=(500, 2, 2))
    values = singular_values(maps)
    np.testing.assert_allclose(np.abs(values), np.linalg.svd(maps, compute_uv=False), atol=1e-13)
    np.testing.assert_array_equal(np.sign(values[:, 1]), np.sign(np.linalg.det(maps)))


def test_a_map_taken_apart_into_turns_gives_it_back() -> None:
    """Half the sum of the stretches times a turn, half their difference times a mirrored one."""
    mesh = dome(100.0, 0.6, 8)
    elements = Elements.of(mesh)
    flat = mesh.vertices[:, :2] @ [[0.9, 0.5], [-0.3, 1.1]]
    strained = elements.strained(flat)
    (c, s), (f, g) = strained.turn, strained.mirror
    np.testing.assert_allclose(np.hypot(c, s), 1.0)
    half_sum, half_gap = strained.s.sum(axis=1) / 2.0, -np.diff(strained.s)[:, 0] / 2.0
    together = half_sum * [c, -s, s, c] + half_gap * [f, g, g, -f]
    np.testing.assert_allclose(together, elements.maps(flat), atol=1e-13)


def test_stretches_do_not_change_with_place_turn_or_scale_of_both() -> None:
    mesh = dome(100.0, 0.6, 8)
    flat = mesh.vertices[:, :2] * [1.1, 0.97]
    before = principal_stretches(mesh.vertices, flat, mesh.faces)
    turn = np.array([[0.6, -0.8], [0.8, 0.6]])
    tilt = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    tilt *= np.sign(np.linalg.det(tilt))
    after = principal_stretches(3 * mesh.vertices @ tilt + 5, 3 * flat @ turn - 7, mesh.faces)
    np.testing.assert_allclose(after, before, rtol=1e-11)


def test_folded_faces_are_named() -> None:
    mesh = dome(100.0, 0.6, 4)
    flat = mesh.vertices[:, :2].copy()
    flat[0] = [300.0, 0.0]  # the pole dragged out over the rim
    with pytest.raises(InvertedFacesError) as caught:
        principal_stretches(mesh.vertices, flat, mesh.faces)
    assert len(caught.value.faces) > 0
    assert set(caught.value.faces) <= set(np.flatnonzero((mesh.faces == 0).any(axis=1)))
