"""FRONT, TOP and grain: which way they point, against planes whose answer is known."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from app.exports import PanelSheet
from app.exports.drawing import Meaning
from app.exports.marks.arrow_marks import (
    arrow_lines,
    arrow_sign,
    degrees_off,
    front_way,
    grain_warning,
    grain_way,
    top_up,
    top_way,
    up_on_blank,
    ways_text,
)
from geometry.arrays import FloatArray, IntArray
from geometry.pattern import RollLine
from tests.app.exports.sample_sheets import FRONT, UP, panel_sheet


@dataclass(frozen=True, eq=False)
class _Flat:
    vertices: FloatArray
    faces: IntArray
    flat_vertices: FloatArray
    stretches: FloatArray
    rim: IntArray


def leaning(slope_deg: float, turn_deg: float) -> _Flat:
    """Return a square of metal leaning by an angle, laid flat and turned by another."""
    flat = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    slope = np.radians(slope_deg)
    rise = np.array([0.0, np.cos(slope), np.sin(slope)])
    formed = flat[:, :1] * np.array([1.0, 0.0, 0.0]) + flat[:, 1:] * rise
    turn = np.radians(turn_deg)
    turned = flat @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    return _Flat(formed, faces, turned, np.ones((2, 2)), np.arange(4))


@pytest.mark.parametrize("slope", [20.0, 60.0, 90.0])
@pytest.mark.parametrize("turn", [0.0, 30.0, 200.0])
def test_up_on_a_leaning_plane_is_its_line_of_fall(slope: float, turn: float) -> None:
    """The line of fall is the square's second side, turned as the blank is."""
    flat = leaning(slope, turn)
    up = up_on_blank(flat, 3.0 * UP, flat.flat_vertices.mean(axis=0))
    assert up is not None
    radians = np.radians(turn)
    np.testing.assert_allclose(up, [-np.sin(radians), np.cos(radians)], atol=1e-12)


def test_a_plane_that_lies_level_has_no_way_up() -> None:
    flat = leaning(10.0, 0.0)
    assert up_on_blank(flat, UP, flat.flat_vertices.mean(axis=0)) is None


def test_the_top_of_the_sample_lies_level_and_says_so() -> None:
    assert top_way(panel_sheet("top strip")).direction is None
    assert ways_text(panel_sheet("top strip")).endswith("LIES LEVEL: NO TOP")


@pytest.mark.parametrize("face", ["inside", "outside"])
@pytest.mark.parametrize("name", ["left side", "right side"])
def test_front_and_top_stand_on_paper_as_they_are_seen_from_the_marked_face(
    name: str, face: str
) -> None:
    """A left side seen from outside has FRONT to the left of TOP, one of the two mirrored."""
    sheet = panel_sheet(name, marked_face=face)
    front, top = front_way(sheet).direction, top_way(sheet).direction
    assert front is not None
    assert top is not None
    turns_left = front[0] * top[1] - front[1] * top[0] > 0.0
    assert abs(front[0] * top[1] - front[1] * top[0]) > 0.9
    assert turns_left == ((name == "right side") == (face == "outside"))


@pytest.mark.parametrize("face", ["inside", "outside"])
@pytest.mark.parametrize("name", ["left side", "right side"])
@pytest.mark.parametrize("turn", [0.0, 0.6, 2.0, 4.0])
def test_a_sheet_made_to_stand_top_up_keeps_its_turn_or_takes_half_a_turn_more(
    name: str, face: str, turn: float
) -> None:
    sheet = replace(panel_sheet(name, marked_face=face), turn_rad=turn)
    standing = top_up(sheet)
    before, after = top_way(sheet).direction, top_way(standing).direction
    assert before is not None
    assert after is not None
    assert after[1] > -np.sin(np.radians(10.0))
    np.testing.assert_allclose(after, before if before[1] > -0.17 else -before, atol=1e-12)
    assert top_up(standing) is standing


def test_the_left_side_hangs_upside_down_as_it_is_laid_and_stands_on_its_pages() -> None:
    """Its FRONT runs along +u and its outside to the left: seen so, up is down the page."""
    sheet = panel_sheet("left side")
    laid, standing = top_way(sheet).direction, top_way(top_up(sheet)).direction
    assert laid is not None
    assert standing is not None
    assert laid[1] < -0.9
    assert standing[1] > 0.9
    level = panel_sheet("top strip")
    assert top_up(level) is level


