"""Work density: derivatives, symmetry, bias, and refusals of choices outside the model."""

from typing import Literal

import numpy as np
import pytest

from geometry.blank import Work, WorkChoiceError, flatten
from geometry.blank.work import density
from geometry.mesh import TriMesh
from tests.bodies import dome, hyperbolic_saddle, tank_top

WORKS = [
    Work("hencky", "formed"),
    Work("von_mises", "formed"),
    Work("hencky", "blank"),
    Work("von_mises", "blank"),
    Work("von_mises", "blank", hardening=0.5),
    Work("hencky", "blank", hardening=0.25),
    Work("von_mises", "blank", bias=0.5),
    Work("hencky", "formed", bias=-0.7),
    Work("von_mises", "blank", hardening=0.35, bias=0.3),
]
STRETCHES = np.array(
    [
        [1.3, 0.9],
        [1.004, 0.997],
        [0.95, 0.7],
        [1.6, 1.2],
        [1.02, 1.015],
        [1.0007, 1.0],
        [1.01, 0.98],
    ]
)


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_first_derivatives_are_those_of_the_value(work: Work) -> None:
    """Central differences of step h err by O(h^2): 1e-5 squared times third derivatives."""
    step = 1e-6
    d = density(work, STRETCHES)
    for k in range(2):
        shift = step * np.eye(2)[k]
        slope = (
            density(work, STRETCHES + shift).value - density(work, STRETCHES - shift).value
        ) / (2 * step)
        np.testing.assert_allclose(d.first[:, k], slope, rtol=1e-5, atol=1e-8)


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_second_derivatives_are_those_of_the_first(work: Work) -> None:
    step = 1e-6
    d = density(work, STRETCHES)
    for k in range(2):
        shift = step * np.eye(2)[k]
        slope = (
            density(work, STRETCHES + shift).first - density(work, STRETCHES - shift).first
        ) / (2 * step)
        expected = np.stack([d.second[:, k], d.second[:, k + 1]], axis=1)
        np.testing.assert_allclose(slope, expected, rtol=1e-4, atol=1e-5)


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_the_order_of_the_two_stretches_does_not_matter(work: Work) -> None:
    one, other = density(work, STRETCHES), density(work, STRETCHES[:, ::-1])
    np.testing.assert_allclose(one.value, other.value, rtol=1e-14)
    np.testing.assert_allclose(one.second, other.second[:, ::-1], rtol=1e-12)


def test_untouched_sheet_costs_nothing() -> None:
    for work in WORKS:
        assert density(work, np.ones((1, 2))).value[0] == pytest.approx(0.0, abs=1e-15)


def test_equivalent_strain_is_the_handbook_one() -> None:
    """eps_eq^2 = 4/3 (e1^2 + e1 e2 + e2^2): (.05, .05) and (.1, -.05) give .1, (.1, 0) .115470.

    Source: Hosford and Caddell, Metal Forming, plane stress von Mises (from memory).
    """
    strains = np.array([[0.05, 0.05], [0.1, -0.05], [0.1, 0.0]])
    value = density(Work("von_mises", "formed"), np.exp(-strains)).value
    np.testing.assert_allclose(np.sqrt(2.0 * value), [0.1, 0.1, 0.115470], atol=5e-7)


def test_positive_bias_makes_stretch_dear() -> None:
    biased = density(Work("hencky", "formed", bias=0.5), np.exp([[-0.1, 0.0], [0.0, 0.1]])).value
    stretch, shrink = biased
    assert stretch == pytest.approx(0.005 * np.exp(1.0), rel=1e-6)
    assert shrink == pytest.approx(0.005 * np.exp(-1.0), rel=1e-6)


@pytest.mark.parametrize("bias", [-0.7, -0.3, 0.2, 0.7])
@pytest.mark.parametrize("measure", ["von_mises", "hencky"])
@pytest.mark.parametrize("hardening", [1.0, 0.5])
def test_bias_enters_each_strain_by_its_law(
    bias: float, measure: Literal["von_mises", "hencky"], hardening: float
) -> None:
    """Forming strain e enters as e exp(bias tanh(e / 0.01)); the rest is the unbiased formula."""
    strains = np.array([[0.2, -0.1], [0.004, -0.003], [-0.3, -0.02], [0.0, 0.05], [0.011, 0.009]])
    e1, e2 = (strains * np.exp(bias * np.tanh(strains / 0.01))).T
    squared = {
        "von_mises": 4.0 / 3.0 * (e1**2 + e1 * e2 + e2**2),
        "hencky": e1**2 + e2**2,
    }[measure]
    if hardening < 1.0:
        rounded = (squared + 1e-8) ** ((hardening + 1.0) / 2.0)
        told = (rounded - 1e-4 ** (hardening + 1.0)) / (hardening + 1.0)
    else:
        told = squared / 2.0
    told = told * np.exp(-strains.sum(axis=1))  # blank weight: flat area over formed
    value = density(Work(measure, "blank", hardening, bias), np.exp(-strains)).value
    np.testing.assert_allclose(value, told, rtol=1e-12)


def test_bias_turned_over_costs_stretch_what_it_cost_shrink() -> None:
    """The law is odd in the strain and the bias together: (e, b) costs what (-e, -b) does."""
    strains = np.array([[0.2, -0.1], [0.004, -0.003], [-0.3, -0.02]])
    for bias in (0.2, 0.7):
        one = density(Work("von_mises", "formed", bias=bias), np.exp(-strains)).value
        other = density(Work("von_mises", "formed", bias=-bias), np.exp(strains)).value
        np.testing.assert_allclose(one, other, rtol=1e-13)


BIASES = (-0.5, -0.3, -0.1, 0.0, 0.1, 0.3, 0.5)


@pytest.mark.parametrize("measure", ["von_mises", "hencky"])
@pytest.mark.parametrize("weight", ["blank", "formed"])
@pytest.mark.parametrize(
    "panel",
    [dome(1.0, np.pi / 6, 8), hyperbolic_saddle(1.0, np.pi / 6, 8), tank_top(7)],
    ids=["dome", "saddle", "tank top"],
)
def test_more_bias_gives_a_larger_and_thicker_blank(
    panel: TriMesh, measure: Literal["von_mises", "hencky"], weight: Literal["blank", "formed"]
) -> None:
    """Positive bias makes stretch dear: the blank grows, its thinnest place gets thicker, and more
    of the change is shrink, at every step of the bias.
    """
    blanks = [flatten(panel, Work(measure, weight, bias=bias)) for bias in BIASES]
    assert np.all(np.diff([flat.blank_area for flat in blanks]) > 0.0)
    assert np.all(np.diff([flat.thickness.min() for flat in blanks]) > 0.0)
    assert np.all(np.diff([flat.thickness.max() for flat in blanks]) > 0.0)
    assert np.all(np.diff([flat.rim_blank for flat in blanks]) > 0.0)
    stretch = [
        np.log(flat.stretches).clip(min=0.0).sum(axis=1) @ flat.formed_areas for flat in blanks
    ]
    assert np.all(np.diff(stretch) < 0.0)


@pytest.mark.parametrize(
    "choice",
    [
        {"measure": "engineering"},
        {"weight": "volume"},
        {"hardening": 0.2},
        {"hardening": 1.1},
        {"hardening": 0.5, "weight": "formed"},
        {"bias": 0.8},
        {"hardening": float("nan")},
    ],
)
def test_choices_outside_the_model_are_refused(choice: dict[str, object]) -> None:
    with pytest.raises(WorkChoiceError) as caught:
        Work(**choice)  # type: ignore[arg-type]
    assert caught.value.choice in choice
    assert caught.value.allowed
