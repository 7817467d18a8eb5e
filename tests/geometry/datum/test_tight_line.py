"""A tape over the surface is as long on a noisy scan as on the surface itself."""

import numpy as np
import pytest

from geometry.datum import Tape, taped_length
from geometry.datum.tight_line import tight_stops
from geometry.mesh import TriMesh
from tests.bodies import cylinder_sheet, dome
from tests.tanks import tank


def test_stops_on_a_sphere_lie_on_the_great_circle_though_the_path_goes_about() -> None:
    """The shortest way between two places of a sphere is the great circle through them."""
    mesh = dome(100.0, 1.2, 60)
    ends = np.array([[np.sin(0.9), 0.0, np.cos(0.9)], [-np.sin(0.9), 0.0, np.cos(0.9)]]) * 100.0
    turn = np.linspace(0.0, np.pi, 80)
    about = np.stack(
        [np.cos(turn) * np.sin(0.9), np.sin(turn) * np.sin(0.9), np.full(80, np.cos(0.9))], axis=1
    )
    stops = tight_stops(mesh, 100.0 * about, least=3.0)
    places = np.array([stop.barycentric @ mesh.vertices[mesh.faces[stop.face]] for stop in stops])
    assert len(stops) >= 31
    assert np.abs(places[:, 1]).max() < 2.0
    assert np.linalg.norm(ends[0] - places[0]) < 12.0


def test_a_short_path_is_left_alone() -> None:
    mesh = cylinder_sheet(100.0, np.pi, 50.0)
    assert tight_stops(mesh, mesh.vertices[:2], least=20.0) == ()


@pytest.mark.slow
@pytest.mark.parametrize("seed", [3, 5])
def test_noise_holds_no_tape_up(seed: int) -> None:
    """A tank at 2 mm spacing with 0.05 mm noise: a bare shortest path ends 1.2 mm too long here."""
    clean, noisy = tank(2.0), tank(2.0, noise_mm=0.05, seed=seed)
    middle = clean.mesh.vertices.mean(axis=0)
    axes = np.stack([clean.front, clean.left, clean.up])
    ends = middle + np.array([[-111.5, 92.6, -29.4], [-111.5, 7.6, 82.9]]) @ axes
    tape = Tape(tuple(ends[0]), tuple(ends[1]), 187.0, over=True)
    assert taped_length(noisy.mesh, tape) == pytest.approx(taped_length(clean.mesh, tape), abs=0.3)


def test_a_tape_over_turned_file_axes_is_as_long() -> None:
    smooth = cylinder_sheet(100.0, np.pi, 200.0, around=90, along=60)
    noise = np.random.default_rng(2).normal(scale=0.05, size=smooth.vertices.shape)
    vertices = smooth.vertices + noise
    turn = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))[0]
    turn = turn * np.sign(np.linalg.det(turn))
    ends = vertices[[40, -40]]
    one, two = (
        taped_length(
            TriMesh(vertices @ way.T, smooth.faces),
            Tape(tuple(way @ ends[0]), tuple(way @ ends[1]), 200.0, over=True),
        )
        for way in (np.eye(3), turn)
    )
    assert one == pytest.approx(two, abs=0.02)
