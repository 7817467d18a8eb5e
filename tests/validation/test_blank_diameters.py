"""Round shells: the least-work blank beside the blank of equal area, the press shop's rule.

Source: the rule that a drawn shell's blank has the shell's area, thickness taken as unchanged, and
its formulas, Machinery's Handbook, "Diameters of Shell Blanks" (from memory; the formulas are plain
geometry). Worked examples: the cup 25 x 15 with blank 46 (a published exercise), and a tapered
vessel 4 and 2 across, 2 1/2 high, with blank 6.026 (R. B. Hodgson, Machines and Tools Employed in
the Working of Sheet Metals, read in a stored copy).

Which side of it the least-work blank lies on is a theorem, because the whole blank may be scaled
(own derivation). With t the thickness ratio of a bit of sheet, A its formed area and hardening 1:

- formed weight: the work's slope by a common scale is sum A ln t (von Mises twice that), so the
  mean of ln t is nothing and the mean of t at least 1: the blank is larger than the skin, by half
  the variance of ln t (to its second order), four times as much for Hencky as for von Mises, whose
  ln t is half as large;
- blank weight: sum A t (ln t + k w) is nothing, k = 1 for von Mises and 2 for Hencky; as
  t - 1 <= t ln t, the blank is smaller than the skin, by at least k times its work.
"""

from collections.abc import Sequence
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import CollapsedBlankError, FlatPanel, Measure, Weight, Work, flatten
from geometry.mesh import TriMesh
from tests.bodies import disk_of_revolution, dome

Point = tuple[float, float]
BOTH: tuple[Measure, Measure] = ("von_mises", "hencky")
WEIGHTS: tuple[Weight, Weight] = ("blank", "formed")


def _along(corners: Sequence[Point], size: float) -> tuple[FloatArray, FloatArray]:
    """Return (radius, height) along straight lines, a place about every `size`."""
    places = [np.array([corners[0]])]
    for (r0, z0), (r1, z1) in pairwise(corners):
        steps = max(1, round(float(np.hypot(r1 - r0, z1 - z0)) / size))
        t = np.arange(1, steps + 1)[:, None] / steps
        places.append(np.array([r0, z0]) + t * np.array([r1 - r0, z1 - z0]))
    radius, height = np.concatenate(places).T
    return radius, height


def _ball_and(corners: Sequence[Point], radius: float, rings: int) -> TriMesh:
    """Return a half ball, open below, that goes on along straight lines from its edge."""
    angle = np.linspace(0.0, np.pi / 2, rings + 1)
    more = _along([(radius, 0.0), *corners], radius * np.pi / (2 * rings)) if corners else None
    r, z = radius * np.sin(angle), radius * np.cos(angle)
    if more is not None:
        r, z = np.concatenate([r, more[0][1:]]), np.concatenate([z, more[1][1:]])
    return disk_of_revolution(r, z)


@cache
def _shell(name: str) -> TriMesh:
    segment = np.linspace(0.0, np.arcsin(50.0 / 72.5), 25)
    slant = np.sqrt(50.0**2 - 20.0**2)
    profiles: dict[str, tuple[Sequence[Point], float]] = {
        "cup 25 x 15": ([(0, 0), (12.5, 0), (12.5, -15)], 1.25),
        "cup 50 x 50": ([(0, 0), (25, 0), (25, -50)], 2.5),
        "cup 2 x 2": ([(0, 0), (1, 0), (1, -2)], 0.1),
        "flanged cup 50, 70 x 30": ([(0, 0), (25, 0), (25, -30), (35, -30)], 2.5),
        "closed frustum 40 to 80, slant 50": ([(0, 0), (20, 0), (40, -slant)], 2.5),
        "tapered vessel 2 to 4 x 2 1/2": ([(0, 0), (1, 0), (2, -2.5)], 0.1),
    }
    if name in profiles:
        return disk_of_revolution(*_along(*profiles[name]))
    return {
        "half ball 100": lambda: _ball_and([], 50.0, 20),
        "half ball 100 with wall 40": lambda: _ball_and([(50, -40)], 50.0, 16),
        "half ball 100 with flange 140": lambda: _ball_and([(70, 0)], 50.0, 20),
        "segment 100 x 20": lambda: disk_of_revolution(
            72.5 * np.sin(segment), 72.5 * np.cos(segment)
        ),
    }[name]()


def _rounded_cup(radius: float, cells: int) -> TriMesh:
    """Return a cup 50 across and 50 high whose bottom corner is rounded."""
    turn = np.arange(1, cells + 1) / cells * np.pi / 2
    flat = np.linspace(0.0, 25.0 - radius, 9)
    wall = np.linspace(-radius, -50.0, 20)[1:]
    r = np.concatenate([flat, 25.0 - radius + radius * np.sin(turn), np.full(len(wall), 25.0)])
    z = np.concatenate([0.0 * flat, radius * (np.cos(turn) - 1.0), wall])
    return disk_of_revolution(r, z)


