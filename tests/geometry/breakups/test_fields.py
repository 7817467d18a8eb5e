"""Fields to part a tank along: closed forms on flat sheets, where everything can be told."""

import numpy as np
import pytest

from geometry.breakups.fields import (
    ENDS,
    FLOOR,
    area_levels,
    beside_fields,
    in_mm,
    least_crown_field,
    stiffness,
)
from geometry.mesh import TriMesh, vertex_areas
from tests.bodies import dome, patch

LONG, WIDE = 200.0, 80.0


def sheet(rows: int = 81, columns: int = 33) -> TriMesh:
    x, y = np.meshgrid(
        np.linspace(0.0, LONG, rows), np.linspace(-WIDE / 2, WIDE / 2, columns), indexing="ij"
    )
    return patch(x, y, 0.0 * x)


def test_stiffness_gives_the_energy_of_a_straight_slope_exactly() -> None:
    """The integral of slope squared of a x + b y is (a^2 + b^2) times the area."""
    mesh = sheet(9, 7)
    x, y, _ = mesh.vertices.T
    values = 0.3 * x - 1.1 * y
    energy = values @ stiffness(mesh) @ values
    assert energy == pytest.approx((0.3**2 + 1.1**2) * LONG * WIDE, rel=1e-12)
    assert vertex_areas(mesh.vertices, mesh.faces).sum() == pytest.approx(LONG * WIDE, rel=1e-12)


@pytest.mark.parametrize("times", [0.01, 1.0, 33.0])
def test_a_field_in_mm_rises_by_one_a_millimetre_on_average(times: float) -> None:
    mesh = dome(80.0, 1.2, 10)
    values = in_mm(mesh, times * mesh.vertices[:, 0])
    assert values @ stiffness(mesh) @ values == pytest.approx(
        vertex_areas(mesh.vertices, mesh.faces).sum(), rel=1e-12
    )
    assert np.ptp(in_mm(mesh, np.ones(len(mesh.vertices)))) == 0.0


def test_the_least_crown_field_falls_where_there_is_least_shape_as_the_closed_form_has_it() -> None:
    """Where shape w depends on x alone the field is the integral of 1/w, from end to end."""
    mesh = sheet()
    x = mesh.vertices[:, 0]
    shape = 2e-4 * (1.0 + 0.9 * np.cos(2.0 * np.pi * x / LONG))
    field = least_crown_field(mesh, x, shape)
    assert field is not None
    at = np.unique(x)
    faces = shape[mesh.faces].mean(axis=1)
    mean = float(shape @ vertex_areas(mesh.vertices, mesh.faces) / (LONG * WIDE))
    low, high = ENDS * LONG, (1.0 - ENDS) * LONG
    fine = np.linspace(low, high, 20_001)
    slope = 1.0 / (2e-4 * (1.0 + 0.9 * np.cos(2.0 * np.pi * fine / LONG)) / mean + FLOOR)
    gone = np.concatenate([[0.0], np.cumsum((slope[1:] + slope[:-1]) / 2.0)])
    expected = np.interp(at, fine, gone / gone[-1])
    along = np.array([field[x == each].mean() for each in at])
    assert np.abs(along - expected).max() < 0.02  # the held ends snap to rows of 2.5 mm
    steepest = at[np.argmax(np.diff(along))]
    assert abs(steepest - LONG / 2.0) < 6.0
    assert faces.min() > 0.0


def test_a_surface_without_any_shape_has_an_even_least_crown_field() -> None:
    mesh = sheet(21, 9)
    field = least_crown_field(mesh, mesh.vertices[:, 0], np.zeros(len(mesh.vertices)))
    assert field is not None
    inner = (field > 0.0) & (field < 1.0)
    x = mesh.vertices[inner, 0]
    assert np.corrcoef(x, field[inner])[0, 1] == pytest.approx(1.0, abs=1e-9)


def test_beside_a_straight_line_the_field_is_the_distance_left_of_it() -> None:
    mesh = sheet()
    line = np.stack([np.linspace(20.0, 180.0, 50), np.full(50, 5.0), np.zeros(50)], axis=1)
    x, y, _ = mesh.vertices.T
    near = (x > 25.0) & (x < 175.0) & (np.abs(y - 5.0) < 25.0)
    for field, turned in zip(
        beside_fields(mesh, line), beside_fields(mesh, line[::-1]), strict=True
    ):
        # beyond 5 mm the line is told by points 1 mm apart: 0.5^2 / (2 x 5) = 0.025 mm
        assert np.abs(field - (y - 5.0))[near].max() < 0.026
        assert np.abs(turned + field)[near].max() < 0.06


def test_past_the_ends_of_a_line_its_field_goes_on_without_a_step() -> None:
    mesh = sheet()
    line = np.stack([np.linspace(60.0, 140.0, 40), np.zeros(40), np.zeros(40)], axis=1)
    calm, straight = beside_fields(mesh, line)
    ends = np.concatenate([mesh.faces[:, [0, 1]], mesh.faces[:, [1, 2]]])
    long = np.linalg.norm(np.diff(mesh.vertices[ends], axis=1)[:, 0], axis=1)
    steps = np.abs(np.diff(calm[ends], axis=1)).ravel()
    assert (steps / long).max() < 3.0  # a step from left to right would be 20 edges high
    assert np.abs(calm).max() <= np.abs(straight).max()
    past = np.abs(mesh.vertices[:, 0] - LONG / 2.0) > 41.0
    assert straight[past] == pytest.approx(mesh.vertices[past, 1], abs=1e-9)


def test_a_line_too_short_or_out_of_reach_makes_no_field() -> None:
    mesh = sheet(21, 9)
    short = np.array([[50.0, 0.0, 0.0], [60.0, 0.0, 0.0]])
    far = np.array([[0.0, 0.0, 500.0], [100.0, 0.0, 500.0]])
    assert beside_fields(mesh, short) == ()
    assert beside_fields(mesh, far) == ()


def test_levels_part_the_area_evenly() -> None:
    mesh = sheet()
    levels = area_levels(mesh.vertices[:, 0], vertex_areas(mesh.vertices, mesh.faces), 3)
    assert levels == pytest.approx(LONG * np.array([0.25, 0.5, 0.75]), abs=LONG / 80)
