"""`lowcrown gauges`: a folder of boards, a list and numbers; bad input is told in a sentence."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import trimesh

from app.command_line import run
from geometry.mesh import rims
from tests.geometry.gauges.gauged_bodies import barrel, round_skin

TOP = Path(__file__).resolve().parents[2]
SCALE = 0.4
STOOD = ("--unit", "mm", "--datum", "none", "--front", "1,0,0", "--up", "0,0,1")


@pytest.fixture(scope="module")
def tank_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a barrel's upper half and a little more: open below, alike on both sides, 160 long."""
    mesh = round_skin(barrel, under=1.9, cells=(70, 60))
    file = tmp_path_factory.mktemp("gauges") / "barrel.ply"
    trimesh.Trimesh(SCALE * mesh.vertices, mesh.faces, process=False).export(file)
    return file


@pytest.fixture(scope="module")
def result(tank_file: Path) -> tuple[Path, dict[str, Any]]:
    """Gauges with a checking frame, four stations and the maker's own."""
    out = tank_file.parent / "out"
    words = [*STOOD, "--stations", "40mm"]
    words += ["--at", "13mm", "--frame", "6mm", "--paper", "a4", "--out", str(out)]
    assert run(["gauges", str(tank_file), *words]) == 0
    found: dict[str, Any] = json.loads((out / "gauges.json").read_text())
    return out, found


def test_every_board_leaves_as_files_of_its_own_and_one_list(
    result: tuple[Path, dict[str, Any]],
) -> None:
    out, found = result
    schema = json.loads((TOP / "app/schemas/gauges.schema.json").read_text())
    jsonschema.validate(found, schema)
    names = {path.name for path in out.iterdir()}
    assert names == set(found["files"])
    assert {"gauges.pdf", "gauges_a4.pdf"} <= names
    for station in found["gauges"]["stations"]:
        assert f"station {station['station']:02d}.pdf" in names
    for name in ("bottom side view.pdf", "bottom plan.pdf", "bottom across 1.pdf"):
        assert name in names
    boards = found["gauges"]["frame"]["boards"]
    assert {f"frame {board['board']:02d}.pdf" for board in boards} <= names
    assert not any(name.endswith(".dxf") for name in names)  # no tape was given


def test_the_numbers_are_the_barrels(result: tuple[Path, dict[str, Any]]) -> None:
    gauges = result[1]["gauges"]
    assert gauges["length"] == pytest.approx(SCALE * 400.0, abs=0.3)
    backs = [station["back"] for station in gauges["stations"]]
    assert 13.0 in backs
    widest = next(s for s in gauges["stations"] if s["why"] == "widest")
    assert widest["back"] == pytest.approx(SCALE * 170.0, abs=1.0)
    assert all(station["turns_over"] for station in gauges["stations"])
    assert all(station["hands_differ"] < 0.5 for station in gauges["stations"])
    # The foot is cut at 1.9 rad: r sin 1.9 to either hand.
    middle = gauges["bottom"]["widths"][1]
    radius = SCALE * barrel(np.array(400.0 - middle["back"] / SCALE))
    assert middle["width"] == pytest.approx(2.0 * radius * np.sin(1.9), abs=0.4)
    assert gauges["frame"]["clash"] == 0.0


def test_fewer_boards_in_place_of_many_leave_none_of_the_earlier_to_be_cut(
    tank_file: Path, tmp_path: Path
) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    words = ["gauges", str(tank_file), *STOOD, "--paper", "a4", "--out", str(tmp_path)]
    words += ["--no-profile", "--side-line", "none", "--only-at"]
    assert run([*words, "--at", "50mm", "--at", "80mm", "--at", "110mm"]) == 0
    many = set(json.loads((tmp_path / "gauges.json").read_text())["files"])
    assert run([*words, "--at", "75mm", "--replace"]) == 0
    few = set(json.loads((tmp_path / "gauges.json").read_text())["files"])
    assert few < many
    assert {path.name for path in tmp_path.iterdir()} == few | {"notes.txt"}


