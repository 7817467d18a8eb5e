"""`layout` on a small dome with one seam: seams files, sizes, stopping, and a bug of our own."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import trimesh

import app.command_line.commands
from app.command_line import run
from app.settings import log_folder
from tests.bodies import dome

TOP = Path(__file__).resolve().parents[2]
RADIUS = 60.0
TAPES = ("--tape", "0,0,60:30,0,51.9615=31.06mm", "--tape", "0,0,60:0,30,51.9615=31.06mm")


def on_dome(x: float, y: float) -> list[float]:
    return [x, y, float(np.sqrt(RADIUS**2 - x * x - y * y))]


def seams() -> dict[str, Any]:
    """A seam over the crown, from rim to rim (half-angle 0.6), and both panels named."""
    edge = RADIUS * np.sin(0.599)
    return {
        "unit": "mm",
        "seams": [{"name": "ridge", "points": [on_dome(x, 0.0) for x in (-edge, 0.0, edge)]}],
        "panels": [
            {"name": "left side", "inside": on_dome(0.0, 15.0)},
            {"name": "right side", "inside": on_dome(0.0, -15.0)},
        ],
        "front": [1.0, 0.0, 0.0],
    }


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    body = dome(RADIUS, 0.6, 12)
    path = tmp_path / "dome.ply"
    trimesh.Trimesh(body.vertices, body.faces, process=False).export(path)
    return path


def asked(scan: Path, found: object, *words: str) -> list[str]:
    path = scan.with_name("seams.json")
    path.write_text(found if isinstance(found, str) else json.dumps(found))
    out = str(scan.with_name("out"))
    return ["layout", str(scan), "--seams", str(path), "--out", out, *words]


def test_layout_writes_what_its_summary_lists(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(asked(scan, seams(), *TAPES, "--metal", "1.2mm", "--json")) == 0
    found = json.loads(capsys.readouterr().out)
    schema = json.loads((TOP / "app/schemas/summary.schema.json").read_text())
    jsonschema.validate(found, schema)
    out = scan.with_name("out")
    kept = json.loads((out / "summary.json").read_text())
    jsonschema.validate(kept, schema)
    assert {key: found[key] for key in kept} == kept
    assert sorted(kept["files"]) == sorted(path.name for path in out.iterdir())
    assert [panel["panel"] for panel in kept["panels"]] == ["left side", "right side"]
    assert kept["size"]["unit"] == "mm"
    assert kept["size"]["proved"]
    assert len(list(out.glob("*.dxf"))) == 2


def with_breakups() -> dict[str, Any]:
    """The same seam as a break-up, and one across it as another."""
    found = seams()
    reach = RADIUS * np.sin(0.599)
    across = [{"name": "across", "points": [on_dome(0.0, y) for y in (-reach, 0.0, reach)]}]
    ways = [
        {"name": "along", "seams": found["seams"], "panels": found["panels"]},
        {"name": "crosswise", "seams": across, "notes": [{"seam": "across", "sight": "hidden"}]},
    ]
    return found | {"breakups": ways}


def test_a_break_up_kept_in_the_seams_file_is_laid_out_by_its_name(scan: Path) -> None:
    assert run(asked(scan, with_breakups(), *TAPES, "--breakup", "crosswise")) == 0
    found = json.loads((scan.with_name("out") / "summary.json").read_text())
    assert [panel["panel"] for panel in found["panels"]] == ["panel 1", "panel 2"]


def test_without_a_name_the_files_own_seams_are_laid_out(scan: Path) -> None:
    assert run(asked(scan, with_breakups(), *TAPES)) == 0
    found = json.loads((scan.with_name("out") / "summary.json").read_text())
    assert [panel["panel"] for panel in found["panels"]] == ["left side", "right side"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--breakup", "no such"), 'no break-up "no such": there are "along", "crosswise"'),
        ((), 'break-ups to choose from: "along", "crosswise"'),
    ],
)
def test_a_break_up_that_is_not_there_or_not_named_is_wrong_use(
    scan: Path, words: tuple[str, ...], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = with_breakups()
    if not words:
        found["seams"] = []
    assert run(asked(scan, found, *TAPES, *words)) == 2
    assert told in capsys.readouterr().err
    assert not scan.with_name("out").exists()


def test_one_panel_is_made_another_way_and_a_panel_that_is_not_there_is_wrong_use(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = asked(scan, seams(), *TAPES, "--json", "--making", "both")
    assert run([*words, "--making", "left side=mostly shrink"]) == 0
    left, right = json.loads(capsys.readouterr().out)["panels"]
    assert left["work"]["bias"] > 0.0
    assert right["work"]["bias"] == 0.0
    assert left["blank_area"] > right["blank_area"]
    assert run([*words, "--replace", "--making", "lid=mostly shrink"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert 'no panel "lid"' in told.err
    assert "left side, right side" in told.err


def test_the_two_halves_of_a_dome_have_the_area_of_a_cap_at_the_middle_of_the_metal(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A cap of half-angle a on a sphere R has 2 pi R^2 (1 - cos a); the middle lies at R - t/2.

    The mesh of 12 rings lies inside the sphere: its area is short by about a 200th, never over.
    Both halves are equal but for the triangles of 3 mm that end at the rim between two seams.
    """
    assert run(asked(scan, seams(), *TAPES, "--metal", "1.2mm", "--json")) == 0
    panels = json.loads(capsys.readouterr().out)["panels"]
    cap = 2.0 * np.pi * (RADIUS - 0.6) ** 2 * (1.0 - np.cos(0.6))
    area = sum(panel["formed_area"] for panel in panels)
    assert 0.99 * cap < area < cap
    assert panels[0]["formed_area"] == pytest.approx(panels[1]["formed_area"], rel=5e-3)


