"""Flanges turned on a curved line, against the shop's closed forms for a stiff web.

A web of root radius R in plan carries a flange of flat width h, turned down by an angle. Closed
forms (own derivation from volume kept; the axisymmetric model is that of N. M. Wang and M. L.
Wenner, International Journal of Mechanical Sciences 16 (1974) 135, and R. K. Dudra and S. K. Shah,
Journal of Materials Shaping Technology 6 (1988) 91, cited from memory):

- hoop only, the width kept: at the lip ln((R -+ h cos a) / (R -+ h)), minus where the line is
  concave (the lip is stretched), plus where it is convex (it is shrunk);
- width free, only hoop stress: final height at 90 degrees 2/3 R (1 - (1 - h/R)^1.5) where stretched
  and 2/3 R ((1 + h/R)^1.5 - 1) where shrunk, lip thickness sqrt((R -+ h) / R).

Both leave out two things that the least work has: a curved flange pulls on its root, and the web
gives. The first is of second order in h / R, the second of first order; so where the web is made
stiff the forms must be met with order 2, and with an ordinary web with order 1 and from below.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work, flatten, principal_stretches
from geometry.blank.elements import Elements
from geometry.blank.minimise import minimise
from geometry.blank.stiffness import StiffnessSolver
from geometry.mesh import TriMesh
from tests.bodies import ring_of_revolution
from tests.convergence import observed_order
from tests.validation.rings import at_the_edge

MISES = Work("von_mises", "formed")
AROUND, ACROSS = 6, 10  # places around a collar for each across it; cells across a pan's wall
TIPPED = [
    # R, h, log strain at the lip of a flange at 90 degrees: stretched, shrunk
    (100.0, 10.0, 0.105361, -0.095310),
    (50.0, 10.0, 0.223144, -0.182322),
    (30.0, 12.0, 0.510826, -0.336472),
    (200.0, 15.0, 0.077962, -0.072321),
]


def _stretched_height(slim: float) -> float:
    """Return the height over R of a stretched flange of flat width slim R, only hoop stress."""
    return 2.0 / 3.0 * (1.0 - float((1.0 - slim) ** 1.5))


def _shrunk_height(slim: float) -> float:
    return 2.0 / 3.0 * (float((1.0 + slim) ** 1.5) - 1.0)


def _collar(slim: float, across: int) -> tuple[TriMesh, FloatArray]:
    """Return a collared hole, root radius 1, and the radii of its blank by the closed form."""
    height = _stretched_height(slim)
    web = [1.0]
    while web[-1] < 3.0:
        web.append(web[-1] + height / across * 1.15 ** len(web))
    z = np.concatenate([np.linspace(-height, 0.0, across + 1), np.zeros(len(web) - 1)])
    r = np.concatenate([np.ones(across), web])
    lip_to_root = np.linspace(1.0 - slim, 1.0, across + 1)
    return ring_of_revolution(r, z, AROUND * across), np.concatenate([lip_to_root, web[1:]])


@cache
def _blank_of_collar(slim: float, web_stiffness: float, across: int) -> FloatArray:
    """Return lip strain, flat width and lip thickness of the least-work blank."""
    mesh, radii = _collar(slim, across)
    around = AROUND * across
    phi = 2.0 * np.pi * np.arange(around)[:, None] / around
    start = np.stack([radii * np.cos(phi), radii * np.sin(phi)], axis=2).reshape(-1, 2)
    elements = Elements.of(mesh)
    in_web = (mesh.vertices[mesh.faces][:, :, 2] > -1e-12).all(axis=1)
    elements = replace(elements, areas=elements.areas * np.where(in_web, web_stiffness, 1.0))
    found = minimise(elements, MISES, start, StiffnessSolver(elements, start))
    assert found.converged
    lay = found.flat_vertices.reshape(around, len(radii), 2)
    away = np.linalg.norm(lay - lay.mean(axis=(0, 1)), axis=2).mean(axis=0)
    thickness = elements.strained(found.flat_vertices).s.prod(axis=1)
    bands = thickness.reshape(2 * around, len(radii) - 1).mean(axis=0)
    return np.array([np.log(1.0 / away[0]), away[across] - away[0], at_the_edge(bands[::-1])])


def _stiff(slim: float) -> FloatArray:
    """Return the same three on a web ten thousand times as thick, at no triangle size."""
    coarse, fine = (_blank_of_collar(slim, 1e4, across) for across in (8, 16))
    return fine + (fine - coarse) / 3.0


def _blank_of_shrunk(slim: float, angle: float, height: float) -> dict[str, float]:
    """Return the same for a disc of radius 1 whose edge is turned down: a shallow pan.

    A small hole in the middle, left open, lets its places stand in rows.
    """
    steps = [height / ACROSS]
    while sum(steps) < 0.9:
        steps.append(1.2 * steps[-1])
    disc = 1.0 - np.cumsum(steps)[::-1] * 0.9 / sum(steps)
    out = height * np.arange(ACROSS + 1) / ACROSS
    r = np.concatenate([disc, 1.0 + out * np.cos(angle)])
    z = np.concatenate([np.zeros(len(disc)), -out * np.sin(angle)])
    flat = flatten(ring_of_revolution(r, z, AROUND * ACROSS), MISES, open_holes=True)
    assert flat.converged
    lay = flat.flat_vertices.reshape(-1, len(r), 2)
    away = np.linalg.norm(lay - lay.mean(axis=(0, 1)), axis=2).mean(axis=0)
    bands = flat.thickness.reshape(-1, len(r) - 1).mean(axis=0)
    return {
        "strain": float(np.log(r[-1] / away[-1])),
        "width": float(away[-1] - away[len(disc)]),
        "thickness": at_the_edge(bands),
    }


def test_the_closed_forms_give_the_handbook_figures() -> None:
    """Figures of the formulas as the trade tabulates them: R 50, h 10 and three more; a hole of 40
    with a collar of 50; turned 30, 45, 60, 90 degrees.
    """
    for R, h, stretched, shrunk in TIPPED:
        assert np.log(R / (R - h)) == pytest.approx(stretched, abs=5e-7)
        assert np.log(R / (R + h)) == pytest.approx(shrunk, abs=5e-7)
    turned = np.log((50 - 10 * np.cos(np.radians([30, 45, 60, 90]))) / 40)
    assert turned == pytest.approx([0.032945, 0.070667, 0.117783, 0.223144], abs=5e-7)
    assert 50 * _stretched_height(0.2) == pytest.approx(9.481942, abs=5e-7)
    assert 50 * _shrunk_height(0.2) == pytest.approx(10.484471, abs=5e-7)


@pytest.mark.parametrize("slim", [0.2, 0.1, 0.075, 0.05])
def test_a_collar_on_a_stiff_web_meets_the_closed_forms(slim: float) -> None:
    """Web ten thousand times as thick: lip strain ln(R / (R - h)), flat width h, lip thickness
    sqrt((R - h) / R), each to a part of (h/R)^2.

    Rows: R 50, h 10 (and a hole of 40 with a collar of 50); R 100, h 10; R 200, h 15; R 200, h 10.
    """
    strain, width, thickness = _stiff(slim)
    assert strain == pytest.approx(-np.log(1.0 - slim), rel=0.5 * slim**2)
    assert width == pytest.approx(slim, rel=0.4 * slim**2)
    assert thickness == pytest.approx(np.sqrt(1.0 - slim), rel=0.1 * slim**2)
    assert thickness == pytest.approx(np.exp(-0.5 * strain), rel=1e-6)  # its own edge's ratio


@pytest.mark.parametrize("kind", [0, 1], ids=["lip strain", "flat width"])
def test_a_collar_on_a_stiff_web_nears_the_closed_form_with_order_two(kind: int) -> None:
    """Over h / R; the third order still shows at h / R = 0.4: the order seen is a little more."""

    def error(slim: float) -> float:
        told = -np.log(1.0 - slim) if kind == 0 else slim
        return float(abs(_stiff(slim)[kind] / told - 1.0))

    assert observed_order(error, [0.4, 0.2, 0.1]) == pytest.approx(2.3, abs=0.35)


def test_an_ordinary_web_gives_to_the_first_order() -> None:
    """The lip is stretched less than the closed form says, by about 0.9 h/R of it."""

    def error(slim: float) -> float:
        short = 1.0 + float(_blank_of_collar(slim, 1.0, 10)[0]) / float(np.log(1.0 - slim))
        assert short > 0.0
        return short

    assert observed_order(error, [0.2, 0.1, 0.05]) == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize("degrees", [30, 45, 60, 90])
def test_a_shrunk_flange_nears_the_closed_form(degrees: int) -> None:
    """A disc with its edge turned down: strain at the lip ln((R + h cos a) / (R + h)), less what
    the disc gives, to the first order in h / R; the lip's thickness by its own edge's ratio.
    """
    angle = float(np.radians(degrees))

    def error(slim: float) -> float:
        height = _shrunk_height(slim) if degrees == 90 else slim
        found = _blank_of_shrunk(slim, angle, height)
        told = np.log((1.0 + slim * np.cos(angle)) / (1.0 + slim))
        assert told < found["strain"] < 0.0
        assert found["thickness"] == pytest.approx(
            np.exp(-0.5 * found["strain"]), rel=5e-4
        )  # 60 chords
        assert found["width"] == pytest.approx(slim, rel=0.2 * slim)
        return float(1.0 - found["strain"] / told)

    assert observed_order(error, [0.1, 0.05, 0.025]) == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize(
    ("e1", "e2", "equivalent"), [(0.05, 0.05, 0.1), (0.1, -0.05, 0.1), (0.1, 0.0, 0.115470)]
)
def test_thickness_and_equivalent_strain_of_a_stretched_sheet(
    e1: float, e2: float, equivalent: float
) -> None:
    """A square drawn out by e1 and e2: t = t0 exp(-e1 - e2), eps^2 = 4/3 (e1^2 + e1 e2 + e2^2).

    Source: incompressible sheet in plane stress, as in any metal-forming text (from memory).
    """
    flat = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    formed = np.column_stack([flat * np.exp([e1, e2]), np.zeros(3)])
    larger, smaller = principal_stretches(formed, flat, np.array([[0, 1, 2]]))[0]
    assert 1.6 / (larger * smaller) == pytest.approx(1.6 * np.exp(-e1 - e2), rel=1e-12)
    a, b = np.log([larger, smaller])
    assert np.sqrt(4.0 / 3.0 * (a * a + a * b + b * b)) == pytest.approx(equivalent, abs=5e-7)


def test_thickness_example() -> None:
    """Strains 0.05 and 0.03 on a sheet of 1.6: 1.476986 left."""
    flat = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    formed = np.column_stack([flat * np.exp([0.05, 0.03]), np.zeros(3)])
    left = 1.6 / principal_stretches(formed, flat, np.array([[0, 1, 2]])).prod()
    assert left == pytest.approx(1.476986, abs=5e-7)
