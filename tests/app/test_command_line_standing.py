"""`scan`, `datum` and `lines` on a tank whose truth is known, and what `layout` takes of them."""

import json
from collections.abc import Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import trimesh

from app.command_line import run
from app.command_line.arguments import joined
from app.job import BadFileError, JobState, read_scan_file, with_datum_file
from app.job.files.datum_file import ScanMark, read_datum
from geometry.mesh import TriMesh, part_of_mesh
from tests.bodies import dome
from tests.tanks import Tank, tank

TOP = Path(__file__).resolve().parents[2]
RADIUS = 40.0
COARSE_MM = 12.0


def schema(name: str) -> dict[str, object]:
    found: dict[str, object] = json.loads((TOP / "app/schemas" / f"{name}.schema.json").read_text())
    return found


def save(mesh: TriMesh, path: Path) -> Path:
    trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(path)
    return path


def typed(point: Sequence[float] | np.ndarray[Any, Any]) -> str:
    return ",".join(f"{value:.9g}" for value in point)


def on_dome(x: float, y: float) -> list[float]:
    return [x, y, float(np.sqrt(RADIUS**2 - x * x - y * y))]


@pytest.fixture(scope="module")
def coarse() -> Tank:
    """A coarse tank in any pose, its filler hole and underside open."""
    return tank(COARSE_MM, seed=5, turned=True)


