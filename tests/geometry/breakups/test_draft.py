"""Break-ups of a dome judged while a seam is moved."""

from math import cos, pi, radians, sin

import numpy as np
import pytest

from geometry.blank import NotADiskError
from geometry.breakups import BreakUpFigures, Draft, sight_of
from geometry.gauges import TankAxes
from geometry.mesh import face_areas
from geometry.panels import PanelPointError, Seam, SeamDoesNotPartError
from geometry.progress import Cancelled
from tests.bodies import dome
from tests.geometry.mesh.small_meshes import octahedron
from tests.geometry.panels.surfaces import PlainSurface, surface_of

R, HALF = 150.0, radians(60.0)


def ground() -> PlainSurface:
    return surface_of(dome(R, HALF, 16), 0.8)


def across(name: str, off: float, heading: float = 0.0, bulge: float = 0.0) -> Seam:
    """Return a seam over the dome in a plane beside its axis, from rim to rim, bulged a little."""
    reach = R * sin(HALF)
    along = np.linspace(-1.0, 1.0, 25) * np.sqrt(reach**2 - off**2)
    beside = off + bulge * (1 - (along / reach) ** 2) ** 2
    x = cos(heading) * along - sin(heading) * beside
    y = sin(heading) * along + cos(heading) * beside
    return Seam(name, np.stack([x, y, np.sqrt(R**2 - x**2 - y**2)], axis=1))


def figures(judged: BreakUpFigures) -> list[tuple[float, ...]]:
    return [
        (
            panel.work_mm2,
            panel.worst_stretch,
            panel.worst_shrink,
            panel.thinnest_mm,
            *panel.blank_mm,
            panel.formed_area_mm2,
            panel.lift.draft_rad,
        )
        for panel in judged.panels
    ]


def test_a_break_up_costs_the_same_whatever_was_judged_before() -> None:
    """The search goes on from an earlier layout: the same least work but for its tolerance."""
    kept = Draft(ground())
    for bulge in (0.0, 4.0, -7.0, 4.0, 18.0):
        seams = [across("one", -50.0), across("other", 40.0, bulge=bulge)]
        fresh = Draft(ground()).judged(seams)
        now = kept.judged(seams)
        assert [panel.name for panel in now.panels] == [panel.name for panel in fresh.panels]
        for mine, theirs in zip(figures(now), figures(fresh), strict=True):
            assert mine == pytest.approx(theirs, rel=1e-6)
        assert [seam.length_mm for seam in now.seams] == pytest.approx(
            [seam.length_mm for seam in fresh.seams], rel=1e-12
        )


def test_a_panel_that_stays_as_it_was_is_not_laid_flat_again() -> None:
    draft = Draft(ground())
    caps = [
        ("right cap", np.array([0.0, -100.0, 111.8])),
        ("left cap", np.array([0.0, 100, 111.8])),
    ]
    first = draft.judged([across("one", -50.0), across("other", 40.0)], named=caps)
    then = draft.judged([across("one", -50.0), across("other", 40.0, bulge=5.0)], named=caps)
    kept = [panel for panel in then.panels if any(panel.lift is old.lift for old in first.panels)]
    assert [panel.name for panel in kept] == ["right cap"]
    back = draft.judged([across("one", -50.0), across("other", 40.0)], named=caps)
    assert all(panel.lift is old.lift for panel, old in zip(back.panels, first.panels, strict=True))


def test_panels_take_the_names_given_and_areas_add_up() -> None:
    surface = ground()
    judged = Draft(surface).judged(
        [across("one", 10.0)], named=[("near", np.array([0.0, -50.0, 141.0]))]
    )
    assert {panel.name for panel in judged.panels} == {"near", "panel 1"}
    whole = face_areas(surface.mesh.vertices, surface.mesh.faces).sum()
    assert sum(panel.formed_area_mm2 for panel in judged.panels) == pytest.approx(whole, rel=1e-3)


def test_half_a_dome_costs_what_its_mirror_image_costs() -> None:
    """Split down the middle: both halves alike, but for the triangles beside the seam."""
    one, other = Draft(ground()).judged([across("middle", 0.0)]).panels
    assert one.work_mm2 == pytest.approx(other.work_mm2, rel=2e-3)
    assert one.blank_mm == pytest.approx(other.blank_mm, rel=1e-3)
    assert one.worst_shrink == pytest.approx(other.worst_shrink, abs=1e-3)


