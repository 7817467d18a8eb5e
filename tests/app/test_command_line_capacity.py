"""`lowcrown capacity`: told, as JSON and as files; what is open is asked for, not closed."""

import json
from pathlib import Path

import jsonschema
import numpy as np
import pypdfium2
import pytest
import trimesh

from app.command_line import run
from geometry.mesh import enclosed_volume
from geometry.tank import capped
from tests.app.told_angles import told_in_degrees
from tests.bodies import dome

TOP = Path(__file__).resolve().parents[2]
SCHEMA = json.loads((TOP / "app/schemas/capacity.schema.json").read_text())
STOOD = ("--unit", "mm", "--datum", "none", "--front", "1,0,0", "--up", "0,0,1", "--metal", "1mm")
HALF_ANGLE, RADIUS, LONGER = 1.2, 60.0, 2.0


@pytest.fixture(scope="module")
def tank_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A long dome, open below."""
    body = dome(RADIUS, HALF_ANGLE, 20)
    file = tmp_path_factory.mktemp("capacity") / "dome.ply"
    points = body.vertices * [LONGER, 1.0, 1.0]
    trimesh.Trimesh(points, body.faces, process=False).export(file)
    return file


def told_json(capsys: pytest.CaptureFixture[str], argv: list[str]) -> dict:  # type: ignore[type-arg]
    capsys.readouterr()
    assert run([*argv, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, SCHEMA)
    assert told_in_degrees(found) > 0
    return found  # type: ignore[no-any-return]


def test_a_dome_holds_its_cap_less_its_metal(
    tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Outside, a spherical cap stretched: twice pi h^2 (3 r - h) / 3; less its skin's area x 1 mm.

    The bound is Steiner's: between whole - area and whole; the cap's area is 2 pi r h for the
    round one, at most twice that when stretched.
    """
    found = told_json(capsys, ["capacity", str(tank_file), *STOOD, "--cap", "flat"])["capacity"]
    height = RADIUS * (1.0 - np.cos(HALF_ANGLE))
    whole = LONGER * np.pi * height**2 * (3.0 * RADIUS - height) / 3.0
    foot = LONGER * np.pi * (RADIUS * np.sin(HALF_ANGLE)) ** 2
    area = LONGER * 2.0 * np.pi * RADIUS * height + foot
    assert whole - area < found["litres"] * 1e6 < whole
    assert found["us_gallons"] == pytest.approx(found["litres"] / 3.785411784, abs=2e-4)
    assert found["wall"] == 1.0
    assert [rim["rim"] for rim in found["closed"]] == [1]


