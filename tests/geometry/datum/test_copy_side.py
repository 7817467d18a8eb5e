"""One side copied to the other, on bodies whose good side is known by formula."""

import numpy as np
import pytest

from geometry.arrays import BoolArray, FloatArray
from geometry.datum import (
    CentrePlane,
    Copied,
    Datum,
    PlaceNotJoinedError,
    PlaceOffTankError,
    SideMissingError,
    SideZone,
    ZonesClashError,
    copied_side,
    left_right,
)
from geometry.datum.copy_body import NEW_FACE
from geometry.mesh import (
    TriMesh,
    check_manifold,
    edge_table,
    face_areas,
    face_normals,
    is_oriented,
    part_of_mesh,
    piece_of_face,
    rims,
)
from geometry.progress import Cancelled

RADIUS = 80.0
BUMP = np.array([60.0, -50.0, np.sqrt(RADIUS**2 - 50.0**2)])
"""Middle of a bump on the right, 3 mm high and 20 mm in radius."""

SPACING = 2.5
CHORD_SAG = (1.5 * SPACING) ** 2 / (8.0 * RADIUS)
"""A cut across an edge lies no farther under the round; shaken, edges are half as long again."""


def upright(off_mm: float = 0.0) -> Datum:
    """Return a datum whose plane lies off the middle to the left."""
    plane = CentrePlane(np.array([0.0, off_mm, 0.0]), np.array([0.0, 1.0, 0.0]), 0.0, 0.0)
    return Datum(plane, np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), plane.point)


def bump_at(points: FloatArray) -> FloatArray:
    away2 = np.sum((points - BUMP) ** 2, axis=1) / 20.0**2
    return np.asarray(3.0 * np.maximum(0.0, 1.0 - away2) ** 3)


def barrel(*, spacing_mm: float = SPACING, noise_mm: float = 0.0, flat_mm: float = 0.0) -> TriMesh:
    """Return a round top of R 80, 120 long, bumped on the right; its left `flat_mm` fuller."""
    rng = np.random.default_rng(3)
    along = np.arange(0.0, 120.0 + spacing_mm, spacing_mm)
    around = np.linspace(-0.5 * np.pi, 0.5 * np.pi, round(RADIUS * np.pi / spacing_mm))
    x, angle = (axis.ravel().copy() for axis in np.meshgrid(along, around, indexing="ij"))
    x += rng.uniform(-0.25, 0.25, len(x)) * spacing_mm
    angle += rng.uniform(-0.25, 0.25, len(x)) * spacing_mm / RADIUS
    out = np.stack([np.zeros(len(x)), np.sin(angle), np.cos(angle)], axis=1)
    places = RADIUS * out + x[:, None] * np.array([1.0, 0.0, 0.0])
    height = bump_at(places) + noise_mm * rng.standard_normal(len(x))
    height += flat_mm * np.clip(np.sin(angle), 0.0, 1.0)
    corner = np.arange(len(x)).reshape(len(along), len(around))
    a, b, c, d = (
        q.ravel() for q in (corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:])
    )
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    return TriMesh(places + height[:, None] * out, faces)


def zone(centre: FloatArray, radius_mm: float, side: str = "left") -> SideZone:
    x, y, z = centre.tolist()
    return SideZone((x, y, z), radius_mm, "left" if side == "left" else "right")


def off_round(mesh: TriMesh) -> FloatArray:
    """Return how far vertices stand out over R 80."""
    return np.asarray(np.hypot(mesh.vertices[:, 1], mesh.vertices[:, 2]) - RADIUS)


