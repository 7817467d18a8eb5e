"""The blank: exact on what unrolls, invariant, never folded, and refusals that name the seam."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.blank import (
    CollapsedBlankError,
    Flattener,
    Measure,
    NoAreaError,
    NotADiskError,
    Standing,
    Work,
    flatten,
    is_opening,
    laid_along,
    rim_turning,
)
from geometry.mesh import NonManifoldError, TriMesh, part_of_mesh, rims
from geometry.progress import Cancelled
from tests.bodies import (
    cone_sheet,
    cylinder_sheet,
    disk_rings,
    dome,
    folded_tray,
    mesh_of,
    patch,
    tank_top,
)

WORKS = [Work(m, w) for m in ("von_mises", "hencky") for w in ("blank", "formed")]


@pytest.mark.parametrize("work", WORKS, ids=str)
@pytest.mark.parametrize(
    "mesh",
    [
        cylinder_sheet(100.0, np.pi, 200.0),
        cone_sheet(100.0, 60.0, 120.0, 1.5 * np.pi, (40, 9)),
        folded_tray(100.0, 30.0, 6),
    ],
    ids=["cylinder", "cone", "tray"],
)
def test_bodies_that_unroll_come_out_without_stretch(mesh: TriMesh, work: Work) -> None:
    flat = flatten(mesh, work)
    assert flat.converged
    assert np.abs(flat.stretches - 1.0).max() < 1e-9
    assert flat.rim_blank == pytest.approx(flat.rim_formed, abs=1e-7)
    assert flat.blank_area == pytest.approx(flat.formed_area, rel=1e-9)
    assert np.abs(flat.signed_change).max() < 1e-9


def test_rolled_sheet_lays_out_to_its_chord_length() -> None:
    """24 facets of 2 R sin(angle / 48) each; exact for the facets to rounding."""
    flat = flatten(cylinder_sheet(100.0, np.pi, 250.0, 24, 10))
    width = 24 * 200.0 * np.sin(np.pi / 48)
    assert sorted(flat.blank_size) == pytest.approx([250.0, width], abs=1e-6)


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_blank_does_not_depend_on_pose_scale_or_numbering(work: Work) -> None:
    mesh = tank_top(14)
    turn = np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    order = np.random.default_rng(5).permutation(len(mesh.vertices))
    other = TriMesh(2.0 * mesh.vertices[order] @ turn + 40.0, np.argsort(order)[mesh.faces])
    one, two = flatten(mesh, work), flatten(other, work)
    np.testing.assert_allclose(two.stretches, one.stretches, atol=2e-8)
    assert two.blank_area == pytest.approx(4.0 * one.blank_area, rel=1e-8)


@pytest.mark.parametrize("half_angle", [100.0, 120.0, 135.0])
def test_deep_domes_converge_without_a_fold(half_angle: float) -> None:
    flat = flatten(dome(100.0, np.radians(half_angle), 24))
    assert flat.converged
    assert flat.residual < 1e-8
    assert flat.inverted == 0
    assert flat.overlap_area == 0.0


@pytest.mark.parametrize(("half_angle", "rings"), [(134.0, 12), (136.0, 24)])
def test_domes_hardly_within_the_limit_converge(half_angle: float, rings: int) -> None:
    """A dome of 12 rings of triangles stands to 134.4 degrees, of 24 to 136.0, of 48 to 137.1."""
    flat = flatten(dome(100.0, np.radians(half_angle), rings))
    assert flat.standing is Standing.SETTLED
    assert flat.residual < 1e-8


@pytest.mark.parametrize("half_angle", [135.0, 138.0, 140.0, 150.0])
def test_too_deep_a_dome_says_so_and_where(half_angle: float) -> None:
    """Past about 138 degrees of half-angle the least work at hardening 1 is not stable.

    Twelve rings of triangles fall short of that: see above.
    """
    flat = flatten(dome(100.0, np.radians(half_angle), 12))
    assert flat.standing is Standing.TOO_DEEP
    assert not flat.converged
    assert flat.unsound_faces > 0
    assert np.linalg.norm(flat.unsound_place) < 100.0
    assert flat.inverted == 0


def test_no_face_of_a_blank_that_does_not_stand_is_crushed_to_nothing() -> None:
    """Where work is weighed by metal a crushed face costs none; the search ends before that."""
    flat = flatten(dome(100.0, np.radians(140.0), 12))
    assert flat.stretches.max() < 1e9


def test_forces_left_on_sound_faces_are_called_not_settled() -> None:
    flat = flatten(dome(100.0, 0.5, 4))
    assert flat.standing is Standing.SETTLED
    assert replace(flat, converged=False).standing is Standing.UNSETTLED


def test_a_collapsed_blank_names_the_place_where_most_metal_is_lost() -> None:
    """Hencky strain weighed by the blank pays for shrinking a deep dome's blank to nothing."""
    mesh = dome(100.0, np.radians(140.0), 12)
    with pytest.raises(CollapsedBlankError) as caught:
        flatten(mesh, Work("hencky", "blank"))
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    assert np.linalg.norm(middles - caught.value.place, axis=1).min() == 0.0
    assert caught.value.blank_area < 0.5 * caught.value.formed_area


