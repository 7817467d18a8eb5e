"""`lowcrown seat` and `lowcrown fit`: folders and numbers; bad input is told in a sentence."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import trimesh

from app.command_line import run
from app.job import body_mesh
from tests.app.job.rest.test_frame_step import bar
from tests.geometry.gauges.test_seat import leaning
from tests.geometry.surface.flats.trays import tray

TOP = Path(__file__).resolve().parents[2]
STOOD = ("--unit", "mm", "--datum", "none", "--front", "1,0,0", "--up", "0,0,1")


@pytest.fixture(scope="module")
def tank_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plate with its wall, 90 across, leaning as a seat face does."""
    plate = leaning(tray(1.2, noise_mm=0.03))
    file = tmp_path_factory.mktemp("seat") / "plate.ply"
    trimesh.Trimesh(plate.vertices, plate.faces, process=False).export(file)
    return file


def frame_file(folder: Path, **changed: Any) -> Path:
    """A tube in inches: 2 in across, its top 1 in under the tank's lowest place."""
    body = {
        "name": "top tube", "kind": "tube", "across": 2.0,
        "start": {"ahead": 0.0, "left": 0.0, "up": -2.0},
        "end": {"ahead": 3.0, "left": 0.0, "up": -2.0},
    }  # fmt: skip
    path = folder / "frame.json"
    path.write_text(json.dumps({"unit": "in", "frame_fit": {"bodies": [{**body, **changed}]}}))
    return path


def checked(out: Path, name: str) -> dict[str, Any]:
    """Return what a folder's numbers say, held against their schema."""
    found: dict[str, Any] = json.loads((out / f"{name}.json").read_text())
    jsonschema.validate(found, schema(name))
    return found


def schema(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((TOP / f"app/schemas/{name}.schema.json").read_text())
    return found


@pytest.mark.parametrize("name", ["seat", "fit"])
def test_what_is_printed_keeps_the_schema_of_what_is_written(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    frame = ["--frame", str(frame_file(tmp_path))] if name == "fit" else []
    assert run([name, str(tank_file), *frame, *STOOD, "--json"]) == 0
    jsonschema.validate(json.loads(capsys.readouterr().out), schema(name))


def test_the_seat_face_leaves_as_templates_a_page_and_numbers(tank_file: Path) -> None:
    out = tank_file.parent / "seat"
    assert run(["seat", str(tank_file), *STOOD, "--paper", "a4", "--out", str(out)]) == 0
    found = checked(out, "seat")
    assert {path.name for path in out.iterdir()} == set(found["files"])
    assert {"seat face.pdf", "seat face template.pdf", "seat line template.pdf"} <= set(
        found["files"]
    )
    assert not any(name.endswith(".dxf") for name in found["files"])  # no tape was given
    told = found["seat"]
    assert told["lean_deg"] == pytest.approx(18.0, abs=0.1)
    assert told["flatness"] < 0.1
    corner = np.array(told["corner"])
    assert np.ptp(corner[:, 1]) == pytest.approx(2.0 * (45.0 + 1.2 * np.tan(0.65)), abs=0.2)
    assert not told["held"]


def test_gaps_are_told_and_written(tank_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tank_file.parent / "fit"
    frame = frame_file(tank_file.parent)
    words = ["fit", str(tank_file), "--frame", str(frame), *STOOD, "--out", str(out)]
    assert run(words) == 0
    assert "top tube" in capsys.readouterr().out
    (gap,) = checked(out, "fit")["fit"]["gaps"]
    assert gap["gap"] == pytest.approx(25.4, abs=0.1)
    assert (out / "frame fit.pdf").exists()


def test_a_second_scan_is_measured_in_its_own_unit(tank_file: Path) -> None:
    """A tube 0.1 m under the plate's middle, its file in metres."""
    mesh = body_mesh(bar("tube", "tube", -60.0))
    second = tank_file.parent / "second.ply"
    trimesh.Trimesh(mesh.vertices / 1000.0, mesh.faces, process=False).export(second)
    words = ["fit", str(tank_file), *STOOD, "--second", str(second), "--second-unit"]
    out = tank_file.parent / "second"
    assert run([*words, "m", "--out", str(out)]) == 0
    (gap,) = checked(out, "fit")["fit"]["gaps"]
    assert gap["body"] == "second.ply"
    assert gap["side"] in {"inside", "outside", "beyond"}
    assert run([*words, "mm"]) == 1  # half a millimetre long beside a tank


@pytest.mark.parametrize(
    ("changed", "part"),
    [
        ({"across": 0.0}, "no size across"),
        ({"end": {"ahead": 0.0, "left": 0.0, "up": -2.0}}, "both its ends"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_body_that_cannot_be_is_told(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    changed: dict[str, Any], part: str,
) -> None:  # fmt: skip
    frame = frame_file(tmp_path, **changed)
    assert run(["fit", str(tank_file), "--frame", str(frame), *STOOD]) == 1
    assert part in capsys.readouterr().err


def test_a_place_without_a_flat_is_told(
    tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["seat", str(tank_file), *STOOD, "--near", "300,0,300"]) == 1
    assert "no flat face there" in capsys.readouterr().err


def test_nothing_to_hold_it_against_is_wrong_use(tank_file: Path) -> None:
    assert run(["fit", str(tank_file), *STOOD]) == 2
    assert run(["fit", str(tank_file), *STOOD, "--second-unit", "m"]) == 2