def sharpest_edge(mesh: TriMesh, where: BoolArray) -> float:
    """Return the largest angle between faces that meet at an edge with both ends in a place."""
    table = edge_table(mesh.faces)
    normals = face_normals(mesh.vertices, mesh.faces)
    sides = np.argsort(table.edge_of_side.ravel(), kind="stable")
    edge = table.edge_of_side.ravel()[sides]
    twin = np.flatnonzero(edge[1:] == edge[:-1])
    twin = twin[where[table.edges[edge[twin]]].all(axis=1)]
    one, other = normals[sides[twin] // 3], normals[sides[twin + 1] // 3]
    return float(np.arccos(np.clip((one * other).sum(axis=1), -1.0, 1.0)).max(initial=0.0))


def is_sound(copied: Copied) -> bool:
    check_manifold(copied.mesh)
    return is_oriented(copied.mesh.faces) and piece_of_face(copied.mesh.faces).max() == 0


@pytest.mark.parametrize("noise_mm", [0.0, 0.05])
@pytest.mark.parametrize("side", ["left", "right"])
def test_the_hands_are_alike_after_copying(side: str, noise_mm: float) -> None:
    """Mirror images share every vertex: what is left is how the fits see the two triangulations."""
    mesh = barrel(noise_mm=noise_mm)
    out = copied_side(mesh, upright(), "left" if side == "left" else "right")
    assert is_sound(out)
    assert np.nanmax(np.abs(left_right(out.mesh, upright()).difference)) < 0.01
    areas, centres = (
        face_areas(out.mesh.vertices, out.mesh.faces),
        out.mesh.vertices[out.mesh.faces],
    )
    on_left = centres[..., 1].mean(axis=1) > 0
    assert areas[on_left].sum() == pytest.approx(areas[~on_left].sum(), rel=1e-12)
    assert np.array_equal(out.copied, on_left == (side == "right"))
    assert off_round(out.mesh).max() > 2.9 if side == "right" else off_round(out.mesh).max() < 0.3


def test_what_is_kept_is_the_scan_itself() -> None:
    mesh = barrel()
    out = copied_side(mesh, upright(), "left", blend_mm=10.0)
    kept = ~out.copied & (out.mesh.vertices[out.mesh.faces][..., 1].min(axis=1) > 10.0)
    same = mesh.vertices[mesh.faces[out.face_of_scan[kept]]]
    assert (
        np.abs(
            np.sort(out.mesh.vertices[out.mesh.faces[kept]], axis=1) - np.sort(same, axis=1)
        ).max()
        == 0.0
    )
    assert (out.face_of_scan != NEW_FACE).all()


@pytest.mark.parametrize("off_mm", [0.0, 3.0, -3.0])
def test_no_kink_is_left_at_the_centre_plane(off_mm: float) -> None:
    """Cut 3 mm off its middle and turned over, R 80 would meet itself at 2 x 3 / 80 = 0.075 rad.

    Chords of 2.5 mm on it turn by 2.5 / 80 = 0.031 anyway, half as much again where points are
    shaken by a quarter of that each. At the two ends of the barrel half of what a fit would rest
    on is missing: there 0.01 rad more.
    """
    datum = upright(off_mm)
    out = copied_side(barrel(), datum, "left")
    at_plane = np.abs(datum.plane.off(out.mesh.vertices)) < 1e-9
    assert at_plane.sum() > 40
    inner = np.abs(out.mesh.vertices[:, 0] - 60.0) < 50.0
    assert sharpest_edge(out.mesh, at_plane & inner) < 0.05
    assert sharpest_edge(out.mesh, at_plane) < 0.06
    if off_mm:
        bare = copied_side(barrel(), datum, "left", blend_mm=0.0)
        at_plane = np.abs(datum.plane.off(bare.mesh.vertices)) < 1e-9
        assert sharpest_edge(bare.mesh, at_plane) > 0.07


def test_the_mean_of_both_hands_meets_at_the_plane() -> None:
    """The left's arc stands out by 4 mm x the sine: 4 / 80 of slope there, none on the right."""
    out = copied_side(barrel(flat_mm=4.0), upright(), "left", blend_mm=20.0)
    at = out.mesh.vertices
    near = (np.abs(at[:, 1]) < 3.0) & (np.abs(at[:, 0] - 60.0) < 40.0)
    slope = np.polyfit(np.abs(at[near, 1]), off_round(out.mesh)[near], 1)[0]
    assert slope == pytest.approx(0.5 * 4.0 / RADIUS, rel=0.25)  # the very kink the scan has
    far = at[:, 1] > 25.0
    assert off_round(out.mesh)[far] == pytest.approx(
        4.0 * at[far, 1] / np.hypot(at[far, 1], at[far, 2]), abs=0.05
    )


@pytest.mark.parametrize("noise_mm", [0.0, 0.05])
def test_a_zone_takes_the_other_side(noise_mm: float) -> None:
    mesh = barrel(noise_mm=noise_mm)
    out = copied_side(mesh, upright(), "right", zones=[zone(BUMP, 24.0, "left")])
    assert is_sound(out)
    assert np.abs(off_round(out.mesh)).max() < CHORD_SAG + 5.0 * noise_mm
    assert out.step_mm < 0.05
    assert len(rims(out.mesh)) == len(rims(mesh))
    where = np.linalg.norm(out.mesh.vertices - BUMP, axis=1) < 50.0
    if noise_mm == 0.0:
        assert sharpest_edge(out.mesh, where) < 0.1
    middle = out.mesh.vertices[out.mesh.faces].mean(axis=1)
    inside = np.linalg.norm(middle - BUMP, axis=1) < 20.0
    assert out.copied[inside].all()
    twin = np.linalg.norm(middle - BUMP * [1, -1, 1], axis=1) < 20.0
    assert not out.copied[twin].any()  # the left's own shape, on the left


def test_a_zone_alone_changes_nothing_else() -> None:
    mesh = barrel()
    out = copied_side(mesh, upright(), "none", zones=[zone(BUMP * [1, -1, 1], 24.0, "left")])
    assert is_sound(out)
    assert np.abs(off_round(out.mesh)).max() < CHORD_SAG
    far = np.linalg.norm(mesh.vertices - BUMP, axis=1) > 45.0
    assert far.sum() == (np.linalg.norm(out.mesh.vertices - BUMP, axis=1) > 45.0).sum()


def test_a_hole_on_the_wrong_hand_is_closed_by_a_zone() -> None:
    mesh = barrel()
    holed = without(mesh, BUMP, 12.0)
    assert len(rims(holed)) == 2
    out = copied_side(holed, upright(), "none", zones=[zone(BUMP, 24.0, "left")])
    assert is_sound(out)
    assert len(rims(out.mesh)) == 1


def test_a_zone_whose_border_runs_over_a_hole_is_joined_beside_it() -> None:
    """What of the hole lies within the border is closed, the rest of it stays open."""
    holed = without(barrel(), BUMP + np.array([36.0, 0.0, 0.0]), 9.0)
    out = copied_side(holed, upright(), "none", zones=[zone(BUMP, 24.0, "left")])
    assert is_sound(out)
    assert len(rims(out.mesh)) == 2
    area = [face_areas(mesh.vertices, mesh.faces).sum() for mesh in (holed, out.mesh, barrel())]
    assert area[0] < area[1] < area[2]
    assert out.step_mm < 0.05


def test_a_hole_on_the_side_copied_is_copied() -> None:
    mesh = without(barrel(), BUMP * [1, -1, 1], 12.0)
    out = copied_side(mesh, upright(), "left")
    assert is_sound(out)
    assert len(rims(out.mesh)) == 3


@pytest.mark.parametrize("hand", [1.0, -1.0])
def test_a_handed_thing_stays_on_its_own_hand(hand: float) -> None:
    """The bump, on the right, stays there and there alone, whichever side is copied."""
    out = copied_side(barrel(), upright(), "left" if hand > 0 else "right", odd=[zone(BUMP, 24.0)])
    assert is_sound(out)
    stands_out = off_round(out.mesh) > 1.0
    assert stands_out.sum() > 20
    assert (out.mesh.vertices[stands_out, 1] < 0).all()
    own = np.linalg.norm(out.mesh.vertices[out.mesh.faces].mean(axis=1) - BUMP, axis=1) < 20.0
    assert not out.copied[own].any()


def test_guesses_are_carried_over() -> None:
    mesh = barrel()
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    spot = BUMP * [1, -1, 1]
    guessed = np.linalg.norm(middle - spot, axis=1) < 10.0
    out = copied_side(mesh, upright(), "left", guessed=guessed)
    after = out.mesh.vertices[out.mesh.faces].mean(axis=1)
    assert np.array_equal(
        out.guessed[out.copied], np.linalg.norm(after - BUMP, axis=1)[out.copied] < 10.0
    )
    assert out.guessed.sum() == 2 * guessed.sum()


def test_copying_twice_is_copying_once() -> None:
    once = copied_side(barrel(noise_mm=0.05), upright(), "left")
    twice = copied_side(once.mesh, upright(), "left")
    assert len(twice.mesh.faces) == len(once.mesh.faces)
    assert (
        np.abs(np.sort(twice.mesh.vertices[:, 0]) - np.sort(once.mesh.vertices[:, 0])).max() < 1e-3
    )


def without(mesh: TriMesh, place: FloatArray, radius_mm: float) -> TriMesh:
    away = np.linalg.norm(mesh.vertices - place, axis=1)
    return part_of_mesh(mesh, np.flatnonzero((away > radius_mm)[mesh.faces].all(axis=1)))[0]


def test_a_side_with_nothing_on_it_is_refused() -> None:
    mesh = barrel()
    half = part_of_mesh(mesh, np.flatnonzero((mesh.vertices[mesh.faces][..., 1] < 4).all(axis=1)))[
        0
    ]
    with pytest.raises(SideMissingError) as caught:
        copied_side(half, upright(), "left")
    assert (caught.value.side, caught.value.share < 0.05) == ("left", True)
    out = copied_side(half, upright(), "right")
    assert is_sound(out)


def test_a_zone_off_the_tank_is_refused() -> None:
    with pytest.raises(PlaceOffTankError) as caught:
        copied_side(barrel(), upright(), "left", odd=[zone(np.array([60.0, 0.0, 120.0]), 20.0)])
    assert caught.value.off_mm == pytest.approx(40.0, abs=0.1)


def test_zones_that_contradict_each_other_are_refused() -> None:
    pair = [zone(BUMP, 24.0, "left"), zone(BUMP * [1, -1, 1] + [10, 0, 0], 20.0, "right")]
    with pytest.raises(ZonesClashError) as caught:
        copied_side(barrel(), upright(), "left", zones=pair)
    assert np.allclose(caught.value.other, BUMP)


def test_a_zone_over_torn_metal_is_refused() -> None:
    mesh = barrel()
    rng = np.random.default_rng(5)
    ring = np.abs(np.linalg.norm(mesh.vertices - BUMP, axis=1) - 32.0) < 14.0
    torn = ring & (rng.uniform(size=len(ring)) < 0.4)
    torn_mesh = part_of_mesh(mesh, np.flatnonzero(~torn[mesh.faces].any(axis=1)))[0]
    with pytest.raises(PlaceNotJoinedError) as caught:
        copied_side(torn_mesh, upright(), "right", zones=[zone(BUMP, 20.0, "left")])
    assert caught.value.radius_mm == 20.0


def test_it_tells_how_far_it_is_and_stops_when_asked() -> None:
    told: list[float] = []
    zones = [zone(BUMP, 24.0, "right")]
    copied_side(
        barrel(), upright(), "left", zones=zones, report=lambda done, stage: told.append(done)
    )
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 4

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        copied_side(barrel(), upright(), "left", zones=zones, report=stop)
