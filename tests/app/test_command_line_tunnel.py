"""`lowcrown tunnel`: from a small file to nets, by itself and in a tank; what cannot be is told."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from app.command_line import run
from tests.app.told_angles import told_in_degrees
from tests.geometry.tank.tunnel_tanks import barrel

jsonschema = pytest.importorskip("jsonschema")
TOP = Path(__file__).resolve().parents[2]
SCALE = 0.4
STOOD = ("--unit", "mm", "--datum", "none", "--front", "1,0,0", "--up", "0,0,1")
ALONE = {
    "unit": "in",
    "length": 6,
    "front": {"height": 2, "width": 1.5},
    "rear": {"height": 1.75, "width": 1.25},
    "top": "three sided",
    "flare_deg": 5,
    "place": {"fore_aft": 0, "up_down": 0},
}
IN_TANK = {
    "unit": "mm",
    "length": 150,
    "sheet": 1.0,
    "run_out": 12,
    "place": {"rear": 5, "fore_aft": 1, "up_down": 1},
    "tube": {"name": "tube", "start": [-10, 0, 14], "end": [170, 0, 14], "diameter": 10},
    "room": {"left": {"over": 3, "side": 2}, "weld_pull_in": {"over": 0.5, "side": 0.5}},
}


def written(folder: Path, spec: dict[str, Any]) -> str:
    path = folder / "tunnel.spec.json"
    path.write_text(json.dumps(spec))
    return str(path)


@pytest.fixture(scope="module")
def tank_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return half a round barrel with flat walls, 160 long, radius 40, open below."""
    mesh = barrel()
    file = tmp_path_factory.mktemp("tunnel") / "barrel.stl"
    trimesh.Trimesh(SCALE * mesh.vertices, mesh.faces, process=False).export(file)
    return file


