"""Whether a blank can be trusted: the stability limit by brute force, overlaps in closed form."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import area, polygons, union_all

from geometry.arrays import FloatArray
from geometry.blank import Work, flatten, laid_along
from geometry.blank.orientation import folded_or_flat
from geometry.blank.soundness import overlap, unsound_faces
from geometry.blank.stretch import singular_values
from geometry.blank.work import density
from geometry.mesh import TriMesh, part_of_mesh, rims
from tests.bodies import cone_sheet, disk_rings, dome, patch

WORKS = [
    Work("von_mises", "blank"),
    Work("hencky", "formed"),
    Work("von_mises", "formed", bias=0.4),
    Work("von_mises", "blank", hardening=0.5),
]


def _least_curvature(work: Work, stretches: FloatArray) -> tuple[float, float]:
    """Return the least second difference of the work over rank-one moves, and the largest.

    A move adds a n' to the map diag(stretches), a and n unit vectors every 3 degrees.
    """
    angle = np.radians(np.arange(0.0, 180.0, 3.0))
    one, two = (each.ravel() for each in np.meshgrid(angle, angle))
    a, n = (np.stack([np.cos(t), np.sin(t)], axis=1) for t in (one, two))
    step = 1e-4 * float(stretches.min())
    moves = step * a[:, :, None] * n[:, None, :]
    maps = np.diag(stretches) + np.stack([-moves, 0.0 * moves, moves])
    values = density(work, singular_values(maps.reshape(-1, 2, 2))).value.reshape(3, -1)
    curvature = (values[0] - 2.0 * values[1] + values[2]) / step**2
    return float(curvature.min()), float(np.abs(curvature).max())


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_faces_are_unsound_where_some_rank_one_move_lowers_the_work(work: Work) -> None:
    """Second differences over 3,600 moves for 60 stretches; those too near the limit are left.

    Moves 3 degrees apart miss the worst by a part of about (1.5 degrees)^2 = 7e-4 of the largest.
    """
    random = np.random.default_rng(11)
    stretches = np.sort(np.exp(random.uniform(-1.8, 1.8, (60, 2))), axis=1)[:, ::-1]
    told = unsound_faces(stretches, density(work, stretches))
    seen = {True: 0, False: 0}
    for pair, unsound in zip(stretches, told, strict=True):
        least, largest = _least_curvature(work, pair)
        if abs(least) > 5e-3 * largest:
            assert unsound == (least < 0.0), pair
            seen[bool(unsound)] += 1
    assert min(seen.values()) > 3


def ring_sector(turns: float, per_turn: int, across: int) -> TriMesh:
    """Return a flat strip of a ring, R 100 to 70, of any number of turns, lying over itself."""
    t, phi = np.meshgrid(
        np.linspace(0.0, 1.0, across + 1),
        np.linspace(0.0, 2.0 * np.pi * turns, round(per_turn * turns) + 1),
    )
    radius = 100.0 - 30.0 * t
    return patch(radius * np.cos(phi), radius * np.sin(phi), 0.0 * phi)


def ring_area(per_turn: int) -> float:
    """Return the area of a ring of chords: n / 2 sin(2 pi / n) (R^2 - r^2)."""
    return float(per_turn / 2.0 * np.sin(2.0 * np.pi / per_turn) * (100.0**2 - 70.0**2))


def layers_at(flat: FloatArray, mesh: TriMesh, point: FloatArray) -> int:
    """Return in how many faces a point lies."""
    corner = flat[mesh.faces] - point
    side = corner[:, :, 0] * np.roll(corner[:, :, 1], -1, axis=1)
    side = side - corner[:, :, 1] * np.roll(corner[:, :, 0], -1, axis=1)
    return int((side > 0.0).all(axis=1).sum())


@pytest.mark.parametrize("turns", [1.25, 1.5, 2.0, 2.75])
def test_a_ring_of_more_than_a_turn_counts_all_but_its_first_turn_twice(turns: float) -> None:
    """Overlap = (turns - 1) of the ring of chords, exactly; layers above two count again."""
    mesh = ring_sector(turns, 160, 4)
    flat = np.ascontiguousarray(mesh.vertices[:, :2])
    doubled, place = overlap(flat, mesh.faces, rims(mesh))
    assert doubled == pytest.approx((turns - 1.0) * ring_area(160), rel=1e-9)
    assert layers_at(flat, mesh, place) >= 2
    assert 75.0 < np.hypot(*place) < 95.0


@pytest.mark.parametrize("turns", [0.3, 0.99, 1.0])
def test_a_ring_up_to_a_full_turn_does_not_lie_over_itself(turns: float) -> None:
    """At 1.0 the two ends touch along a line: no metal is counted twice."""
    mesh = ring_sector(turns, 100, 3)
    doubled, place = overlap(mesh.vertices[:, :2], mesh.faces, rims(mesh))
    assert doubled < 1e-9 * ring_area(100)
    assert doubled > 0.0 or np.isnan(place).all()


@pytest.mark.parametrize("seed", range(6))
def test_the_overlap_is_what_the_faces_cover_less_than_once(seed: int) -> None:
    """Against the union of all triangles, by another route of the same library."""
    random = np.random.default_rng(seed)
    mesh = ring_sector(random.uniform(1.05, 2.4), 90, 3)
    bent = mesh.vertices[:, :2] @ (np.eye(2) + 0.3 * random.normal(size=(2, 2)))
    bent = bent + 6.0 * np.sin(bent[:, ::-1] / 40.0 + random.uniform(0, 6, 2))
    corner = bent[mesh.faces]
    one, two = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    signed = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    faces = mesh.faces if signed.sum() > 0 else mesh.faces[:, ::-1]
    assert (signed > 0).all() or (signed < 0).all()
    loops = rims(TriMesh(mesh.vertices, faces))
    triangles = polygons(corner)
    doubled, place = overlap(bent, faces, loops)
    covered = union_all(triangles).area
    assert doubled == pytest.approx(float(area(triangles).sum()) - covered, rel=1e-7)
    assert layers_at(bent, TriMesh(mesh.vertices, faces), place) >= 2


def test_a_hole_left_open_in_the_overlap_counts_as_no_metal() -> None:
    """A strip of 1.25 turns with a square of cells out of its first eighth of a turn."""
    mesh = ring_sector(1.25, 160, 6)
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    turn = np.repeat(np.tile(np.arange(200), 6).reshape(6, 200).T.ravel()[None], 2, axis=0).ravel()
    ring = np.hypot(middle[:, 0], middle[:, 1])
    gone = (turn >= 4) & (turn < 10) & (ring > 80.5) & (ring < 89.5)
    pierced, _ = part_of_mesh(mesh, np.flatnonzero(~gone))
    flat = pierced.vertices[:, :2]
    loops = rims(pierced)
    assert len(loops) == 2
    hole = 6 * np.sin(2 * np.pi / 160) / 2.0 * (90.0**2 - 80.0**2)
    doubled, _ = overlap(flat, pierced.faces, loops)
    assert doubled == pytest.approx(0.25 * ring_area(160) - hole, rel=1e-9)


def test_a_cone_of_more_than_a_turn_lays_out_over_itself_by_the_closed_form() -> None:
    """A cone wound twice round unrolls to a sector; what is past 360 degrees is doubled.

    Facets are flat trapezia: each spans 2 asin(base chord / 2 slant) of the sector.
    """
    base, top, height, turns, around = 100.0, 70.0, 40.0, 2.0, 240
    mesh = cone_sheet(base, top, height, 2.0 * np.pi * turns, (around, 4))
    chord = base * 2.0 * np.sin(np.pi * turns / around)
    # Trapezia have straight slant edges of this length, meeting at the layout's apex.
    slant = np.hypot(base, height * base / (base - top))
    step = 2.0 * np.arcsin(chord / (2.0 * slant))
    sector = around * step
    assert sector > 2.0 * np.pi
    flat = flatten(mesh)
    assert flat.converged
    outer, inner = slant, slant * top / base
    ring = 0.5 * (outer**2 - inner**2) * np.sin(step) / step
    # Facets of the two layers do not match, so their edges differ by the chords' rise at most.
    rise = (1.0 - np.cos(step / 2.0)) * (outer**2 + inner**2) * (sector - 2.0 * np.pi)
    assert flat.overlap_area == pytest.approx(ring * (sector - 2.0 * np.pi), abs=rise)
    assert layers_at(flat.flat_vertices, mesh, flat.overlap_place) == 2


def test_overlap_does_not_depend_on_place_turn_or_scale() -> None:
    mesh = ring_sector(1.4, 90, 3)
    flat = mesh.vertices[:, :2]
    doubled, _ = overlap(flat, mesh.faces, rims(mesh))
    turn = np.array([[0.6, -0.8], [0.8, 0.6]])
    moved = 1e-3 * (flat @ turn) + [3.0, -5.0]
    again, place = overlap(moved, mesh.faces, rims(mesh))
    assert again == pytest.approx(1e-6 * doubled, rel=1e-9)
    assert layers_at(moved, mesh, place) == 2


def test_a_sound_blank_has_no_overlap_and_no_place() -> None:
    flat = flatten(dome(100.0, 0.9, 8))
    assert flat.overlap_area == 0.0
    assert np.isnan(flat.overlap_place).all()
    assert flat.unsound_faces == 0
    assert np.isnan(flat.unsound_place).all()


def test_the_place_of_unsound_faces_is_the_middle_of_one_of_them() -> None:
    flat = flatten(dome(100.0, np.radians(150.0), 12))
    assert flat.unsound_faces > 1
    middles = flat.vertices[flat.faces[flat.unsound]].mean(axis=1)
    assert np.linalg.norm(middles - flat.unsound_place, axis=1).min() == 0.0


def test_folded_faces_are_counted_on_the_blank_as_it_lies() -> None:
    """A corner put past the side opposite; the answer said 0 before it was turned."""
    flat = flatten(dome(100.0, 0.5, 4))
    moved = flat.flat_vertices.copy()
    face = flat.faces[0]
    one, two = moved[face[0]], moved[face[1]]
    moved[face[2]] += 2.0 * ((one + two) / 2.0 - moved[face[2]])
    over = replace(flat, flat_vertices=moved)
    folded = int(folded_or_flat(moved, flat.faces).sum())
    assert over.inverted == 0
    assert folded >= 1
    assert laid_along(over, np.array([0.3, 0.8, 0.0])).inverted == folded


def test_fifty_thousand_faces_are_tried_by_their_rim_alone() -> None:
    """The work goes by the rim's length: no face is looked at, so their array may be empty."""
    mesh = ring_sector(1.25, 2000, 10)
    doubled, _ = overlap(mesh.vertices[:, :2], np.empty((0, 3), np.int64), rims(mesh))
    assert len(mesh.faces) == 50_000
    assert doubled == pytest.approx(0.25 * ring_area(2000), rel=1e-9)


def test_a_disk_wound_twice_round_its_middle_is_counted_twice() -> None:
    """Sent to its square the disk folds no face but is two layers all over, its rim two turns."""
    fraction, angle, faces = disk_rings(8)
    mesh = TriMesh(
        np.stack([fraction * np.cos(angle), fraction * np.sin(angle), 0 * angle], 1), faces
    )
    twice = np.stack([fraction * np.cos(2 * angle), fraction * np.sin(2 * angle)], axis=1)
    doubled, _ = overlap(twice, faces, rims(mesh))
    assert doubled == pytest.approx(24 / 2 * np.sin(2 * np.pi / 24), rel=1e-9)
