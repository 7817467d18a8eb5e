"""What is carried over from a whole scan to a part of it is what the part itself would say."""

import numpy as np
import pytest

from geometry.mesh import part_of_mesh, piece_of_face
from geometry.scan.pairing import partners, partners_kept, piece_of_each_face
from tests.geometry.mesh.small_meshes import scattered_plane


@pytest.mark.parametrize("share", [0.05, 0.5, 0.95, 1.0])
def test_partners_carried_over_are_those_found_in_the_part_itself(share: float) -> None:
    scan = scattered_plane(900, 100.0, seed=4)
    kept = np.random.default_rng(5).random(len(scan.faces)) < share
    part = part_of_mesh(scan, np.flatnonzero(kept))[0]
    carried = partners_kept(partners(scan.faces), kept)
    np.testing.assert_array_equal(carried, partners(part.faces))


def test_pieces_are_numbered_alike_by_partners_and_by_edges() -> None:
    scan = scattered_plane(900, 100.0, seed=4)
    faces = scan.faces[np.random.default_rng(6).random(len(scan.faces)) < 0.5]
    by_partners = piece_of_each_face(partners(faces))
    assert by_partners.max() > 20
    np.testing.assert_array_equal(by_partners, piece_of_face(faces))
