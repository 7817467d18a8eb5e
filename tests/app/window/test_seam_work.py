"""What is worked on one seam in the worker, on a flat sheet: exact lengths by hand."""

import numpy as np
import pytest

from app.job import SeamLine
from app.window.seam_work import OFF_MM, faired_seam, slid_seam, stood_off_seam
from geometry.datum import point3
from geometry.seams import SeamGround, faired
from geometry.seams.course import distance_to_line
from tests.app.window.test_seam_on_scan import on_sheet as on_bumpy
from tests.app.window.test_seam_on_scan import sheet as bumpy
from tests.geometry.mesh.small_meshes import plane

SHEET = plane(51, 31, 2.0)
"""100 x 60 mm from the origin."""

LINE = np.array([[x, 30.0, 0.0] for x in range(10, 91, 5)])


@pytest.mark.parametrize(("other_side", "y"), [(False, 38.0), (True, 22.0)])
def test_a_seam_stands_off_the_line_on_its_side_or_the_other(other_side: bool, y: float) -> None:
    """It lies at y = 33 beside a line at y = 30: 8 mm off are 38, or 22."""
    seam = SeamLine("s", ((20.0, 33.0, 0.0), (50.0, 34.0, 0.0), (80.0, 33.0, 0.0)))
    found = stood_off_seam(SHEET, 1.0, seam, LINE, (8.0, other_side)).seam
    points = np.array(found.points)
    assert points[:, 1] == pytest.approx(y, abs=1e-6)
    assert points[0, 0] == pytest.approx(20.0, abs=4.0)  # the line's places are 6 mm apart
    assert points[-1, 0] == pytest.approx(80.0, abs=4.0)


def test_ends_on_a_rim_stay_there_and_ends_on_the_line_itself_go_along() -> None:
    held = SeamLine(
        "s", ((20.0, 60.0, 0.0), (30.0, 31.0, 0.0), (60.0, 31.0, 0.0), (80.0, 30.0, 0.0)),
        on=("rim", "", "", "line 1"),
    )  # fmt: skip
    found = stood_off_seam(SHEET, 1.0, held, LINE, (6.0, False)).seam
    points = np.array(found.points)
    assert found.points[0] == held.points[0]
    assert found.on[0] == "rim"
    assert found.on[-1] == ""
    assert points[1:, 1] == pytest.approx(36.0, abs=1e-6)


def test_in_a_file_of_inches_distances_stay_mm() -> None:
    inch = 25.4
    seam = SeamLine("s", ((20 / inch, 33 / inch, 0.0), (80 / inch, 33 / inch, 0.0)))
    found = stood_off_seam(SHEET, inch, seam, LINE / inch, (8.0, False)).seam
    assert np.array(found.points)[:, 1] * inch == pytest.approx(38.0, abs=1e-6)


def test_a_wavy_seam_is_fairer_within_what_it_may_move() -> None:
    wave = [
        (float(x), 30.0 + (1.0 if k % 2 else -1.0), 0.0) for k, x in enumerate(range(10, 91, 10))
    ]
    found = faired_seam(SHEET, 1.0, SeamLine("s", tuple(wave)), 1.5)
    points = np.array(found.seam.points)
    assert np.abs(points[1:-1, 1] - 30.0).max() < 1.0
    assert found.seam.points[0] == pytest.approx(wave[0])
    assert "is fair now: it moved" in found.words


def test_a_straight_seam_on_a_flat_sheet_is_fair_and_slides_nowhere() -> None:
    seam = SeamLine("s", ((10.0, 20.0, 0.0), (90.0, 20.0, 0.0)))
    assert faired_seam(SHEET, 1.0, seam, 2.0).seam is seam
    found = slid_seam(SHEET, 1.0, seam, 5.0, (None, None))
    assert found.seam is seam
    assert "least shape already" in found.words


def test_a_faired_seam_has_few_points_and_runs_the_same_way_as_with_all() -> None:
    """Through 0.3 mm: both ways between the exact line of the few and that of all, 8 mm apart."""
    mesh = bumpy(2.0)
    places = on_bumpy(*((15.0 + 10 * k, 45.0 + (2.0 if k % 2 else -2.0)) for k in range(16)))
    seam = SeamLine("s", tuple(point3(place) for place in places))
    few = np.array(faired_seam(mesh, 1.0, seam, 3.0).seam.points)
    ground = SeamGround(mesh)
    every = faired(ground, places, within_mm=3.0).points
    assert len(few) <= 0.7 * len(every)  # on so bumpy a sheet; a straight one needs two
    one, other = ground.exact(few).points, ground.exact(every).points
    assert distance_to_line(one, other).max() < OFF_MM + 1e-6
    assert distance_to_line(other, one).max() < OFF_MM + 1e-6


@pytest.mark.parametrize("share", [0.3, 0.7])
def test_beside_a_ring_a_seam_stands_off_the_arc_it_runs_along(share: float) -> None:
    """A circle of 15 mm round (50, 30), stood off outward: an arc of 23 mm, as far round as the
    seam, also beyond its first point and where that is the longer way.
    """
    turn = np.linspace(0.0, 2.0 * np.pi, 49)
    ring = np.stack([50 + 15 * np.cos(turn), 30 + 15 * np.sin(turn), 0 * turn], axis=1)
    ring[-1] = ring[0]
    along = np.linspace(0.6, 0.6 + share, 7) * 2.0 * np.pi
    places = [(50 + 19 * np.cos(a), 30 + 19 * np.sin(a), 0.0) for a in along]
    found = stood_off_seam(SHEET, 1.0, SeamLine("s", tuple(places)), ring, (8.0, False)).seam
    run = SeamGround(SHEET).exact(np.array(found.points)).points - [50, 30, 0]
    length = np.linalg.norm(np.diff(run, axis=0), axis=1).sum()
    assert np.hypot(*run.T[:2]) == pytest.approx(23.0, abs=OFF_MM + 0.05)  # chords of the ring
    assert length == pytest.approx(share * 2.0 * np.pi * 23.0, abs=2 * 6.0)  # places 6 mm apart
