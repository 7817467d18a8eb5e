"""The step "Flanges": along the open edge, a seam, a lip; what is refused, and what it leads to."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from app.job import (
    ROOT_SEAM,
    FlangeChoice,
    FlangeOnHoleError,
    FlangePitchError,
    FlangeRefusedError,
    Flanges,
    FlangesChoice,
    JobState,
    LipThereError,
    NoFlangeLineError,
    NoLipThereError,
    blank_edges,
    carried_through,
    flange_hands_apart,
    flange_metal_words,
    flange_run_words,
    flange_warning_words,
    flanges_line,
    made,
    open_job,
    save_job,
    task_for,
    with_edge,
    with_flange_on_blanks,
    with_lip_cut_off,
    with_rest,
    with_result,
)
from app.job.choices.paper import EdgeChoice
from app.job.rest.flanges_step import FlangeMade, _follows, flanges_step
from geometry.arrays import FloatArray
from geometry.metal import METALS, FlangeTooWideError, FlangeWidthError
from geometry.progress import silent
from geometry.tank import Lip, RootLine
from tests.app.job.small_tank import HALF_ANGLE, RADIUS_MM, carried

RIM_MM = RADIUS_MM * np.sin(HALF_ANGLE)


def with_flanges(*runs: FlangeChoice) -> JobState:
    return with_rest(carried(), flanges=FlangesChoice(runs))


def flanged(*runs: FlangeChoice) -> JobState:
    return carried_through(with_flanges(*runs), "Flanges")


@cache
def on_rim() -> JobState:
    return flanged(FlangeChoice(width_mm=6.0, root_radius_mm=0.0, pitch_mm=15.0))


def found(state: JobState) -> Flanges:
    flanges: Flanges = made(state, "Flanges")
    return flanges


def test_nothing_is_made_while_nothing_is_decided() -> None:
    assert task_for(carried(), "Flanges") is None
    assert task_for(carried_through(with_flanges(), "Stood"), "Flanges") is None


def test_a_flange_in_a_domes_rim_is_that_of_its_cone() -> None:
    """Rim of radius r, the dome's edge at polar angle T, a flange turned square to the inside.

    It ends at r - w sin T, its blank at r + w cos T; bent over 0, 90 degrees save 2 t - 0.702 t,
    half of it the flange's. Within 2 % of the change.
    """
    run = found(on_rim()).made[0].run
    saved = (2.0 * 1.6 - 90.0 * 0.0078 * 1.6) / 2.0
    flat = 6.0 - saved
    finished = RIM_MM - 6.0 * np.sin(HALF_ANGLE) + saved * np.cos(HALF_ANGLE)
    told = finished / (RIM_MM + flat * np.cos(HALF_ANGLE)) - 1.0
    changes = np.array([station.stretch - 1.0 for station in run.stations])
    assert np.median(changes) == pytest.approx(told, rel=0.02)
    assert changes == pytest.approx(told, rel=0.06)
    assert run.stations[0].flat_mm == pytest.approx(flat, abs=1e-9)


def halved(choice: FlangeChoice) -> FlangeMade:
    """Return a flange on the dome as if its centre plane were known."""
    task = task_for(carried_through(with_flanges(choice), "Stood"), "Flanges")
    assert task is not None
    stood = replace(task.inputs[0], has_plane=True)
    return flanges_step(stood, *task.inputs[1:], report=silent).made[0]


def test_both_hands_are_told_where_there_is_a_centre_plane() -> None:
    assert found(on_rim()).made[0].run.hands == ("",)
    made = halved(FlangeChoice(width_mm=6.0, pitch_mm=15.0))
    assert made.run.hands == ("left", "right")
    assert not flange_hands_apart(made)
    assert "Left hand" in " ".join(flange_run_words(made, 1.6))
    assert "1 flange" in flanges_line(found(on_rim()))


def test_a_flange_along_a_seam_is_carried_to_the_other_hand() -> None:
    """The left rail, y = 14 on a ball of 50: a circle of radius sqrt(50^2 - 14^2)."""
    run = halved(FlangeChoice("left rail", width_mm=4.0, pitch_mm=15.0)).run
    assert run.mirrored == "right"
    radii = [station.radius_mm for station in run.stations]
    assert np.median(radii) == pytest.approx(np.sqrt(RADIUS_MM**2 - 14.0**2), rel=0.03)


def test_the_side_says_which_way_the_flange_leaves_the_skin() -> None:
    """Turned by 30 degrees its tips lie beyond the line: away from the panel of that side."""
    tips = []
    for side in ("left", "right"):
        choice = FlangeChoice("left rail", side, 4.0, turn_rad=0.52, pitch_mm=15.0)
        stations = halved(choice).run.of_hand("left")
        tips.append(np.mean([station.tip[1] - station.place[1] for station in stations]))
    assert tips[0] * tips[1] < 0.0
    assert abs(tips[0]) > 1.0


def refused(*runs: FlangeChoice) -> FlangeRefusedError:
    with pytest.raises(FlangeRefusedError) as told:
        flanged(*runs)
    return told.value


@pytest.mark.parametrize(
    ("choice", "why"),
    [
        (FlangeChoice("hole 1"), FlangeOnHoleError),
        (FlangeChoice("filler"), FlangeOnHoleError),
        (FlangeChoice("nowhere"), NoFlangeLineError),
        (FlangeChoice("line 3"), NoFlangeLineError),
        (FlangeChoice(width_mm=0.0), FlangeWidthError),
        (FlangeChoice(width_mm=70.0), FlangeTooWideError),
        (FlangeChoice(pitch_mm=0.5), FlangePitchError),
        (FlangeChoice(lip="keep"), NoLipThereError),
    ],
)
def test_what_cannot_be_is_refused_by_name(choice: FlangeChoice, why: type[Exception]) -> None:
    first = FlangeChoice(width_mm=5.0, pitch_mm=40.0)
    told = refused(first, choice)
    assert told.number == 2
    assert isinstance(told.error, why)


def test_words_tell_base_metal_and_what_is_too_tight() -> None:
    flange = found(on_rim()).made[0]
    words = " ".join(flange_run_words(flange, 1.6))
    assert "CUT EDGE" in words
    assert "6 mm (1/4 in) wide" in words
    half_hard = METALS["3003-H14"]
    assert "5 in every 100 as bought" in flange_metal_words(flange, half_hard, 1.6)
    assert not flange_warning_words(flange, half_hard, 1.6)
    out = found(flanged(FlangeChoice(width_mm=8.0, to="outside", pitch_mm=20.0))).made[0]
    stretched = out.run.most_stretched.stretch - 1.0
    assert 0.05 < stretched < 0.25
    (warned,) = flange_warning_words(out, half_hard, 1.6)
    assert "Anneal first" in warned


def test_a_flange_is_left_on_the_blanks_it_belongs_to() -> None:
    state = flanged(FlangeChoice("left rail", "left", 8.0, pitch_mm=20.0))
    edges = blank_edges(state, state.rest.flanges.runs[0])  # type: ignore[union-attr]
    assert len(edges) == 1
    panel, edge = edges[0]
    assert {panel, edge.split("|")[1]} == {"left", "top"}
    kept = with_flange_on_blanks(state, 0)
    (choice,) = kept.edges
    assert (choice.kind, choice.width_mm, choice.angle_deg) == ("flange", 8.0, 90.0)
    other = flanged(FlangeChoice("left rail", "right", 8.0, to="outside", pitch_mm=20.0))
    turned = with_flange_on_blanks(other, 0).edges[0]
    assert {turned.panel} != {choice.panel}
    assert turned.angle_deg == -90.0


def test_along_the_open_edge_all_free_edges_get_it() -> None:
    state = with_flange_on_blanks(on_rim(), 0)
    assert {edge.panel for edge in state.edges} == {"left", "top", "right"}
    assert all(edge.edge.startswith("F") for edge in state.edges)


def test_it_is_kept_in_the_job_file(tmp_path: object) -> None:
    state = with_flanges(
        FlangeChoice("left rail", "right", 8.0, "level", 1.0, "outside", 2.0, 30.0)
    )
    path = tmp_path / "job.lowcrown"  # type: ignore[operator]
    save_job(state, path)
    assert open_job(path).rest == state.rest


# ---- a lip that is there already, on a dome given one


def lip() -> Lip:
    """Return a lip all round the dome's rim, as if one had been found."""
    angle = np.linspace(0.0, 2.0 * np.pi, 60, endpoint=False)
    ring = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    root = np.column_stack([RIM_MM * ring, np.full(60, RADIUS_MM * np.cos(HALF_ANGLE))])
    full = np.ones(60)
    return Lip(root, root * [0.8, 0.8, 1.0], 9.0 * full, 1.5 * full, 4.0 * full, is_closed=True)


