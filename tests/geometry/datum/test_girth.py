"""Girths: round and edge to edge, over holes, over hollows, over scan noise."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.datum import Tape, TapeGirthError, tape_through, true_size
from geometry.datum.girth import GirthError, girth_of, plane_through
from geometry.datum.smooth_line import smooth_line
from geometry.datum.tape import LaidTape, TapeLayer
from geometry.mesh import TriMesh
from geometry.polyline import line_length
from tests.bodies import cylinder_sheet, grid_faces


def tube(outline: FloatArray, length: float = 60.0, rows: int = 30) -> TriMesh:
    """Return a tube round x whose section is a closed (k, 2) outline, counter-clockwise."""
    count = len(outline)
    x = np.linspace(0.0, length, rows + 1)
    vertices = np.array([[at, y, z] for at in x for y, z in outline])
    faces = []
    for row in range(rows):
        for column in range(count):
            a, b = row * count + column, row * count + (column + 1) % count
            c, d = a + count, b + count
            faces += [[a, b, d], [a, d, c]]
    return TriMesh(vertices, np.array(faces))


def ellipse(a: float, b: float, count: int = 360) -> FloatArray:
    """Return an ellipse's points."""
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return np.stack([a * np.cos(turn), b * np.sin(turn)], axis=1)


def skin() -> TriMesh:
    """Return a half round of R 100 about x, 60 long, facing out."""
    inside_out = cylinder_sheet(100.0, np.pi, 60.0, around=180, along=30)
    return TriMesh(inside_out.vertices, inside_out.faces[:, ::-1])


def lay(mesh: TriMesh, *picks: tuple[float, float, float]) -> LaidTape:
    """Lay a girth through three points."""
    return TapeLayer(mesh).lay(tape_through(picks, 1.0, "girth"))


def test_a_girth_round_an_ellipse_is_its_circumference() -> None:
    """4 a E(1 - b^2 / a^2), E the complete elliptic integral of the second kind (scipy)."""
    from scipy.special import ellipe

    a, b = 140.0, 90.0
    laid = lay(tube(ellipse(a, b)), (31.0, a, 0.0), (31.0, 0.0, b), (31.0, -a, 0.0))
    assert laid.length == pytest.approx(4.0 * a * ellipe(1.0 - (b / a) ** 2), rel=1e-4)
    assert laid.is_closed
    assert laid.gap == 0.0
    assert laid.followed - laid.length < 0.01


def test_a_girth_of_two_points_and_a_direction_is_that_of_three() -> None:
    mesh = tube(ellipse(140.0, 90.0))
    two = Tape((31.0, 140.0, 0.0), (31.0, -140.0, 0.0), 1.0, kind="girth", towards=(0.0, 0.0, 2.0))
    three = lay(mesh, (31.0, 140.0, 0.0), (31.0, 0.0, 90.0), (31.0, -140.0, 0.0))
    assert TapeLayer(mesh).lay(two).length == pytest.approx(three.length, rel=1e-12)


def test_a_slanted_girth_of_a_round_tube_is_an_ellipse() -> None:
    """A plane at 45 degrees cuts a cylinder of R 50 in an ellipse of 50 and 50 sqrt(2)."""
    from scipy.special import ellipe

    mesh = tube(ellipse(50.0, 50.0), 200.0, 100)
    laid = lay(mesh, (50.0, 50.0, 0.0), (100.0, 0.0, 50.0), (150.0, -50.0, 0.0))
    assert laid.length == pytest.approx(4.0 * 50.0 * np.sqrt(2.0) * ellipe(0.5), rel=2e-4)


