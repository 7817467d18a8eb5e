"""Long bands with free long edges, well away from their ends, against solutions for no ends at all.

Straight bands: a band about a sphere's equator or a torus' outermost or innermost circle lays out
to a straight strip; the Euler-Lagrange equation then has a closed form (own derivation). Bands that
open to a ring sector: own one-dimensional computation (Ritz in Legendre polynomials, exact
Hessian) kept in long_bands.csv, per radian of longitude: how far the sector turns, its inner
radius, its width, flat over formed along both edges and the middle, across the middle, and the
integral of eps^2. Formed weight throughout. End effects die out within about one band width
(Saint-Venant); bands here are four widths long or more and are read in the middle.
"""

from functools import cache

import numpy as np
import pytest

from geometry.blank import FlatPanel, Measure, Work, flatten
from tests.bodies import band_of_revolution
from tests.convergence import extrapolated, observed_order
from tests.validation.figures import figures, numbers

MEASURES: tuple[Measure, ...] = ("hencky", "von_mises")
ROWS = figures("long_bands")
PROFILES: dict[str, tuple[float, float, float, float]] = {
    # centre and radius of the profile's circle, angles above the equator at its two ends, longitude
    "sphere colatitude 20 to 50": (0.0, 40.0, 70.0, 360.0),
    "sphere colatitude 40 to 70": (0.0, 20.0, 50.0, 280.0),
    "sphere colatitude 75 to 105": (0.0, -15.0, 15.0, 240.0),
    "torus 20 to 80": (3.0, 20.0, 80.0, 120.0),
    "torus 100 to 160": (3.0, 100.0, 160.0, 160.0),
}


Profile = tuple[float, float, float, float]


@cache
def _band(profile: Profile, measure: Measure, cells: int) -> FlatPanel:
    """Return the blank of a band whose profile is a circle of radius 1 about (ring, 0), degrees.

    Every 20 degrees of longitude hold the same number of cells, whatever the length, and twice as
    many where there are twice as many across.
    """
    ring, low, high, turn = profile
    angle = np.radians(np.linspace(low, high, cells + 1))
    reach = ring + np.cos(angle)
    per_20 = (
        cells
        // 8
        * 2
        * round(80.0 * float(ring + np.cos(np.radians(0.5 * (low + high)))) / (high - low))
    )
    flat = flatten(
        band_of_revolution(
            reach, np.sin(angle), float(np.radians(turn)), per_20 * round(turn / 20.0)
        ),
        Work(measure, "formed"),
    )
    assert flat.converged
    return flat


def _readings(flat: FlatPanel, cells: int, *, from_top: bool = False) -> dict[str, float]:
    """Return what the table's columns name, read about the middle of the band.

    Neighbouring places stand on different numbers of triangles, diagonals alternating: what runs
    across the band is read as a mean over an even and an odd line.
    """
    formed = flat.vertices.reshape(-1, cells + 1, 3)
    blank = flat.flat_vertices.reshape(-1, cells + 1, 2)
    if from_top:
        formed, blank = formed[:, ::-1], blank[:, ::-1]
    m, c = len(formed) // 2, cells // 2
    chord = np.linalg.norm(blank[m + 1] - blank[m - 1], axis=1)
    hoop = chord / np.linalg.norm(formed[m + 1] - formed[m - 1], axis=1)
    before, after = blank[m - 1, -1] - blank[m - 1, 0], blank[m + 1, -1] - blank[m + 1, 0]
    angle = abs(np.arctan2(before[0] * after[1] - before[1] * after[0], before @ after))
    angle *= np.sign(chord[-1] - chord[0])  # above 0 where the sector opens from start to end
    first, last = formed[m - 1, 0], formed[m + 1, 0]
    step = np.arctan2(first[0] * last[1] - first[1] * last[0], first[:2] @ last[:2])
    slants = np.linalg.norm(np.diff(blank[m - 1 : m + 2], axis=1), axis=2).sum(axis=1)
    across = np.linalg.norm(blank[m : m + 2, c + 1] - blank[m : m + 2, c - 1], axis=1)
    over = np.linalg.norm(formed[m, c + 1] - formed[m, c - 1])
    return {
        "turn": float(angle / step),
        "inner_radius": float(chord[0] / (2.0 * np.sin(angle / 2.0)))
        if abs(angle) > 1e-9
        else np.inf,
        "slant": float(slants @ [0.25, 0.5, 0.25]),
        "hoop_start": float(hoop[0]),
        "hoop_middle": float(hoop[c]),
        "hoop_end": float(hoop[-1]),
        "across_middle": float(across.mean() / over),
    }


def _extrapolated_readings(
    profile: Profile, measure: Measure, *, from_top: bool = False
) -> dict[str, float]:
    one, other = (
        _readings(_band(profile, measure, cells), cells, from_top=from_top) for cells in (16, 32)
    )
    return {
        name: extrapolated(one[name], other[name]) if np.isfinite(one[name]) else np.inf
        for name in one
    }


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['body']} {row['measure']}" for row in ROWS])
def test_bands_open_to_their_ring_sector(row: dict[str, str]) -> None:
    """Extrapolated from 16 and 32 cells across; the table has six to eight digits."""
    told = numbers(row)
    found = _extrapolated_readings(
        PROFILES[row["body"]],
        row["measure"],  # type: ignore[arg-type]
        from_top="sphere" in row["body"],
    )
    assert found["turn"] == pytest.approx(told["turn"], abs=4e-6)
    if np.isfinite(told["inner_radius"]):
        assert found["inner_radius"] == pytest.approx(told["inner_radius"], rel=5e-6)
    assert found["slant"] == pytest.approx(told["slant"], abs=2e-7)
    for name in ("hoop_start", "hoop_middle", "hoop_end", "across_middle"):
        assert found[name] == pytest.approx(told[name], abs=3e-6), name


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['body']} {row['measure']}" for row in ROWS])
def test_a_longer_band_costs_so_much_more_per_radian(row: dict[str, str]) -> None:
    """Two lengths differ by middle alone: the ends' share of the work cancels.

    Extrapolated from 8 and 16 cells across: (1/8)^4 is what the fourth order leaves.
    """
    told = numbers(row)
    ring, low, high, turn = PROFILES[row["body"]]
    per_radian = []
    for cells in (8, 16):
        short, long = (
            _band((ring, low, high, t), row["measure"], cells) for t in (turn, 1.5 * turn)
        )
        more = np.radians(0.5 * turn)
        per_radian.append(2.0 * (long.energy - short.energy) / more)  # the table counts eps^2
    assert extrapolated(*per_radian) == pytest.approx(told["energy"], rel=1.5e-3)