def test_a_torn_edge_is_told_and_both_boards_can_be_made_of_the_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mesh = round_skin(barrel, under=1.9, cells=(70, 60))
    vertices = SCALE * mesh.vertices
    rim = max(rims(mesh), key=len)
    right = rim[vertices[rim, 1] < 0.0]
    thrown = right[np.abs(vertices[right, 0] - 60.0).argsort()[:3]]  # one point is taken out
    vertices[thrown, 1] -= 3.0
    file = tmp_path / "torn.ply"
    trimesh.Trimesh(vertices, mesh.faces, process=False).export(file)
    words = ["gauges", str(file), *STOOD, "--only-at", "--at", "80mm", "--paper", "a4"]
    words += ["--turn-over", "0.5mm"]
    assert run([*words, "--out", str(tmp_path / "each")]) == 0
    told = capsys.readouterr().out
    assert "EDGE TORN, right hand" in told
    assert "--bottom-from left makes both" in told
    found = json.loads((tmp_path / "each/gauges.json").read_text())["gauges"]
    (torn,) = found["bottom"]["torn"]
    assert (torn["hand"], torn["filled_by_guess"]) == ("right", False)
    assert torn["back"] == pytest.approx(160.0 - 60.0, abs=5.0)
    hands = [e["hand"] for e in found["long"] if (e["of"], e["view"]) == ("bottom", "plan")]
    assert hands == ["left", "right"]
    assert run([*words, "--bottom-from", "left", "--out", str(tmp_path / "left")]) == 0
    found = json.loads((tmp_path / "left/gauges.json").read_text())
    jsonschema.validate(found, json.loads((TOP / "app/schemas/gauges.schema.json").read_text()))
    assert found["gauges"]["bottom"]["made_from"] == "left"
    hands = [e["hand"] for e in found["gauges"]["long"] if e["of"] == "bottom"]
    assert hands == ["both", "both"]


def test_sweeps_are_boards_and_numbers_of_their_own(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["gauges", str(tank_file), *STOOD, "--only-at", "--at", "80mm", "--no-profile"]
    words += ["--side-line", "none", "--paper", "a4"]
    own, typed = tmp_path / "own", tmp_path / "typed"
    assert run([*words, "--sweeps", "--sweep-chord", "60mm", "--out", str(own)]) == 0
    assert "sweep 1: R " in capsys.readouterr().out
    schema = json.loads((TOP / "app/schemas/gauges.schema.json").read_text())
    found = json.loads((own / "gauges.json").read_text())
    jsonschema.validate(found, schema)
    sweeps = found["gauges"]["sweeps"]
    radius = SCALE * barrel(np.array(400.0 - 80.0 / SCALE))  # of the one station's circle
    long = [board for board in sweeps["boards"] if board["chord"] >= 39.0]
    assert long
    # Within 0.25 mm over 40 mm: 1 / r by 8 x 0.25 / 40^2 at most, to either side.
    for board in long:
        assert abs(1.0 / board["radius"] - 1.0 / radius) < 8.0 * 0.25 / 40.0**2
    assert all(place["gap"] <= 0.25 for place in sweeps["places"])
    assert {f"sweep {board['sweep']:02d}.pdf" for board in sweeps["boards"]} <= set(found["files"])
    assert run([*words, "--sweeps", "50mm,6in", "--out", str(typed)]) == 0
    found = json.loads((typed / "gauges.json").read_text())
    jsonschema.validate(found, schema)
    assert [board["radius"] for board in found["gauges"]["sweeps"]["boards"]] == [50.0, 152.4]
    assert found["gauges"]["sweeps"]["radii_typed"] == [50.0, 152.4]


@pytest.mark.parametrize(
    "case",
    [
        (("--stations", "0mm"), 1, "do not suit a tank"),
        (("--stations", "1000000mm"), 2, "more than 5000 mm (196 7/8 in)"),
        (("--turn-over", "-2mm"), 2, '"-2mm" is not a length: a length is written without a minus'),
        (("--stations", "soon"), 2, "not a length"),
        (("--at", "700mm"), 1, "is off the tank"),
        (("--only-at",), 2, "needs --at"),
        (("--beside", "30mm"), 2, "needs --frame"),
        (("--side-line", "crisp"), 2, "needs --lines auto"),
        (("--sweeps", "50mm,soon"), 2, "not a length"),
        (("--sweeps", "5mm"), 1, "radius of a sweep"),
        (("--sweep-gap", "0.5mm"), 2, "need --sweeps"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_written(
    tank_file: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    case: tuple[tuple[str, ...], int, str],
) -> None:
    words, code, said = case
    argv = ["gauges", str(tank_file), *STOOD, *words, "--out", str(tmp_path / "out")]
    try:
        ended = run(argv)
    except SystemExit as error:
        ended = int(error.code or 0)
    assert ended == code
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_without_front_and_up_it_says_what_to_give(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["gauges", str(tank_file), "--unit", "mm", "--datum", "none"]
    assert run([*argv, "--out", str(tmp_path / "out")]) == 1
    told = capsys.readouterr().err
    assert "Nobody said which way front and up are" in told
    assert "say which way front and up are" in told


def test_a_tank_upside_down_is_noticed(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    argv = ["gauges", str(tank_file), "--unit", "mm", "--datum", "none", "--no-profile"]
    argv += ["--front", "1,0,0", "--up", "0,0,-1", "--only-at", "--at", "80mm"]
    assert run([*argv, "--side-line", "none", "--out", str(tmp_path / "out")]) == 0
    assert "wrong way round" in capsys.readouterr().out
