"""Principal stretches against known linear maps, invariance, and folded faces."""

import numpy as np
import pytest

from geometry.blank import InvertedFacesError, principal_stretches
from geometry.blank.stretch import split_rotations
from tests.bodies import dome


def test_splitting_a_map_gives_it_back() -> None:
    maps = np.random.default_rng(4).normal(size=(500, 2, 2))
    split = split_rotations(maps)
    np.testing.assert_allclose(
        split.u * split.s[:, None, :] @ split.v.transpose(0, 2, 1), maps, atol=1e-14
    )
    np.testing.assert_allclose(np.linalg.det(split.u), 1.0)
    np.testing.assert_allclose(np.abs(split.s), np.linalg.svd(maps, compute_uv=False), atol=1e-13)


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