def with_lip(rule: str) -> JobState:
    """Return a job whose flange was made with a lip found along the open edge."""
    state = on_rim()
    flanges = found(state)
    choice = replace(flanges.made[0].choice, lip=rule)  # type: ignore[arg-type]
    state = with_rest(state, flanges=FlangesChoice((choice,)))
    task = task_for(state, "Flanges")
    assert task is not None
    axes_root = flanges.axes.to_tank(lip().root)
    known = replace(lip(), root=axes_root, rim=flanges.axes.to_tank(lip().rim))
    kept = replace(flanges.made[0], choice=choice, lip=known)
    return with_result(state, task, replace(flanges, made=(kept,)))


def test_a_kept_lip_gets_no_flange_on_its_blank() -> None:
    with pytest.raises(LipThereError) as there:
        with_flange_on_blanks(with_lip("keep"), 0)
    assert there.value.width_mm == 9.0


def test_a_lip_is_cut_off_along_a_seam_on_its_root_line() -> None:
    state = with_lip_cut_off(with_lip("cut off"), 0)
    seam = state.seams[-1]
    assert seam.name == ROOT_SEAM
    assert seam.closed
    points: FloatArray = np.array(seam.points)
    assert np.hypot(points[:, 0], points[:, 1]) == pytest.approx(RIM_MM, abs=1e-6)
    assert state.rest.flanges is not None
    assert state.rest.flanges.runs[0].edge == ROOT_SEAM
    assert with_lip_cut_off(state, 0) is state


def test_a_flange_left_on_a_kept_lips_edge_is_told() -> None:
    kept = replace(found(with_lip("keep")).made[0], twice=(("left", "F1"),))
    words = " ".join(flange_run_words(kept, 1.6))
    assert "COUNTED TWICE" in words
    assert "left F1" in words


def test_further_lips_are_told() -> None:
    more = replace(found(with_lip("keep")).made[0], more_lips=2)
    assert "2 further lips" in " ".join(flange_run_words(more, 1.6))


def test_a_line_beside_a_lip_is_known_for_it() -> None:
    known = lip()
    assert _follows(RootLine(known.root + [0.0, 0.0, 2.0], is_closed=True), known)
    assert not _follows(RootLine(known.root + [0.0, 0.0, 40.0], is_closed=True), known)


def test_flanges_folded_on_blanks_reach_the_step() -> None:
    state = with_edge(with_flanges(FlangeChoice()), EdgeChoice("left", "F1", "flange", 8.0))
    task = task_for(carried_through(state, "Stood"), "Flanges")
    assert task is not None
    assert task.inputs[4].folded == (EdgeChoice("left", "F1", "flange", 8.0),)
