"""The sample tank's own seams, as a good shaper laid them, judged and advised upon."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.breakups import BreakUpFigures, Draft, SeamAdviser, seam_advice
from geometry.mesh import NearestPoint, TriMesh
from geometry.panels import Seam
from tests.geometry.panels.scans import sample_seams, sample_surface

pytestmark = pytest.mark.slow


def moved(seam: Seam, by_mm: float, about: int) -> Seam:
    """Return a seam with a dozen of its points moved sideways over the skin."""
    surface = sample_surface()
    skin = TriMesh(surface.outside, surface.mesh.faces)
    way = seam.points[about + 1] - seam.points[about - 1]
    aside = np.cross(way, seam.points[about] - surface.outside.mean(axis=0))
    share = np.exp(-(((np.arange(len(seam.points)) - about) / 3.0) ** 2))
    near = share > 0.02
    points = seam.points.copy()
    shift = by_mm * share[near, None] * aside / np.linalg.norm(aside)
    points[near] = NearestPoint(skin).find(points[near] + shift).points
    return Seam(seam.name, points, seam.closed)


def told(judged: BreakUpFigures) -> FloatArray:
    return np.array(
        [
            (panel.work_mm2, panel.worst_stretch, panel.worst_shrink, *panel.blank_mm)
            for panel in judged.panels
        ]
    )


def test_good_seams_draw_no_advice() -> None:
    assert seam_advice(sample_surface(), sample_seams()) == ()


def test_a_good_seam_made_bad_is_told_of() -> None:
    """A corner put in, an end taken off: each told once, of the seam it was done to."""
    adviser = SeamAdviser(sample_surface())
    top, seat, left, right = sample_seams()
    kinked = top.points.copy()
    kinked[70] = moved(top, 18.0, 70).points[70]
    said = adviser.advice([Seam(top.name, kinked), seat, left, right])
    assert {(advice.kind, advice.seam) for advice in said} == {("inside corner", top.name)}
    said = adviser.advice([top, seat, Seam(left.name, left.points[4:]), right])
    assert [(advice.kind, advice.seam) for advice in said] == [("ends apart", left.name)]


def test_every_panel_of_the_sample_lifts_out_of_its_form() -> None:
    judged = Draft(sample_surface()).judged(sample_seams())
    assert judged.pieces == 5
    assert judged.held == judged.refused == ()
    assert judged.weld_mm == pytest.approx(
        sum(
            float(np.linalg.norm(np.diff(seam.points, axis=0), axis=1).sum())
            for seam in sample_seams()
        ),
        rel=0.02,
    )


@pytest.mark.parametrize("which", range(4))
def test_one_seam_moved_costs_what_it_costs_from_scratch(which: int) -> None:
    seams = list(sample_seams())
    draft = Draft(sample_surface())
    before = draft.judged(seams)
    seams[which] = moved(seams[which], 4.0, len(seams[which].points) // 2)
    after, fresh = draft.judged(seams), Draft(sample_surface()).judged(seams)
    assert told(after) == pytest.approx(told(fresh), rel=1e-6, abs=1e-6)
    kept = [any(panel.lift is old.lift for old in before.panels) for panel in after.panels]
    assert 1 <= sum(kept) <= 3  # what the seam does not border is not laid flat again
