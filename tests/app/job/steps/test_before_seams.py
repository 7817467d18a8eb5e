"""Tidy, Datum and Lines on the small dome: what is decided is what is done."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from app.job import (
    STEPS,
    BallCrop,
    Fill,
    HalfSpaceCrop,
    JobState,
    Lines,
    OpenEdgeFilledError,
    SizeChoice,
    StepState,
    Surface,
    Tidied,
    Zone,
    carried_through,
    directions_of,
    failure,
    line_of,
    made,
    needed,
    next_tasks,
    state_of,
    task_for,
    with_crop,
    with_cut,
    with_datum_found,
    with_failure,
    with_hole_filled,
    with_hole_left,
    with_line_drawn,
    with_line_rejected,
    with_lines_sought,
    with_on_centre,
    with_plane,
    with_result,
    with_scan,
    with_side_copied,
    with_size,
    with_sure_lines_locked,
    with_zone,
)
from geometry.datum import Datum, NoSymmetryError, NothingFacesError, PickOffTankError
from geometry.mesh import face_areas, rims
from geometry.surface import CharacterLine
from tests.app.job.small_tank import RADIUS_MM, decided, dome_scan, on_dome

TOP = BallCrop((0.0, 0.0, RADIUS_MM), 12.0)


@cache
def sized() -> JobState:
    """Return the dome's job with scan and size made."""
    state = with_size(with_scan(JobState(), dome_scan()), SizeChoice("mm"))
    return carried_through(state, "Size")


def tidied(state: JobState) -> Tidied:
    found: Tidied = made(carried_through(state, "Tidy"), "Tidy")
    return found


def surfaced(state: JobState) -> Surface:
    found: Surface = made(carried_through(state, "Surface"), "Surface")
    return found


