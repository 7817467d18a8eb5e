"""`lowcrown flanges`: sheets, a tally and numbers; bad input is told in a sentence."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import trimesh

from app.command_line import run
from tests.bodies import ring_of_revolution

TOP = Path(__file__).resolve().parents[2]
STOOD = ("--unit", "mm", "--datum", "none", "--front", "1,0,0", "--up", "0,0,1")
RADIUS_MM = 90.0


def cup(path: Path, turn_deg: float, across: float = 1.0) -> Path:
    """Write a wall of R 90 closed by a flat top, 60 high, its foot turned inward 14 wide or not.

    Its measures across are taken so many times.
    """
    turn = np.radians(turn_deg)
    angle = np.linspace(0.0, turn, 9) if turn_deg else np.zeros(1)
    inward, down = 6.0 * (1.0 - np.cos(angle)), 6.0 * np.sin(angle)
    out = np.arange(2.0, 10.0, 2.0) if turn_deg else np.zeros(0)
    inward = np.concatenate([inward, inward[-1] + out * np.sin(turn)])
    down = np.concatenate([down, down[-1] + out * np.cos(turn)])
    flat, up = np.linspace(2.0, RADIUS_MM - 4.0, 30), np.linspace(60.0, 3.0, 20)
    r = np.concatenate([flat, RADIUS_MM + 0.0 * up, RADIUS_MM - inward])
    z = np.concatenate([60.0 + 0.0 * flat, up, -down])
    body = ring_of_revolution(r, z, 190)
    corner = np.flatnonzero(np.hypot(*body.vertices[:, :2].T) < 2.1)
    middle = len(body.vertices)
    order = corner[np.argsort(np.arctan2(*body.vertices[corner, 1::-1].T))]
    cap = np.stack([np.full(len(order), middle), order, np.roll(order, -1)], axis=1)
    vertices = np.concatenate([body.vertices, [[0.0, 0.0, 60.0]]])
    faces = np.concatenate([body.faces, cap])
    vertices[:, :2] *= across
    trimesh.Trimesh(vertices, faces, process=False).export(path)
    return path


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return cup(tmp_path_factory.mktemp("flanges") / "cup.ply", 0.0)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plain one of R 45, for what is refused on any."""
    return cup(tmp_path_factory.mktemp("flanges") / "small.ply", 0.0, 0.5)


@pytest.fixture(scope="module")
def lipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return cup(tmp_path_factory.mktemp("flanges") / "lipped.ply", 90.0)


@pytest.fixture(scope="module")
def result(plain: Path) -> dict[str, Any]:
    out = plain.parent / "out"
    words = [*STOOD, "--width", "10mm", "--root-radius", "0mm", "--stations", "60mm"]
    words += ["--paper", "a4", "--out", str(out)]
    assert run(["flanges", str(plain), *words]) == 0
    found: dict[str, Any] = json.loads((out / "flanges.json").read_text())
    assert {path.name for path in out.iterdir()} == set(found["files"])
    return found


def test_a_lip_to_be_turned_off_a_wall_is_w_over_r(result: dict[str, Any]) -> None:
    """10 / 90 of the root, to the inside: shrink; within 2 %."""
    (run_told,) = result["flanges"]["runs"]
    changes = [station["change_per_root"] for station in run_told["stations"]]
    assert np.median(changes) == pytest.approx(-10.0 / RADIUS_MM, rel=0.02)
    assert {station["case"] for station in run_told["stations"]} == {"lip off a wall"}
    assert {station["metal"] for station in run_told["stations"]} == {"shrink"}
    assert {(station["turn"], station["turn_deg"]) for station in run_told["stations"]} == {
        (90.0, 90.0)
    }


def test_sheet_and_tally_are_written(result: dict[str, Any]) -> None:
    assert {"flanges.pdf", "flange 1 tally.pdf", "flange 1 tally_a4.pdf"} <= set(result["files"])
    assert not any(name.endswith(".dxf") for name in result["files"])  # no tape was given


def test_a_lip_in_the_scan_is_refused_until_it_is_kept_or_cut_off(
    lipped: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["flanges", str(lipped), *STOOD, "--stations", "100mm"]
    assert run([*asked, "--out", str(tmp_path / "one")]) != 0
    told = capsys.readouterr().err
    assert "A lip is there already" in told
    assert not (tmp_path / "one").exists()
    assert run([*asked, "--lip", "keep", "--out", str(tmp_path / "two"), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    schema = (TOP / "app/schemas/flanges.schema.json").read_text(encoding="utf-8")
    jsonschema.validate(found, json.loads(schema))
    (kept,) = found["flanges"]["runs"]
    assert kept["lip_kept"]
    changes = [station["edge_change"] for station in kept["stations"]]
    assert np.median(changes) == pytest.approx(-14.0 / RADIUS_MM, rel=0.1)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--width", "0mm"], "wider than nothing"),
        (["--width", "120mm"], "does not fit the curve"),
        (["--angle", "170"], "has to be 5"),
        (["--along", "tail"], 'nothing called "tail"'),
        (["--along", "filler"], "rim of a hole"),
        (["--along", "line 1"], "--lines auto"),
        (["--angle", "square"], "not an angle"),
        (["--stations", "1mm"], "too many to print"),
    ],
)
def test_wrong_ones_are_told_and_nothing_is_written(
    small: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    told: str,
) -> None:
    out = tmp_path / "out"
    try:
        code = run(["flanges", str(small), *STOOD, *words, "--out", str(out)])
    except SystemExit as ended:
        code = int(str(ended.code))
    assert code != 0
    assert told in " ".join(capsys.readouterr().err.split())
    assert not out.exists()
