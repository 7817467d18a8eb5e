"""Every choice of work on rotation-symmetric panels, against a one-dimensional solution made here.

A panel of revolution lays out to circles: the blank is one function r(t) of the distance t along
the profile, and its work one integral over t of w(ln r', ln r / rho). Below, that integral is made
least by itself, on a fine line of its own, with the work's formula written out a second time and
its slopes taken by complex steps. It shares no code with the program, and covers what no table
does: bias and hardening on domes and saddles, and a profile that is neither sphere nor plane.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from scipy.linalg import solveh_banded

from geometry.arrays import FloatArray
from geometry.blank import Work, flatten
from geometry.mesh import TriMesh
from tests.bodies import disk_of_revolution, dome, hyperbolic_saddle
from tests.convergence import extrapolated
from tests.validation.rings import at_the_edge, between_rings, ring_radii

ComplexArray = np.ndarray[tuple[int, ...], np.dtype[np.complex128]]


def work_of(work: Work, e1: ComplexArray, e2: ComplexArray) -> ComplexArray:
    """Return the work per formed area at forming strains e1, e2, written out afresh."""
    f1, f2 = (e * np.exp(work.bias * np.tanh(e / 0.01)) for e in (e1, e2))
    cross = 4.0 / 3.0 if work.measure == "von_mises" else 1.0
    squared = cross * (f1 * f1 + f2 * f2) + (cross * f1 * f2 if cross > 1.0 else 0.0)
    n = work.hardening
    d = 0.0 if n == 1.0 else 1e-4
    w = ((squared + d * d) ** ((n + 1.0) / 2.0) - d ** (n + 1.0)) / (n + 1.0)
    if work.weight == "blank":
        w = w * np.exp(-e1 - e2)
    return np.asarray(w, np.complex128)


@dataclass(frozen=True)
class Line:
    """A profile cut into short pieces: distances along it, and how far from the axis.

    Attributes
    ----------
    t : (k + 1,)
        From the middle, 0 first.
    rho : (k,)
        Distance from the axis in the middle of each piece.
    """

    t: FloatArray
    rho: FloatArray


def _slopes(
    work: Work, line: Line, r: FloatArray
) -> tuple[float, FloatArray, tuple[FloatArray, FloatArray]]:
    """Return work over 2 pi, its slope by each r, and the second slopes (diagonal, beside it).

    First slopes by complex steps, exact to rounding; second slopes by differences of those.
    """
    length = np.diff(line.t)

    def pieces(a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        tiny = 1e-30
        found = []
        for da, db in ((1j * tiny, 0.0), (0.0, 1j * tiny)):
            along = np.log((b + db - a - da) / length)
            around = np.log(0.5 * (a + da + b + db) / line.rho)
            found.append(work_of(work, -along, -around) * line.rho * length)
        return found[0].real, found[0].imag / tiny, found[1].imag / tiny

    a, b = r[:-1], r[1:]
    value, by_a, by_b = pieces(a, b)
    step = 1e-6 * length
    _, up_aa, up_ab = pieces(a + step, b)
    _, down_aa, down_ab = pieces(a - step, b)
    _, _, up_bb = pieces(a, b + step)
    _, _, down_bb = pieces(a, b - step)
    slope = np.zeros(len(r))
    slope[:-1] += by_a
    slope[1:] += by_b
    diagonal = np.zeros(len(r))
    diagonal[:-1] += (up_aa - down_aa) / (2.0 * step)
    diagonal[1:] += (up_bb - down_bb) / (2.0 * step)
    return float(value.sum()), slope, (diagonal, (up_ab - down_ab) / (2.0 * step))


def _least(work: Work, line: Line, r: FloatArray) -> FloatArray:
    """Return r of least work, by Newton's steps with the second slopes made positive as needed."""
    value, slope, (diagonal, beside) = _slopes(work, line, r)
    for _ in range(200):
        if np.abs(slope[1:]).max() < 1e-12 * float((line.rho * np.diff(line.t)).sum()):
            break
        step = _downhill(slope[1:], diagonal[1:], beside[1:])
        share = 1.0
        while True:
            trial = r.copy()
            trial[1:] += share * step
            if np.all(np.diff(trial) > 0.0):
                new = _slopes(work, line, trial)
                if new[0] < value + 1e-15 * abs(value) or share < 1e-3:
                    break
            share *= 0.5
        r, (value, slope, (diagonal, beside)) = trial, new
    assert np.abs(slope[1:]).max() < 1e-9
    return r