def test_paper_alone_leaves_while_the_size_is_not_taped(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(asked(scan, seams(), "--unit", "mm")) == 0
    assert "SIZE NOT TAPED" in capsys.readouterr().out
    kinds = {path.suffix for path in scan.with_name("out").iterdir()}
    assert ".pdf" in kinds
    assert not kinds & {".dxf", ".svg"}


def test_seams_in_another_unit_than_the_scan_are_brought_to_it(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = seams()
    found["unit"] = "in"
    for seam in found["seams"]:
        seam["points"] = (np.array(seam["points"]) / 25.4).tolist()
    for panel in found["panels"]:
        panel["inside"] = (np.array(panel["inside"]) / 25.4).tolist()
    assert run(asked(scan, found, "--unit", "mm")) == 0
    capsys.readouterr()


def changed(**fields: object) -> dict[str, Any]:
    return {**seams(), **fields}


def one_seam(*points: list[float], closed: bool = False) -> dict[str, Any]:
    return changed(seams=[{"name": "ridge", "points": list(points), "closed": closed}])


BAD_SEAMS: dict[str, tuple[object, str]] = {
    "unit that is none": (changed(unit="furlong"), "'furlong', not one of: mm, cm, m, in"),
    "unit of another tank": (changed(unit="m"), "Check the seams file's unit"),
    "unknown field": (changed(colour="red"), 'unknown field "colour"'),
    "field missing": ({"unit": "mm"}, 'lacks the field "seams"'),
    "no seams": (changed(seams=[]), "holds no seam"),
    "words for numbers": (one_seam(["1", 2, 3], on_dome(0, 0)), "points[0][0] is not a number"),  # type: ignore[list-item]
    "two numbers": (one_seam([1.0, 2.0], on_dome(0, 0)), "has 2 numbers"),
    "lone point": (one_seam(on_dome(0, 0)), "fewer than 2"),
    "endless": (json.dumps(seams()).replace("60.0", "Infinity", 1), "not a number"),
    "cut short": (json.dumps(seams())[:99], "breaks off"),
    "not json": ("left side: somewhere", "goes wrong at line 1"),
    "twin names": (changed(panels=[seams()["panels"][0]] * 2), "which is taken"),
    "front nowhere": (changed(front=[0, 0, 0]), "points nowhere"),
    "off the surface": (one_seam(on_dome(-33, 0), [0, 0, 90.0], on_dome(33, 0)), "leaves the"),
    "short of the rim": (one_seam(on_dome(-15, 0), on_dome(15, 0)), "short of any edge"),
    "same panel": (
        changed(
            panels=[
                {"name": "a", "inside": on_dome(0, 15)},
                {"name": "b", "inside": on_dome(3, 15)},
            ]
        ),
        "one and the same panel",
    ),
    "point off the surface": (
        changed(panels=[{"name": "a", "inside": [0, 15, 300]}]),
        "off the surface",
    ),
}


@pytest.mark.parametrize("fault", BAD_SEAMS)
def test_a_bad_seams_file_is_a_sentence_and_exit_code_1(
    scan: Path, fault: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found, says = BAD_SEAMS[fault]
    assert run(asked(scan, found, "--unit", "mm")) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("lowcrown: ")
    assert told.err.count("\n") == 1
    assert says in told.err
    assert not scan.with_name("out").exists()


def test_a_missing_seams_file_is_named(scan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["layout", str(scan), "--seams", str(scan.with_name("none.json")), "--unit", "mm"]
    assert run(words) == 1
    assert "none.json" in capsys.readouterr().err


def test_an_output_folder_that_is_a_file_is_refused_before_any_work(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scan.with_name("out").write_text("mine")
    assert run(asked(scan, seams(), "--unit", "mm")) == 1
    assert "a file of that name" in capsys.readouterr().err
    assert scan.with_name("out").read_text() == "mine"


def test_a_bug_of_ours_is_one_sentence_a_report_and_the_job_kept(
    scan: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("made to fail")

    monkeypatch.setattr(app.command_line.commands, "deliver", broken)
    assert run(asked(scan, seams(), "--unit", "mm")) == 1
    told = capsys.readouterr()
    assert told.err.count("\n") == 1
    assert "ZeroDivisionError" in told.err
    report = max(log_folder().glob("crash-*.txt"))
    assert str(report) in told.err
    assert "made to fail" in report.read_text()
    assert "Traceback" in report.read_text()
    assert "made to fail" in (log_folder() / "lowcrown.log").read_text()
    kept = app.job.open_job(report.with_suffix(".lowcrown"))
    assert [seam.name for seam in kept.seams] == ["ridge"]
    assert kept.scan is not None
    assert kept.scan.file_name == "dome.ply"


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("phase", ["Scan", "Surface", "Seams", "Blanks", "Paper", "Files"])
def test_stopping_in_any_phase_is_130_and_leaves_nothing(
    scan: Path, phase: str, number: signal.Signals
) -> None:
    """The signal is sent to itself by the process the first time that phase reports progress."""
    words = asked(scan, seams(), *TAPES)
    code = f"""
import os, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a runner in the background ignores it
import app.command_line.progress as progress
class Stopping(progress.tqdm):
    def update(self, n=1):
        if self.desc.startswith({phase!r}):
            os.kill(os.getpid(), {int(number)})
        return super().update(n)
progress.tqdm = Stopping
import app.command_line
sys.exit(app.command_line.run({words!r}))
"""
    temporary = scan.with_name("temporary")
    temporary.mkdir()
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, check=False, cwd=TOP, timeout=120,
        env={**os.environ, "TMPDIR": str(temporary)},
    )  # fmt: skip
    assert done.returncode == 130, done.stderr
    assert done.stderr == "lowcrown: stopped. Nothing half done was left.\n"
    assert done.stdout == ""
    assert sorted(path.name for path in scan.parent.iterdir()) == [
        "dome.ply",
        "seams.json",
        "temporary",
    ]
    assert not list(temporary.iterdir())


def test_whoever_stops_reading_ends_it_quietly(scan: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "app", "scan", str(scan)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=TOP,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    told = process.stderr.read()
    process.stderr.close()
    assert process.wait(timeout=60) == 1
    assert told == ""


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of the Unix kind")
def test_a_bar_is_drawn_on_a_terminal_after_a_second_and_never_elsewhere() -> None:
    import pty

    code = (
        "import time\n"
        "from app.command_line.progress import bar\n"
        "with bar('Blank, left side') as report:\n"
        "    for step in range({steps}):\n"
        "        report(step / {steps}, 'laying out')\n"
        "        time.sleep(0.05)\n"
    )

    def on_a_terminal(steps: int) -> str:
        ours, theirs = pty.openpty()
        subprocess.run(
            [sys.executable, "-c", code.format(steps=steps)],
            stderr=theirs, check=True, cwd=TOP, timeout=60,
        )  # fmt: skip
        os.set_blocking(ours, False)
        try:
            return os.read(ours, 65536).decode()
        except BlockingIOError:  # nothing was ever written
            return ""
        finally:
            os.close(theirs)
            os.close(ours)

    assert "Blank, left side: laying out:  " in on_a_terminal(30)
    assert on_a_terminal(4) == ""
    piped = subprocess.run(
        [sys.executable, "-c", code.format(steps=30)],
        capture_output=True, text=True, check=True, cwd=TOP, timeout=60,
    )  # fmt: skip
    assert piped.stderr == ""


def test_a_stop_within_generated_code_still_ends_with_130(tmp_path: Path) -> None:
    """Run as a module, the interpreter remembers a stop inside `exec` and ends by signal: -2."""
    (tmp_path / "stopped_there.py").write_text(
        """
import signal, sys
import app.command_line
signal.signal(signal.SIGINT, signal.default_int_handler)
def stopped(argv):
    exec("import signal; signal.raise_signal(signal.SIGINT)")
app.command_line.run = stopped
from app.__main__ import main
sys.exit(main([]))
"""
    )
    done = subprocess.run(
        [sys.executable, "-m", "stopped_there"],
        check=False, capture_output=True, cwd=tmp_path, timeout=60,
        env={**os.environ, "PYTHONPATH": str(TOP)},
    )  # fmt: skip
    assert done.returncode == 130


@pytest.mark.parametrize("command", ["blank", "--help"])
def test_a_stop_while_libraries_load_ends_at_once_whatever_they_make_of_it(
    tmp_path: Path, command: str
) -> None:
    """A library that loads may turn a stop into another error, or lose it."""
    (tmp_path / "stopped_there.py").write_text(
        f"""
import signal, sys
import app.command_line
signal.signal(signal.SIGINT, signal.default_int_handler)
def load(argv):
    try:
        signal.raise_signal(signal.SIGINT)
    except BaseException:
        raise ImportError("initialization failed") from None
app.command_line.load = load
from app.__main__ import main
sys.exit(main([{command!r}]))
"""
    )
    done = subprocess.run(
        [sys.executable, "-m", "stopped_there"],
        check=False, capture_output=True, text=True, cwd=tmp_path, timeout=60,
        env={**os.environ, "PYTHONPATH": str(TOP)},
    )  # fmt: skip
    assert (done.returncode, done.stderr, done.stdout) == (130, "lowcrown: stopped.\n", "")


def test_loading_leaves_ctrl_c_as_it_was() -> None:
    from app.__main__ import leaving_at_once

    before = signal.getsignal(signal.SIGINT)
    try:
        for handler in (signal.default_int_handler, signal.SIG_IGN):
            signal.signal(signal.SIGINT, handler)
            with leaving_at_once():
                inside = signal.getsignal(signal.SIGINT)
            assert (inside is handler) == (handler is signal.SIG_IGN)
            assert signal.getsignal(signal.SIGINT) is handler
    finally:
        signal.signal(signal.SIGINT, before)
