"""Domes and saddles of constant crown, against one-dimensional solutions of the same least work.

The rotationally symmetric problem was solved apart from this program by two independent methods
(shooting of the Euler-Lagrange equation, and a polynomial Ritz method with exact Hessian), which
agree to 1e-14: own one-dimensional computation, kept in caps_and_saddles.csv, unit sphere or
pseudosphere, log strains flat over formed. `no_hoop` and `no_thickness` are the fractions of the
radius where the rings keep their length and the sheet its thickness; `energy` is the integral of
eps^2 over 2 pi. A.B. Airy's minimum-error projection (1861) bounds the same problem for another
measure and comes from an outside library, PROJ, through pyproj.
"""

from functools import cache

import numpy as np
import pytest
from pyproj import Proj

from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, Work, flatten
from geometry.blank.elements import Elements
from tests.bodies import dome, hyperbolic_saddle
from tests.convergence import extrapolated, observed_order
from tests.validation.figures import figures, numbers
from tests.validation.rings import (
    at_the_edge,
    between_rings,
    hoop_strains,
    ring_count,
    ring_radii,
)

HENCKY, MISES = Work("hencky", "formed"), Work("von_mises", "formed")
ROWS = figures("caps_and_saddles")
NAMES = [" ".join(row[key] for key in ("body", "measure", "weight", "degrees")) for row in ROWS]

# How far the value extrapolated from 16 and 32 rings may be from the one-dimensional one. Radii:
# what the table's rounding and the next order leave. The middle strain is read on the six faces
# about the top, whose error is not purely of the second order. The two crossings are read between
# rings, and jump with the ring they fall in: a parabola's sag over one ring, 1/8 of 1/32 squared.
ABSOLUTE = {
    "radius": 1e-6,
    "radius_quarter": 3e-7,
    "radius_half": 3e-7,
    "radius_three_quarters": 4e-7,
    "edge_hoop": 1.5e-6,
    "edge_radial": 1.2e-5,
    "no_hoop": 2e-4,
    "no_thickness": 3e-4,
}
RELATIVE = {"centre": 1.5e-3, "energy": 1e-4}


@cache
def _blank(body: str, degrees: float, work: Work, rings: int) -> FlatPanel:
    make = {"cap": dome, "saddle": hyperbolic_saddle}[body]
    return flatten(make(1.0, float(np.radians(degrees)), rings), work)


def _crossing(values: FloatArray, at: FloatArray) -> float:
    """Return where the values first change sign, on a straight line between two of them."""
    k = int(np.flatnonzero(np.diff(np.sign(values)))[0])
    return float(at[k] - values[k] * (at[k + 1] - at[k]) / (values[k + 1] - values[k]))


