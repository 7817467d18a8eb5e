"""Station templates read back from their DXF against closed forms of the parallel surface.

A sheet of thickness t under a scanned face: its inner face is the parallel surface at t. Of a
cylinder of radius r across its axis that is a circle of r - t; of a cone whose wall stands at a to
its axis, a circle of r - t / cos a; of a sphere of radius R cut h from its middle, a circle of
sqrt((R - t)^2 - h^2). Each is a textbook form of its own (parallel surfaces of developables and of
the sphere), worked here by hand; the reader of the DXF is ezdxf, a general library.
"""

import io
from dataclasses import replace
from typing import Any

import ezdxf.filemanagement
import numpy as np
import pytest
from ezdxf.entities.lwpolyline import LWPolyline

from app.exports import gauge_plates, plate_files
from app.job import GaugeChoice, Gauges
from geometry.arrays import FloatArray
from geometry.gauges import GaugeWishes, gauge_set, tank_axes
from tests.app.exports.sample_sheets import panel_sheet
from tests.geometry.gauges.gauged_bodies import round_skin

SHEET_MM = 1.6
AT_MM, BACK_MM, FROM_MM = 150.0, 50.0, 40.0
"""Where the station stands on the body's own axis, how far back, and where the skin begins."""


def _radius(name: str, x: FloatArray) -> FloatArray:
    if name == "cylinder R 100":
        return np.full_like(x, 100.0)
    if name == "cone at 45 degrees":
        return np.asarray(260.0 - x)
    return np.asarray(np.sqrt(180.0**2 - (x - 200.0) ** 2))


_INNER = {
    "cylinder R 100": 100.0 - SHEET_MM,
    "cone at 45 degrees": 110.0 - SHEET_MM * np.sqrt(2.0),
    "sphere R 180, 50 off its middle": float(np.sqrt((180.0 - SHEET_MM) ** 2 - 50.0**2)),
}


def edge_read_back(name: str, inward_mm: float) -> FloatArray:
    """Return places along the curved edge of a whole male template, as its DXF has it."""
    mesh = round_skin(
        lambda x: _radius(name, x + FROM_MM),
        length=AT_MM + BACK_MM - FROM_MM,
        under=1.5,
        cells=(100, 300),
    )
    nowhere = np.zeros(len(mesh.faces), bool)
    wishes = GaugeWishes(
        asked_mm=(BACK_MM,), only_asked=True, kind="male", in_halves=False, profile=False,
        side_line="none",
    )  # fmt: skip
    cut = gauge_set(mesh, nowhere, nowhere, wishes, inward_mm=inward_mm)
    axes = tank_axes(mesh, np.eye(3)[0], np.eye(3)[2])
    made = Gauges(cut, GaugeChoice(kind="male"), True, inward_mm, SHEET_MM, axes, True)
    job = replace(panel_sheet("left side").job, size_proved=True)
    (plate,) = gauge_plates(made, job)
    text = plate_files(plate)[f"{plate.name}.dxf"].decode()
    document = ezdxf.filemanagement.read(io.StringIO(text))
    (edge,) = (each for each in document.modelspace() if each.dxf.layer == "CUT")
    assert isinstance(edge, LWPolyline)
    places = np.array([place for piece in edge.virtual_entities() for place in _flat(piece)])
    corner = np.array([(x, y) for x, y, *_ in edge.get_points()]).min(axis=0)
    places += plate.outline.min(axis=0) - corner
    middle = np.array([0.0, 100.0])
    return np.asarray(places[np.linalg.norm(places - middle, axis=1) > 50.0])  # not its notch


def _flat(piece: Any) -> list[tuple[float, float]]:
    if piece.dxftype() == "ARC":
        return [(place.x, place.y) for place in piece.flattening(0.0005)]
    return [(piece.dxf.start.x, piece.dxf.start.y), (piece.dxf.end.x, piece.dxf.end.y)]


@pytest.mark.parametrize("name", list(_INNER))
def test_the_inside_template_is_the_parallel_surface_within_0_05_mm(name: str) -> None:
    places = edge_read_back(name, SHEET_MM)
    radius = np.hypot(places[:, 0], places[:, 1] - 100.0)
    assert len(places) > 40
    assert np.abs(radius - _INNER[name]).max() < 0.05


@pytest.mark.parametrize("name", list(_INNER))
def test_the_outside_template_is_the_section_within_0_02_mm_and_the_facets_sag(name: str) -> None:
    places = edge_read_back(name, 0.0)
    radius = np.hypot(places[:, 0], places[:, 1] - 100.0)
    true = _radius(name, np.array([AT_MM]))[0]
    sag = true * (1.0 - np.cos(1.5 / 300.0))  # half a facet's turn
    along = 0.8**2 / (2.0 * 180.0)  # the sphere's facets sag along the axis too: 1.6 mm long
    assert np.abs(radius - true).max() < 0.02 + sag + along
