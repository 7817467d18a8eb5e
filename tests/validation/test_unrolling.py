"""Sheets that unroll, against their textbook lengths.

Plain geometry: a frustum's slant and sector, a cone's sector, an oblique cone's true lengths and
lateral area. The worked figures for the oblique cone (base radius 50, apex 40 off centre, height
100) are those a layout by triangulation gives; computed from the formulas named in each check.
"""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work, flatten
from geometry.mesh import TriMesh
from tests.bodies import cone_sheet, cylinder_sheet, mesh_of, square_to_round, tangent_sheet
from tests.convergence import extrapolated, observed_order

WORKS = [Work(m, w) for m in ("von_mises", "hencky") for w in ("blank", "formed")]


def _lengths(flat: FloatArray, path: list[int]) -> float:
    return float(np.linalg.norm(np.diff(flat[path], axis=0), axis=1).sum())


@pytest.mark.parametrize("work", WORKS, ids=str)
@pytest.mark.parametrize("around", [8, 33, 120])
def test_cylinder_is_exact(work: Work, around: int) -> None:
    """Half-round R 100 by 250: each facet is 2 R sin(pi / 2 n) wide, so the sheet is n of them."""
    flat = flatten(cylinder_sheet(100.0, np.pi, 250.0, around, 20), work)
    width = around * 200.0 * np.sin(np.pi / (2 * around))
    assert sorted(flat.blank_size) == pytest.approx(sorted([250.0, width]), abs=1e-6)
    assert flat.blank_area == pytest.approx(250.0 * width, rel=1e-10)


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_cone_frustum_is_exact_and_closes_on_the_handbook_sector(work: Work) -> None:
    """R 100 to 60, height 120: slant 126.491106, radii 316.227766 and 189.736660.

    Of n facets each chord 2 R sin(pi / n) subtends 2 asin(chord / 2 L) of the layout circle of
    radius L; as n grows the sector tends to 360 R / L = 113.841996 degrees.
    """
    around, along = 360, 4
    mesh = cone_sheet(100.0, 60.0, 120.0, 2.0 * np.pi, (around, along))
    flat = flatten(mesh, work)
    outer = np.arange(around + 1) * (along + 1)
    lay = flat.flat_vertices
    slant = np.linalg.norm(lay[outer] - lay[outer + along], axis=1)
    assert slant == pytest.approx(np.full(around + 1, 126.49110640673517), abs=1e-6)
    apex = lay[0] + (lay[along] - lay[0]) * (100.0 / 40.0)
    radius = np.linalg.norm(lay[outer] - apex, axis=1)
    assert radius == pytest.approx(np.full(around + 1, 316.22776601683796), abs=1e-6)
    first, last = lay[0] - apex, lay[outer[-1]] - apex
    per_facet = 2.0 * np.arcsin(np.sin(np.pi / around) * 100.0 / 316.22776601683796)
    turned = np.degrees(around * per_facet)
    between = np.degrees(np.arccos(first @ last / (radius[0] * radius[-1])))
    assert between == pytest.approx(turned, abs=1e-6)
    assert turned == pytest.approx(113.841996, abs=2e-3)  # facets: error (pi / n)^2 / 6 of it
    assert flat.blank_area == pytest.approx(63581.3649, rel=2e-5)  # by facets as well


def test_cone_sector() -> None:
    """R 50, height 120: slant 130, sector 138.461538 degrees; area pi R s = 20 420.352 mm2.

    Cut open from the apex; the facets' area is short by (2 pi / n)^2 / 6 of it at most.
    """
    around = 240
    ring = 50.0 * np.stack(
        [np.cos(2 * np.pi * np.arange(around + 1) / around),
         np.sin(2 * np.pi * np.arange(around + 1) / around),
         np.zeros(around + 1)], axis=1,
    )  # fmt: skip
    vertices = np.concatenate([[[0.0, 0.0, 120.0]], ring])
    faces = np.stack(
        [np.zeros(around, int), np.arange(1, around + 1), np.arange(2, around + 2)], axis=1
    )
    flat = flatten(TriMesh(vertices, faces.astype(np.int64)))
    spokes = flat.flat_vertices[1:] - flat.flat_vertices[0]
    assert np.linalg.norm(spokes, axis=1) == pytest.approx(np.full(around + 1, 130.0), abs=1e-6)
    angle = np.unwrap(np.arctan2(spokes[:, 1], spokes[:, 0]))
    short = (np.pi / around) ** 2 / 6 * (1 - (50 / 130) ** 2)  # of the sector, by chords
    assert np.degrees(angle[-1] - angle[0]) == pytest.approx(138.461538 * (1 - short), abs=1e-6)
    assert flat.blank_area == pytest.approx(np.pi * 50.0 * 130.0, rel=2e-4)


def _oblique_cone(chords: int) -> TriMesh:
    phi = 2 * np.pi * np.arange(chords + 1) / chords
    ring = [[50 * np.cos(p), 50 * np.sin(p), 0.0] for p in phi]
    return mesh_of([[40.0, 0.0, 100.0], *ring], [[0, k, k + 1] for k in range(1, chords + 1)])


def test_oblique_cone_has_the_true_lengths_of_its_triangulation() -> None:
    """Shortest and longest generator and the side one: 100.498756, 134.536240, 118.743421."""
    flat = flatten(_oblique_cone(48))
    lengths = np.linalg.norm(flat.flat_vertices[1:] - flat.flat_vertices[0], axis=1)
    assert lengths[0] == pytest.approx(100.498756, abs=1e-6)
    assert lengths[24] == pytest.approx(134.536240, abs=1e-6)
    assert lengths[12] == pytest.approx(118.743421, abs=1e-6)
    assert flat.converged


