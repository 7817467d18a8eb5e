"""The tank kept, everything else named: scraps, spikes, second shells, a second tank."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, check_manifold, is_oriented, piece_of_face, rims
from geometry.progress import Cancelled
from geometry.scan import SeveralTanksError, tidy_for_panels
from tests.geometry.scan.scans import ball, box, joined, rough, tube

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