def test_sizes_alone_give_nets_to_cut(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run(["tunnel", written(tmp_path, ALONE), "--paper", "a4", "--out", str(out)]) == 0
    found = json.loads((out / "tunnel.json").read_text())
    jsonschema.validate(found, json.loads((TOP / "app/schemas/tunnel.schema.json").read_text()))
    assert {path.name for path in out.iterdir()} == set(found["files"])
    assert {"tunnel.pdf", "tunnel net.pdf", "tunnel net.dxf"} <= set(found["files"])
    (piece,) = found["tunnel"]["pieces"]
    assert told_in_degrees(found) == 1 + len(piece["bends"]) > 1
    assert piece["reach"] == pytest.approx([-12.7, 6 * 25.4 + 12.7])
    assert piece["ends"][1] == {"name": "front end", "height": 50.8, "width": 38.1}
    assert found["tunnel"]["folded_off"] < 1e-6
    assert not found["tunnel"]["in_tank"]


def test_its_own_metal_and_thickness_stand_on_the_net_and_decide_the_bend(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spec = written(tmp_path, {**ALONE, "metal": "5052 h32", "sheet": 0.125})
    assert run(["tunnel", spec, "--paper", "a4", "--json", "--out", str(tmp_path / "out")]) == 0
    tunnel = json.loads(capsys.readouterr().out)["tunnel"]
    sheet = tunnel["sheet"]
    assert (sheet["metal"], sheet["thickness"]) == ("5052-H32", pytest.approx(3.175))
    assert sheet["least_radius"] == pytest.approx(4.7625)
    assert tunnel["pieces"][0]["bends"][0]["inside_radius"] == [4.7625, 4.7625]


def test_in_a_tank_it_is_cut_off_and_scribed(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    argv = ["tunnel", written(tmp_path, IN_TANK), "--tank", str(tank_file), *STOOD, "--json"]
    assert run([*argv, "--paper", "a4", "--out", str(out)]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, json.loads((TOP / "app/schemas/tunnel.schema.json").read_text()))
    tunnel = found["tunnel"]
    crown, left, right = tunnel["gaps"]
    assert (crown["before"], crown["after"]) == pytest.approx((3.5, 3.0), abs=0.02)
    assert (left["after"], right["after"]) == pytest.approx((2.0, 2.0), abs=0.02)
    assert abs(tunnel["seat"]["foot"]) < 0.3
    front, rear = tunnel["ends_at_skin"]
    for end, x in ((front, 155.0), (rear, -5.0)):
        assert np.array(end["lines"][0])[:, 1] == pytest.approx(x, abs=0.4)
        assert end["short"] == 0.0
    assert not any(name.endswith(".dxf") for name in found["files"])  # no tape was given


@pytest.mark.parametrize("in_tank", [False, True])
def test_a_scanned_tube_takes_the_place_of_a_typed_one(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], in_tank: bool
) -> None:
    tube = trimesh.creation.cylinder(radius=6.0, height=180.0, sections=64)
    tube.vertices = tube.vertices[:, [2, 1, 0]] * [1, 1, -1] + [80.0, 0.0, 15.0]
    open_tube = tube.submesh([np.abs(tube.face_normals[:, 0]) < 0.5], append=True)
    file = tmp_path / "tube.stl"
    open_tube.export(file)
    where = ["--tank", str(tank_file), *STOOD] if in_tank else ["--unit", "mm"]
    argv = ["tunnel", written(tmp_path, IN_TANK), *where, "--paper", "a4"]
    out = tmp_path / "out"
    assert run([*argv, "--tube", str(file), "--json", "--out", str(out)]) == 0
    tunnel = json.loads(capsys.readouterr().out)["tunnel"]
    rear, front = tunnel["pieces"][0]["ends"]
    assert rear["width"] == pytest.approx(12.0 + 5.0, abs=0.02)
    assert front["height"] == pytest.approx(15.0 + 6.0 + 3.5 - tunnel["seat"]["foot"], abs=0.02)
    assert tunnel["gaps"][0]["before"] == pytest.approx(3.5, abs=0.02)
    tube = tunnel["tube"]
    assert (tube["scanned"], tube["scatter"] < 0.1) == ("tube.stl", True)
    assert tube["diameter"] == pytest.approx(12.0, abs=0.02)
    found = json.loads((out / "tunnel.json").read_text())
    jsonschema.validate(found, json.loads((TOP / "app/schemas/tunnel.schema.json").read_text()))


@pytest.mark.parametrize(
    "case",
    [
        ({"unit": None}, (), 1, "unit"),
        ({"length": -3}, (), 1, "The tunnel's length is -76.2 mm (-3 in): it has to be more than"),
        ({"length": 0}, (), 1, "The tunnel's length is 0 mm (0 in): it has to be more than"),
        ({"front": {"height": 2, "width": 0.05}}, (), 1, "two corners alone take"),
        ({"room": {"cables": {"over": -1}}}, (), 1, "cannot be below nothing"),
        ({"colour": "red"}, (), 1, "colour"),
        ({"top": "oval"}, (), 1, "oval"),
        ({"metal": "tin"}, (), 2, "tin"),
        ({"front": None}, (), 1, "height and width of both its ends"),
        ({}, ("--tube", "no tube.stl", "--unit", "mm"), 1, "no tube.stl"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_written(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    case: tuple[dict[str, Any], tuple[str, ...], int, str],
) -> None:
    changed, words, code, said = case
    spec = {name: value for name, value in {**ALONE, **changed}.items() if value is not None}
    argv = ["tunnel", written(tmp_path, spec), *words, "--out", str(tmp_path / "out")]
    assert run(argv) == code
    told = capsys.readouterr().err
    assert said in told
    assert "Traceback" not in told
    assert not (tmp_path / "out").exists()


def test_a_rear_wider_than_the_tank_is_told(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ends = {"front": {"height": 20, "width": 15}, "rear": {"height": 20, "width": 90}}
    spec = {**IN_TANK, **ends, "top": "flat", "corner_radius": 2}
    argv = ["tunnel", written(tmp_path, spec), "--tank", str(tank_file), *STOOD]
    assert run([*argv, "--out", str(tmp_path / "out")]) == 1
    assert "Make the tunnel narrower" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_tube_scanned_in_another_unit_is_told(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tube = trimesh.creation.cylinder(radius=6.0, height=180.0, sections=64)
    tube.vertices = (tube.vertices[:, [2, 1, 0]] * [1, 1, -1] + [80.0, 0.0, 15.0]) / 25.4
    file = tmp_path / "tube.stl"
    tube.submesh([np.abs(tube.face_normals[:, 0]) < 0.5], append=True).export(file)
    argv = ["tunnel", written(tmp_path, IN_TANK), "--tank", str(tank_file), *STOOD]
    assert run([*argv, "--tube", str(file), "--out", str(tmp_path / "out")]) == 1
    assert "another unit" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