def test_a_tape_pulled_tight_bridges_a_hollow_and_both_lengths_are_told() -> None:
    """A round of R 100 with a flat-bottomed tunnel cut in from below, 60 wide and 40 deep.

    Tight: the chord of 60 for its arc, 2 R (pi - asin(0.3)) + 60. Followed: the chord again less,
    down one wall, across, up the other.
    """
    half = float(np.arcsin(0.3))
    turn = np.linspace(-np.pi / 2 + half, 1.5 * np.pi - half, 600)
    arc = 100.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    low = float(arc[0, 1])
    down, along = np.linspace(low, low + 40.0, 41)[1:], np.linspace(-30.0, 30.0, 61)[1:-1]
    tunnel = np.concatenate(
        [
            np.stack([np.full(40, -30.0), down], axis=1),
            np.stack([along, np.full(59, low + 40.0)], axis=1),
            np.stack([np.full(40, 30.0), down[::-1]], axis=1),
        ]
    )
    laid = lay(tube(np.concatenate([arc, tunnel])), (31.0, 100.0, 0.0), (31.0, 0.0, 100.0),
               (31.0, -100.0, 0.0))  # fmt: skip
    tight = 200.0 * (np.pi - half) + 60.0
    assert laid.length == pytest.approx(tight, rel=3e-4)
    assert laid.followed == pytest.approx(
        tight - 60.0 + 140.0, abs=2.0
    )  # four corners, 0.4 off each


def holed(mesh: TriMesh, centre: FloatArray, radius: float) -> TriMesh:
    """Return a mesh without the faces about a point."""
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    return TriMesh(mesh.vertices, mesh.faces[np.linalg.norm(middle - centre, axis=1) > radius])


def test_a_girth_over_a_hole_spans_it_straight_across() -> None:
    """A hole of about 40 mm in a round of R 100 takes 2 R (asin(w / 2R) - w / 2R) off the arc."""
    whole = tube(ellipse(100.0, 100.0))
    picks = ((31.0, 100.0, 0.0), (31.0, 0.0, -100.0), (31.0, -100.0, 0.0))
    round_, holed_ = lay(whole, *picks), lay(holed(whole, np.array([31.0, 0, 100]), 20.0), *picks)
    assert 30.0 < holed_.gap < 46.0
    half = holed_.gap / 200.0
    assert round_.length - holed_.length == pytest.approx(
        200.0 * (np.arcsin(half) - half), abs=0.05
    )
    assert holed_.is_closed


def test_an_open_skin_is_taped_round_or_from_edge_to_edge_by_where_its_ends_are_marked() -> None:
    ends = ((31.0, 100.0, 0.0), (31.0, 0.0, 100.0), (31.0, -100.0, 0.0))
    edge = lay(skin(), *ends)
    assert edge.length == pytest.approx(100.0 * np.pi, rel=2e-4)
    assert (edge.is_closed, edge.gap) == (False, 0.0)
    turned = lay(
        skin(), *(tuple(100.0 * np.array([0.31, np.cos(t), np.sin(t)])) for t in (1, 2, 3))
    )
    assert turned.is_closed
    assert turned.gap == pytest.approx(200.0, abs=1e-6)
    assert turned.length == pytest.approx(100.0 * np.pi + 200.0, rel=2e-4)


def test_the_tape_ends_at_the_points_not_at_the_edge() -> None:
    short = 0.04
    points = [(31.0, 100 * np.cos(t), 100 * np.sin(t)) for t in (short, 1.5, np.pi - short)]
    assert lay(skin(), *points).length == pytest.approx(100.0 * (np.pi - 2 * short), rel=2e-4)
    assert lay(skin(), *points[::-1]).length == pytest.approx(100.0 * (np.pi - 2 * short), rel=2e-4)


def test_edge_to_edge_a_tape_bridges_a_hollow_too() -> None:
    """A gutter of 30 wide and 20 deep along the top of a flat skin 200 wide: 200 against 240."""
    y = np.concatenate([
        np.linspace(100.0, 15.0, 86), np.full(20, 15.0), np.linspace(15.0, -15.0, 31),
        np.full(20, -15.0), np.linspace(-15.0, -100.0, 86)])  # fmt: skip
    z = np.concatenate([
        np.zeros(86), -np.arange(1.0, 21.0), np.full(31, -20.0), np.arange(-19.0, 1.0),
        np.zeros(86)])  # fmt: skip
    keep = np.concatenate([[True], np.hypot(np.diff(y), np.diff(z)) > 0])
    outline = np.stack([y, z], axis=1)[keep]
    rows = np.linspace(0.0, 60.0, 31)
    vertices = np.array([[x, y, z] for x in rows for y, z in outline])
    mesh = TriMesh(vertices, grid_faces(len(rows), len(outline))[:, ::-1])
    laid = lay(mesh, (31.0, 100.0, 0.0), (31.0, 0.0, -20.0), (31.0, -100.0, 0.0))
    assert laid.followed == pytest.approx(240.0, abs=2.0)
    assert laid.length == pytest.approx(200.0, abs=0.3)