@pytest.mark.parametrize("slope", [0.0, 35.0, 90.0, 150.0])
def test_a_plane_faces_square_to_itself(slope: float) -> None:
    flat = leaning(slope, 30.0)
    assert degrees_off(flat, 2.0 * UP, flat.flat_vertices.mean(axis=0)) == pytest.approx(
        slope, abs=1e-5
    )


@pytest.mark.parametrize(
    ("off_deg", "words"),
    [(0.0, "FACES FRONT"), (39.0, "FACES FRONT"), (41.0, "FRONT"), (90.0, "FRONT"),
     (139.0, "FRONT"), (141.0, "FACES THE SEAT"), (180.0, "FACES THE SEAT")],
)  # fmt: skip
def test_a_panel_that_faces_front_or_the_seat_says_so_and_has_no_arrow_to_it(
    off_deg: float, words: str
) -> None:
    """The tank's front is turned off the way the left side faces at its middle."""
    sheet = panel_sheet("left side")
    outward = _outward(sheet)
    across = np.cross(outward, FRONT)
    along = np.cross(across / np.linalg.norm(across), outward)
    turn = np.radians(off_deg)
    front = np.cos(turn) * outward + np.sin(turn) * along
    facing = replace(sheet, tank=replace(sheet.tank, front=front))
    way = front_way(facing)
    assert way.words == words
    assert (way.direction is None) == (words != "FRONT")
    assert ways_text(facing).startswith(f"{words}, " if words != "FRONT" else "\u2190 FRONT   ")


def _outward(sheet: PanelSheet) -> FloatArray:
    """Return the way a panel faces round its middle, from what it is off the three axes."""
    off = [degrees_off(sheet.flat, axis, sheet.pattern.centre) for axis in np.eye(3)]
    return np.cos(np.radians(off))


@pytest.mark.parametrize("turn", [0.0, 0.6, 2.0])
def test_arrows_follow_a_turned_blank(turn: float) -> None:
    sheet = panel_sheet("left side", grain="across")
    turned = replace(sheet, turn_rad=turn)
    rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    for way in (front_way, top_way, grain_way):
        before, after = way(sheet).direction, way(turned).direction
        assert before is not None
        assert after is not None
        np.testing.assert_allclose(after, before @ rotation, atol=1e-12)
    shaft = arrow_lines(np.zeros(2), front_way(turned))[0].points
    np.testing.assert_allclose((shaft[1] - shaft[0]) / 12.0, turned.lay.front, atol=1e-12)


def test_grain_runs_both_ways_and_any_grain_is_a_word() -> None:
    along = grain_way(panel_sheet("left side", grain="along"))
    assert [line.meaning for line in arrow_lines(np.zeros(2), along)] == [Meaning.GRAIN] * 3
    assert grain_way(panel_sheet("left side")).words == "GRAIN: ANY WAY"


@pytest.mark.parametrize(
    ("direction", "sign"), [((1, 0), "\u2192"), ((0, 1), "\u2191"), ((-1, -1), "\u2199")]
)
def test_a_line_of_text_names_the_nearest_of_eight_ways(
    direction: tuple[float, float], sign: str
) -> None:
    assert arrow_sign(np.array(direction, np.float64)) == sign


@pytest.mark.parametrize(("grain", "warns"), [("along", True), ("across", False), ("any", False)])
def test_a_bend_within_thirty_degrees_of_the_grain_is_warned_of(grain: str, warns: bool) -> None:
    """Common practice, no source: bend across the grain, not along it."""
    sheet = panel_sheet("left side", grain=grain)
    points = np.array([[0.0, 0.0], [100.0, 20.0]])
    fold = RollLine(
        points,
        np.zeros((2, 3)),
        np.zeros(2),
        is_fold=True,
        turn_rad=1.5,
        towards_outside=False,
    )
    folded = replace(sheet, pattern=replace(sheet.pattern, rolls=(fold,)))
    assert bool(grain_warning(folded)) == warns
