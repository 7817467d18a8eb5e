"""Seams that start or end a hair beyond what they meet, on bodies whose panels' areas are known."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, face_areas
from geometry.panels import CutSurface, Seam, SeamTooShortError, cut_along
from tests.geometry.mesh.small_meshes import plane, tube
from tests.geometry.panels.surfaces import surface_of

SHEET = plane(51, 31, 2.0)
"""100 mm along x, 60 mm along y."""
ACROSS = Seam("across", np.array([[0.0, 30, 0], [100, 30, 0]]))


def flat(*points: tuple[float, float]) -> FloatArray:
    return np.array([(x, y, 0.0) for x, y in points], np.float64)


def areas(cut: CutSurface) -> FloatArray:
    area = face_areas(cut.mesh.vertices, cut.mesh.faces)
    return np.asarray(np.bincount(cut.panel_of_face, area), np.float64)


def cut_sheet(*points: tuple[float, float], mesh: TriMesh = SHEET) -> FloatArray:
    return areas(cut_along(surface_of(mesh), [ACROSS, Seam("stub", flat(*points))]))


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize(
    "points",
    [
        ((50, 30), (53, 32.5), (56, 0)),  # from the seam, over it again
        ((50, 33.5), (53, 32.5), (56, 0)),  # from a hair beyond the seam
        ((49, 31.0), (51, 33.0), (53, 32.5), (56, 0)),
    ],
)
def test_what_sticks_out_by_a_hair_parts_no_sliver(
    points: tuple[tuple[float, float], ...], way: int
) -> None:
    """The last leg crosses y = 30 at x = 53 + 3 * 2.5 / 32.5; two trapezia below, one half above.

    A vertex next to the crossing may be drawn to it: by NEAR_CORNER of a width, along the seam.
    """
    left = 30.0 * (53 + 3 * 2.5 / 32.5 + 56) / 2.0
    found = cut_sheet(*points[::way])
    assert found == pytest.approx([3000.0, left, 3000.0 - left], abs=1.0)


def test_a_seam_that_crosses_by_far_still_cuts_what_it_crosses_off() -> None:
    """Out 20 mm and back: the triangle (50, 30), (60, 50), (64, 30) is cut, 140 mm2."""
    found = cut_sheet((50, 30), (60, 50), (70, 0))
    assert len(found) == 4
    assert found[-1] == pytest.approx(140.0, abs=1.0)


def test_a_seam_from_the_rim_20_mm_beyond_another_crosses_it() -> None:
    """Two seams 20 mm and 40 mm up, crossed by one from rim to rim: four rectangles."""
    sheet = plane(51, 21, 2.0)
    seams = [
        Seam("low", flat((0, 20), (100, 20))),
        Seam("up", flat((50, 0), (50, 40))),
    ]
    assert areas(cut_along(surface_of(sheet), seams)) == pytest.approx([1000.0] * 4)


@pytest.mark.parametrize("strip", [4.0, 8.0])
def test_a_narrow_strip_between_two_seams_is_cut_across(strip: float) -> None:
    """The way round a strip is longer than the way over it: four rectangles and two ends."""
    seams = [
        ACROSS,
        Seam("beside", flat((0, 30 - strip), (100, 30 - strip))),
        Seam("over", flat((50, 30), (50, 0))),
    ]
    found = areas(cut_along(surface_of(SHEET), seams))
    below, beside = 50.0 * (30 - strip), 50.0 * strip
    assert found == pytest.approx([3000.0, below, below, beside, beside])


def test_a_corner_too_small_to_be_a_panel_is_not_cut_off() -> None:
    """From a seam 3 mm beside a corner over the other seam: without it there would be 4.5 mm2."""
    seams = [
        ACROSS,
        Seam("up", flat((50, 60), (50, 30))),
        Seam("down", flat((53, 30), (47, 36), (30, 60))),
    ]
    found = areas(cut_along(surface_of(SHEET), seams))
    assert len(found) == 4
    assert found.min() > 100.0


@pytest.mark.parametrize("points", [((50, 30), (56, 30)), ((50, 30), (53, 32), (56, 30))])
def test_a_seam_that_parts_nothing_but_a_sliver_is_refused(
    points: tuple[tuple[float, float], ...],
) -> None:
    with pytest.raises(SeamTooShortError) as caught:
        cut_sheet(*points)
    assert caught.value.seam == "stub"
    assert caught.value.point == pytest.approx([50.0, 30.0, 0.0])


@pytest.mark.parametrize("short", [1.0, 3.0, 5.5])
def test_a_seam_that_stops_a_hair_short_is_joined(short: float) -> None:
    assert cut_sheet((50, 30 - short), (50, 0)) == pytest.approx([3000.0, 1500.0, 1500.0])


def test_on_a_tube_a_seam_from_beyond_a_ring_leaves_the_three_panels_there_are() -> None:
    """A tube rolls flat: areas are its outline's length times height, no fourth panel."""
    radius, around = 50.0, 96
    surface = surface_of(tube(radius, 120.0, rows=41, around=around))
    outline = 2 * around * radius * np.sin(np.pi / around)

    def on_tube(*points: tuple[float, float]) -> FloatArray:
        turn, z = np.array(points).T
        return np.stack([radius * np.cos(turn), radius * np.sin(turn), z], axis=1)

    turns = 2 * np.pi * np.arange(96) / 96
    seams = [
        Seam("ring", on_tube(*((turn, 60.0) for turn in turns)), closed=True),
        Seam("one", on_tube((0.0, 63.0), (0.0, 30.0), (0.0, 0.0))),
        Seam("two", on_tube((np.pi, 60.0), (np.pi + 0.03, 61.5), (np.pi + 0.06, 0.0))),
    ]
    found = areas(cut_along(surface, seams))
    crossing = np.pi + 0.03 + 0.03 * 1.5 / 61.5
    side = outline * 60.0 * (crossing + np.pi + 0.06) / 2.0 / (2 * np.pi)
    assert found == pytest.approx([outline * 60.0, side, outline * 60.0 - side], rel=2e-3)