def test_seams_are_measured_on_the_scanned_face_and_seen_or_not_as_marked() -> None:
    """A great circle of the scanned face, radius R + 0.8: 2 HALF R long, less the chords.

    Of 60 degrees either way from the top the last 15 face ahead or back by over 45: a quarter.
    """
    sight = sight_of(ground().outside, TankAxes(np.array([-R, 0, 0]), np.eye(3), named=True))
    draft = Draft(ground(), sight=sight)
    (seam,) = draft.judged([across("middle", 0.0)]).seams
    assert seam.length_mm == pytest.approx(2 * HALF * (R + 0.8), rel=2e-3)
    assert seam.hidden_mm == pytest.approx(seam.length_mm / 4, rel=0.05)
    (seam,) = draft.judged([across("middle", 0.0)], marks={"middle": "hidden"}).seams
    assert seam.seen_mm == 0.0


def test_thickness_and_trim_are_the_sheets() -> None:
    thin = Draft(ground(), sheet_mm=1.2, trim_mm=0.0).judged([across("s", 20.0)])
    thick = Draft(ground(), sheet_mm=2.4, trim_mm=5.0).judged([across("s", 20.0)])
    for one, other in zip(thin.panels, thick.panels, strict=True):
        assert other.thinnest_mm == pytest.approx(2 * one.thinnest_mm, rel=1e-9)
        assert one.cut_mm == one.blank_mm
        assert other.cut_mm == pytest.approx([side + 10.0 for side in one.blank_mm], rel=1e-9)


def test_a_surface_without_an_edge_is_told_as_one_that_cannot_be_laid_flat() -> None:
    judged = Draft(surface_of(octahedron(3, 100.0))).judged([])
    assert judged.pieces == 1
    assert isinstance(judged.panels[0].refusal, NotADiskError)
    assert judged.refused == ("panel 1",)


def test_a_seam_that_cannot_be_cut_leaves_the_draft_as_it_was() -> None:
    draft = Draft(ground())
    seams = [across("one", -50.0), across("other", 40.0)]
    before = draft.judged(seams)
    stub = Seam("stub", across("stub", 0.0, 1.5).points[5:20])
    with pytest.raises(SeamDoesNotPartError):
        draft.judged([*seams, stub])
    with pytest.raises(PanelPointError):
        draft.judged(seams, named=[("a", seams[0].points[0] * 3.0)])
    after = draft.judged(seams)
    assert all(one.lift is two.lift for one, two in zip(before.panels, after.panels, strict=True))


def test_judging_tells_how_far_it_is_and_can_be_stopped() -> None:
    seen: list[float] = []
    draft = Draft(ground())
    draft.judged([across("s", 20.0)], report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert len(set(seen)) > 5
    assert (seen[0], seen[-1]) == (0.0, 1.0)

    def stop(done: float, stage: str) -> None:
        if done > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        draft.judged([across("s", 30.0)], report=stop)
    halted = draft.judged([across("s", 30.0)])
    fresh = Draft(ground()).judged([across("s", 30.0)])
    assert figures(halted)[0] == pytest.approx(figures(fresh)[0], rel=1e-6)


def test_many_break_ups_one_after_another_are_let_go_again() -> None:
    """Only so many are kept: the first comes out the same when it has been let go."""
    surface = PlainSurface(
        mesh := dome(R, HALF, 6),
        mesh.vertices,
        np.zeros(len(mesh.faces), bool),
        np.arange(len(mesh.vertices)),
        np.zeros(len(mesh.faces), bool),
    )
    draft = Draft(surface)
    first = draft.judged([across("s", -60.0)])
    for off in np.linspace(-55.0, 60.0, 31):
        draft.judged([across("s", float(off))])
    again = draft.judged([across("s", -60.0)])
    assert again.panels[0].lift is not first.panels[0].lift
    assert figures(again)[0] == pytest.approx(figures(first)[0], rel=1e-6)


def test_both_halves_of_a_split_dome_lift_out_and_the_whole_ball_does_not() -> None:
    split = Draft(ground()).judged([across("middle", 0.0)])
    assert split.held == ()
    ball = dome(R, radians(130.0), 16)
    whole = Draft(surface_of(ball)).judged([])
    assert whole.held == ("panel 1",)
    turn = 2 * pi * np.arange(48) / 48
    round_it = R * np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    parted = Draft(surface_of(ball)).judged([Seam("waist", round_it, closed=True)])
    assert parted.pieces == 2
    assert parted.panels[0].lift.angle_rad < radians(6.0)
