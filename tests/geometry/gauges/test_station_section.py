"""The outline at a station: from bottom edge over the top, in halves, over gaps."""

import numpy as np
import pytest

from geometry.gauges.gauge_faults import NoSectionError
from geometry.gauges.station_section import station_section
from geometry.mesh import TriMesh
from tests.geometry.gauges.gauged_bodies import barrel, closed_tank, round_skin, skin_of


def test_a_round_section_is_its_circle() -> None:
    cut = station_section(skin_of(round_skin(barrel, cells=(160, 200))), 0, 230.0)
    radius = np.hypot(cut.arch[:, 0], cut.arch[:, 1] - 100.0)
    assert np.abs(radius - 90.0).max() < 0.01  # chords of 200 facets: 0.003, of 2.5 mm: 0.002
    assert cut.arch[0, 0] < 0.0 < cut.arch[-1, 0]
    assert not cut.was_closed


def test_halves_meet_on_the_centre_line_and_are_the_whole() -> None:
    cut = station_section(skin_of(round_skin(barrel)), 0, 111.0)
    left, right = cut.half("left"), cut.half("right")
    assert left is not None
    assert right is not None
    assert left[-1, 0] == 0.0
    assert np.array_equal(left[-1], right[0])
    lengths = [np.linalg.norm(np.diff(each, axis=0), axis=1).sum() for each in (left, right)]
    whole = np.linalg.norm(np.diff(cut.arch, axis=0), axis=1).sum()
    assert abs(sum(lengths) - whole) < 1e-9


def test_a_closed_tank_is_taken_above_its_bottom_edges() -> None:
    cut = station_section(skin_of(closed_tank(wide=120.0, high=90.0)), 0, 144.0)
    assert cut.was_closed
    assert np.allclose(cut.arch[[0, -1]], [[-60.0, 0.0], [60.0, 0.0]])
    length = np.linalg.norm(np.diff(cut.arch, axis=0), axis=1).sum()
    assert length == pytest.approx(90.0 + 120.0 + 90.0)


def test_a_hole_left_open_is_bridged_and_told() -> None:
    mesh = round_skin(barrel)
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    hole = np.linalg.norm(middles - [230.0, 30.0, 185.0], axis=1) < 18.0
    cut = station_section(skin_of(TriMesh(mesh.vertices, mesh.faces[~hole])), 0, 230.5)
    assert len(cut.filled) == 1
    gap = float(np.linalg.norm(cut.filled[0][1] - cut.filled[0][0]))
    assert 25.0 < gap < 45.0
    assert np.abs(np.hypot(cut.arch[:, 0], cut.arch[:, 1] - 100.0) - 90.0).max() < 0.1


def test_along_the_tank_front_is_on_the_right() -> None:
    cut = station_section(skin_of(round_skin(barrel, cells=(160, 100))), 1, 0.0)
    wanted = 100.0 + barrel(cut.arch[:, 0])
    assert np.abs(cut.arch[:, 1] - wanted).max() < 0.01
    assert cut.arch[0, 0] < cut.arch[-1, 0]


def test_no_outline_beside_the_tank() -> None:
    with pytest.raises(NoSectionError) as caught:
        station_section(skin_of(round_skin(barrel)), 0, -5.0)
    assert caught.value.at_mm == -5.0
