"""The command line as a shop runs it: exit codes, JSON, files, bad input; processes at the edges.

Where a claim is about what a command does, not about its process, it is run in this one: starting
the program takes far longer than these small bodies do.
"""

import contextlib
import io
import json
import os
import signal
import subprocess
import sys
import time
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path

import ezdxf.filemanagement
import jsonschema
import numpy as np
import pytest
import trimesh
from pypdf import PdfReader

import sample_data
from app.command_line import commands, main, run
from app.command_line.command_words import COMMANDS
from geometry.mesh import TriMesh, part_of_mesh
from tests.bodies import cylinder_sheet, dome, patch

TOP = Path(__file__).resolve().parents[2]
TAPES_OF_100 = (
    "--tape", "0,0,100:71.7356,0,69.6707=77.8837mm",
    "--tape", "0,0,100:0,71.7356,69.6707=77.8837mm",
)  # fmt: skip
"""On a dome of R 100 and half-angle 0.8: from the crown to the rim, chord 200 sin 0.4."""

TAPES = ("--tape", "0,0,100:200,0,100=200mm", "--tape", "0,-100,0:0,100,0=200mm")
DATED = "1767225600"

Done = subprocess.CompletedProcess[str]


def lowcrown(*words: str | Path) -> Done:
    """Run the program in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "app", *map(str, words)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(TOP), "SOURCE_DATE_EPOCH": DATED},
        timeout=300,
    )


def here(*words: str | Path) -> Done:
    """Run the same in this process."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOURCE_DATE_EPOCH", DATED)
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run([str(word) for word in words])
    return subprocess.CompletedProcess(words, code, out.getvalue(), err.getvalue())


def schema(name: str) -> dict[str, object]:
    found: dict[str, object] = json.loads((TOP / "app/schemas" / f"{name}.schema.json").read_text())
    return found


def save(mesh: TriMesh, path: Path) -> Path:
    trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(path)
    return path


@pytest.fixture
def half_round(tmp_path: Path) -> Path:
    """A half-round R 100 by 200, 24 facets, its axis along x."""
    return save(cylinder_sheet(100.0, np.pi, 200.0), tmp_path / "half round.ply")


def test_scan_without_a_unit_reports_and_gives_no_sizes(half_round: Path) -> None:
    done = here("scan", half_round, "--json")
    assert done.returncode == 0
    found = json.loads(done.stdout)
    jsonschema.validate(found, schema("scan"))
    assert found["triangles"] == 768
    assert found["pieces"][0]["area"] is None
    assert found["holes"][0]["rim_length"] is None
    told = here("scan", half_round).stdout
    assert "guess" in told
    assert "--tape" in told


def test_scan_with_a_unit_gives_true_areas(half_round: Path) -> None:
    found = json.loads(here("scan", half_round, "--unit", "cm", "--json").stdout)
    jsonschema.validate(found, schema("scan"))
    facet = 2 * 1000.0 * np.sin(np.pi / 48)
    assert found["pieces"][0]["area"] == pytest.approx(24 * facet * 2000.0, rel=1e-6)


