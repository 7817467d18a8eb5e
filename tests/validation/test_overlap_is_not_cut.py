"""A blank that lies over itself leaves the program on paper only, its size proved or not.

The body: a strip of a ring, R 100 to 70, wound 1.25 times and rising 2 mm a turn: a helicoid so
shallow that its blank is the flat ring sector to 1e-5 of it.
"""

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh

from app.command_line import run
from geometry.blank import flatten
from geometry.mesh import TriMesh
from tests.bodies import patch
from tests.geometry.blank.test_soundness import ring_area

PER_TURN = 160
RISE = 2.0


def wound_strip(turns: float) -> TriMesh:
    """Return the strip."""
    t, phi = np.meshgrid(
        np.linspace(0.0, 1.0, 5), np.linspace(0.0, 2 * np.pi * turns, round(PER_TURN * turns) + 1)
    )
    radius = 100.0 - 30.0 * t
    return patch(radius * np.cos(phi), radius * np.sin(phi), RISE * phi / (2 * np.pi))


def told_of(turns: float, folder: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, object]:
    """Lay the strip out by the command line with two agreeing tapes; return its JSON."""
    mesh = wound_strip(turns)
    path = folder / "strip.ply"
    trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(path)
    tapes = []
    for first in (0, PER_TURN // 4):
        ends = mesh.vertices[[5 * first, 5 * (first + PER_TURN // 2)]]
        places = ":".join(",".join(f"{c:.9g}" for c in end) for end in ends)
        tapes += ["--tape", f"{places}={np.linalg.norm(ends[1] - ends[0]):.6f}mm"]
    assert run(["blank", str(path), *tapes, "--out", str(folder / "out"), "--json"]) == 0
    told: dict[str, object] = json.loads(capsys.readouterr().out)
    return told


def test_an_overlapping_blank_is_not_cut_though_its_size_is_proved(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A quarter of the ring of chords lies twice; the file's and the rise's part is below 1e-4."""
    told = told_of(1.25, tmp_path, capsys)
    assert told["converged"]
    assert told["overlap_area"] == pytest.approx(0.25 * ring_area(PER_TURN), rel=1e-3)
    kinds = {path.suffix for path in (tmp_path / "out").iterdir()}
    assert ".pdf" in kinds
    assert not kinds & {".dxf", ".svg"}


def test_the_same_strip_short_of_a_turn_is_cut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = told_of(0.85, tmp_path, capsys)
    assert told["overlap_area"] == 0.0
    assert ".dxf" in {path.suffix for path in (tmp_path / "out").iterdir()}


def test_the_place_told_lies_in_the_doubled_quarter() -> None:
    """The first and the last quarter turn lie on each other: between the two ends' rays."""
    mesh = wound_strip(1.25)
    flat = flatten(mesh)
    begin, end = (flat.flat_vertices[[i, i + 4]].mean(axis=0) for i in (0, len(mesh.vertices) - 5))
    inner, outer = flat.flat_vertices[4], flat.flat_vertices[0]
    centre = outer + (inner - outer) * (100.0 / 30.0)
    angle = [np.arctan2(*(p - centre)[::-1]) for p in (begin, flat.overlap_place, end)]
    between, whole = ((a - angle[0]) % (2 * np.pi) for a in angle[1:])
    assert 0.0 < between < whole
    assert whole == pytest.approx(np.pi / 2, abs=1e-3)
    assert 70.0 < np.linalg.norm(flat.overlap_place - centre) < 100.0
