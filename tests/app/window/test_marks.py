"""What sheet and tank mark: overlap, depth, thin places, roll lines; and the table of edges."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from app.job import Blank, made, task_for, with_failure, with_result
from app.window.look import ASK
from app.window.sheet_marks import SheetMarks
from app.window.words import roll_words
from geometry.blank import FlatPanel, NotADiskError
from geometry.pattern import RollLine
from tests.app.window.conftest import spin
from tests.app.window.test_window import laid_flat

pytestmark = pytest.mark.window


def with_flat(window: Any, name: str, **change: Any) -> FlatPanel:
    """Put a blank that differs from the made one into the document; return it."""
    state = window.document.state
    blank: Blank = made(state, "Blanks", name)
    task = task_for(state, "Blanks", name)
    assert task is not None
    bad = replace(blank, flat=replace(blank.flat, **change))
    window.document.take_result(with_result(state, task, bad))
    spin(0.1)
    return bad.flat


def test_where_a_blank_lies_over_itself_is_marked_on_the_sheet(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    """The picture of the sheet changes there, by a ring 13 pixels wide, and not far from it."""
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QColor

    name = laid_flat(window, shell_file)
    place = np.array([20.0, 5.0])

    def ring() -> np.ndarray:
        """Return how far from the mark's colour the places of the ring are."""
        image = window.sheet.grab().toImage()
        at = window.sheet.to_picture().map(QPointF(*place))
        ratio = image.devicePixelRatio()
        found = []
        for turn in np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False):
            x, y = at.x() + 13.0 * np.cos(turn), at.y() + 13.0 * np.sin(turn)
            colour = image.pixelColor(round(x * ratio), round(y * ratio))
            found.append((colour.red(), colour.green(), colour.blue()))
        mark = QColor(ASK)
        off = np.array(found, np.float64) - (mark.red(), mark.green(), mark.blue())
        return np.asarray(np.sqrt((off * off).sum(axis=1)))

    before = ring()
    with_flat(window, name, overlap_area=120.0, overlap_place=place)
    after = ring()
    assert (after < 30.0).mean() > 0.7
    assert (before < 30.0).mean() < 0.2
    assert "lies over itself by 1.2 cm" in window.views["Blanks"]._warning.text()


