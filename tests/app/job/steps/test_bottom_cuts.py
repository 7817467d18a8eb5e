"""A bottom that is a panel of its own: its holes are on its blank; one that is missing says so."""

import tempfile
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh

from app.job import (
    CapacityChoice,
    Fitted,
    FittingsChoice,
    JobState,
    MetalChoice,
    PanelName,
    RestOfTank,
    ScanFile,
    SeamLine,
    SizeChoice,
    carried_through,
    fitted_words,
    made,
    read_scan_file,
    task_for,
    with_directions,
    with_metal,
    with_panel_names,
    with_result,
    with_scan,
    with_seams,
    with_size,
)
from app.job.choices.state import Directions
from geometry.pattern import Pattern
from geometry.tank import BossSpec
from tests.app.job.small_tank import decided, proving_tapes

RADIUS, HALF_ANGLE, BELOW = 50.0, 1.2, 160.0
RIM = RADIUS * float(np.sin(HALF_ANGLE))
TAP = BossSpec("main tap", "G 1/8", RIM, 20.0)
VENT = BossSpec("vent", "M10x1", RIM, 0.0, kind="vent", below=False)
RINGS = 24


@cache
def lens() -> ScanFile:
    """Return a dome closed below by a shallow one, read from its file, mm."""
    rim_up = RADIUS * np.cos(HALF_ANGLE)
    middle = rim_up + np.sqrt(BELOW**2 - RIM**2)
    over = np.linspace(0.0, HALF_ANGLE, RINGS + 1)[1:]
    under = np.linspace(np.arcsin(RIM / BELOW), 0.0, RINGS + 1)[1:-1]
    profile = [(RADIUS * np.sin(a), RADIUS * np.cos(a)) for a in over]
    profile += [(BELOW * np.sin(a), middle - BELOW * np.cos(a)) for a in under]
    around = 96
    angle = 2.0 * np.pi * np.arange(around) / around
    rings = [
        np.stack([r * np.cos(angle), r * np.sin(angle), np.full(around, z)], 1) for r, z in profile
    ]
    points = np.concatenate([[[0.0, 0.0, RADIUS]], *rings, [[0.0, 0.0, middle - BELOW]]])
    i = np.arange(around)
    j = np.roll(i, -1)
    faces = [np.stack([np.zeros(around, np.int64), 1 + i, 1 + j], 1)]
    for k in range(len(rings) - 1):
        a, b = 1 + k * around, 1 + (k + 1) * around
        faces += [np.stack([a + i, b + i, b + j], 1), np.stack([a + i, b + j, a + j], 1)]
    a = 1 + (len(rings) - 1) * around
    faces.append(np.stack([a + i, np.full(around, len(points) - 1), a + j], 1))
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "lens.ply"
        trimesh.Trimesh(points, np.concatenate(faces), process=False).export(file)
        return read_scan_file(file)


@pytest.fixture(scope="module")
def state() -> JobState:
    """The lens cut along its rim, a tap in its bottom, a vent on top."""
    up = RADIUS * float(np.cos(HALF_ANGLE))
    angle = 2.0 * np.pi * np.arange(24) / 24
    rim = tuple((float(RIM * np.cos(a)), float(RIM * np.sin(a)), up) for a in angle)
    state = with_scan(JobState(), lens(), "lens")
    state = with_size(state, SizeChoice("mm", proving_tapes()))
    state = with_metal(state, MetalChoice(1.6, "3003-H14", "middle"))
    state = with_directions(state, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    state = with_seams(state, (SeamLine("rim", rim, closed=True),))
    foot = up + float(np.sqrt(BELOW**2 - RIM**2)) - BELOW
    names = (PanelName("top", (0.0, 0.0, RADIUS)), PanelName("bottom", (0.0, 0.0, foot)))
    state = with_panel_names(state, names)
    rest = RestOfTank(capacity=CapacityChoice(), fittings=FittingsChoice(bosses=(TAP, VENT)))
    return carried_through(replace(state, rest=rest), "Paper")


def test_the_bottoms_holes_are_on_its_own_blank_to_be_cut_after_forming(state: JobState) -> None:
    """The shallow bottom lies nearly flat: from its middle to the tap 20 mm, hole as turned."""
    fitted: Fitted = made(state, "Fittings")
    bottom: Pattern = made(state, "Paper", "bottom")
    (hole,) = bottom.openings
    assert hole.diameter_mm == pytest.approx(fitted.bosses[0].hole_mm, abs=0.05)
    middle = (bottom.net.min(axis=0) + bottom.net.max(axis=0)) / 2.0
    assert np.linalg.norm(hole.centre - middle) == pytest.approx(20.0, rel=0.02)
    top: Pattern = made(state, "Paper", "top")
    (vent,) = top.openings
    assert vent.diameter_mm == pytest.approx(fitted.bosses[1].hole_mm, abs=0.05)
    assert fitted.on_caps == ()


def test_a_bottom_that_is_not_in_the_scan_is_said_to_carry_no_holes() -> None:
    rest = RestOfTank(capacity=CapacityChoice("flat"), fittings=FittingsChoice(bosses=(TAP, VENT)))
    begun = carried_through(replace(decided(), rest=rest), "Stood")
    task = task_for(begun, "Fittings")
    assert task is not None
    fitted: Fitted = made(with_result(begun, task, task.run()), "Fittings")
    assert fitted.on_caps == ("main tap",)
    told = " ".join(fitted_words(fitted))
    assert "main tap: THE BOTTOM THERE IS NOT IN THE SCAN" in told
    assert "no blank carries" in told
