"""Seams that hang together, on a flat sheet whose middle line is the centre plane."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from app.job import JobState, SeamLine
from app.window.seam_ground import Ground
from app.window.seam_links import NoImageError, image_of, with_seam_changed
from app.window.seam_snaps import moving_lines, twin_of
from app.window.seam_work import runs_along
from geometry.seams import SeamGround
from tests.geometry.mesh.small_meshes import plane

SHEET = Ground(SeamGround(plane(51, 31, 2.0)), 1.0)
"""100 x 60 mm from the origin."""

DATUM = cast(
    Any,
    SimpleNamespace(
        plane=SimpleNamespace(point=np.array([0.0, 30, 0]), normal=np.array([0.0, 1, 0]))
    ),
)
MIDDLE = SeamLine("middle", ((0.0, 30.0, 0.0), (100.0, 30.0, 0.0)), on=("rim", "rim"))
SIDE = SeamLine(
    "side", ((20.0, 0.0, 0.0), (40.0, 20.0, 0.0), (60.0, 30.0, 0.0)),
    on=("rim", "station L1", "seam: middle"),
)  # fmt: skip


def job(*seams: SeamLine) -> JobState:
    return JobState(seams=seams)


def test_an_image_lies_mirrored_and_is_on_what_lies_mirrored() -> None:
    found = image_of(job(MIDDLE, SIDE), SIDE, "other", SHEET, DATUM)
    assert np.array(found.points) == pytest.approx(
        np.array([[20.0, 60, 0], [40, 40, 0], [60, 30, 0]]), abs=1e-9
    )
    assert found.on == ("rim", "station R1", "seam: middle")


def test_what_is_on_the_mirror_image_of_a_seam_has_its_image_on_the_seam_itself() -> None:
    seam = SeamLine("s", ((20.0, 40.0, 0.0), (40.0, 40.0, 0.0)), on=("mirror: side", "line 2"))
    assert image_of(job(SIDE, seam), seam, "t", SHEET, DATUM).on == ("seam: side", "")


def test_a_seam_on_the_centre_plane_has_no_image() -> None:
    with pytest.raises(NoImageError, match="middle runs on the centre plane"):
        image_of(job(MIDDLE), MIDDLE, "other", SHEET, DATUM)


def test_where_the_other_hand_has_no_skin_there_is_no_image() -> None:
    """The sheet ends 50 mm beside a plane at y = 10: the image of y = 55 lies 35 mm off it."""
    off = cast(Any, SimpleNamespace(plane=replace_point(10.0)))
    seam = SeamLine("far", ((20.0, 55.0, 0.0), (40.0, 55.0, 0.0)))
    with pytest.raises(NoImageError, match="35 mm off"):
        image_of(job(seam), seam, "other", SHEET, off)


def replace_point(y: float) -> Any:
    return SimpleNamespace(point=np.array([0.0, y, 0]), normal=np.array([0.0, 1, 0]))


def test_linked_seams_move_together_whichever_is_changed_and_apart_once_unlinked() -> None:
    image = replace(image_of(job(SIDE), SIDE, "other", SHEET, DATUM), mirror_of="side")
    state = job(SIDE, image)
    assert (twin_of(state.seams, 0), twin_of(state.seams, 1)) == (1, 0)
    lower = replace(SIDE, points=((20.0, 0.0, 0.0), (44.0, 12.0, 0.0), (60.0, 30.0, 0.0)))
    after = with_seam_changed(state, 0, lower, SHEET, DATUM)
    assert after.seams[1].points[1] == pytest.approx((44.0, 48.0, 0.0))
    assert after.seams[1].mirror_of == "side"
    back = with_seam_changed(state, 1, after.seams[1], SHEET, DATUM)
    assert back.seams[0].points[1] == pytest.approx((44.0, 12.0, 0.0))
    assert back.seams[0].mirror_of == ""
    free = job(SIDE, replace(image, mirror_of=""))
    assert with_seam_changed(free, 0, lower, SHEET, DATUM).seams[1] is free.seams[1]


def test_what_ends_on_a_seam_follows_it_and_what_ends_on_that_too() -> None:
    cross = SeamLine("cross", ((0.0, 10.0, 0.0), (50.0, 20.0, 0.0)), on=("", "seam: side"))
    side = SeamLine("side", ((50.0, 0.0, 0.0), (50.0, 30.0, 0.0)), on=("rim", "seam: middle"))
    lower = replace(MIDDLE, points=((0.0, 26.0, 0.0), (100.0, 26.0, 0.0)))
    after = with_seam_changed(job(MIDDLE, side, cross), 0, lower, SHEET, None)
    assert after.seams[1].points[1] == pytest.approx((50.0, 26.0, 0.0))
    assert after.seams[2].points[1] == pytest.approx((50.0, 20.0, 0.0))
    moved = with_seam_changed(
        after, 1, replace(after.seams[1], points=((60.0, 0.0, 0.0), (60.0, 26.0, 0.0))), SHEET, None
    )
    assert moved.seams[2].points[1] == pytest.approx((60.0, 20.0, 0.0), abs=1e-6)


def test_a_changed_seam_and_its_image_do_not_catch_on_themselves() -> None:
    state = job(MIDDLE, SIDE)
    lines = tuple(np.array(seam.points) for seam in state.seams)
    every = moving_lines(state, lines, SHEET, DATUM)
    assert {(line.kind, line.name) for line in every} == {
        ("seam", "middle"), ("mirror", "middle"), ("seam", "side"), ("mirror", "side"),
    }  # fmt: skip
    rest = moving_lines(state, lines, SHEET, DATUM, without=("side",))
    assert {line.name for line in rest} == {"middle"}


def test_a_seam_runs_along_a_line_when_half_of_its_points_do() -> None:
    line = np.array([[0.0, 0, 0], [100, 0, 0]])
    near, far = [10.0, 20, 0], [10.0, 40, 0]
    assert runs_along(np.array([near, near, far, far]), line)
    assert not runs_along(np.array([near, far, far]), line)
