"""Lines drawn by hand: as drawn, drawn to the ridge, led on, joined, closed."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import NearestPoint, TriMesh
from geometry.progress import Cancelled
from geometry.surface.character import (
    CharacterLine,
    LinesOn,
    extended_line,
    joined_lines,
    line_along,
    snapped_line,
)
from geometry.surface.locked import LineOffSurfaceError, LineTooShortError
from tests.geometry.surface.character.ridges import Line, height_scan, line_scan, off_line, ring

BODY = Line(3.0, np.radians(60.0), 1 / 150)


def on_skin(x: float, y: float) -> FloatArray:
    """Return the place of the body at x and y."""
    place = BODY.profile(np.linspace(-40.0, 40.0, 8001))[0]
    return np.array([x, y, np.interp(x, place[:, 0], place[:, 1])])


def length(line: CharacterLine) -> float:
    return float(np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum())


@pytest.fixture(scope="module")
def scan() -> TriMesh:
    return line_scan(BODY, length=110.0)


@pytest.fixture(scope="module")
def lines(scan: TriMesh) -> LinesOn:
    return LinesOn(scan)


@pytest.mark.parametrize("aside", [0.0, 3.0, 8.0])
def test_a_line_drawn_beside_the_ridge_is_drawn_to_it(lines: LinesOn, aside: float) -> None:
    """Drawn from one side over the ridge and back, up to 8 mm off."""
    drawn = np.stack([on_skin(aside, 8.0), on_skin(-aside / 2.0, 55.0), on_skin(aside, 102.0)])
    line = lines.snapped(drawn)
    assert off_line(BODY, line.points[1:-1]).max() < 0.15
    aslant = 2.0 * aside * 1.5 * aside / 47.0  # ends are drawn over square to the line drawn
    assert abs(np.ptp(line.points[:, 1]) - 94.0 - aslant) < 3.0
    assert abs(float(np.median(line.radius_mm)) - 3.0) < 0.3
    assert line.confidence > 0.95
    assert line.standing == "ridge"


def test_a_line_drawn_along_a_valley_is_drawn_to_the_valley(scan: TriMesh) -> None:
    turned = TriMesh(scan.vertices, scan.faces[:, ::-1])
    line = snapped_line(turned, np.stack([on_skin(3.0, 20.0), on_skin(3.0, 90.0)]))
    assert line.standing == "valley"
    assert off_line(BODY, line.points[1:-1]).max() < 0.15
    assert float(np.median(line.height_mm)) < -5.0


def test_a_line_drawn_where_no_ridge_is_stays_and_says_so(lines: LinesOn) -> None:
    drawn = np.stack([on_skin(24.0, 10.0), on_skin(24.0, 100.0)])
    as_drawn, to_ridge = lines.along(drawn), lines.snapped(drawn)
    np.testing.assert_allclose(to_ridge.points, as_drawn.points, atol=1e-9)
    assert to_ridge.confidence < 0.2
    assert abs(length(to_ridge) - 90.0) < 1.5
    assert float(np.median(to_ridge.opening_rad)) > np.radians(165.0)


def test_a_line_drawn_by_hand_runs_over_the_surface_through_its_places(scan: TriMesh) -> None:
    drawn = np.stack([on_skin(18.0, 10.0), on_skin(9.0, 50.0), on_skin(20.0, 95.0)])
    line = line_along(scan, drawn)
    assert NearestPoint(scan).find(line.points).distances.max() < 0.2
    gap = np.linalg.norm(line.points[:, None] - drawn, axis=2).min(axis=0)
    assert gap.max() < 1.6


def test_a_line_is_led_on_to_a_place_and_what_there_was_stays(scan: TriMesh) -> None:
    short = snapped_line(scan, np.stack([on_skin(1.0, 10.0), on_skin(1.0, 50.0)]))
    line = extended_line(scan, short, on_skin(5.0, 90.0))
    assert abs(np.ptp(line.points[:, 1]) - 80.0) < 3.0
    assert off_line(BODY, line.points[2:-2]).max() < 0.15
    away = np.linalg.norm(line.points[:, None] - short.points, axis=2).min(axis=0)
    assert away.max() < 1.6  # half a step: stations are dealt out anew


def test_a_line_is_led_on_from_whichever_end_is_nearer(lines: LinesOn) -> None:
    short = lines.snapped(np.stack([on_skin(1.0, 60.0), on_skin(1.0, 100.0)]))
    line = lines.extended(short, on_skin(2.0, 20.0))
    assert abs(np.ptp(line.points[:, 1]) - 80.0) < 3.0


@pytest.mark.parametrize("turned", [False, True])
def test_two_lines_are_joined_at_their_nearest_ends(
    scan: TriMesh, lines: LinesOn, turned: bool
) -> None:
    one = lines.snapped(np.stack([on_skin(2.0, 8.0), on_skin(1.0, 40.0)]))
    two = lines.snapped(np.stack([on_skin(2.0, 70.0), on_skin(1.0, 102.0)][:: -1 if turned else 1]))
    line = joined_lines(scan, two, one)
    assert abs(length(line) - 94.0) < 3.0
    assert off_line(BODY, line.points[2:-2]).max() < 0.15
    assert line.confidence > 0.95


def test_a_line_joined_to_itself_is_closed() -> None:
    lid = height_scan(ring(Line(3.0, np.radians(50.0), 1 / 200), 30.0))
    lines = LinesOn(lid)
    angle = np.linspace(0.3, 5.3, 12)
    open_line = lines.snapped(31.0 * np.column_stack([np.cos(angle), np.sin(angle), 0.0 * angle]))
    line = lines.joined(open_line, open_line)
    assert line.is_closed
    np.testing.assert_array_equal(line.points[0], line.points[-1])
    assert abs(length(line) - 60.0 * np.pi) < 1.0
    with pytest.raises(ValueError, match="no end"):
        lines.extended(line, np.zeros(3))
    with pytest.raises(ValueError, match="no end"):
        lines.joined(line, open_line)


def test_places_off_the_surface_and_specks_are_refused(lines: LinesOn) -> None:
    with pytest.raises(LineOffSurfaceError) as off:
        lines.snapped(np.stack([on_skin(0.0, 10.0), on_skin(0.0, 60.0) + [0.0, 0.0, 20.0]]))
    assert abs(off.value.distance_mm - 20.0) < 1.5
    with pytest.raises(LineTooShortError):
        lines.along(np.stack([on_skin(0.0, 10.0), on_skin(0.0, 12.0)]))


def test_drawing_reports_and_can_be_stopped(scan: TriMesh) -> None:
    drawn = np.stack([on_skin(3.0, 20.0), on_skin(3.0, 60.0)])
    seen: list[float] = []
    snapped_line(scan, drawn, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.45:
            raise Cancelled

    with pytest.raises(Cancelled):
        snapped_line(scan, drawn, report=stop)
