"""A scanned frame tube: kept in the job by its numbers, and where it stands whatever moves."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from app.job import (
    JobState,
    SizeChoice,
    TunnelLaid,
    carried_through,
    made,
    open_job,
    read_tube,
    save_job,
    task_for,
    tube_placed,
    tunnel_alone,
    tunnel_told,
    with_directions,
    with_rest,
    with_result,
    with_size,
)
from app.job.choices.state import Directions
from geometry.tank import NotATubeError, Room, TunnelRoom
from tests.app.job.small_tank import TUNNEL, decided

SPARING = TunnelRoom(left=Room(2.0, 1.0), weld_pull_in=Room(0.0, 0.0))


def tube_file(folder: Path, *, scale: float = 1.0) -> Path:
    """Write a round tube of 8 mm along x, 4 mm up, open at its ends."""
    tube = trimesh.creation.cylinder(radius=4.0, height=90.0, sections=96)
    tube.vertices = tube.vertices[:, [2, 1, 0]] * [1.0, 1.0, -1.0] + [0.0, 0.0, 22.0]
    mantle = tube.submesh([np.abs(tube.face_normals[:, 0]) < 0.5], append=True)
    mantle.vertices = scale * mantle.vertices
    path = folder / "tube.stl"
    mantle.export(path)
    return path


def stood(state: JobState) -> JobState:
    return carried_through(carried_through(state, "Surface"), "Stood")


def laid(state: JobState) -> TunnelLaid:
    state = stood(state)
    task = task_for(state, "Tunnel")
    assert task is not None
    found: TunnelLaid = made(with_result(state, task, task.run()), "Tunnel")
    return found


def test_the_tube_of_a_job_needs_its_file_no_more(tmp_path: Path) -> None:
    """The dome's foot lies at 18.1 mm: its axis at 22 is 3.9 mm up in the tank's axes."""
    path = tube_file(tmp_path)
    spec = replace(TUNNEL, front=None, rear=None, scanned_tube=read_tube(path, 1.0), room=SPARING)
    state = carried_through(decided(), "Surface")
    kept = tmp_path / "tank.lowcrown"
    save_job(with_rest(state, tunnel=spec), kept)
    path.unlink()
    opened = open_job(kept)
    assert opened.rest.tunnel == spec
    found = laid(opened)
    tube = found.tunnel.spec.tube
    assert tube is not None
    assert tube.diameter_mm == pytest.approx(8.0, abs=0.01)
    assert tube.start_mm[2] == pytest.approx(22.0 - 50.0 * np.cos(1.2), abs=0.1)
    assert found.tunnel.spans[0].behind.width_mm == pytest.approx(10.0, abs=0.02)
    assert any("as scanned (tube.stl)" in words for words in tunnel_told(found))


def test_it_stays_with_the_scan_when_the_tank_is_turned_round_and_sized_anew(
    tmp_path: Path,
) -> None:
    tube = read_tube(tube_file(tmp_path), 1.0)
    state = stood(with_rest(decided(), tunnel=TUNNEL))
    here = tube_placed(replace(TUNNEL, scanned_tube=tube), made(state, "Stood").axes, 1.0).tube
    turned = with_directions(state, Directions((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    axes = made(stood(turned), "Stood").axes
    there = tube_placed(replace(TUNNEL, scanned_tube=tube), axes, 1.0).tube
    assert here is not None
    assert there is not None
    np.testing.assert_allclose(there.start_mm, np.array(here.end_mm) * [1, -1, 1], atol=0.1)
    inches = with_size(decided(), SizeChoice("in"))
    size = made(carried_through(inches, "Size"), "Size").mm_per_unit
    again = read_tube(tube_file(tmp_path), size)
    np.testing.assert_allclose(again.start, tube.start, atol=1e-6)
    assert tube_placed(replace(TUNNEL, scanned_tube=again), None, size).tube.diameter_mm == (  # type: ignore[union-attr]
        pytest.approx(8.0 * 25.4, rel=1e-3)
    )


def test_without_a_tank_its_numbers_are_mm(tmp_path: Path) -> None:
    tube = read_tube(tube_file(tmp_path), 1.0)
    spec = replace(TUNNEL, front=None, rear=None, scanned_tube=tube, room=SPARING)
    found = tunnel_alone(replace(spec, length_mm=60.0), decided().metal)
    assert found.tunnel.spec.tube is not None
    assert found.tunnel.spec.tube.start_mm == tube.start


def test_what_is_no_tube_is_refused_by_name_of_what_is_wrong(tmp_path: Path) -> None:
    path = tmp_path / "box.stl"
    trimesh.creation.box((40.0, 30.0, 20.0)).subdivide().subdivide().export(path)
    with pytest.raises(NotATubeError):
        read_tube(path, 1.0)