def test_a_tunnel_makes_two_low_points_and_one_tap_leaves_a_leg(
    tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--cap", "flat", "--tunnel", "30x16 flat", "--tap", "110,30+5mm"]
    found = told_json(capsys, ["capacity", str(tank_file), *STOOD, *words])["capacity"]
    level, leant, *_ = found["stances"]
    assert len(level["low_points"]) == 2
    sides = sorted(point["place"][1] for point in level["low_points"])
    assert sides[0] < -15.0
    assert sides[1] > 15.0
    right = min(level["low_points"], key=lambda point: point["place"][1])
    assert level["litres_left"] == pytest.approx(right["litres"], rel=0.02)
    assert leant["lean_left_rad"] == pytest.approx(np.radians(12.0), abs=1e-5)
    assert found["taps"][0]["litres_reserve"] > 0.0
    assert found["litres_of_tunnel"] > 0.0


def test_a_part_filling_leant_is_told_and_its_outlets(
    tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """200 ml on the level in a plain dome: how deep it stands is known from the dip chart."""
    words = ["--cap", "flat", "--tap", "110,0+4mm", "--litres", "0.2"]
    level = told_json(capsys, ["capacity", str(tank_file), *STOOD, *words])["capacity"]
    part, chart = level["part"], level["dip_chart"]
    (pool,) = part["pools"]
    assert pool["litres"] == pytest.approx(0.2)
    wetted = pool["level"] - chart["foot"][2]
    assert np.interp(wetted, chart["depth"], chart["litres"]) == pytest.approx(0.2, rel=0.02)
    assert [outlet["name"] for outlet in part["outlets"]] == ["tap", "tap on reserve"]
    assert part["outlets"][1]["covered"]
    assert part["outlets"][1]["over"] - part["outlets"][0]["over"] == pytest.approx(4.0, abs=0.02)
    leant = ["--lean", "-15", "--nose-up", "5"]
    told = told_json(capsys, ["capacity", str(tank_file), *STOOD, *words, *leant])["capacity"]
    part = told["part"]
    assert part["lean_left_rad"] == pytest.approx(-np.radians(15.0), abs=1e-5)
    assert part["nose_up_rad"] == pytest.approx(np.radians(5.0), abs=1e-5)
    assert part["pools"][0]["lowest"][1] < 0.0  # it runs to the right


def test_pages_stick_and_json_are_written_and_keep_their_schema(
    tank_file: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    argv = ["capacity", str(tank_file), *STOOD, "--cap", "ruled", "--tap", "110,10"]
    argv += ["--litres", "0.15", "--lean", "10"]
    assert run([*argv, "--out", str(out)]) == 0
    found = json.loads((out / "capacity.json").read_text())
    jsonschema.validate(found, SCHEMA)
    assert sorted(path.name for path in out.iterdir()) == found["files"]
    assert {"capacity.pdf", "dip stick.pdf", "fittings.pdf"} <= set(found["files"])
    page = pypdfium2.PdfDocument(out / "capacity.pdf")[0].get_textpage().get_text_range()
    assert "DIP CHART" in page
    assert "With 150 ml" in page
    assert "Level is as up was given. The frame may hold the tank otherwise." in page
    assert found["capacity"]["part"]["pools"][0]["litres"] == pytest.approx(0.15)


def test_an_open_tank_is_asked_about(tank_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["capacity", str(tank_file), *STOOD]) == 1
    told = capsys.readouterr().err
    assert "The tank is open" in told
    assert '"flat"' in told


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (["--cap", "flat", "--lean", "90"], "lies down"),
        (["--cap", "flat", "--litres", "30"], "to the brim"),
        (["--cap", "flat", "--tap", "110,10+90mm"], "standpipe"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(
    tank_file: Path, capsys: pytest.CaptureFixture[str], words: list[str], part: str
) -> None:
    assert run(["capacity", str(tank_file), *STOOD, *words]) == 1
    assert part in capsys.readouterr().err


def test_wrong_words_are_wrong_use(tank_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--tap", "here"], ["--tunnel", "wide"], ["--lean", "much"]):
        assert run(["capacity", str(tank_file), *words]) == 2
        assert words[1] in capsys.readouterr().err


def test_a_tunnel_of_no_known_form_is_told_those_there_are(
    tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["capacity", str(tank_file), "--tunnel", "70x75:70x75 oval"]) == 2
    told = " ".join(capsys.readouterr().err.split())
    for form in ("half round", "flat", "three sided", "cut corners"):
        assert form in told


def test_the_cap_used_here_is_the_flat_one() -> None:
    """The dome's own volume, capped flat, is that of its facets: the closed form from below."""
    body = dome(RADIUS, HALF_ANGLE, 20)
    closed = capped(body, {0: "flat"})
    height = RADIUS * (1.0 - np.cos(HALF_ANGLE))
    exact = np.pi * height**2 * (3.0 * RADIUS - height) / 3.0
    assert 0.99 * exact < enclosed_volume(closed.vertices, closed.faces) < exact


def test_the_tunnel_laid_out_is_taken_off(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """60 mm of a flat-topped tunnel in the middle, 30 x 16 inside, of the 1 mm sheet of the job.

    Outside it is 32 x 17 over its foot on the tank's inside, 1 mm up: 60 x 32 x 16, give or take
    what its seat rises or falls on the edge.
    """
    rest = {
        "unit": "mm",
        "tunnel": {
            "length": 60.0,
            "top": "flat",
            "corner_radius": 1.0,
            "front": {"height": 16.0, "width": 30.0},
            "rear": {"height": 16.0, "width": 30.0},
            "tighter_bend": True,
            "place": {"rear": 80.0},
        },
    }
    (tmp_path / "rest.json").write_text(json.dumps(rest))
    words = ["--cap", "flat", "--rest", str(tmp_path / "rest.json"), "--tunnel", "laid"]
    laid = told_json(capsys, ["capacity", str(tank_file), *STOOD, *words])["capacity"]
    assert laid["litres_of_tunnel"] * 1e6 == pytest.approx(60.0 * 32.0 * 16.0, rel=0.1)


def test_a_tunnel_typed_counts_before_the_one_laid_out_in_the_file(
    tank_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    end = {"width": 30.0, "height": 16.0}
    tunnel = {"length": 60.0, "front": end, "rear": end, "top": "flat", "corner_radius": 3.0}
    rest = {"unit": "mm", "tunnel": tunnel, "capacity": {"closing": "flat", "laid_tunnel": True}}
    (tmp_path / "rest.json").write_text(json.dumps(rest))
    argv = ["capacity", str(tank_file), *STOOD, "--cap", "flat", "--tunnel", "20x10 flat"]
    plain = told_json(capsys, argv)["capacity"]
    both = told_json(capsys, [*argv, "--rest", str(tmp_path / "rest.json")])["capacity"]
    assert both["litres_of_tunnel"] == plain["litres_of_tunnel"] > 0.0


def test_a_tunnel_nobody_laid_out_is_asked_for(
    tank_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["capacity", str(tank_file), *STOOD, "--cap", "flat", "--tunnel", "laid"]) == 1
    assert "tunnel is not there" in capsys.readouterr().err