@pytest.mark.parametrize("measure", ["von_mises", "hencky"])
@pytest.mark.parametrize(
    "mesh",
    [
        cylinder_sheet(100.0, np.pi, 200.0),
        cylinder_sheet(1000.0, np.pi, 2000.0, 40, 40),
        cone_sheet(100.0, 60.0, 120.0, 1.5 * np.pi, (40, 9)),
        folded_tray(100.0, 30.0, 6),
    ],
    ids=["cylinder", "large cylinder", "cone", "tray"],
)
@pytest.mark.parametrize("hardening", [0.5, 0.25])
def test_bodies_that_unroll_settle_however_little_metal_hardens(
    mesh: TriMesh, measure: Measure, hardening: float
) -> None:
    """Without strain such work is d^(n - 1) times as stiff as at n = 1, a thousandfold at 0.25.

    The last digit of a place then makes so much more force.
    """
    flat = flatten(mesh, Work(measure, hardening=hardening))
    assert flat.converged
    assert np.abs(flat.stretches - 1.0).max() < 1e-12


def test_a_stopped_search_leaves_the_flattener_as_it_was() -> None:
    flattener = Flattener(tank_top(14))
    before = flattener.flatten(Work("hencky", "formed"))

    def stop(done: float, stage: str) -> None:
        if done > 0.05:
            raise Cancelled

    with pytest.raises(Cancelled):
        flattener.flatten(Work(), report=stop)
    again = flattener.flatten(Work("hencky", "formed"))
    np.testing.assert_allclose(again.flat_vertices, before.flat_vertices, atol=1e-6)


def test_progress_of_a_flattening_rises_to_the_end() -> None:
    seen: list[float] = []
    flatten(dome(100.0, 0.8, 12), report=lambda done, _: seen.append(done))
    assert seen == sorted(seen)
    assert seen[0] == 0.0
    assert seen[-1] == pytest.approx(1.0, abs=0.5)
    assert len(seen) > 4


def _tube(rows: int = 12) -> TriMesh:
    sheet = cylinder_sheet(50.0, 2.0 * np.pi, 80.0, rows, 6)
    fold = np.arange(len(sheet.vertices))
    fold[-7:] = np.arange(7)  # last row onto the first
    return TriMesh(sheet.vertices[:-7], fold[sheet.faces])


def test_a_tube_is_refused_and_asks_for_a_seam_between_its_rims() -> None:
    with pytest.raises(NotADiskError) as caught:
        flatten(_tube())
    assert (caught.value.pieces, caught.value.rims, caught.value.handles) == (1, 2, 0)
    assert "from one rim to the other" in caught.value.missing_seam


