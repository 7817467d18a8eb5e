"""Seams, tapes, README and the byte-for-byte promise."""

import json
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from scipy.spatial import cKDTree

import sample_data
from geometry.blank import flatten
from geometry.mesh import is_disk
from geometry.panels import Panel, Seam, cut_along, panels
from geometry.scan import read_scan, scaled, sound_mesh, tidy_for_panels
from geometry.surface import working_surface
from sample_data import truth
from sample_data.generate import files, shape

FloatArray = NDArray[np.float64]
README = (sample_data.scan_path().parent / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def job() -> dict[str, Any]:
    content = json.loads(sample_data.seams_path().read_text(encoding="utf-8"))
    assert isinstance(content, dict)
    return content


@pytest.fixture(scope="module")
def seams(job: dict[str, Any]) -> dict[str, FloatArray]:
    return {s["name"]: truth.from_file(np.array(s["points"])) for s in job["seams"]}


def _densely(points: FloatArray) -> FloatArray:
    """Return the seam as joined over the tank, a place about every half millimetre."""
    share = np.linspace(0, 1, 40)[:, None]
    line = np.concatenate([a + share * (b - a) for a, b in pairwise(points)])
    return shape.on_skin(line, rounds=20)


def _away(points: FloatArray, line: FloatArray) -> FloatArray:
    """Return the distance of every point to the nearest of a line's."""
    return np.asarray(cKDTree(line).query(points)[0])


def _opened(path: Path) -> trimesh.Trimesh:
    mesh = trimesh.load(path, process=False)
    assert isinstance(mesh, trimesh.Trimesh)
    return mesh


def test_seams_file_holds_what_the_contract_names(job: dict[str, Any]) -> None:
    assert set(job) == {"unit", "front", "top", "seams", "panels"}
    assert job["unit"] == "in"
    assert [p["name"] for p in job["panels"]] == [
        "left side",
        "right side",
        "top strip",
        "front end",
        "seat end",
    ]
    front, top = np.array(job["front"]), np.array(job["top"])
    np.testing.assert_allclose([front @ front, top @ top, front @ top], [1, 1, 0], atol=2e-4)
    np.testing.assert_allclose(truth.direction_to_file(np.array([1.0, 0, 0])), front, atol=1e-4)


def test_seam_points_lie_on_the_tank_close_enough_to_follow_its_corners(
    seams: dict[str, FloatArray],
) -> None:
    """Written to 1e-4 inch: half of that in each coordinate is 0.002 mm."""
    for points in seams.values():
        np.testing.assert_allclose(truth.distance_to_tank(points), 0.0, atol=0.004)
        apart = np.linalg.norm(np.diff(points, axis=0), axis=1)
        assert apart.min() > 4
        assert apart.max() < 12


def test_seam_points_lie_near_the_scan(seams: dict[str, FloatArray]) -> None:
    mesh = _opened(sample_data.scan_path())
    vertices = truth.from_file(np.asarray(mesh.vertices, dtype=np.float64))
    away = _away(np.concatenate(list(seams.values())), vertices)
    assert away.max() < 2.5  # about one triangle


def test_seams_end_on_the_bottom_edge_or_on_another_seam(seams: dict[str, FloatArray]) -> None:
    rim = truth.bottom_rim(0.5)
    for name, points in seams.items():
        others = [_densely(other) for key, other in seams.items() if key != name]
        assert _away(points[[0, -1]], np.concatenate([rim, *others])).max() < 2.0


def test_top_seam_stands_off_the_crisp_line_by_eight_to_ten_millimetres(
    seams: dict[str, FloatArray],
) -> None:
    points = seams["top seam"]
    for side in (1.0, -1.0):
        crisp = (points[:, 0] > 105) & (points[:, 0] < 415) & (side * points[:, 1] > 0)
        assert crisp.sum() > 12
        near = _away(_densely(points[crisp]), truth.side_line(side))
        assert near.min() > 8
        assert near.max() < 10


def test_seat_seam_lies_flat_on_the_seat_face(seams: dict[str, FloatArray]) -> None:
    off_plane = (seams["seat seam"] - truth.SEAT_POINT) @ truth.SEAT_NORMAL
    np.testing.assert_allclose(off_plane, 0.0, atol=0.004)
    near = _away(_densely(seams["seat seam"][3:-3]), truth.seat_edge(2000))
    assert near.min() > 8
    assert near.max() < 10.5  # round the corners the straight pieces cut inside


def test_filler_is_well_inside_the_top_seam(seams: dict[str, FloatArray]) -> None:
    lines = np.concatenate([_densely(points) for points in seams.values()])
    assert _away(truth.filler_rim(4.0), lines).min() > 60


def test_tapes_are_true_and_run_in_different_directions() -> None:
    directions = []
    for tape, known in zip(sample_data.tapes(), truth.tape_checks(), strict=True):
        match = re.fullmatch(r"([-\d.,]+):([-\d.,]+)=([\d.]+)mm", tape)
        assert match is not None
        start, end = (
            truth.from_file(np.array([float(v) for v in match[i].split(",")])) for i in (1, 2)
        )
        ends = np.stack([start, end])
        np.testing.assert_allclose(truth.distance_to_tank(ends), 0.0, atol=0.004)
        assert float(match[3]) == pytest.approx(float(np.linalg.norm(end - start)), abs=0.06)
        assert float(match[3]) == pytest.approx(known.length_mm, abs=0.06)
        directions.append((end - start) / np.linalg.norm(end - start))
    lean = np.abs(np.array(directions) @ np.array(directions).T)
    assert len(directions) >= 2
    assert lean[0, 1] < 0.1  # along and across


def test_tapes_agree_with_the_noisy_scan() -> None:
    """The nearest scanned points to both ends are as far apart within a triangle's size."""
    mesh = _opened(sample_data.scan_path())
    vertices = truth.from_file(np.asarray(mesh.vertices, dtype=np.float64))
    tree = cKDTree(vertices)
    for tape in truth.tape_checks():
        ends = vertices[tree.query(np.stack([tape.start, tape.end]))[1]]
        assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(tape.length_mm, abs=2.5)


def test_readme_numbers_are_those_of_the_files() -> None:
    mesh = _opened(sample_data.scan_path())
    assert f"{len(mesh.vertices):,} points, {len(mesh.faces):,} triangles" in README
    for name in (files.SCAN, files.SEAMS, files.TAPES):
        path = sample_data.scan_path().with_name(name)
        assert re.search(rf"`{path.name}`.*\| {path.stat().st_size:,} bytes \|", README)
    size = re.search(r"([\d.]+) mm long, ([\d.]+) mm wide, ([\d.]+) mm high", README)
    assert size is not None
    np.testing.assert_allclose([float(v) for v in size.groups()], truth.overall_size(), atol=0.06)
    inches = re.search(r"\(([\d.]+) x ([\d.]+) x ([\d.]+) in\)", README)
    assert inches is not None
    np.testing.assert_allclose(
        np.array([float(v) for v in inches.groups()]) * 25.4,
        [float(v) for v in size.groups()],
        atol=0.127,  # half of 0.01 inch
    )


def test_readme_shows_every_tape_as_the_command_line_takes_it() -> None:
    shown = re.findall(r'--tape "([^"]+)"', README)
    assert tuple(shown) == sample_data.tapes()


def test_seams_and_tapes_are_written_again_the_same() -> None:
    assert files.seams_text() == sample_data.seams_path().read_text(encoding="utf-8")
    shipped = sample_data.seams_path().with_name(files.TAPES).read_text(encoding="utf-8")
    assert files.tapes_text() == shipped


def test_ply_writer_is_read_back_by_a_general_library(tmp_path: Path) -> None:
    vertices = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    (tmp_path / "corner.ply").write_bytes(files.ply_bytes(vertices, faces))
    mesh = _opened(tmp_path / "corner.ply")
    np.testing.assert_array_equal(mesh.faces, faces)
    assert mesh.volume == pytest.approx(1 / 6)


@pytest.mark.slow
def test_generator_makes_the_shipped_files_again_to_the_byte(tmp_path: Path) -> None:
    made = files.write_sample(tmp_path)
    assert len(made) == 3
    for path in made:
        assert path.read_bytes() == sample_data.scan_path().with_name(path.name).read_bytes()


@pytest.fixture(scope="module")
def cut_panels(job: dict[str, Any]) -> tuple[Panel, ...]:
    sound = sound_mesh(read_scan(sample_data.scan_path()))
    tank = tidy_for_panels(scaled(sound.mesh, 25.4))
    drawn = [Seam(s["name"], np.array(s["points"]) * 25.4) for s in job["seams"]]
    named = [(p["name"], np.array(p["inside"]) * 25.4) for p in job["panels"]]
    surface = working_surface(tank.mesh, inward_mm=0.8, spacing_mm=5.0)
    return panels(cut_along(surface, drawn), named)


@pytest.mark.slow
def test_seams_part_the_tank_into_five_disks_that_meet_as_drawn(
    cut_panels: tuple[Panel, ...],
) -> None:
    meets = {p.name: {(h.seam, h.other) for h in p.seam_halves} for p in cut_panels}
    assert all(is_disk(p.mesh) for p in cut_panels)
    assert meets == {
        "left side": {
            ("top seam", "top strip"),
            ("seat seam", "seat end"),
            ("left nose seam", "front end"),
        },
        "right side": {
            ("top seam", "top strip"),
            ("seat seam", "seat end"),
            ("right nose seam", "front end"),
        },
        "top strip": {
            ("top seam", "left side"),
            ("top seam", "right side"),
            ("top seam", "front end"),
            ("seat seam", "seat end"),
        },
        "front end": {
            ("top seam", "top strip"),
            ("left nose seam", "left side"),
            ("right nose seam", "right side"),
        },
        "seat end": {
            ("seat seam", "left side"),
            ("seat seam", "right side"),
            ("seat seam", "top strip"),
        },
    }
    holders = [p.name for p in cut_panels if any(o.diameter_mm > 50 for o in p.openings)]
    assert holders == ["top strip"]


@pytest.mark.slow
def test_every_panel_flattens_with_modest_strain(cut_panels: tuple[Panel, ...]) -> None:
    """A maker would take these panels on: nothing past a quarter, the seat end none at all."""
    for panel in cut_panels:
        flat = flatten(panel.mesh)
        assert flat.converged
        assert flat.overlap_area == 0.0
        assert flat.stretches.max() < 1.25
        assert flat.stretches.min() > 0.75
        if panel.name == "seat end":
            np.testing.assert_allclose(flat.stretches, 1.0, atol=0.005)
