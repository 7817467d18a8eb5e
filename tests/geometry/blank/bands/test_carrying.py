"""Errors carried to the net line: the same as laying the disturbed panel out again."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, MeasuringErrors, Work, flatten
from geometry.blank.bands.carrying import CarriedErrors, outward_along_surface
from geometry.blank.bands.net_line import NetLine
from geometry.mesh import TriMesh, vertex_normals
from tests.bodies import disk_rings, dome, patch, tank_top

PANELS = {"dome": dome(150.0, 0.5, 5), "tank": tank_top(5)}
CHOICES = [Work(), Work("hencky", "formed", bias=0.2), Work(hardening=0.5)]


def carried(flat: FlatPanel, surface: FloatArray, rim: FloatArray) -> CarriedErrors:
    return CarriedErrors(flat, MeasuringErrors(surface, 0.0, rim).of_every_vertex(flat))


def offsets_again(flat: FlatPanel, push: FloatArray) -> FloatArray:
    """Return (k,) by central differences of whole new layouts."""
    line = NetLine.of(flat.flat_vertices, flat.rim)
    moved = [
        flatten(TriMesh(flat.vertices + side * push, flat.faces), flat.work) for side in (1, -1)
    ]
    there = [line.offsets(other.flat_vertices[flat.rim]) for other in moved]
    return np.asarray((there[0] - there[1]) / 2.0)


@pytest.mark.parametrize("work", CHOICES, ids=str)
@pytest.mark.parametrize("panel", PANELS)
def test_one_error_of_the_surface_moves_the_net_as_a_new_layout_does(
    panel: str, work: Work
) -> None:
    """An error of one vertex alone: the standard deviation is its size times how far it moves.

    Differences of 0.02 mm err by its square over that of the dome's height, and by where the
    layouts stopped: relative 1e-8 of some 1e2 mm.
    """
    flat = flatten(PANELS[panel], work)
    normals = vertex_normals(flat.vertices, flat.faces)
    for vertex in (flat.rim[2], len(flat.vertices) // 3):
        surface = np.zeros(len(flat.vertices))
        surface[vertex] = 0.02
        found = carried(flat, surface, np.zeros(len(flat.rim))).variances(np.eye(len(flat.rim)))[
            "points"
        ]
        again = offsets_again(flat, surface[:, None] * normals)
        np.testing.assert_allclose(np.sqrt(found), np.abs(again), atol=2e-3 * np.abs(again).max())


def test_one_error_of_the_rim_moves_the_net_as_a_new_layout_does() -> None:
    flat = flatten(PANELS["tank"])
    rim_mm = np.zeros(len(flat.rim))
    rim_mm[4] = 0.02
    normals = vertex_normals(flat.vertices, flat.faces)[flat.rim]
    push = np.zeros_like(flat.vertices)
    push[flat.rim] = rim_mm[:, None] * outward_along_surface(flat.vertices[flat.rim], normals)
    found = carried(flat, np.zeros(len(flat.vertices)), rim_mm).variances(np.eye(len(flat.rim)))[
        "edge"
    ]
    again = offsets_again(flat, push)
    np.testing.assert_allclose(np.sqrt(found), np.abs(again), atol=2e-3 * np.abs(again).max())


def hexagon(rings: int, side: float) -> TriMesh:
    """Return a flat hexagon of equilateral triangles."""
    fraction, angle, faces = disk_rings(rings)
    sector = np.floor(angle / (np.pi / 3.0) + 1e-9)
    step = (angle / (np.pi / 3.0) - sector)[:, None]
    corner, after = (np.exp(1j * np.pi / 3.0 * (sector + k))[:, None] for k in (0, 1))
    place = (side * rings * fraction[:, None] * (corner * (1.0 - step) + after * step))[:, 0]
    return TriMesh(np.stack([place.real, place.imag, 0.0 * fraction], axis=1), faces)


def test_roughness_makes_a_flat_panel_bigger_by_half_its_mean_squared_slope() -> None:
    """White scatter s on equilateral triangles of side h: every length s^2 / h^2 longer."""
    flat = flatten(hexagon(8, 4.0))
    surface = np.full(len(flat.vertices), 0.1)
    shift = carried(flat, surface, np.zeros(len(flat.rim))).shift()
    line = NetLine.of(flat.flat_vertices, flat.rim)
    grown = (0.1 / 4.0) ** 2 * (line.outward * line.from_middle).sum(axis=1)
    np.testing.assert_allclose(shift, grown, rtol=1e-6)


def test_samples_of_roughness_have_the_mean_told() -> None:
    """64 samples of a sum over some 200 faces know their mean to a few in a hundred."""
    x, y = np.meshgrid(np.linspace(0, 90, 16), np.linspace(0, 60, 11), indexing="ij")
    flat = flatten(patch(x, y, 0.0 * x))
    errors = carried(flat, np.full(len(flat.vertices), 0.1), np.zeros(len(flat.rim)))
    samples, shift = errors.rough_offsets(), errors.shift()
    weights = NetLine.of(flat.flat_vertices, flat.rim).weights
    assert weights @ samples.mean(axis=1) == pytest.approx(weights @ shift, rel=0.05)


def test_lying_elsewhere_on_the_sheet_changes_nothing() -> None:
    flat = flatten(PANELS["dome"], Work("hencky"))
    turned = flat.flat_vertices @ np.array([[0.6, 0.8], [-0.8, 0.6]]) + [900.0, -40.0]
    surface, rim = np.full(len(flat.vertices), 0.1), np.full(len(flat.rim), 0.2)
    one = carried(flat, surface, rim).variances(np.eye(len(flat.rim)))
    other = carried(replace(flat, flat_vertices=turned), surface, rim)
    np.testing.assert_allclose(
        sum(other.variances(np.eye(len(flat.rim))).values()), sum(one.values()), rtol=1e-5
    )