def test_a_closed_surface_is_refused() -> None:
    tetrahedron = mesh_of(
        [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
    )
    with pytest.raises(NotADiskError) as caught:
        flatten(tetrahedron)
    assert caught.value.rims == 0
    assert "closed all round" in caught.value.missing_seam


def test_a_panel_with_a_handle_is_refused() -> None:
    n = 12
    i, j = np.meshgrid(np.arange(n), np.arange(n), indexing="ij")
    u, v = 2 * np.pi * i / n, 2 * np.pi * j / n
    vertices = np.stack(
        [(3 + np.cos(v)) * np.cos(u), (3 + np.cos(v)) * np.sin(u), np.sin(v)], axis=-1
    ).reshape(-1, 3)
    a, b = (i * n + j).ravel(), ((i + 1) % n * n + j).ravel()
    c, d = ((i + 1) % n * n + (j + 1) % n).ravel(), (i * n + (j + 1) % n).ravel()
    torus = TriMesh(vertices, np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])[1:])
    with pytest.raises(NotADiskError) as caught:
        flatten(torus)
    assert (caught.value.rims, caught.value.handles) == (1, 1)
    assert "tunnel" in caught.value.missing_seam


def test_two_pieces_and_no_faces_are_refused() -> None:
    square = dome(10.0, 0.5, 2)
    count = len(square.vertices)
    two = TriMesh(
        np.concatenate([square.vertices, square.vertices + 50.0]),
        np.concatenate([square.faces, square.faces + count]),
    )
    with pytest.raises(NotADiskError) as caught:
        flatten(two)
    assert caught.value.pieces == 2
    with pytest.raises(NotADiskError):
        flatten(TriMesh(np.zeros((3, 3)), np.empty((0, 3), np.int64)))


def test_a_book_of_three_leaves_is_refused_with_the_place() -> None:
    book = mesh_of(
        [[0, 0, 0], [0, 0, 1], [1, 0, 0], [0, 1, 0], [-1, -1, 0]],
        [[0, 1, 2], [1, 0, 3], [0, 1, 4]],
    )
    with pytest.raises(NonManifoldError) as caught:
        flatten(book)
    assert caught.value.edges.tolist() == [[0, 1]]


def test_faces_without_area_are_refused_and_named() -> None:
    with pytest.raises(NoAreaError) as caught:
        flatten(mesh_of([[0, 0, 0], [1, 0, 0], [0, 1, 0], [2, 0, 0]], [[0, 1, 2], [0, 3, 1]]))
    assert caught.value.faces.tolist() == [1]


def test_a_spiral_that_lands_on_itself_reports_the_overlap() -> None:
    """A cone sheet of more than a full turn of sector lies on itself when laid flat.

    Cut-open cone with slope such that the sector spans 450 degrees: the overlap is a quarter of a
    full turn of the annulus, 1/5 of the sheet, less the facets' chord error of order (step)^2.
    """
    turns = 1.25
    around = 200
    base, top = 100.0, 60.0
    phi = np.linspace(0.0, 2 * np.pi * turns, around + 1)
    # A flat spiral staircase: radius kept, height rising slightly, so that it is nearly developed.
    t, angle = np.meshgrid(np.linspace(0.0, 1.0, 5), phi)
    radius = base + (top - base) * t
    mesh = patch(radius * np.cos(angle), radius * np.sin(angle), 2.0 * angle)
    flat = flatten(mesh)
    assert flat.converged
    assert flat.overlap_area == pytest.approx(0.2 * flat.formed_area, rel=0.05)
    assert np.isfinite(flat.overlap_place).all()