def _downhill(slope: FloatArray, diagonal: FloatArray, beside: FloatArray) -> FloatArray:
    raised = 0.0
    while True:
        bands = np.stack([np.concatenate([[0.0], beside]), diagonal * (1.0 + raised)])
        try:
            step: FloatArray = -solveh_banded(bands, slope)
            return step
        except np.linalg.LinAlgError:
            raised = max(2.0 * raised, 1e-3)


@cache
def _bell() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (distance along, radius, height) of a bell: crown in the middle, a flared skirt."""
    u = np.linspace(0.0, 1.2, 100001)
    z = 0.45 * np.exp(-((u / 0.55) ** 2))
    speed = np.hypot(1.0, -2.0 * u / 0.55**2 * z)
    along = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(u))])
    return along, u, z


def _bell_of_rings(rings: int) -> TriMesh:
    along, u, z = _bell()
    at = np.linspace(0.0, along[-1], rings + 1)
    return disk_of_revolution(np.interp(at, along, u), np.interp(at, along, z))


BODIES: dict[str, tuple[float, Callable[[FloatArray], FloatArray], Callable[[int], TriMesh]]] = {
    # length of the profile, distance from the axis along it, the mesh of so many rings
    "dome": (np.pi / 4, np.sin, lambda rings: dome(1.0, np.pi / 4, rings)),
    "saddle": (np.pi / 4, np.sinh, lambda rings: hyperbolic_saddle(1.0, np.pi / 4, rings)),
    "dome 100": (np.radians(100), np.sin, lambda rings: dome(1.0, np.radians(100), rings)),
    "dome 130": (np.radians(130), np.sin, lambda rings: dome(1.0, np.radians(130), rings)),
    "saddle 55": (
        np.radians(55),
        np.sinh,
        lambda rings: hyperbolic_saddle(1.0, np.radians(55), rings),
    ),
    "bell": (float(_bell()[0][-1]), lambda t: np.interp(t, *_bell()[:2]), _bell_of_rings),
}


def _on_a_line(body: str, work: Work, pieces: int) -> FloatArray:
    """Return blank radius, thickness in the middle and at the edge, and the work."""
    reach, rho, _ = BODIES[body]
    t = np.linspace(0.0, reach, pieces + 1)
    line = Line(t, rho(0.5 * (t[1:] + t[:-1])))
    plain = replace(work, hardening=1.0, bias=0.0)
    steps = [Work("hencky", "formed"), Work("von_mises", "formed"), plain]
    steps += [replace(plain, bias=work.bias * k / 3.0) for k in (1, 2, 3) if work.bias != 0.0]
    harder = (0.8, 0.65, 0.5, 0.4, 0.3, 0.25)
    steps += [replace(work, hardening=n) for n in harder if work.hardening <= n]
    r = t
    for step in steps:
        r = _least(step, line, r)
    thickness = np.diff(r) / np.diff(t) * 0.5 * (r[1:] + r[:-1]) / line.rho
    value = 2.0 * np.pi * _slopes(work, line, r)[0]
    return np.array([r[-1], (r[1] / t[1]) ** 2, at_the_edge(thickness), value])


def _by_the_program(body: str, work: Work, rings: int) -> FloatArray:
    flat = flatten(BODIES[body][2](rings), work)
    assert flat.converged
    bands = between_rings(flat, flat.thickness)
    return np.array([ring_radii(flat)[-1], bands[0], at_the_edge(bands), flat.energy])


PLAIN = [
    Work(),
    Work("hencky", "formed"),
    Work(hardening=0.5),
    Work(hardening=0.25),
    Work("hencky", "blank", 0.5),
]
BIASED = [
    Work(bias=0.2),
    Work(bias=-0.1),
    Work("hencky", "formed", bias=0.3),
    Work("hencky", "formed", bias=-0.3),
    Work(hardening=0.5, bias=0.1),
]


def _named(work: Work) -> str:
    return f"{work.measure} {work.weight} {work.hardening} {work.bias}"


def test_the_line_gives_the_tables_figures() -> None:
    """The same line on a dome of 45 degrees gives what two other methods gave (test_caps)."""
    told = {Work("von_mises", "formed"): 0.76546179, Work("hencky", "blank"): 0.76418673}
    for work, radius in told.items():
        coarse, fine = (_on_a_line("dome", work, k)[0] for k in (150, 300))
        assert extrapolated(coarse, fine) == pytest.approx(radius, abs=1e-8)


@pytest.mark.parametrize(
    ("body", "work"),
    [
        pytest.param(
            body,
            work,
            id=f"{body} {_named(work)}",
            marks=[pytest.mark.slow] if work.hardening < 1.0 and body != "dome" else [],
        )
        for body in ("dome", "saddle", "bell")
        for work in [*PLAIN, *BIASED]
    ],
)
def test_every_work_agrees_with_the_line(body: str, work: Work) -> None:
    """Both extrapolated to no size: 150 and 300 pieces, 16 and 32 rings or half as many again.

    The middle is read on six faces, and the bell's crown is hardly wider than that. Hencky's edge
    has no strain along the radius, and bias turns within a strain of 0.01 of none: a layer thinner
    than the three rings that the edge is read from.
    """
    few = 24 if body == "bell" else 16
    told, found = (
        [extrapolated(*pair) for pair in zip(*two, strict=True)]
        for two in (
            (_on_a_line(body, work, 150), _on_a_line(body, work, 300)),
            (_by_the_program(body, work, few), _by_the_program(body, work, 2 * few)),
        )
    )
    assert found[0] == pytest.approx(told[0], rel=6e-6)
    assert found[1] == pytest.approx(told[1], rel=3e-3 if body == "bell" else 1e-4)
    hidden = work.measure == "hencky" and work.bias != 0.0
    assert found[2] == pytest.approx(told[2], rel=2e-3 if hidden else 2e-5)
    assert found[3] == pytest.approx(told[3], rel=1.5e-4)


@pytest.mark.parametrize(
    ("body", "degrees", "work"),
    [
        ("dome", 100, Work()),
        ("dome", 100, Work("hencky", "blank")),
        ("dome", 100, Work(hardening=0.5)),
        ("dome", 130, Work()),
        ("dome", 130, Work("hencky", "formed")),
        ("saddle", 55, Work()),
        ("saddle", 55, Work("hencky", "formed")),
    ],
    ids=lambda value: _named(value) if isinstance(value, Work) else str(value),
)
def test_deep_panels_agree_with_the_line(body: str, degrees: int, work: Work) -> None:
    """Domes closed in past the half ball, and a saddle as deep as its surface in space reaches."""
    deep = f"{body} {degrees}"
    told, found = (
        [extrapolated(*pair) for pair in zip(*two, strict=True)]
        for two in (
            (_on_a_line(deep, work, 150), _on_a_line(deep, work, 300)),
            (_by_the_program(deep, work, 24), _by_the_program(deep, work, 48)),
        )
    )
    assert found[0] == pytest.approx(told[0], rel=6e-6)
    assert found[1] == pytest.approx(told[1], rel=3e-4)
    assert found[2] == pytest.approx(told[2], rel=1e-3)
    assert found[3] == pytest.approx(told[3], rel=4e-5)