def test_half_a_dome_is_left_by_a_crop_through_its_middle() -> None:
    crop = HalfSpaceCrop((0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    whole, half = tidied(sized()).tidy.mesh, tidied(with_crop(sized(), crop)).tidy.mesh
    area = [float(face_areas(mesh.vertices, mesh.faces).sum()) for mesh in (whole, half)]
    assert area[1] == pytest.approx(area[0] / 2.0, rel=0.05)  # faces are there or not


def test_a_cut_out_leaves_a_hole_which_is_filled_and_marked_unless_left() -> None:
    cut = with_cut(sized(), TOP)
    found = tidied(cut)
    edge, hole = found.holes
    assert (edge.is_edge, hole.is_round) == (True, True)
    assert found.hole_fates == ("left", "filled")
    surface = surfaced(cut)
    assert len(rims(surface.working.mesh)) == 1
    assert surface.working.filled.any()
    left = with_hole_left(cut, (0.0, 0.0, RADIUS_MM))
    assert tidied(left).hole_fates == ("left", "left")
    assert len(rims(surfaced(left).working.mesh)) == 2


@pytest.mark.parametrize(("fill", "open_rims"), [("all", 1), ("none", 2)])
def test_holes_nobody_decided_about_go_as_said_for_all(fill: Fill, open_rims: int) -> None:
    cut = with_cut(sized(), TOP)
    state = replace(cut, tidy=replace(cut.tidy, fill=fill))
    assert len(rims(surfaced(state).working.mesh)) == open_rims


def test_how_far_the_surface_lies_off_the_scan_is_told_where_it_is_asked_for() -> None:
    """Nothing waits for it: on the way to the paper it is not made."""
    assert all("Difference" not in row.hangs_on for row in STEPS)
    state = carried_through(sized(), "Paper")
    assert made(state, "Difference") is None
    state = carried_through(state, "Difference")
    difference = made(state, "Difference")
    assert line_of(state, "Difference").endswith(f"within {difference.p95:.2f} mm of it")
    assert 0.0 <= difference.median <= difference.p95 <= difference.largest < 1.0


def test_without_a_word_there_is_no_datum_and_the_job_goes_on() -> None:
    state = carried_through(sized(), "Surface")
    assert task_for(state, "Datum") is None
    assert state_of(state, "Datum") is StepState.TO_DO
    assert needed(state, "Datum") == ""


def test_picks_on_the_centre_line_stand_the_tank_up() -> None:
    """Three places in the plane y = 0: the normal is square to it; front and up were said."""
    state = decided()
    for x in (-30.0, 0.0, 30.0):
        state = with_on_centre(state, on_dome(x, 0.0))
    state = carried_through(state, "Datum")
    datum: Datum = made(state, "Datum")
    assert np.allclose(datum.plane.normal, [0.0, 1.0, 0.0], atol=1e-9)
    assert np.allclose(datum.front, [1.0, 0.0, 0.0], atol=0.02)
    assert "centre plane" in line_of(state, "Datum")
    front = directions_of(state).front
    assert front is not None
    assert np.allclose(front, datum.front)


def test_a_direction_that_is_only_guessed_is_told_to_nobody() -> None:
    state = with_plane(sized(), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    state = carried_through(state, "Datum")
    assert "front" in made(state, "Datum").guessed
    assert directions_of(state).front is None
    assert "FRONT" in needed(state, "Datum")


def test_a_plane_that_was_given_is_not_told_to_be_sure_to_anything() -> None:
    state = with_plane(sized(), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    assert line_of(carried_through(state, "Datum"), "Datum") == "centre plane as given"


def test_picks_are_asked_for_before_there_are_any() -> None:
    state = carried_through(with_datum_found(sized(), "picks"), "Tidy")
    assert "centre line" in needed(state, "Datum")


def test_a_datum_that_fails_holds_nothing_else_up() -> None:
    state = carried_through(with_datum_found(sized(), "auto"), "Tidy")
    task = task_for(state, "Datum")
    assert task is not None
    state = with_failure(state, task, NoSymmetryError(0.1))
    assert isinstance(failure(state, "Datum"), NoSymmetryError)
    assert state_of(state, "Datum") is StepState.NEEDS_YOU
    assert [task.step for task in next_tasks(state, "Surface")] == ["Surface"]


def test_a_locked_line_is_held_by_the_surface_and_a_rejected_one_is_not() -> None:
    points = tuple(on_dome(float(x), 0.0) for x in np.linspace(-30.0, 30.0, 13))
    assert len(surfaced(with_line_drawn(sized(), points)).working.lines) == 1
    assert surfaced(with_line_rejected(sized(), points)).working.lines == ()


def test_only_lines_that_are_sure_are_locked_at_one_go() -> None:
    state = carried_through(with_lines_sought(sized(), True), "Tidy")
    task = task_for(state, "Lines")
    assert task is not None
    two = np.array([[0.0, 0.0, 50.0], [10.0, 0.0, 49.0]])
    lines = tuple(
        CharacterLine(two + i, np.ones(2), np.ones(2), np.ones(2), "ridge", sure, False)
        for i, sure in enumerate((0.95, 0.6))
    )
    places = tuple(tuple((float(x), float(y), float(z)) for x, y, z in at.points) for at in lines)
    state = with_sure_lines_locked(with_result(state, task, Lines(lines, places)))
    assert [line.points for line in state.lines] == [places[0]]
    assert line_of(state, "Lines") == "2 lines found, 1 locked"


def test_a_copied_side_is_what_is_laid_out_and_is_marked() -> None:
    """The dome is alike on both hands: its copy has the same area, half of it marked."""
    state = with_plane(decided(), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    state = carried_through(state, "Sides")
    assert "differ" in line_of(state, "Sides")
    assert " mm" not in line_of(state, "Sides", "in")
    assert " mm" not in line_of(state, "Datum", "in")
    plain = made(carried_through(state, "Surface"), "Surface").working
    chosen = with_side_copied(state, "left")
    assert task_for(chosen, "Surface") is None
    assert "Stand the tank up" in needed(chosen, "Surface")
    copied = made(carried_through(chosen, "Surface"), "Surface").working
    assert not plain.copied.any()
    area = face_areas(copied.outside, copied.mesh.faces)
    assert area[copied.copied].sum() == pytest.approx(area.sum() / 2.0, rel=0.03)
    own = face_areas(plain.outside, plain.mesh.faces)
    assert area.sum() == pytest.approx(own.sum(), rel=0.01)
    right = copied.outside[copied.mesh.faces[copied.copied]].mean(axis=1)[:, 1]
    assert right.max() < 2.0  # the normal points to the left: what is marked lies right of it


def test_a_zone_to_copy_leaves_what_left_against_right_showed_as_it_is() -> None:
    state = with_plane(decided(), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    state = carried_through(with_side_copied(state, "left"), "Sides")
    halves, sides = made(state, "Halves"), made(state, "Sides")
    chosen = with_zone(state, Zone(on_dome(10.0, 20.0), 8.0, "right"))
    assert [task.step for task in next_tasks(chosen, "Sides")] == ["Sides"]
    again = carried_through(chosen, "Sides")
    assert made(again, "Halves") is halves
    assert made(again, "Sides").left_right is halves.left_right
    assert made(again, "Sides").copied is not sides.copied


def test_holes_left_on_the_side_that_is_replaced_hold_nothing_up() -> None:
    cut = BallCrop(on_dome(0.0, -25.0), 8.0)
    state = with_hole_left(with_cut(decided(), cut), on_dome(0.0, -25.0))
    state = with_side_copied(with_plane(state, (0.0, 0.0, 0.0), (0.0, 1.0, 0.0)), "left")
    surface = made(carried_through(state, "Surface"), "Surface").working
    assert len(rims(surface.mesh)) == 1


def test_the_side_that_was_not_scanned_is_made_from_the_one_that_was() -> None:
    half = with_crop(decided(), HalfSpaceCrop((0.0, -1.0, 0.0), (0.0, 1.0, 0.0)))
    state = with_plane(half, (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    with pytest.raises(NothingFacesError):
        carried_through(state, "Sides")
    state = carried_through(with_side_copied(state, "left"), "Surface")
    assert made(state, "Sides").left_right is None
    assert line_of(state, "Sides") == "left side copied to the other"
    surface = made(state, "Surface").working
    area = face_areas(surface.outside, surface.mesh.faces)
    assert area[surface.copied].sum() == pytest.approx(area.sum() / 2.0, rel=0.05)


def test_the_open_edge_is_no_hole_to_be_filled() -> None:
    with pytest.raises(OpenEdgeFilledError) as caught:
        tidied(with_hole_filled(sized(), on_dome(0.0, RADIUS_MM * np.sin(1.2))))
    assert caught.value.rim_length_mm == pytest.approx(
        2.0 * np.pi * RADIUS_MM * np.sin(1.2), rel=0.01
    )


def test_a_pick_in_the_air_is_refused_with_its_place() -> None:
    state = sized()
    for x in (-30.0, 0.0, 30.0):
        state = with_on_centre(state, (x, 0.0, 900.0))
    with pytest.raises(PickOffTankError) as caught:
        carried_through(state, "Datum")
    assert caught.value.distance_mm > 800.0
