"""Set-ups kept: the same answer whatever was asked before, quicker again, and eased in words."""

import numpy as np
import pytest

from app.job import Flatteners, how_made
from app.job.making.flatteners import MOST_PANELS
from geometry.blank import FlatPanel, Work
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from tests.bodies import dome

DEEP = dome(100.0, np.radians(30.0), 12)
SHALLOW = dome(300.0, 0.2, 6)


def same(one: FlatPanel, other: FlatPanel) -> bool:
    return np.array_equal(one.flat_vertices, other.flat_vertices) and one.work == other.work


def test_a_panel_made_one_way_is_the_same_blank_whatever_was_asked_before() -> None:
    """To the last bit: every answer starts from the layout of plain work."""
    kept, fresh = Flatteners(), Flatteners()
    for work in (Work(bias=0.5), Work(), Work("hencky"), Work(bias=-0.5)):
        kept.laid(DEEP, work)
    assert same(kept.laid(DEEP, Work(hardening=0.5)), fresh.laid(DEEP, Work(hardening=0.5)))
    assert same(kept.laid(DEEP, Work(bias=0.5)), Flatteners().laid(DEEP, Work(bias=0.5)))


def test_a_set_up_is_found_again_by_its_triangles_not_by_its_object() -> None:
    kept = Flatteners()
    again = TriMesh(DEEP.vertices.copy(), DEEP.faces.copy())
    assert kept.panel(DEEP) is kept.panel(again)
    assert kept.panel(DEEP) is not kept.panel(SHALLOW)
    moved = TriMesh(DEEP.vertices + 1.0, DEEP.faces)
    assert kept.panel(DEEP) is not kept.panel(moved)


def test_a_panel_with_a_seam_moved_goes_on_from_the_one_kept() -> None:
    """A dome less its outermost ring of triangles, then whole: the same blank to 1e-6 mm.

    A panel that shares nothing with those kept is the same to the last bit.
    """
    whole = dome(100.0, np.radians(30.0), 20)
    inner = whole.faces[(whole.faces < len(whole.vertices) - 120).all(axis=1)]
    part = TriMesh(whole.vertices[:-120], inner)
    kept, fresh = Flatteners(), Flatteners().laid(whole, Work())
    kept.laid(part, Work())
    again = kept.laid(whole, Work())
    assert again.converged
    assert again.iterations < fresh.iterations
    np.testing.assert_allclose(again.stretches, fresh.stretches, atol=1e-7)
    assert same(kept.laid(SHALLOW, Work()), Flatteners().laid(SHALLOW, Work()))


def test_only_the_last_few_are_kept() -> None:
    kept = Flatteners()
    first = kept.panel(SHALLOW)
    for place in range(MOST_PANELS - 1):
        kept.panel(TriMesh(SHALLOW.vertices + place + 1.0, SHALLOW.faces))
    assert kept.panel(SHALLOW) is first
    for place in range(MOST_PANELS):
        kept.panel(TriMesh(SHALLOW.vertices - place - 1.0, SHALLOW.faces))
    assert kept.panel(SHALLOW) is not first


def test_asked_again_nothing_is_worked_out_again() -> None:
    kept = Flatteners()
    stages: list[str] = []
    first = kept.laid(DEEP, Work(bias=0.5))
    again = kept.laid(DEEP, Work(bias=0.5), report=lambda done, stage: stages.append(stage))
    assert again is first
    assert len(stages) == 1


def test_a_bias_the_panel_does_not_stand_is_eased_to_the_last_tenth_that_is_sound() -> None:
    """One tenth further, set by hand and so taken exactly, is not sound."""
    eased = Flatteners().laid(DEEP, Work(bias=-0.7))
    assert eased.converged
    assert -0.7 < eased.work.bias <= 0.0
    further = Work(bias=round(eased.work.bias - 0.1, 12))
    exact = Flatteners().laid(DEEP, further, exact=True)
    assert exact.work == further
    assert not exact.converged


def test_a_bias_the_panel_stands_is_not_eased_and_ends_where_it_was_asked() -> None:
    for bias in (0.5, 0.45, 0.05, 0.0, -0.05):
        assert Flatteners().laid(SHALLOW, Work(bias=bias)).work == Work(bias=bias)
    assert how_made(Flatteners().laid(SHALLOW, Work(bias=0.5)).work) == "mostly shrink"


@pytest.mark.parametrize("work", [Work(bias=-0.7), Work()])
def test_progress_rises_to_the_end_and_a_stop_halfway_leaves_nothing_kept(work: Work) -> None:
    kept = Flatteners()
    seen: list[float] = []
    kept.laid(DEEP, work, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == pytest.approx(1.0)

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    stopped = Flatteners()
    with pytest.raises(Cancelled):
        stopped.laid(DEEP, work, report=stop)
    assert same(stopped.laid(DEEP, work), kept.laid(DEEP, work))
