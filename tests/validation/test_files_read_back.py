"""Outlines in every kind of file, measured by libraries that did not write them.

DXF: GDAL (through pyogrio), and group by group; SVG: svgelements; PDF: pypdf. Against the length
of the curve that was fitted. The fit itself is held against closed forms in
tests/geometry/pattern/test_curve_fitting.py.
"""

import numpy as np
import pytest
import shapely

from app.exports.files import dxf_bytes, pdf_bytes, svg_bytes
from app.exports.pages import one_piece
from geometry.pattern import Outline, outline_curves
from tests.app.exports.reading_back import strokes
from tests.app.exports.sample_sheets import PANEL_ANGLES, panel_sheet
from tests.app.exports.second_readers import dxf_entities, gdal_length, svg_groups, svg_length

PANELS = tuple(PANEL_ANGLES)
KINDS: tuple[Outline, ...] = ("arcs", "splines")


@pytest.mark.parametrize("panel", PANELS)
@pytest.mark.parametrize("kind", KINDS)
def test_outlines_measure_the_same_in_every_cutting_file(panel: str, kind: Outline) -> None:
    """DXF and SVG within 1e-6 mm."""
    sheet = panel_sheet(panel)
    curves = outline_curves(sheet.pattern, kind)
    assert curves.trim is not None
    dxf, groups = dxf_bytes(sheet, kind), svg_groups(svg_bytes(sheet, kind))
    by_layer = {entity.layer: entity for entity in dxf_entities(dxf)}
    for layer, curve in (("NET", curves.net.curve), ("CUT", curves.trim.curve)):
        assert by_layer[layer].length == pytest.approx(curve.length, abs=1e-6)
        assert svg_length(groups[layer].paths[0]) == pytest.approx(curve.length, abs=1e-6)
        if kind == "arcs":
            assert gdal_length(dxf, layer) == pytest.approx(curve.length, abs=1e-6)


@pytest.mark.parametrize("panel", PANELS)
def test_outlines_measure_the_same_on_paper(panel: str) -> None:
    """PDF within 1e-3 mm: reportlab writes places to six figures, arcs as cubics."""
    sheet = panel_sheet(panel)
    curves = outline_curves(sheet.pattern, "arcs")
    assert curves.trim is not None
    found = [line.length for line in strokes(pdf_bytes([one_piece(sheet)], panel)) if line.closed]
    for curve in (curves.net.curve, curves.trim.curve):
        assert np.abs(np.array(found) - curve.length).min() < 1e-3


@pytest.mark.parametrize("panel", PANELS)
@pytest.mark.parametrize("kind", KINDS)
def test_outlines_run_where_they_were_worked_out(panel: str, kind: Outline) -> None:
    """Every point within 0.02 mm of its curve, measured by shapely along chords 1e-5 mm off it."""
    pattern = panel_sheet(panel).pattern
    curves = outline_curves(pattern, kind)
    assert pattern.trim is not None
    assert curves.trim is not None
    for points, fit in ((pattern.net, curves.net), (pattern.trim, curves.trim)):
        line = fit.curve.sampled(1e-5)
        ring = shapely.LinearRing(line)
        assert shapely.distance(shapely.points(points), ring).max() <= 0.02 + 1e-5
        # The other way these panels' chords, up to 12 mm long, leave a line by 0.03 mm themselves.
        rim = shapely.LinearRing(points)
        assert shapely.distance(shapely.points(line[::7]), rim).max() <= 0.05
        assert fit.curve.points_per_metre < 0.8 * 1000.0 * len(points) / fit.curve.length