def test_an_edge_turned_in_is_wrapped_by_the_tape() -> None:
    """A round of R 100 through 270 degrees, its edges turned in by half rounds of R 10.

    Each half round is convex, so the tape lies on all of it: 100 1.5 pi + 2 10 pi.
    """
    turn = np.linspace(-0.25 * np.pi, 1.25 * np.pi, 500)
    round_ = 100.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)

    def curl(at: float, way: float) -> FloatArray:
        angle = at + way * np.linspace(0.0, np.pi, 60)[1:]
        return 90.0 * np.array([np.cos(at), np.sin(at)]) + 10.0 * np.stack(
            [np.cos(angle), np.sin(angle)], axis=1
        )

    outline = np.concatenate([curl(turn[0], -1.0)[::-1], round_, curl(turn[-1], 1.0)])
    rows = np.linspace(0.0, 60.0, 31)
    vertices = np.array([[x, y, z] for x in rows for y, z in outline])
    mesh = TriMesh(vertices, grid_faces(len(rows), len(outline))[:, ::-1])
    ends = [(31.0, *outline[place]) for place in (0, len(outline) // 2, -1)]
    laid = lay(mesh, *ends)
    assert not laid.is_closed
    assert laid.length == pytest.approx(150.0 * np.pi + 20.0 * np.pi, rel=1e-3)


def test_scan_noise_does_not_lengthen_a_girth() -> None:
    """0.05 mm at 1.2 mm spacing: the bare convex outline grows by about 2 pi 2.5 sigma = 0.8 mm."""
    smooth = tube(ellipse(140.0, 90.0, 600), 60.0, 50)
    noise = np.random.default_rng(5).normal(scale=0.05, size=smooth.vertices.shape)
    picks = ((31.0, 140.0, 0.0), (31.0, 0.0, 90.0), (31.0, -140.0, 0.0))
    noisy = lay(TriMesh(smooth.vertices + noise, smooth.faces), *picks)
    assert noisy.length == pytest.approx(lay(smooth, *picks).length, abs=0.25)


def test_the_outline_meant_is_the_one_with_the_points_on_it() -> None:
    """Two tubes beside each other, one plane through both."""
    one = tube(ellipse(50.0, 50.0))
    two = TriMesh(one.vertices * [1.0, 0.5, 0.5] + [0.0, 200.0, 0.0], one.faces)
    both = TriMesh(
        np.vstack([one.vertices, two.vertices]),
        np.vstack([one.faces, two.faces + len(one.vertices)]),
    )
    laid = lay(both, (31.0, 225.0, 0.0), (31.0, 200.0, 25.0), (31.0, 175.0, 0.0))
    assert laid.length == pytest.approx(50.0 * np.pi, rel=2e-4)
    tape = tape_through([(31.0, 225.0, 0.0), (31.0, 0.0, 50.0), (31.0, -50.0, 0.0)], 9.0, "girth")
    with pytest.raises(TapeGirthError) as caught:
        true_size(both, [tape], unit="mm")
    assert (caught.value.number, caught.value.reason) == (1, "apart")


def test_points_in_one_line_fix_no_plane() -> None:
    with pytest.raises(GirthError) as caught:
        plane_through(np.array([[0.0, 0, 0], [1, 0, 0], [5, 0.01, 0]]), None)
    assert caught.value.reason == "in line"
    with pytest.raises(GirthError):
        plane_through(np.array([[0.0, 0, 0], [1, 0, 0]]), (-3.0, 0.0, 0.0))


def test_a_plane_beside_the_surface_is_told() -> None:
    plane = (np.array([999.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    with pytest.raises(GirthError):
        girth_of(tube(ellipse(50.0, 50.0)), plane, np.zeros((2, 3)))


def test_a_closed_line_is_smooth_at_its_joint_too() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 401)
    line = np.stack([np.cos(turn), np.sin(turn), 0.0 * turn], axis=1)
    line[-1] = line[0]
    fine = smooth_line(line)
    np.testing.assert_array_equal(fine[0], fine[-1])
    assert np.abs(np.linalg.norm(fine, axis=1) - 1.0).max() < 1e-4
    assert line_length(fine) == pytest.approx(2.0 * np.pi, rel=1e-4)