EQUAL_AREA = [
    # shell, diameter of the blank of equal area, formula
    ("cup 25 x 15", np.sqrt(25**2 + 4 * 25 * 15), 46.0977),
    ("cup 50 x 50", np.sqrt(50**2 + 4 * 50 * 50), 111.8034),
    ("cup 2 x 2", np.sqrt(2**2 + 4 * 2 * 2), 4.472136),
    ("flanged cup 50, 70 x 30", np.sqrt(70**2 + 4 * 50 * 30), 104.4031),
    ("half ball 100", np.sqrt(2) * 100, 141.4214),
    ("half ball 100 with wall 40", np.sqrt(2 * (100**2 + 2 * 100 * 40)), 189.7367),
    ("half ball 100 with flange 140", np.sqrt(100**2 + 140**2), 172.0465),
    ("segment 100 x 20", np.sqrt(100**2 + 4 * 20**2), 107.7033),
    ("closed frustum 40 to 80, slant 50", np.sqrt(40**2 + 2 * 50 * 120), 116.6190),
    ("tapered vessel 2 to 4 x 2 1/2", 2 * np.sqrt(1 + 3 * np.hypot(1, 2.5)), 6.02586),
]
NAMES = [row[0] for row in EQUAL_AREA]


def _across(area: float) -> float:
    return 2.0 * float(np.sqrt(area / np.pi))


@cache
def _blank(name: str, work: Work) -> FlatPanel:
    flat = flatten(_shell(name), work)
    assert flat.converged
    return flat


@pytest.mark.parametrize(("name", "formula", "printed"), EQUAL_AREA, ids=NAMES)
def test_equal_area_is_the_handbooks(name: str, formula: float, printed: float) -> None:
    """The skin's own area gives the handbook's diameter, a little under by its chords."""
    assert formula == pytest.approx(printed, rel=1e-6)
    flat = _blank(name, Work("von_mises", "formed"))
    assert _across(flat.formed_area) == pytest.approx(formula, rel=1.2e-3)
    assert _across(flat.formed_area) < formula


def test_equal_area_of_the_rounded_cup_and_the_vessel() -> None:
    """Cup 50 x 50 with a corner of 5 at the middle of the metal: 109.8027, by exact areas; the
    vessel's own figures: area 28.519 and diameter 6.026 (printed), in inches.
    """
    flat = flatten(_rounded_cup(5.0, 6), Work("von_mises", "formed"))
    assert _across(flat.formed_area) == pytest.approx(109.8027, rel=1.2e-3)
    vessel = _blank("tapered vessel 2 to 4 x 2 1/2", Work("von_mises", "formed"))
    assert vessel.formed_area == pytest.approx(28.519, rel=1e-3)
    assert _across(vessel.formed_area) == pytest.approx(6.026, rel=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_formed_weight_needs_more_than_equal_area(name: str) -> None:
    """Mean of ln t nothing (to the solver's stop), so the blank is larger than the skin."""
    excess: dict[Measure, float] = {}
    for measure in BOTH:
        flat = _blank(name, Work(measure, "formed"))
        share, log_t = flat.formed_areas / flat.formed_area, np.log(flat.thickness)
        assert share @ log_t == pytest.approx(0.0, abs=1e-7)
        excess[measure] = flat.blank_area / flat.formed_area - 1.0
        variance = float(share @ log_t**2)
        assert excess[measure] == pytest.approx(variance / 2.0, rel=0.15)
        assert excess[measure] > 0.0
    assert excess["hencky"] == pytest.approx(4.0 * excess["von_mises"], rel=0.12)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("measure", "k"), [("von_mises", 1.0), ("hencky", 2.0)])
def test_blank_weight_needs_less_than_equal_area(name: str, measure: Measure, k: float) -> None:
    """Sum of A t (ln t + k w) nothing, so the blank is smaller than the skin by k times the work.

    The two deep cups have no least blank-weighted Hencky work: refused as collapsed.
    """
    work = Work(measure, "blank")
    if measure == "hencky" and name in ("cup 50 x 50", "cup 2 x 2"):
        with pytest.raises(CollapsedBlankError):
            _blank(name, work)
        return
    flat = _blank(name, work)
    pull = flat.formed_areas @ (flat.thickness * np.log(flat.thickness)) + k * flat.energy
    assert pull / flat.formed_area == pytest.approx(0.0, abs=1e-7)
    assert flat.formed_area - flat.blank_area > k * flat.energy > 0.0


@pytest.mark.parametrize("degrees", [10, 20, 30, 45, 60, 75, 90])
def test_domes_lie_between_the_two_weights(degrees: int) -> None:
    """Blank weight below, formed weight above the blank of equal area, closing in on it as the dome
    flattens: their distance over the skin's area tends to theta^4 / 256 (von Mises), / 96 (Hencky).

    To the leading order the distance is the variance of ln t and k times the mean work; by the
    shallow closed form these are theta^4 / 768 and / 384 (von Mises), / 192 and / 384 (Hencky).
    """
    theta = float(np.radians(degrees))
    mesh = dome(1.0, theta, 16)
    for measure, part in zip(BOTH, (256.0, 96.0), strict=True):
        below, above = (flatten(mesh, Work(measure, weight)) for weight in WEIGHTS)
        assert below.blank_area < below.formed_area < above.blank_area
        apart = (above.blank_area - below.blank_area) / above.formed_area
        assert apart * part / theta**4 == pytest.approx(1.0, abs=0.01 + 0.06 * theta**2)