def test_blank_of_a_rolled_sheet_is_exact_and_matches_its_schema(half_round: Path) -> None:
    done = lowcrown("blank", half_round, "--unit", "mm", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    jsonschema.validate(found, schema("blank"))
    width = 24 * 200.0 * np.sin(np.pi / 48)
    assert found["blank_area"] == pytest.approx(200.0 * width, rel=1e-6)
    assert found["rim_blank"] == pytest.approx(2 * (200.0 + width), rel=1e-6)
    assert found["stretch"]["largest"] == pytest.approx(1.0, abs=1e-9)
    assert found["files"] == []
    told = here("blank", half_round, "--unit", "mm", "--show", "mm").stdout
    assert "middle of the metal" in told
    assert "Roll along" in told
    assert "inside R 100 mm (3 15/16 in)." in told  # R 100.4 by its facets, less half the sheet


def test_blank_from_the_outside_of_the_sheet_is_narrower_by_half_of_it(half_round: Path) -> None:
    """Rolled 1.6 mm sheet, outside R 100, in 24 facets of 2 R sin(pi / 48).

    Moved in by 0.8 mm each facet loses 0.8 tan(pi / 48) at either end, but none at the two edges
    of the sheet: the smooth limit is pi (100 - 0.8) = 311.6, not 314.2.
    """
    asked = ("blank", half_round, "--unit", "mm", "--metal", "1.6mm", "--json")
    found = json.loads(here(*asked).stdout)
    width = (found["rim_blank"] - 400.0) / 2
    facets = 24 * 200.0 * np.sin(np.pi / 48) - 46 * 0.8 * np.tan(np.pi / 48)
    assert width == pytest.approx(facets, abs=1e-3)


def test_two_tapes_prove_the_size_and_only_then_a_cutting_file_leaves(
    half_round: Path, tmp_path: Path
) -> None:
    untaped = here("blank", half_round, "--unit", "mm", "--out", tmp_path / "one")
    assert untaped.returncode == 0
    assert "SIZE NOT TAPED" in untaped.stdout
    assert not list((tmp_path / "one").glob("*.dxf"))
    text = "".join(p.extract_text() for p in PdfReader(tmp_path / "one/half round.pdf").pages)
    assert "SIZE NOT TAPED" in text
    assert "CUT here" not in text
    taped = here("blank", half_round, *TAPES, "--out", tmp_path / "two")
    assert taped.returncode == 0, taped.stderr
    drawing = ezdxf.filemanagement.readfile(tmp_path / "two/half round.dxf")
    assert drawing.units == 4  # $INSUNITS: millimetres
    cut = drawing.modelspace().query('*[layer=="CUT"]')
    assert len(cut) == 1
    names = {layer.dxf.name for layer in drawing.layers}
    assert {"CUT", "NET", "PEN", "AFTER_FORMING", "BEND", "TEXT", "NODATA"} <= names


def test_the_same_input_writes_the_same_bytes(half_round: Path, tmp_path: Path) -> None:
    for name, running in (("one", here), ("two", lowcrown)):
        assert running("blank", half_round, *TAPES, "--out", tmp_path / name).returncode == 0
    files = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert len(files) == 9
    for name in files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_a_result_is_not_overwritten_unless_asked(half_round: Path, tmp_path: Path) -> None:
    asked = ("blank", half_round, "--unit", "mm", "--out", tmp_path / "out")
    assert here(*asked).returncode == 0
    again = lowcrown(*asked)
    assert again.returncode == 1
    assert "--replace" in again.stderr
    assert here(*asked, "--replace").returncode == 0


@pytest.mark.parametrize(
    ("words", "running"),
    [
        (("blank", "FILE"), lowcrown),
        (("layout", "FILE", "--seams", "seams.json"), here),
        (("blank", "FILE", "--tape", "0,0,100:200,0,100=210mm"), here),
        (("blank", "FILE", "--unit", "cm", *TAPES), here),
        (("blank", "FILE", "--tape", "0,0,0:0,0,0=10mm"), here),
    ],
)
def test_unknown_or_disputed_size_is_exit_code_3(
    half_round: Path, tmp_path: Path, words: tuple[str, ...], running: Callable[..., Done]
) -> None:
    words = tuple(str(half_round) if word == "FILE" else word for word in words)
    done = running(*words, "--out", tmp_path / "out")
    assert done.returncode == 3
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_tape_picks_the_unit(half_round: Path) -> None:
    asked = ("scan", half_round, "--tape", "0,0,100:200,0,100=200in", "--json")
    found = json.loads(here(*asked).stdout)
    facet = 2 * 2540.0 * np.sin(np.pi / 48)
    assert found["pieces"][0]["area"] == pytest.approx(24 * facet * 5080.0, rel=1e-6)


@pytest.mark.parametrize(
    "words",
    [
        ("scan",),
        ("blank", "x.stl", "--metal", "1.6"),
        ("blank", "x.stl", "--metal", "99mm"),
        ("blank", "x.stl", "--unit", "furlong"),
        ("scan", "x.stl", "--tape", "1,2:3,4=5mm"),
        ("scan", "x.stl", "--tape", "1,2,3:4,5,6=-5mm"),
        ("layout", "x.stl"),
        ("blank", "x.stl", "--unit", "mm", "--rescale"),
        ("blank", "x.stl", "--hardening", "0.1"),
        ("blank", "x.stl", "--hardening", "0.5", "--weight", "formed"),
        ("blank", "x.stl", "--bias", "-0.9"),
        ("blank", "x.stl", "--bias", "nan"),
        ("blank", "x.stl", "--measure", "tresca"),
        ("blank", "x.stl", "--weight", "both"),
        ("blank", "x.stl", "--making", "mostly hammering"),
        ("blank", "x.stl", "--making", "left side=both"),
        ("blank", "x.stl", "--making", "both", "--making", "mostly shrink"),
        ("blank", "x.stl", "--making", "both", "--bias", "0.1"),
        ("layout", "x.stl", "--seams", "s.json", "--making", "=both"),
        ("layout", "x.stl", "--seams", "s.json", "--making", "a=both", "--making", "a=both"),
        ("blank", "x.stl", "--frobnicate"),
        ("nonsense",),
        ("a.stl", "b.stl"),
    ],
)
def test_wrong_use_is_exit_code_2(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(list(words)) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err


@pytest.mark.parametrize(
    "words",
    [
        ("flanges", "x.stl", "--width", "-3mm"),
        ("gauges", "x.stl", "--stations", "-75mm"),
        ("blank", "x.stl", "--metal", "-1.6mm"),
    ],
)
def test_a_length_with_a_minus_is_told_so_and_in_three_lines(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(list(words)) == 2
    usage, told, where = capsys.readouterr().err.splitlines()
    assert usage == f"usage: lowcrown {words[0]} [options] FILE"
    assert f'"{words[3]}"' in told
    assert told.endswith("a length is written without a minus")
    assert where == f"lowcrown {words[0]} --help tells every option."


def test_a_wrong_way_to_make_a_panel_is_told_what_it_may_be(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["blank", "x.stl", "--making", "mostly hammering"]) == 2
    told = capsys.readouterr().err
    assert '"mostly hammering" is no way to make a panel' in told
    assert '"mostly stretch", "both" or "mostly shrink"' in told
    assert "Traceback" not in told


@pytest.mark.parametrize(
    ("words", "work"),
    [
        ((), ("von_mises", "blank", 1.0, 0.0)),
        (("--making", "Mostly Shrink"), ("von_mises", "blank", 1.0, 0.5)),
        (("--how", "shrink", "--measure", "hencky"), ("hencky", "blank", 1.0, 0.5)),
        (("--weight", "formed", "--bias", "-0.05"), ("von_mises", "formed", 1.0, -0.05)),
        (("--hardening", "0.5"), ("von_mises", "blank", 0.5, 0.0)),
    ],
)
def test_how_a_panel_is_made_is_asked_by_words_or_numbers_and_reported(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], work: object
) -> None:
    path = save(dome(300.0, 0.25, 6), tmp_path / "cap.ply")
    assert run(["blank", str(path), "--unit", "mm", "--json", *words]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("blank"))
    told = found["work"]
    assert (told["measure"], told["weight"], told["hardening"], told["bias"]) == work
    assert found["converged"]


def test_words_go_as_far_as_the_panel_lets_and_a_number_is_taken_as_it_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A dome of 30 degrees half-angle does not stand a bias of -0.5: see the work law's bends."""
    path = save(dome(100.0, np.radians(30.0), 12), tmp_path / "dome.ply")
    asked = ["blank", str(path), "--unit", "mm"]
    assert run([*asked, "--making", "mostly stretch", "--json"]) == 0
    eased = json.loads(capsys.readouterr().out)
    assert eased["converged"]
    assert -0.5 < eased["work"]["bias"] < 0.0
    assert run([*asked, "--bias", "-0.5", "--json"]) == 0
    exact = json.loads(capsys.readouterr().out)
    assert exact["work"]["bias"] == -0.5
    assert exact["unsound_faces"] > 0
    assert not exact["converged"]
    assert (eased["unsound_place"], eased["overlap_place"]) == (None, None)
    assert np.linalg.norm(exact["unsound_place"]) == pytest.approx(100.0, rel=0.01)
    assert run([*asked, "--bias", "-0.5"]) == 0
    told = capsys.readouterr().out
    assert "NOT TO BE CUT FROM: The panel is too deep" in told
    assert "NOT SETTLED, so no sizes are told." in told
    assert "most stretch" not in told  # what a layout that did not settle says of it means nothing
    assert "Thinnest" not in told
    assert run([*asked, "--making", "mostly stretch"]) == 0
    assert "Laid out as far towards stretch as this panel lets." in capsys.readouterr().out


def test_the_answer_is_told_in_a_sentence_and_thin_metal_is_warned_of(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = save(dome(100.0, 0.8, 12), tmp_path / "deep.ply")
    words = ["blank", str(path), *TAPES_OF_100, "--metal", "1.2mm"]
    assert run(words) == 0
    told = capsys.readouterr().out
    assert "    Cut " in told
    assert "at the crown. Edge: take up " in told
    assert "all round. Blank " in told
    assert "Laid out by equal area: " in told
    assert "Thinner than your least of 1.2 mm (.047 in), at the crown." in told
    assert run(["blank", str(path), "--unit", "mm"]) == 0
    untaped = capsys.readouterr().out
    assert "with its trim; not to be cut yet." in untaped
    assert "Cut " not in untaped


@pytest.mark.parametrize("command", COMMANDS)
def test_what_any_command_prints_as_json_names_its_schema_first(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(commands.COMMANDS, command, lambda doing: {"files": []})
    assert main(command, Namespace(json=True)) == 0
    found = json.loads(capsys.readouterr().out)
    assert list(found.items()) == [("schema", "lowcrown/1"), ("files", [])]


def test_help_and_version_are_exit_code_0(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--help"], ["blank", "--help"], ["layout", "--help"], ["--version"]):
        assert run(words) == 0
    assert "taped on the real tank" in capsys.readouterr().out


BAD_FILES = {
    "empty.stl": b"",
    "truncated.stl": b" " * 80 + (500).to_bytes(4, "little") + b"\0" * 1000,
    "four billion.stl": b" " * 80 + (4_000_000_000).to_bytes(4, "little") + b"\0" * 500,
    "words.stl": b"not a mesh at all\n" * 30,
    "comma.stl": (
        b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0,0 0,0 0,0\nvertex 1,0 0,0 0,0\n"
        b"vertex 0,0 1,0 0,0\nendloop\nendfacet\nendsolid\n"
    ),
    "nan.obj": b"v 0 0 0\nv 1 0 0\nv nan 1 0\nf 1 2 3\n",
    "endless.obj": b"v 0 0 0\nv 1 0 0\nv 1e999 1 0\nf 1 2 3\n",
    "huge.obj": b"v 0 0 0\nv 1e30 0 0\nv 0 1e30 0\nf 1 2 3\n",
    "index.obj": b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n",
    "points.obj": b"v 0 0 0\nv 1 0 0\nv 0 1 0\n",
    "flat.obj": b"v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n",
    "unknown.xyz": b"1 2 3\n",
    "cut short.ply": b"ply\nformat ascii 1.0\nelement vertex 9\nproperty float x\n",
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_bad_files_are_a_sentence_and_exit_code_1(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    path.write_bytes(BAD_FILES[name])
    assert run(["blank", str(path), "--unit", "mm", "--out", str(tmp_path / "out")]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("lowcrown: ")
    assert told.err.count("\n") == 1
    assert "Traceback" not in told.err
    assert "should not have" not in told.err
    assert path.read_bytes() == BAD_FILES[name]
    assert not (tmp_path / "out").exists()


def test_a_folder_and_a_missing_file_are_told_apart(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "folder.stl").mkdir()
    assert run(["scan", str(tmp_path / "folder.stl")]) == 1
    assert "folder" in capsys.readouterr().err
    assert run(["scan", str(tmp_path / "missing.stl")]) == 1
    assert "no file" in capsys.readouterr().err


def test_surfaces_that_are_no_panel_say_which_seam_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ball = trimesh.creation.icosphere(2, 50.0)
    save(TriMesh(ball.vertices, ball.faces), tmp_path / "ball.ply")
    assert run(["blank", str(tmp_path / "ball.ply"), "--unit", "mm"]) == 1
    assert "seam that opens it" in capsys.readouterr().err
    sheet = cylinder_sheet(50.0, 2 * np.pi, 80.0, 30, 6)
    joined = np.arange(len(sheet.vertices))
    joined[-7:] = np.arange(7)
    save(TriMesh(sheet.vertices[:-7], joined[sheet.faces]), tmp_path / "tube.ply")
    assert run(["blank", str(tmp_path / "tube.ply"), "--unit", "mm"]) == 1
    assert "one rim to the other" in capsys.readouterr().err
    far = np.concatenate([ball.vertices, ball.vertices + np.array([300.0, 0, 0])])
    both = np.concatenate([ball.faces, ball.faces + len(ball.vertices)])
    save(TriMesh(far, both), tmp_path / "two.ply")
    assert run(["blank", str(tmp_path / "two.ply"), "--unit", "mm"]) == 1
    assert "2 large pieces" in capsys.readouterr().err


def test_a_hole_stays_solid_metal_unless_left_open(tmp_path: Path) -> None:
    whole = dome(150.0, 0.6, 15)
    far = whole.vertices[:, 2] < 150.0 * np.cos(0.6 * 0.19)
    pierced = part_of_mesh(whole, np.flatnonzero(far[whole.faces].any(axis=1)))[0]
    path = save(pierced, tmp_path / "pierced.ply")
    solid = json.loads(here("blank", path, "--unit", "mm", "--json").stdout)
    left_open = json.loads(here("blank", path, "--unit", "mm", "--json", "--open-holes").stdout)
    assert solid["no_data_area"] == pytest.approx(solid["formed_area"] - left_open["formed_area"])
    assert solid["no_data_area"] == pytest.approx(432.0, abs=3.0)  # 12 sides about R 12
    assert left_open["no_data_area"] == 0.0


def test_the_command_line_loads_neither_qt_nor_vtk(half_round: Path) -> None:
    """As on a machine without their system libraries: importing them is made to fail."""
    code = (
        "import sys\n"
        "class Bar:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.split('.')[0] in ('PySide6', 'vtkmodules', 'pyvista', 'pyvistaqt'):\n"
        "            raise ImportError(name)\n"
        "sys.meta_path.insert(0, Bar())\n"
        "from app.command_line import run\n"
        f"sys.exit(run(['blank', {str(half_round)!r}, '--unit', 'mm', '--json']))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, check=False, cwd=TOP, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


@pytest.mark.slow
def test_layout_of_the_sample_writes_everything_and_stops_cleanly(tmp_path: Path) -> None:
    tapes: list[str] = [word for tape in sample_data.tapes() for word in ("--tape", tape)]
    asked: list[str | Path] = [
        "layout",
        sample_data.scan_path(),
        "--seams",
        sample_data.seams_path(),
        *tapes,
    ]
    done = lowcrown(*asked, "--out", tmp_path / "out", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    jsonschema.validate(found, schema("summary"))
    kept = json.loads((tmp_path / "out/summary.json").read_text())
    jsonschema.validate(kept, schema("summary"))
    assert "seconds" not in kept
    assert kept["size"]["proved"]
    assert sorted(kept["files"]) == sorted(path.name for path in (tmp_path / "out").iterdir())
    assert all(panel["converged"] and panel["inverted"] == 0 for panel in kept["panels"])
    assert {panel["panel"] for panel in kept["panels"]} >= {"left side", "right side", "top strip"}

    stopped = subprocess.Popen(
        [sys.executable, "-m", "app", *map(str, asked), "--out", str(tmp_path / "stopped")],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=TOP,
    )  # fmt: skip
    time.sleep(6.0)
    stopped.send_signal(signal.SIGINT)
    _, err = stopped.communicate(timeout=60)
    assert stopped.returncode == 130
    assert "stopped" in err
    assert not (tmp_path / "stopped").exists()


def test_a_metal_is_chosen_by_name_and_one_nobody_knows_is_refused_with_those_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = save(dome(100.0, 0.8, 10), tmp_path / "dome.ply")
    asked = ["blank", str(path), "--unit", "mm"]
    assert run([*asked, "--alloy", "5052 h32", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("blank"))
    assert found["metal_guide"]["metal"] == "5052-H32"
    assert found["thickness_cases"]["equal_area"]["mean"] == 1.0
    assert [edge["edge"] for edge in found["edges"]] == ["F1"]
    assert run([*asked, "--alloy", "5052-H33"]) == 2
    said = capsys.readouterr().err
    assert "5052-H33" in said
    assert "5052-H32" in said


def test_metals_of_ones_own_come_from_a_file_of_facts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = save(dome(100.0, 0.8, 10), tmp_path / "dome.ply")
    facts = tmp_path / "ours.json"
    facts.write_text('{"metals": [{"alloy": "5754", "density": 2.67, "elongation": 0.01}]}')
    asked = ["blank", str(path), "--unit", "mm", "--metal-facts", str(facts)]
    assert run(asked) == 0
    assert "5754 as bought stretches about 1 in every 100" in capsys.readouterr().out
    assert run([*asked, "--alloy", "3003-H14"]) == 0
    assert "3003-H14 as bought" in capsys.readouterr().out
    facts.write_text("{}")
    assert run(asked) == 1
    assert '"ours.json" is not a file of metals' in capsys.readouterr().err


def test_a_blank_that_lies_over_itself_says_where_and_is_not_to_be_cut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A ring of a turn and a quarter, 60 to 100 mm: the quarter lies double, 5,027 mm2.

    pi (100^2 - 60^2) / 4, between radii 60 and 100 about the ring's middle.
    """
    t, angle = np.meshgrid(np.linspace(0.0, 1.0, 5), np.linspace(0.0, 2.5 * np.pi, 121))
    radius = 100.0 - 40.0 * t
    ring = patch(radius * np.cos(angle), radius * np.sin(angle), 2.0 * angle)
    path = save(ring, tmp_path / "ring.ply")
    assert run(["blank", str(path), "--unit", "mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("blank"))
    assert found["overlap_area"] == pytest.approx(np.pi * 6400.0 / 4.0, rel=0.05)
    assert len(found["overlap_place"]) == 2
    assert np.linalg.norm(found["overlap_place"]) < 120.0
    assert run(["blank", str(path), "--unit", "mm"]) == 0
    assert "NOT TO BE CUT FROM: The blank lies over itself by " in capsys.readouterr().out


def test_a_rolled_sheet_reports_its_roll_lines_and_their_sweep(
    half_round: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A half-round of R 100: every line runs along it, sweep 100, turning to the inside."""
    assert run(["blank", str(half_round), "--unit", "mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema("blank"))
    assert len(found["rolls"]) > 5
    for roll in found["rolls"]:
        assert roll["kind"] == "roll"
        np.testing.assert_allclose(roll["radii"], 100.0, rtol=0.03)
        assert roll["towards"] == "inside"
