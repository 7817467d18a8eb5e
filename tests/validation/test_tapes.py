"""Taped lengths against closed forms and general libraries.

Circumference of an ellipse: 4 a E(1 - b^2 / a^2), E the complete elliptic integral of the second
kind (NIST Digital Library of Mathematical Functions, 19.2.8 and 19.30.5, from memory) as scipy
computes it. Convex outlines: shapely's. Great circles: the haversine formula. Helices on a
cylinder: straight lines once unrolled.
"""

import numpy as np
import pytest
import shapely
from scipy.special import ellipe

from geometry.arrays import FloatArray
from geometry.datum import tape_through, taped_length
from geometry.mesh import TriMesh
from tests.bodies import cylinder_sheet, dome
from tests.convergence import observed_order
from tests.geometry.datum.test_girth import ellipse, tube


def on_outline(outline: FloatArray, *places: int) -> list[tuple[float, float, float]]:
    """Return points of a tube's outline, halfway along it."""
    return [(30.0, float(outline[place][0]), float(outline[place][1])) for place in places]


@pytest.mark.parametrize(("a", "b"), [(100.0, 100.0), (140.0, 90.0), (180.0, 45.0)])
def test_girths_of_elliptic_tubes(a: float, b: float) -> None:
    outline = ellipse(a, b, 480)
    girth = taped_length(
        tube(outline), tape_through(on_outline(outline, 0, 130, 300), 1.0, "girth")
    )
    assert girth == pytest.approx(4.0 * a * ellipe(1.0 - (b / a) ** 2), rel=6e-5)


def test_girths_converge_with_the_square_of_the_spacing() -> None:
    exact = 4.0 * 140.0 * ellipe(1.0 - (90.0 / 140.0) ** 2)

    def error(spacing: float) -> float:
        count = round(720.0 / spacing)
        outline = ellipse(140.0, 90.0, count)
        picks = on_outline(outline, 0, count // 3, 2 * count // 3)
        return exact - taped_length(tube(outline, rows=6), tape_through(picks, 1.0, "girth"))

    assert error(2.0) > 0.0  # a polygon drawn in falls short
    assert observed_order(error, [8.0, 4.0, 2.0]) == pytest.approx(2.0, abs=0.3)


@pytest.mark.parametrize("depth", [0.15, 0.4])
def test_a_girth_over_a_waist_is_the_convex_outline(depth: float) -> None:
    """A peanut, r = 100 (1 + depth cos 2t): hollow on both flanks."""
    turn = np.linspace(0.0, 2.0 * np.pi, 900, endpoint=False)
    reach = 100.0 * (1.0 + depth * np.cos(2.0 * turn))
    outline = reach[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    mesh = tube(outline, rows=6)
    girth = taped_length(mesh, tape_through(on_outline(outline, 20, 450, 880), 1.0, "girth"))
    assert girth == pytest.approx(shapely.Polygon(outline).convex_hull.length, rel=6e-5)
    assert girth < shapely.Polygon(outline).length


@pytest.mark.parametrize("angles", [(0.9, 0.7, 2.5), (1.1, 1.1, 1.0)])
def test_tapes_over_a_sphere_are_great_circles(angles: tuple[float, float, float]) -> None:
    """Haversine: sin^2(d / 2) = sin^2(dlat / 2) + cos lat1 cos lat2 sin^2(dlon / 2)."""
    one, two, turn = angles  # from the pole, and about it
    mesh = dome(120.0, 1.25, 90)
    ends = 120.0 * np.array(
        [
            [np.sin(one), 0.0, np.cos(one)],
            [np.sin(two) * np.cos(turn), np.sin(two) * np.sin(turn), np.cos(two)],
        ]
    )
    half = np.sin((one - two) / 2.0) ** 2 + np.sin(one) * np.sin(two) * np.sin(turn / 2.0) ** 2
    tape = tape_through([tuple(ends[0]), tuple(ends[1])], 1.0, "over")
    assert taped_length(mesh, tape) == pytest.approx(240.0 * np.arcsin(np.sqrt(half)), rel=3e-4)


def test_a_tape_along_helices_of_a_cylinder_unrolls_straight() -> None:
    mesh = cylinder_sheet(100.0, np.pi, 400.0, around=120, along=60)
    stops = np.array([[0.3, 10.0], [1.2, 200.0], [2.1, 120.0], [2.8, 350.0]])  # turn, x
    points = [(x, 100.0 * np.cos(turn), 100.0 * np.sin(turn)) for turn, x in stops]
    legs = np.diff(stops * [100.0, 1.0], axis=0)
    tape = tape_through(points, 1.0, "along")
    assert taped_length(mesh, tape) == pytest.approx(np.linalg.norm(legs, axis=1).sum(), rel=3e-4)


@pytest.mark.parametrize("seed", [1, 2])
def test_noise_moves_a_girth_by_less_than_half_what_a_tape_may_be_off(seed: int) -> None:
    """0.05 mm at 1.5 mm spacing; a bare convex outline would be 0.8 mm too long."""
    outline = ellipse(140.0, 90.0, 490)
    smooth = tube(outline, 60.0, 40)
    noise = np.random.default_rng(seed).normal(scale=0.05, size=smooth.vertices.shape)
    tape = tape_through(on_outline(outline, 0, 130, 300), 1.0, "girth")
    noisy = taped_length(TriMesh(smooth.vertices + noise, smooth.faces), tape)
    assert noisy == pytest.approx(taped_length(smooth, tape), abs=0.3)