def _readings(flat: FlatPanel, body: str) -> dict[str, float]:
    """Return what the table's columns name, read from a blank."""
    rings = ring_count(flat)
    radii, hoop = ring_radii(flat), hoop_strains(flat)
    fraction = np.arange(1, rings + 1) / rings
    # At a dome's edge the larger stretch is along the radius, at a saddle's the smaller.
    radial = between_rings(flat, -np.log(flat.stretches[:, 0 if body == "cap" else 1]))
    thicker = between_rings(flat, np.log(flat.thickness))
    return {
        "centre": float(-np.log(flat.stretches[(flat.faces == 0).any(axis=1)]).mean()),
        "edge_radial": at_the_edge(radial),
        "edge_hoop": float(hoop[-1]),
        "radius": float(radii[-1]),
        "radius_quarter": float(radii[rings // 4]),
        "radius_half": float(radii[rings // 2]),
        "radius_three_quarters": float(radii[3 * rings // 4]),
        "no_hoop": _crossing(hoop, fraction),
        "no_thickness": _crossing(thicker, fraction - 0.5 / rings),
        "energy": flat.energy / np.pi,  # the table counts eps^2, this program eps^2 / 2
    }


def _work(row: dict[str, str]) -> Work:
    return Work(row["measure"], row["weight"])  # type: ignore[arg-type]


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_domes_and_saddles_agree_with_the_one_dimensional_solution(row: dict[str, str]) -> None:
    """Radius, its quarter points, strains, where they change sign, and the work itself."""
    told = numbers(row)
    coarse, fine = (_blank(row["body"], told["degrees"], _work(row), k) for k in (16, 32))
    assert coarse.converged
    assert fine.converged
    one, other = _readings(coarse, row["body"]), _readings(fine, row["body"])
    for name, limit in ABSOLUTE.items():
        assert extrapolated(one[name], other[name]) == pytest.approx(told[name], abs=limit), name
    for name, limit in RELATIVE.items():
        assert extrapolated(one[name], other[name]) == pytest.approx(told[name], rel=limit), name
    assert other["energy"] > told["energy"]  # fewer freedoms than the surface has


@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if (row["body"], row["degrees"]) in {("cap", "60"), ("saddle", "45")}],
    ids=lambda row: f"{row['body']} {row['measure']} {row['weight']}",
)
@pytest.mark.parametrize(
    ("name", "limit"),
    [
        ("radius", 0.1),
        ("radius_half", 0.1),
        ("edge_hoop", 0.1),
        ("edge_radial", 0.2),
        ("energy", 0.1),
    ],
)
def test_what_is_read_converges_with_order_two(
    row: dict[str, str], name: str, limit: float
) -> None:
    """Linear triangles: place to the second order, strain too where neighbours balance.

    The strain along the radius at the edge is read by a parabola over three rings, whose own error
    is of the third order: it blurs the slope on the coarsest mesh.
    """
    told = numbers(row)

    def error(size: float) -> float:
        flat = _blank(row["body"], told["degrees"], _work(row), round(1 / size))
        return abs(_readings(flat, row["body"])[name] - told[name])

    assert observed_order(error, [1 / 8, 1 / 16, 1 / 32]) == pytest.approx(2.0, abs=limit)


def _airy(degrees: float, colatitude: FloatArray, longitude: FloatArray) -> FloatArray:
    proj = Proj(f"+proj=airy +lat_0=90 +lat_b={90 - degrees} +R=1")
    x, y = proj(longitude, 90.0 - colatitude)
    return np.stack([x, y], axis=1)


@pytest.mark.parametrize("degrees", [10, 20])
def test_shallow_caps_meet_airys_projection(degrees: int) -> None:
    """Airy's minimum-error projection, computed by PROJ, is the limit of every one of these works
    for shallow caps; the radii differ by 0.06 theta^4 of themselves (one-dimensional solution).
    """
    x, y = _airy(degrees, np.array([degrees * 1.0]), np.zeros(1))[0]
    theta = np.radians(degrees)
    for work in (HENCKY, MISES):
        radius = extrapolated(
            *(float(ring_radii(_blank("cap", degrees, work, k))[-1]) for k in (16, 32))
        )
        assert radius == pytest.approx(np.hypot(x, y), abs=0.06 * theta**4 * radius)


@pytest.mark.parametrize("degrees", [20, 30, 45, 60])
def test_airys_projection_costs_more_work_and_less_of_its_own_error(degrees: int) -> None:
    """PROJ lays the same dome by Airy's rule, the least sum of (s - 1)^2 over the formed area.

    So its layout has more work than the blank, and the blank more of Airy's error than it: both
    ways, for both measures, on the same triangles.
    """
    mesh = dome(1.0, float(np.radians(degrees)), 32)
    x, y, z = mesh.vertices.T
    elements = Elements.of(mesh)
    airy = elements.strained(
        _airy(degrees, np.degrees(np.arccos(np.clip(z, -1, 1))), np.degrees(np.arctan2(y, x)))
    ).s

    def airys_error(s: FloatArray) -> float:
        return float(elements.areas @ ((s - 1.0) ** 2).sum(axis=1))

    for work in (HENCKY, MISES):
        flat = _blank("cap", degrees, work, 32)
        assert elements.energy(work, airy) > flat.energy * (1.0 + 1e-5)
        assert airys_error(1.0 / flat.stretches) > airys_error(airy)


@pytest.mark.parametrize("body", ["cap", "saddle"])
@pytest.mark.parametrize(("work", "nu"), [(HENCKY, 0.0), (MISES, 0.5)], ids=["hencky", "mises"])
def test_shallow_panels_meet_the_closed_form(body: str, work: Work, nu: float) -> None:
    """Disk of crown K and radius a, linear theory (own derivation, Airy's stress function):
    S_r = -K/16 (a^2 - r^2), S_t = -K/16 (a^2 - 3 r^2); ln s_r = S_r - nu S_t, ln s_t likewise.

    So the edge hoop is K a^2 / 8, the edge radial -nu K a^2 / 8, the middle -(1 - nu) K a^2 / 16,
    the radius a (1 - K a^2 / 24). The next order is K a^2 of it: errors fall with a^4.
    """
    crown = 1.0 if body == "cap" else -1.0

    def readings(a: float) -> dict[str, float]:
        one, other = (
            _readings(_blank(body, float(np.degrees(a)), work, k), body) for k in (16, 32)
        )
        return {name: extrapolated(one[name], other[name]) for name in one}

    def told(a: float) -> dict[str, float]:
        strain = crown * a**2
        return {
            "centre": -(1.0 - nu) * strain / 16.0,
            "edge_hoop": strain / 8.0,
            "edge_radial": -nu * strain / 8.0,
            "radius": a * (1.0 - strain / 24.0),
        }

    for name, power in (("edge_hoop", 4.0), ("radius", 5.0)):

        def error(a: float, name: str = name) -> float:
            return abs(readings(a)[name] - told(a)[name])

        assert observed_order(error, [0.8, 0.4, 0.2]) == pytest.approx(power, abs=0.4)
    shallow, limits = readings(0.1), told(0.1)
    for name in ("edge_hoop", "radius", "centre"):
        assert shallow[name] == pytest.approx(limits[name], rel=5e-3)
    assert shallow["edge_radial"] == pytest.approx(limits["edge_radial"], abs=5e-3 * 0.1**2 / 8)
    assert shallow["no_hoop"] == pytest.approx(3**-0.5 if nu == 0.0 else 5**-0.5, rel=2e-3)
    assert shallow["no_thickness"] == pytest.approx(2**-0.5, rel=2e-3)


def test_shallow_example_in_millimetres() -> None:
    """Sphere R 1000, a = 100: edge shrink 0.125 per cent, centre stretch 0.0625 (Hencky) or
    0.03125 (von Mises), by the same closed form.
    """
    mesh = dome(1000.0, 0.1, 30)
    for work, centre in ((HENCKY, -0.000625), (MISES, -0.0003125)):
        flat = flatten(mesh, work)
        assert np.log(flat.rim_blank / flat.rim_formed) == pytest.approx(0.00125, rel=0.01)
        assert _readings(flat, "cap")["centre"] == pytest.approx(centre, rel=0.01)


def test_saddles_and_domes_have_opposite_signs() -> None:
    """A dome's edge is shrunk and its centre stretched; a saddle the reverse."""
    cap, saddle = (_blank(body, 30, Work(), 32) for body in ("cap", "saddle"))
    assert cap.rim_formed < cap.rim_blank
    assert saddle.rim_formed > saddle.rim_blank
    assert cap.thickness[0] < 1.0 < saddle.thickness[0]