@pytest.fixture(scope="module")
def tank_file(coarse: Tank, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return save(coarse.mesh, tmp_path_factory.mktemp("tank") / "tank.ply")


@pytest.fixture(scope="module")
def dome_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A dome with a round hole beside its crown and a scrap over it."""
    body = dome(RADIUS, 0.9, 14)
    middles = body.vertices[body.faces].mean(axis=1)
    away = np.linalg.norm(middles - on_dome(14.0, 0.0), axis=1)
    holed, _ = part_of_mesh(body, np.flatnonzero(away > 6.0))
    scrap = dome(4.0, 0.5, 3)
    mesh = TriMesh(
        np.concatenate([holed.vertices, scrap.vertices + [0.0, 0.0, 90.0]]),
        np.concatenate([holed.faces, scrap.faces + len(holed.vertices)]),
    )
    return save(mesh, tmp_path_factory.mktemp("dome") / "dome.ply")


def picks(coarse: Tank) -> tuple[str, ...]:
    """Return places picked on the skin: the ends and the top of the centre line."""
    local = coarse.from_file(coarse.mesh.vertices)
    near = np.argsort(np.abs(local[:, 1]))[:400]
    ends = near[[int(np.argmin(local[near, 0])), int(np.argmax(local[near, 0]))]]
    high = near[int(np.argmax(local[near, 2]))]
    found = []
    for at in (*ends, high):
        found += ["--on-centre", typed(mirrored_middle(coarse, coarse.mesh.vertices[at]))]
    return tuple(found)


def mirrored_middle(coarse: Tank, point: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Return the place of the true centre plane nearest to a point."""
    own = coarse.from_file(point[None])
    own[:, 1] = 0.0
    return np.asarray(coarse.to_file(own)[0])


# ---- scan


def test_scan_lists_pieces_and_the_tanks_holes_by_number(
    dome_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["scan", str(dome_file), "--unit", "mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("scan"))
    assert [piece["kept"] for piece in found["pieces"]] == [True, False]
    assert len(found["holes"]) == found["hole_count"] == 3
    edge, hole = found["tank_holes"]
    assert (edge["number"], edge["edge"], edge["fate"]) == (1, True, "left")
    assert (hole["number"], hole["edge"], hole["fate"]) == (2, False, "filled")
    np.testing.assert_allclose(hole["centre"], on_dome(14.0, 0.0), atol=3.0)
    assert np.dot(hole["normal"], on_dome(14.0, 0.0)) / RADIUS > 0.95
    assert run(["scan", str(dome_file), "--unit", "mm", "--show", "mm"]) == 0
    told = capsys.readouterr().out
    assert "piece 2" in told
    assert "left out" in told
    assert "hole 2" in told
    assert "to be filled by guess" in told


def test_scan_without_a_size_tells_no_lengths_and_no_fates(
    dome_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["scan", str(dome_file), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("scan"))
    assert found["tank_holes"] is None
    assert found["size"] is None
    assert found["pieces"][0]["centre"] is None
    assert found["repairs"]["joined_points"] >= 0


# ---- datum


def test_datum_from_picks_is_the_plane_they_lie_in_and_reads_back_into_layout(
    coarse: Tank, tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Three picks exactly on the true plane fix it to the rounding of what is typed."""
    words = ["datum", str(tank_file), "--unit", "mm", *picks(coarse)]
    words += ["--front", typed(coarse.front), "--up", typed(coarse.up), "--level", "up"]
    assert run([*words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("datum"))
    np.testing.assert_allclose(found["plane"]["normal"], coarse.left, atol=1e-6)
    np.testing.assert_allclose(found["up"], coarse.up, atol=1e-6)
    np.testing.assert_allclose(found["front"], coarse.front, atol=1e-6)
    assert found["guessed"] == []
    assert found["plane"]["matched_share"] is None
    assert found["scan"]["sha256"] == sha256(tank_file.read_bytes()).hexdigest()
    assert found["scan"]["triangles"] == len(read_scan_file(tank_file).raw.faces)
    assert run(words) == 0
    assert "up is" in capsys.readouterr().out


@pytest.mark.slow
def test_what_a_ball_leaves_open_is_told_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ball = tmp_path / "ball.ply"
    trimesh.creation.icosphere(subdivisions=3, radius=RADIUS).export(ball)
    assert run(["datum", str(ball), "--unit", "mm"]) == 0
    assert capsys.readouterr().out.count("it can turn any way") == 1


def test_datum_without_a_size_stops_with_3_and_a_missing_file_is_told_first(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for command in ("datum", "lines"):
        assert run([command, str(tank_file)]) == 3
        told = capsys.readouterr()
        assert told.out == ""
        assert "--tape" in told.err
        assert run([command, str(tmp_path / "none.ply")]) == 1
        assert "no file" in capsys.readouterr().err
    assert run(["blank", str(tmp_path / "none.off")]) == 1
    assert "no file" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--on-centre", "1,2"], "is not a point"),
        (["--on-centre", "1,2,nan"], "too large"),
        (["--pair", "1,2,3"], "is not a pair"),
        (["--pair", "1,2,3:1,2,3"], "the same point twice"),
        (["--front", "0,0,0"], "points nowhere"),
        (["--up", "up"], "is not a point"),
        (["--level", "flat"], "no way to level"),
        (["--level", "up"], "--level up needs --up"),
        (["--tape-limit", "3"], "needs its unit"),
        (["--datum", "auto"], "unrecognized arguments"),
    ],
)
def test_wrong_use_of_datum_is_told_with_its_own_usage(
    tank_file: Path, words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["datum", str(tank_file), "--unit", "mm", *words]) == 2
    found = capsys.readouterr()
    assert found.out == ""
    assert told in found.err
    if "unrecognized" not in told:
        assert "usage: lowcrown datum" in found.err


def test_picks_that_do_not_fix_a_plane_are_a_sentence(
    tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["datum", str(tank_file), "--unit", "mm"]
    assert run([*words, "--on-centre", "0,0,0", "--on-centre", "10,0,0"]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("lowcrown: ")
    assert "Something went wrong" not in told.err


def test_a_minus_in_front_of_a_direction_is_no_option() -> None:
    words = ["datum", "a.ply", "--front", "-1,0,0", "--on-centre", "-1,2,3", "--level", "up"]
    assert joined(words)[2:] == ["--front=-1,0,0", "--on-centre=-1,2,3", "--level", "up"]


@pytest.mark.slow
def test_datum_of_a_tank_in_any_pose_lies_where_its_truth_is(
    coarse: Tank, tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without noise or dents: well within the 0.05 degrees and 0.1 mm asked for on bad scans."""
    words = ["datum", str(tank_file), "--unit", "mm", "--front", typed(coarse.front)]
    assert run([*words, "--up", typed(coarse.up), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("datum"))
    turn, off = coarse.plane_errors(
        np.array(found["plane"]["point"]), np.array(found["plane"]["normal"])
    )
    assert turn < 0.05
    assert abs(off) < 0.1
    left_right = found["left_right"]
    assert left_right["median"] < 0.1
    assert left_right["stations"]


# ---- lines


@pytest.mark.slow
def test_lines_tells_every_line_by_medians_and_along_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    body = tank(4.0, seed=2, line_radius_mm=6.0)
    path = save(body.mesh, tmp_path / "tank.ply")
    assert run(["lines", str(path), "--unit", "mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("lines"))
    for line in found["lines"]:
        along = line["along"]
        assert len(along["radius"]) == len(line["points"])
        assert line["radius"] == pytest.approx(np.median(along["radius"]))
        assert line["angle_deg"] == pytest.approx(np.median(along["angle_deg"]))
        assert 0.0 < line["angle_deg"] < 180.0
    assert found["lines"]


def test_a_smooth_dome_has_no_lines(dome_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["lines", str(dome_file), "--unit", "mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("lines"))
    assert found["lines"] == []


# ---- layout


@pytest.fixture
def laid(dome_file: Path, tmp_path: Path) -> list[str]:
    """Words for a layout of the dome: its seam, which runs clear of the hole, and two tapes."""
    path = tmp_path / "seams.json"
    reach = float(np.sqrt((RADIUS * np.sin(0.898)) ** 2 - 12.0**2))
    points = [on_dome(-12.0, y) for y in (-reach, 0.0, reach)]
    found = {"unit": "mm", "seams": [{"name": "ridge", "points": points}]}
    path.write_text(json.dumps(found))
    tapes = []
    for end in (on_dome(-20.0, 0.0), on_dome(0.0, 20.0)):
        length = float(np.linalg.norm(np.subtract(end, on_dome(0.0, 0.0))))
        tapes += ["--tape", f"{typed(on_dome(0.0, 0.0))}:{typed(end)}={length:.4f}mm"]
    return ["layout", str(dome_file), "--seams", str(path), "--out", str(tmp_path / "out"),
            *tapes, "--json"]  # fmt: skip


def summary(words: list[str], capsys: pytest.CaptureFixture[str]) -> Any:
    assert run(words) == 0, capsys.readouterr().err
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("summary"))
    return found


@pytest.mark.slow
def test_layout_tells_what_was_guessed_and_a_hole_left_open_is_none(
    laid: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    usual = summary(laid, capsys)
    assert (usual["datum"], usual["lines"], usual["copied"]) == (None, [], None)
    assert [hole["fate"] for hole in usual["fill"]["holes"]] == ["left", "filled"]
    open_hole = summary([*laid, "--replace", "--fill", "none"], capsys)
    assert [hole["fate"] for hole in open_hole["fill"]["holes"]] == ["left", "left"]


@pytest.mark.slow
def test_holes_filled_by_number_are_those_filled_as_usual(
    laid: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    usual = summary(laid, capsys)
    by_number = summary([*laid, "--replace", "--fill", "2"], capsys)
    assert [hole["fate"] for hole in by_number["fill"]["holes"]] == ["left", "filled"]
    areas = [
        sum(panel["no_data_area"] for panel in found["panels"]) for found in (usual, by_number)
    ]
    assert areas[0] == pytest.approx(areas[1], rel=1e-6)
    assert areas[0] > 50.0


def test_layout_stands_as_a_datum_file_says(
    laid: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "datum.json"
    facts = {
        "schema": "lowcrown/1",
        "plane": {"point": [0.0, 0.0, 40.0], "normal": [0.0, 1.0, 0.0]},
        "up": [0.0, 0.0, 1.0],
        "front": [1.0, 0.0, 0.0],
    }
    path.write_text(json.dumps(facts))
    found = summary([*laid, "--datum", str(path)], capsys)
    np.testing.assert_allclose(found["datum"]["front"], [1.0, 0.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(found["datum"]["plane"]["normal"], [0.0, 1.0, 0.0], atol=1e-12)
    assert found["datum"]["guessed"] == []


def test_a_datum_of_another_scan_is_refused_and_one_of_this_scan_is_taken(
    laid: list[str], dome_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "datum.json"
    facts = {
        "schema": "lowcrown/1",
        "scan": {"sha256": "0" * 64, "triangles": 12},
        "plane": {"point": [0.0, 0.0, 40.0], "normal": [0.0, 1.0, 0.0]},
        "up": [0.0, 0.0, 1.0],
        "front": [1.0, 0.0, 0.0],
    }
    path.write_text(json.dumps(facts))
    assert run([*laid, "--datum", str(path)]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert f'scan is another than "{dome_file.name}": it has 12 triangles' in told.err
    here = ScanMark(sha256(dome_file.read_bytes()).hexdigest().upper(), 12)
    scan = read_scan_file(dome_file)
    state = with_datum_file(JobState(scan=scan), replace(read_datum(path), scan=here), 1.0)
    assert state.datum.how == "given"
    as_many = replace(here, sha256="0", triangles=len(scan.raw.faces))
    with pytest.raises(BadFileError, match="as well, but not the same"):
        with_datum_file(JobState(scan=scan), replace(read_datum(path), scan=as_many), 1.0)


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["--fill", "7"], 2, "no hole 7"),
        (["--fill", "0"], 2, "counted from 1"),
        (["--fill", "some"], 2, "is not a list of holes"),
        (["--lines", "all"], 2, "invalid choice"),
        (["--copy-side", "left"], 2, "--copy-side needs to know left from right"),
        (["--copy-side", "both", "--datum", "auto"], 2, "invalid choice"),
        (["--datum", "none such.json"], 1, "none such.json"),
    ],
)
def test_wrong_use_of_layouts_new_words_is_told(
    laid: list[str], words: list[str], code: int, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*laid, *words]) == code
    found = capsys.readouterr()
    assert found.out == ""
    assert told in found.err


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "goes wrong"),
        ("[]", "is not an object"),
        ('{"schema": "lowcrown/1"}', "lacks the field"),
        ('{"schema": "lowcrown/9", "plane": {}, "up": [], "front": []}', "schema"),
    ],
)
def test_a_datum_file_that_is_none_is_told_by_place(
    laid: list[str], text: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad.json"
    path.write_text(text)
    assert run([*laid, "--datum", str(path)]) == 1
    found = capsys.readouterr()
    assert "bad.json" in found.err
    assert told in found.err


@pytest.mark.slow
def test_a_dome_has_no_one_centre_plane_and_layout_goes_on_without(
    laid: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    found = summary([*laid, "--datum", "auto"], capsys)
    assert found["panels"]


@pytest.mark.slow
def test_a_side_copied_is_told_with_how_much_of_the_surface_came_of_it(
    laid: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Half of a dome whole on both sides comes of the other: within a twentieth of half."""
    path = tmp_path / "datum.json"
    facts = {
        "schema": "lowcrown/1",
        "plane": {"point": [0.0, 0.0, RADIUS], "normal": [0.0, 1.0, 0.0]},
        "up": [0.0, 0.0, 1.0],
        "front": [1.0, 0.0, 0.0],
    }
    path.write_text(json.dumps(facts))
    found = summary([*laid, "--datum", str(path), "--copy-side", "left"], capsys)
    area = sum(panel["formed_area"] for panel in found["panels"])
    assert found["copied"]["side"] == "left"
    assert found["copied"]["area"] == pytest.approx(area / 2.0, rel=0.05)
    assert found["copied"]["step"] < 0.1
    on_panels = sum(panel["copied_area"] for panel in found["panels"])
    assert on_panels == pytest.approx(found["copied"]["area"], rel=0.02)
    words = [word for word in laid if word != "--json"]
    assert run([*words, "--replace", "--datum", str(path), "--copy-side", "left"]) == 0
    told = capsys.readouterr().out
    assert "Mirrored from the left side: " in told
    assert "NOT SCANNED, filled by guess: " in told