def test_where_a_panel_is_too_deep_is_marked_on_the_tank(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    name = laid_flat(window, shell_file)
    state = window.document.state
    assert len(window.pictures.tank(state, "Blanks", window.foreman.desk).warned) == 0
    faces = len(made(state, "Blanks", name).flat.faces)
    flat = with_flat(window, name, unsound=np.arange(faces) == 11, converged=False)
    shown = window.pictures.tank(window.document.state, "Blanks", window.foreman.desk)
    np.testing.assert_array_equal(shown.warned, flat.unsound_place[None])
    assert shown.warnings == ("look here: add a seam",)
    assert (
        len(window.pictures.tank(window.document.state, "Seams", window.foreman.desk).warned) == 0
    )


def test_where_a_panel_cannot_be_laid_flat_is_marked_on_the_tank(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    name = laid_flat(window, shell_file)
    state = window.document.state
    task = task_for(state, "Blanks", name)
    assert task is not None
    place = np.array([3.0, 4.0, 59.0])
    error = NotADiskError(1, (90.0, 40.0), 0, place=place)
    window.document.take_result(with_failure(state, task, error))
    spin(0.1)
    shown = window.pictures.tank(window.document.state, "Blanks", window.foreman.desk)
    np.testing.assert_array_equal(shown.warned, place[None])
    told = window.views["Blanks"]._ask.text()
    assert "Look about (3.0, 4.0, 59.0) mm (0.12, 0.16, 2.32 in)." in told


def dark_share(window: Any, points: np.ndarray) -> float:
    """Return how much of a line on the blank is drawn in ink."""
    from PySide6.QtCore import QPointF

    image = window.sheet.grab().toImage()
    ratio = image.devicePixelRatio()
    found = []
    for point in points:
        at = window.sheet.to_picture().map(QPointF(*point))
        around = [
            image.pixelColor(round((at.x() + dx) * ratio), round((at.y() + dy) * ratio))
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
        ]
        found.append(min(colour.lightness() for colour in around) < 110)
    return float(np.mean(found))


def with_pattern(window: Any, name: str, **change: Any) -> None:
    """Put a pattern that differs from the made one into the document."""
    state = window.document.state
    task = task_for(state, "Paper", name)
    assert task is not None
    other = replace(made(state, "Paper", name), **change)
    window.document.take_result(with_result(state, task, other))
    spin(0.1)


def test_roll_lines_are_drawn_as_lines_with_their_sweep_and_never_as_colour(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    name = laid_flat(window, shell_file)
    across = np.stack([np.linspace(-30.0, 30.0, 40), np.full(40, 9.0)], axis=1)
    line = RollLine(across, np.zeros((40, 3)), np.full(40, 120.0), False, 0.2, True)
    coloured = window.sheet._map.picture(window.sheet._sheet).copy()
    before = dark_share(window, across)
    with_pattern(window, name, rolls=(line,))
    assert dark_share(window, across) > before + 0.4
    assert window.sheet._map.picture(window.sheet._sheet) == coloured
    assert roll_words(line, "mm", up=True) == "roll up R 120 mm"
    assert roll_words(line, "in", up=False) == "roll down R 4 3/4 in"
    fold = replace(line, is_fold=True, turn_rad=np.pi / 2.0)
    assert roll_words(fold, "mm", up=False) == "fold down 90\u00b0"


def test_what_ends_too_thin_is_outlined_by_the_makers_least(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    name = laid_flat(window, shell_file)
    assert window.sheet._sheet.pattern.thin_regions == ()
    mark = made(window.document.state, "Paper", name).thinnest
    window.foreman.set_least_thickness(1.6 * (mark.ratio + 0.01))
    spin(0.1)
    regions = window.sheet._sheet.pattern.thin_regions
    assert len(regions) >= 1
    middle = regions[0].outline.mean(axis=0)
    assert np.linalg.norm(middle - mark.place) < 40.0
    window.foreman.set_least_thickness(1.2)


def test_the_edges_stand_in_a_table_in_the_unit_shown(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    name = laid_flat(window, shell_file)
    view = window.views["Blanks"]
    found = made(window.document.state, "Paper", name)
    assert [row[0] for row in view._edges.words()] == [edge.letter for edge in found.edges]
    assert view._edges_title.text() == "Its edges, in mm"
    assert view._edges.words()[0][1].startswith(f"{found.edges[0].flat_mm:.0f}"[:2])
    window.foreman.show_inches(True)
    spin(0.1)
    assert view._edges_title.text() == "Its edges, in inches"
    assert "/" in " ".join(view._edges.words()[0])
    window.foreman.show_inches(False)


def test_words_on_the_sheet_never_lie_on_one_another_or_beyond_it(app) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QImage, QPainter, QTransform

    image = QImage(200, 120, QImage.Format.Format_RGB32)
    with QPainter(image) as painter:
        marks = SheetMarks(painter, QTransform())
        spots = [QPointF(x, y) for x in (0.0, 100.0, 200.0) for y in (0.0, 60.0, 120.0)]
        said = [marks.say("thinnest 1.28 mm", [spot]) for spot in spots]
        boxes = list(marks._taken)
        assert 3 <= sum(said) < len(spots)
        for at, box in enumerate(boxes):
            assert box.left() >= 0.0
            assert box.right() <= 200.0
            assert box.top() >= 0.0
            assert box.bottom() <= 120.0
            assert not any(box.intersects(other) for other in boxes[:at])
        assert marks.say("LIES OVER ITSELF", [spots[0]], must=True)


def test_what_changes_is_hatched_by_its_way_and_what_was_not_scanned_crosswise(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    """A vertex lies within the hatch of its way if it changes by the least contour's value."""
    import shapely
    from shapely.geometry.base import BaseGeometry

    laid_flat(window, shell_file)
    sheet, found = window.sheet._sheet, window.sheet._sheet.pattern  # marked out as it is shown
    flat = sheet.blank.flat
    points = shapely.points(flat.flat_vertices)
    change = found.shape.change
    for loops, levels, way in (
        (sheet.stretched, found.levels[found.levels > 0.0], 1.0),
        (sheet.shrunk, -found.levels[found.levels < 0.0], -1.0),
    ):
        if not len(levels):
            assert loops == ()
            continue
        area: BaseGeometry = shapely.Polygon()
        for loop in loops:
            area = shapely.symmetric_difference(area, shapely.make_valid(shapely.Polygon(loop)))
        within = shapely.contains(area.buffer(1e-6), points)
        asked = way * change >= levels.min()
        assert (within == asked).mean() > 0.98  # all but those on the contour itself
        assert asked.any()
