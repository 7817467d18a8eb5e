"""A panel held against a metal."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work, flatten
from geometry.metal import Figure, MetalGuide, against_metal, equivalent_strain, sheet_metal
from tests.bodies import cylinder_sheet, dome

H14 = sheet_metal("3003-H14")


def drawn(*elongations: float) -> MetalGuide:
    """Return the guide to equal faces drawn one way, their width and thickness giving alike."""
    stretch = 1.0 + np.array(elongations)
    stretches = np.column_stack([stretch, stretch**-0.5])
    return against_metal(stretches, np.ones(len(stretch)), stretch**-0.5, H14, 1.6)


@pytest.mark.parametrize(
    ("elongation", "anneals"),
    [
        (0.0, 0),
        (0.049, 0),
        (0.0501, 1),
        (0.05 + 0.25 + 0.0124, 1),
        (0.3126, 2),
        (0.6406, 2),
        (0.65, 3),
    ],
)
def test_anneals_begin_the_metals_elongation_again(elongation: float, anneals: int) -> None:
    """H14 draws 5 % as bought and 25 % after each anneal, by ASTM B209's least figures.

    One anneal reaches 1.05 x 1.25 = 1.3125, two 1.640625.
    """
    assert drawn(elongation).anneals == anneals


def test_a_bar_drawn_evenly_has_its_elongation_as_equivalent_strain() -> None:
    stretches = np.array([[1.2, 1.2**-0.5], [1.05, 1.05**-0.5]])
    assert equivalent_strain(stretches) == pytest.approx(np.log([1.2, 1.05]))


def test_shrinking_works_metal_as_drawing_does() -> None:
    """An edge gathered by a tenth, its width free: as much work as a bar drawn by 1 / 0.9."""
    assert equivalent_strain(np.array([[0.9**-0.5, 0.9]])) == pytest.approx([-np.log(0.9)])


def test_the_share_beyond_is_of_area() -> None:
    stretches = np.array([[1.04, 1.0], [1.06, 1.0], [1.08, 1.0], [1.0, 0.9]])
    guide = against_metal(stretches, np.array([6.0, 1.0, 1.0, 2.0]), np.ones(4), H14, 1.6)
    assert guide.share_beyond == pytest.approx(0.2)
    assert guide.largest_stretch == pytest.approx(0.08)
    assert guide.worst_face == 2
    assert guide.elongation == Figure(0.05, "astm-b209")


def test_the_makers_own_figures_come_first() -> None:
    stretches, one = np.array([[1.3, 1.3**-0.5]]), np.ones(1)
    guide = against_metal(stretches, one, one, H14, 1.6, elongation=0.1, annealed=0.1)
    assert guide.anneals == 2  # 1.1, 1.21, 1.331
    assert guide.elongation == Figure(0.1, "the maker's own")


def test_without_a_figure_nothing_is_said() -> None:
    stretches, one = np.array([[1.3, 1.0]]), np.ones(1)
    guide = against_metal(stretches, one, one, H14, 0.3)
    assert guide.elongation is None
    assert guide.share_beyond is None
    assert guide.anneals is None


@pytest.mark.parametrize(
    ("least", "thin"), [(1.2, [False, True, True]), (1.0, [False, False, True])]
)
def test_faces_under_the_makers_least_thickness_are_marked(least: float, thin: list[bool]) -> None:
    ratio = np.array([1.2 / 1.6, 0.7, 0.6])
    guide = against_metal(
        np.ones((3, 2)), np.array([5.0, 3.0, 4.0]), ratio, H14, 1.6, least_mm=least
    )
    assert guide.thin.tolist() == thin
    assert guide.thin_area == float(np.array([5.0, 3.0, 4.0])[thin].sum())
    assert guide.thinnest_mm == pytest.approx(0.96)
    assert guide.thinnest_face == 2


def test_a_rolled_sheet_asks_nothing_of_any_metal() -> None:
    flat = flatten(cylinder_sheet(100.0, 2.0, 100.0))
    guide = against_metal(flat.stretches, flat.formed_areas, flat.thickness, H14, 1.6)
    assert guide.largest_stretch == pytest.approx(0.0, abs=1e-9)
    assert (guide.anneals, guide.share_beyond, guide.thin_area) == (0, 0.0, 0.0)


def test_a_dome_made_by_stretching_asks_more_stretch_and_ends_thinner() -> None:
    """The same dome, mostly stretched or mostly shrunk."""
    mesh = dome(150.0, np.radians(50.0), 16)

    def asked(bias: float) -> MetalGuide:
        flat = flatten(mesh, Work(bias=bias))
        areas: FloatArray = flat.formed_areas
        return against_metal(flat.stretches, areas, flat.thickness, H14, 1.6)

    stretched, shrunk = asked(-0.5), asked(0.5)
    assert stretched.largest_stretch > shrunk.largest_stretch
    assert stretched.thinnest_mm < shrunk.thinnest_mm
