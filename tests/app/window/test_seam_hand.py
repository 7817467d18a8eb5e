"""Drawing and changing a seam: what the pointer catches on, and what becomes of the points."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.job import SeamLine
from app.window.hands import CATCH_PX
from app.window.scene import Hit
from app.window.seam_ground import Ground
from app.window.seam_hand import (
    AWAY,
    MovePointTool,
    SeamTool,
    with_point_inserted,
    with_point_moved,
    without_point,
)
from app.window.seam_snaps import SnapChoice, Snaps, catch_words
from geometry.arrays import FloatArray
from geometry.seams import SeamGround, SnapLine
from tests.geometry.mesh.small_meshes import plane

REACH = 4.0
SHEET = Ground(SeamGround(plane(51, 31, 2.0)), 1.0)
SEAM = SnapLine("seam", "middle", np.array([[0.0, 30, 0], [100, 30, 0]]))
RIM = SnapLine("rim", "rim", np.array([[0.0, 0, 0], [50, 0, 0], [100, 0, 0]]))
STATION = SnapLine("station", "station 50", np.array([[50.0, 0, 0], [50, 60, 0]]))
LINE = SnapLine("line", "line 2", np.array([[0.0, 45, 0], [100, 45, 0]]))


def hit(x: float, y: float) -> Hit:
    return Hit("scan", -1, np.array([x, y, 0.0]), np.zeros(3))


def seam_tool(*lines: SnapLine, choice: SnapChoice | None = None) -> SeamTool:
    """Return the tool on a flat sheet, 100 x 60 mm, with lines to catch on."""
    return SeamTool(SHEET, Snaps(lines, 1.0, choice))


def nowhere(point: FloatArray) -> float:
    return math.inf


def kinds_met(tool: SeamTool | MovePointTool) -> list[str]:
    return [met.kind for met in tool.met]


def click(tool: SeamTool, x: float, y: float) -> str:
    tool.follow(hit(x, y), REACH, nowhere)
    return tool.put(hit(x, y))


@pytest.mark.parametrize("off", [0.0, 0.9])
def test_a_point_hard_by_where_a_seam_began_does_not_end_it(off: float) -> None:
    """A click within reach of the seam it began on goes on, where it was clicked."""
    tool = seam_tool(SEAM)
    click(tool, 50.0, 30.5)
    assert click(tool, 50.0 + 0.9 * AWAY * REACH, 30.0 - off * REACH) == ""
    assert tool.placed[1].point[1] == pytest.approx(30.0 - off * REACH)
    assert click(tool, 60.0, 15.0) == ""
    assert click(tool, 50.0 + 1.5 * AWAY * REACH, 28.0) == "end"  # far enough: it ends there
    assert tool.placed[-1].point[1] == pytest.approx(30.0)


def test_a_seam_that_began_elsewhere_ends_on_the_seam_it_comes_to() -> None:
    tool = seam_tool(SEAM)
    click(tool, 50.0, 24.0)
    assert tool.placed[0].on == ""
    assert click(tool, 52.0, 29.0) == "end"
    assert tool.seam("cross", closed=False).on == ("", "seam: middle")


def test_a_point_says_what_it_is_on_and_a_line_does_not_end_the_seam() -> None:
    tool = seam_tool(LINE, STATION)
    assert click(tool, 20.0, 46.0) == ""
    assert click(tool, 50.8, 20.0) == ""
    assert tool.seam("s", closed=False).on == ("line 2", "station 50")
    assert tool.placed[0].point.tolist() == [20.0, 45.0, 0.0]
    assert [catch_words(placed.on) for placed in tool.placed] == ["on line 2", "on station 50"]
    shown = tool.drawn()
    assert shown.words[0][1] == "on station 50"
    assert len(shown.caught_line) == 2


def test_a_station_catches_from_half_as_far_as_a_locked_line() -> None:
    reach = REACH / CATCH_PX * 11.0  # "usual" is 11 picture points
    off = 0.7 * reach
    assert seam_tool(LINE).snaps.caught(np.array([9.0, 45 + off, 0]), reach / 11.0, nowhere)
    assert not seam_tool(STATION).snaps.caught(np.array([50 + off, 9, 0]), reach / 11.0, nowhere)


def test_the_rim_catches_where_it_is_drawn_under_the_pointer_not_where_it_is_near() -> None:
    tool = seam_tool(RIM)
    tool.follow(hit(50.0, 12.0), REACH, lambda point: 2.0 if point[0] == 50.0 else 99.0)
    assert tool.ahead is not None
    assert tool.ahead.on == "rim"
    assert tool.ahead.point.tolist() == [50.0, 0.0, 0.0]
    tool.follow(hit(50.0, 40.0), REACH, lambda point: 2.0)  # drawn there, but far behind
    assert tool.ahead.on == ""


@pytest.mark.parametrize(
    ("choice", "off", "catches"),
    [
        (SnapChoice(strength="weak"), 5.9, True),
        (SnapChoice(strength="weak"), 6.1, False),
        (SnapChoice(strength="strong"), 19.9, True),
        (SnapChoice(strength="strong"), 20.1, False),
        (SnapChoice(is_on=False), 0.1, False),
    ],
)
def test_how_strongly_points_catch_is_set_in_picture_points(
    choice: SnapChoice, off: float, catches: bool
) -> None:
    pixel = 0.25
    snaps = Snaps((LINE,), 1.0, choice)
    found = snaps.caught(np.array([30.0, 45 - off * pixel, 0]), pixel, nowhere)
    assert (found is not None) == catches


def test_a_reach_in_mm_holds_in_any_unit_of_the_file_and_however_near_the_eye() -> None:
    metres = Snaps((LINE,), 1000.0, SnapChoice(strength="set", reach_mm=3.0))
    for pixel in (1e-5, 1e-2):
        assert metres.caught(np.array([0.03, 0.0479, 0]), pixel, nowhere) is not None
        assert metres.caught(np.array([0.03, 0.0481, 0]), pixel, nowhere) is None


def test_nothing_is_caught_on_while_the_key_is_held() -> None:
    tool = seam_tool(SEAM, LINE)
    tool.is_free = True
    tool.follow(hit(20.0, 30.4), REACH, nowhere)
    assert tool.ahead is not None
    assert tool.ahead.point[1] == pytest.approx(30.4)
    assert tool.ahead.on == ""


def test_a_point_that_cannot_be_reached_is_not_put_down() -> None:
    tool = seam_tool()
    click(tool, 20.0, 20.0)
    assert click(tool, 20.0, 20.0) == ""
    assert len(tool.placed) == 1


def test_a_carried_point_takes_its_line_along_and_leaves_the_others() -> None:
    """On a flat sheet the line is straight: its middle point lifted by 10 mm, Pythagoras."""
    seam = SeamLine(
        "s", ((10.0, 20.0, 0.0), (50.0, 20.0, 0.0), (90.0, 20.0, 0.0)), on=("rim", "", "rim")
    )
    tool = MovePointTool(seam, 1, SHEET, Snaps((LINE,)))
    tool.follow(hit(50.0, 30.0), REACH, nowhere)
    length = np.linalg.norm(np.diff(tool.line, axis=0), axis=1).sum()
    assert length == pytest.approx(2 * math.hypot(40.0, 10.0), rel=1e-3)
    tool.follow(None, REACH, nowhere)  # off the tank it stays
    assert tool.moved().points[1] == pytest.approx((50.0, 30.0, 0.0))
    tool.follow(hit(52.0, 44.0), REACH, nowhere)
    assert tool.moved().on == ("rim", "line 2", "rim")
    assert tool.moved().points[0] == seam.points[0]
    tool.take_back()
    assert tool.moved() == seam


def test_points_go_in_and_out_with_what_they_are_on() -> None:
    seam = SeamLine("s", ((0.0, 0.0, 0.0), (9.0, 0.0, 0.0)), on=("rim", "line 1"), mirror_of="t")
    more = with_point_inserted(seam, 1, np.array([4.0, 1.0, 0.0]))
    assert more.on == ("rim", "", "line 1")
    assert more.mirror_of == "t"
    assert without_point(more, 1) == seam
    assert without_point(seam, 0) is None
    ring = replace(more, closed=True)
    assert without_point(ring, 0) is None
    free = with_point_moved(with_point_moved(seam, 0, np.zeros(3), ""), 1, np.ones(3), "")
    assert free.on == ()


def test_a_line_that_would_cross_itself_says_so_where_before_it_is_clicked() -> None:
    """Up at x = 40, over to x = 70, back at y = 30 over x = 40: straight lines on a flat sheet."""
    tool = seam_tool()
    for x, y in ((40.0, 10.0), (40.0, 50.0), (70.0, 50.0)):
        click(tool, x, y)
    tool.follow(hit(50.0, 30.0), REACH, nowhere)
    assert kinds_met(tool) == []
    tool.follow(hit(10.0, 10.0), REACH, nowhere)
    assert kinds_met(tool) == ["crosses"]
    at = 10.0 + 40.0 * (40.0 - 10.0) / (70.0 - 10.0)  # from (70, 50) to (10, 10), at x = 40
    assert tool.met[0].point == pytest.approx([40.0, at, 0.0], abs=0.5)
    assert "crosses itself (square mark)" in tool.words()
    drawn = tool.drawn()
    assert drawn.warned == pytest.approx(tool.met[0].point[None])
    assert drawn.words[-1][1] == "crosses itself here"
    tool.follow(hit(90.0, 10.0), REACH, nowhere)
    assert kinds_met(tool) == []
    assert not len(tool.drawn().warned)


def test_a_line_taken_back_over_itself_says_that_it_doubles_back_and_taking_back_mends_it() -> None:
    tool = seam_tool()
    click(tool, 10.0, 20.0)
    click(tool, 60.0, 20.0)
    click(tool, 30.0, 20.0)
    assert kinds_met(tool) == ["doubles back"]
    assert tool.met[0].point == pytest.approx([60.0, 20.0, 0.0], abs=0.5)
    assert "doubles back (square mark" in tool.words()
    tool.take_back()
    assert kinds_met(tool) == []


@pytest.mark.parametrize(("y", "kinds"), [(35.0, []), (5.0, ["crosses"])])
def test_a_carried_point_that_makes_its_seam_cross_itself_says_so(
    y: float, kinds: list[str]
) -> None:
    """The last point below y = 20 takes its leg through the seam's first, at y = 20."""
    seam = SeamLine(
        "s", ((10.0, 20.0, 0.0), (90.0, 20.0, 0.0), (90.0, 50.0, 0.0), (50.0, 50.0, 0.0))
    )
    tool = MovePointTool(seam, 3, SHEET, Snaps(()))
    tool.follow(hit(50.0, y), REACH, nowhere)
    assert kinds_met(tool) == kinds
    assert len(tool.drawn().warned) == len(kinds)
    tool.take_back()
    assert kinds_met(tool) == []


def test_a_ring_that_closes_meets_itself_nowhere_and_an_eight_does() -> None:
    tool = seam_tool()
    for x, y in ((20.0, 15.0), (80.0, 15.0), (80.0, 45.0)):
        click(tool, x, y)
    tool.follow(hit(20.0, 15.0), REACH, nowhere)
    assert tool.ahead is not None
    assert tool.ahead.kind == "first"
    assert kinds_met(tool) == []
    eight = seam_tool()
    for x, y in ((20.0, 15.0), (80.0, 45.0), (80.0, 15.0), (20.0, 45.0)):
        click(eight, x, y)
    assert kinds_met(eight) == ["crosses"]
    eight.follow(hit(20.0, 15.0), REACH, nowhere)
    assert kinds_met(eight) == ["crosses"]
