"""Fittings on the panels' patterns: the new hole cut after forming, the old one left out."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import (
    CapacityChoice,
    Directions,
    FittingsChoice,
    JobState,
    RestOfTank,
    carried_through,
    made,
    panel_names,
    task_for,
)
from app.job.making.fitting_cuts import FittingCuts
from geometry.pattern import Pattern
from geometry.surface import opening_within
from geometry.tank import FillerSpec
from tests.app.job.small_tank import carried

FILLER = FillerSpec(46.0, 0.0, hole_mm=10.0, ring_mm=16.0, cap_mm=14.0)


@pytest.fixture(scope="module")
def state() -> JobState:
    rest = RestOfTank(capacity=CapacityChoice("flat"), fittings=FittingsChoice(FILLER))
    begun = replace(carried(), rest=rest, directions=Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    return carried_through(begun, "Paper")


def test_paper_waits_for_the_fittings() -> None:
    begun = replace(carried(), rest=RestOfTank(fittings=FittingsChoice(FILLER)))
    name = panel_names(begun)[0]
    assert task_for(begun, "Paper", name) is None


def test_the_new_hole_is_on_one_panel_alone_with_its_ring(state: JobState) -> None:
    """Flattening changes lengths by what the panel's own stretches say: within 1 part in 5 here."""
    patterns: dict[str, Pattern] = {n: made(state, "Paper", n) for n in panel_names(state)}
    with_hole = [name for name, pattern in patterns.items() if pattern.openings]
    assert len(with_hole) == 1
    pattern = patterns[with_hole[0]]
    (opening,) = pattern.openings
    assert opening.diameter_mm == pytest.approx(10.0, abs=0.05)
    across = np.linalg.norm(opening.outline - opening.centre, axis=1) * 2.0
    assert across == pytest.approx(np.full(len(across), 10.0), rel=0.2)
    (ring,) = pattern.fitting_lines
    assert np.linalg.norm(ring - opening.centre, axis=1).min() > across.max() / 2.0
    others = [p for name, p in patterns.items() if name not in with_hole]
    assert all(not other.fitting_lines for other in others)


def test_the_hole_lies_on_the_skin_where_it_was_set(state: JobState) -> None:
    fitted = made(state, "Fittings")
    stood = made(state, "Stood")
    (cut,) = fitted.cuts.cuts
    back = stood.axes.to_tank(cut.opening.outline).mean(axis=0)
    assert back[:2] == pytest.approx([46.0, 0.0], abs=0.05)


def test_an_old_filler_is_no_longer_cut() -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, 60, endpoint=False)
    ring = 30.0 * np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=1)
    old, other = opening_within(ring), opening_within(ring + [100.0, 0.0, 0.0])
    cuts = FittingCuts((), np.array([0.5, 0.0, 0.8]))
    assert cuts.openings([old, other]) == (other,)
    assert FittingCuts((), None).openings([old, other]) == (old, other)