STRAIGHT = {
    # centre of the profile's circle, half its angle, longitude; stretch in the middle, at the edges
    "sphere 10": (0.0, 10.0, 160.0, (0.9949411, 1.0102897)),
    "sphere 15": (0.0, 15.0, 240.0, (0.9886683, 1.0235448)),
    "sphere 20": (0.0, 20.0, 320.0, (0.9799817, 1.0428747)),
    "sphere 30": (0.0, 30.0, 480.0, (0.9557788, 1.1036383)),
    "torus outside": (3.0, 40.0, 180.0, (0.980339, 1.041240)),
    "torus inside": (-3.0, 40.0, 240.0, (1.040226, 0.931286)),
}


@pytest.mark.parametrize(
    ("measure", "ring", "half", "turn", "hoop"),
    [
        pytest.param(
            measure,
            *row,
            id=f"{name} {measure}",
            marks=[pytest.mark.slow] if (k + list(MEASURES).index(measure)) % 2 else [],
        )
        for k, (name, row) in enumerate(STRAIGHT.items())
        for measure in MEASURES
    ],
)
def test_straight_bands_meet_the_closed_form(
    measure: Measure, ring: float, half: float, turn: float, hoop: tuple[float, float]
) -> None:
    """With rho the distance from the axis, every lengthwise fibre lays out to the same length L per
    radian: ln L is the mean of ln rho weighted by rho, for Hencky and von Mises alike; on a sphere
    ln L = ln cos b - 1 + ln tan(pi/4 + b/2) / sin b. Across, von Mises gives (L / rho)^(-1/2).
    Extrapolated from 16 and 32 cells across; a band 60 degrees wide keeps 2e-7
    of the fourth order.
    """
    middle, edge = hoop
    centre, low, high = (ring, -half, half) if ring >= 0.0 else (3.0, 180.0 - half, 180.0 + half)
    found = _extrapolated_readings((centre, low, high, turn), measure)
    nodes, weights = np.polynomial.legendre.leggauss(40)
    rho = centre + np.cos(np.radians(0.5 * (low + high) + half * nodes))
    length = float(np.exp((weights * rho) @ np.log(rho) / (weights @ rho)))
    if ring == 0.0:
        b = np.radians(half)
        told = np.log(np.cos(b)) - 1.0 + np.log(np.tan(np.pi / 4 + b / 2)) / np.sin(b)
        assert np.log(length) == pytest.approx(told, abs=1e-12)
    at_middle = centre + np.cos(np.radians(0.5 * (low + high)))
    assert found["hoop_middle"] == pytest.approx(length / at_middle, abs=2e-6)
    assert found["hoop_middle"] == pytest.approx(middle, abs=2e-6)
    assert (found["hoop_start"], found["hoop_end"]) == pytest.approx((edge, edge), abs=2e-6)
    across = middle**-0.5 if measure == "von_mises" else 1.0
    assert found["across_middle"] == pytest.approx(across, abs=2e-6)
    assert found["turn"] == pytest.approx(0.0, abs=1e-8)


@pytest.mark.parametrize("measure", MEASURES)
@pytest.mark.parametrize("name", ["turn", "inner_radius", "slant", "hoop_end", "across_middle"])
def test_bands_converge_with_order_two(measure: Measure, name: str) -> None:
    row = next(r for r in ROWS if r["body"] == "torus 100 to 160" and r["measure"] == measure)

    def error(size: float) -> float:
        cells = round(1 / size)
        found = _readings(_band(PROFILES["torus 100 to 160"], measure, cells), cells)
        return abs(found[name] - numbers(row)[name])

    assert observed_order(error, [1 / 8, 1 / 16, 1 / 32]) == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize("measure", MEASURES)
def test_a_cone_frustums_band_is_exact(measure: Measure) -> None:
    """R 60 to 100, slant 126.491106: turn 0.31622777 per radian, inner radius 189.7366596, no work.

    Facets: a chord of the base's angle d lays out as the chord of the same length, so the turn is
    2 asin(sin(d/2) 0.31622777) / d for each facet.
    """
    reach = np.linspace(60.0, 100.0, 9)
    flat = flatten(
        band_of_revolution(reach, np.linspace(120.0, 0.0, 9), np.pi, 96), Work(measure, "formed")
    )
    found = _readings(flat, 8)
    step = 2.0 * np.pi / 96.0
    sine = 100.0 / 316.22776601683796
    assert found["turn"] == pytest.approx(
        4.0 * np.arcsin(np.sin(step / 4.0) * sine) / step, abs=1e-9
    )
    assert found["turn"] == pytest.approx(0.31622777, abs=1e-4)
    assert found["inner_radius"] == pytest.approx(189.7366596, abs=2e-6)
    assert found["slant"] == pytest.approx(126.4911064, abs=1e-7)
    assert flat.energy < 1e-12 * flat.formed_area