@pytest.mark.parametrize(
    ("chords", "ratio"), [(12, 0.982609), (24, 0.995608), (48, 0.998899), (96, 0.999725)]
)
def test_oblique_cone_by_chords_falls_short_as_known(chords: int, ratio: float) -> None:
    """Lateral area 18 011.116494 mm2 by quadrature; n chords give the ratios named."""
    flat = flatten(_oblique_cone(chords))
    assert flat.blank_area / 18011.116494 == pytest.approx(ratio, abs=1e-6)


def test_oblique_cone_opens_by_the_known_angle() -> None:
    """149.407440 degrees, approached from below with the square of the chord."""
    lay = flatten(_oblique_cone(96)).flat_vertices
    spokes = lay[1:] - lay[0]
    angle = np.unwrap(np.arctan2(spokes[:, 1], spokes[:, 0]))
    assert np.degrees(angle[-1] - angle[0]) == pytest.approx(149.407440, abs=0.05)


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_tapered_half_tunnel(work: Work) -> None:
    """Half of a right cone, radius 25 to 20 over 300: slant 300.04166, layout radius 1500.2083,
    sector 2.999583 degrees, edge arcs 78.53982 and 62.83185.

    Facets: each chord 2 r sin(pi / 2 n) lies on its layout circle, short by (pi / 2 n)^2 / 6.
    """
    around, along = 90, 12
    flat = flatten(cone_sheet(25.0, 20.0, 300.0, np.pi, (around, along)), work)
    lay = flat.flat_vertices.reshape(around + 1, along + 1, 2)
    slant = np.linalg.norm(lay[:, -1] - lay[:, 0], axis=1)
    assert slant == pytest.approx(np.full(around + 1, 300.0416637), abs=1e-6)
    apex = lay[0, 0] + 5.0 * (lay[0, -1] - lay[0, 0])
    reach = np.linalg.norm(lay[:, 0] - apex, axis=1)
    assert reach == pytest.approx(np.full(around + 1, 1500.2083183), abs=1e-5)
    first, last = lay[0, 0] - apex, lay[-1, 0] - apex
    sector = np.arctan2(abs(first[0] * last[1] - first[1] * last[0]), first @ last)
    facets = (np.pi / (2.0 * around)) ** 2 / 6.0
    assert np.degrees(sector) == pytest.approx(2.999583 * (1.0 - facets), abs=1e-6)
    for edge, arc in ((0, 78.53982), (-1, 62.83185)):
        length = np.linalg.norm(np.diff(lay[:, edge], axis=0), axis=1).sum()
        assert length == pytest.approx(arc * (1.0 - facets), abs=1e-5)


def _helix_radius(cells: int) -> tuple[float, float]:
    """Return the radius the helix itself would lay out to, and how round the inner edge is."""
    inner = 6.0
    flat = flatten(tangent_sheet(20.0, 5.0, 2.0, (inner, 21.0), (3 * cells, cells)))
    edge = flat.flat_vertices.reshape(3 * cells + 1, cells + 1, 2)[:, 0]
    rows = np.column_stack([2.0 * edge, np.ones(len(edge))])
    x, y, rest = np.linalg.lstsq(rows, (edge**2).sum(axis=1), rcond=None)[0]
    away = np.linalg.norm(edge - [x, y], axis=1)
    return float(np.sqrt(rest + x * x + y * y - inner**2)), float(np.ptp(away))


def test_a_helix_tangents_lay_out_to_a_circle() -> None:
    """Sheet swept by the tangents of a helix of radius 20 that rises 5 per radian: the helix keeps
    its curvature a / (a^2 + b^2), so it would lay out to a circle of radius 425 / 20 = 21.25.

    The sheet begins 6 along the tangents, where triangles have room: circle of sqrt(21.25^2 + 6^2).
    """
    (coarse, _), (fine, roundness) = _helix_radius(12), _helix_radius(24)
    assert extrapolated(coarse, fine) == pytest.approx(21.25, abs=1e-5)
    assert roundness < 1e-6
    order = observed_order(
        lambda size: abs(_helix_radius(round(1 / size))[0] - 21.25), [1 / 6, 1 / 12, 1 / 24]
    )
    assert order == pytest.approx(2.0, abs=0.2)


def test_square_to_round_has_the_true_lengths_of_its_triangles() -> None:
    """Square 100 to round 60 across, 80 high, three chords a corner: from a corner to the round
    96.4365, 90.5645, 90.5645, 96.4365; altitude of a flat triangle 82.4621; chord 15.5291.

    Layout by triangulation as every sheet-metal text teaches it; figures by Pythagoras.
    """
    flat = flatten(square_to_round(100.0, 60.0, 80.0, 3))
    lay = flat.flat_vertices
    assert np.abs(flat.stretches - 1.0).max() < 1e-9
    for corner in range(4):
        spokes = np.linalg.norm(lay[3 * corner : 3 * corner + 4] - lay[14 + corner], axis=1)
        assert spokes == pytest.approx([96.4365, 90.5645, 90.5645, 96.4365], abs=5e-5)
    chords = np.linalg.norm(np.diff(lay[:13], axis=0), axis=1)
    assert chords == pytest.approx(np.full(12, 15.5291), abs=5e-5)
    for k in (0, 1):  # along the cut, the altitudes of the halved triangle
        altitude = np.linalg.norm(lay[12 * k] - lay[13 + 5 * k])
        assert altitude == pytest.approx(82.4621, abs=5e-5)


def test_middle_of_the_metal_half_round() -> None:
    """Rolled 1.6 mm sheet, outside R 100: net pi (100 - 0.8) = 311.6 mm, not 314.2."""
    flat = flatten(cylinder_sheet(100.0 - 0.8, np.pi, 50.0, 200, 4))
    assert max(flat.blank_size) == pytest.approx(311.6, abs=0.06)