def test_front_points_along_the_sheet() -> None:
    flat = laid_along(flatten(tank_top(14)), np.array([0.0, 1.0, 0.0]))
    # Front is y here: the panel's 140 mm width must lie along u, y growing with u.
    assert flat.blank_size[0] < flat.blank_size[1]
    assert np.corrcoef(flat.vertices[:, 1], flat.flat_vertices[:, 0])[0, 1] > 0.99


def test_without_front_the_longest_extent_lies_along_u() -> None:
    flat = flatten(tank_top(14))
    assert flat.blank_size[0] > 2 * flat.blank_size[1]
    np.testing.assert_allclose(
        flat.flat_vertices.max(axis=0) + flat.flat_vertices.min(axis=0), 0.0, atol=1e-9
    )


def test_turning_tells_a_hole_from_the_end_of_a_tube() -> None:
    """Flat disk 2 pi, hole in a flat sheet -2 pi, tube end 0 (Gauss-Bonnet)."""
    fraction, angle, faces = disk_rings(6)
    disk = TriMesh(
        np.stack([fraction * np.cos(angle), fraction * np.sin(angle), 0 * angle], 1), faces
    )
    assert rim_turning(disk, rims(disk)[0]) == pytest.approx(2 * np.pi)
    ring = TriMesh(disk.vertices, faces[(faces > 6).any(axis=1)])
    outer, inner = rims(TriMesh(ring.vertices, ring.faces))
    assert rim_turning(ring, inner) == pytest.approx(-2 * np.pi)
    assert is_opening(ring, inner)
    assert not is_opening(ring, outer)
    tube = _tube()
    assert all(abs(rim_turning(tube, rim)) < 1e-9 for rim in rims(tube))
    assert not any(is_opening(tube, rim) for rim in rims(tube))


def _pierced_dome() -> TriMesh:
    """A dome without the faces within a fifth of its reach: one round hole in the middle."""
    whole = dome(150.0, 0.8, 15)
    far = whole.vertices[:, 2] < 150.0 * np.cos(0.8 * 0.19)
    return part_of_mesh(whole, np.flatnonzero(far[whole.faces].any(axis=1)))[0]


def test_a_hole_left_open_lets_the_metal_round_it_go() -> None:
    """Open, the least work is no more than for the same faces within the solid panel."""
    pierced = _pierced_dome()
    with pytest.raises(NotADiskError):
        flatten(pierced)
    flat = flatten(pierced, open_holes=True)
    whole = flatten(dome(150.0, 0.8, 15))
    kept = whole.vertices[whole.faces].mean(axis=1)[:, 2] < 150.0 * np.cos(0.8 * 0.19)
    assert flat.converged
    assert flat.overlap_area == 0.0
    assert len(rims(pierced)) == 2
    assert flat.energy < whole.energy
    assert flat.formed_area == pytest.approx(whole.formed_areas[kept].sum(), rel=0.05)


def test_a_bias_too_strong_for_the_panel_goes_as_far_as_blanks_stay_sound() -> None:
    """On a dome of 30 degrees a bias of -0.7 pulls a ring apart; less of it does not."""
    flattener = Flattener(dome(100.0, np.radians(30.0), 12))
    asked = Work(bias=-0.7)
    assert not flattener.flatten(asked).converged
    eased = flattener.flatten_as_far(asked)
    assert eased.converged
    assert -0.7 < eased.work.bias < 0.0


def test_a_bias_that_is_sound_is_left_alone() -> None:
    """0.5 on the same dome."""
    flattener = Flattener(dome(100.0, np.radians(30.0), 12))
    assert flattener.flatten_as_far(Work(bias=0.5)).work.bias == 0.5


def test_a_twin_answers_the_same_whatever_the_other_was_asked() -> None:
    first = Flattener(tank_top(28))
    first.flatten()
    second = first.twin()
    first.flatten(Work(bias=0.4))
    asked, alone = Work(bias=-0.1), second.twin().flatten(Work(bias=-0.1))
    np.testing.assert_array_equal(second.flatten(asked).flat_vertices, alone.flat_vertices)
