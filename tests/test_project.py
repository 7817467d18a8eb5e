"""What the repository holds, what it must not, and what a built wheel carries."""

import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from app.version import __version__

ROOT = Path(__file__).resolve().parent.parent

TOP_LEVEL = {
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "app",
    "docs",
    "geometry",
    "pyproject.toml",
    "sample_data",
    "tests",
}

# Built from pieces, so that this file does not hold them.
PLACES = ["/" + "work/", "/" + "root/", "/" + "tmp/", "/" + "home/", ".lib" + "rary"]
HOSTS = ["pypi" + ".org", "debian" + ".org", "npmjs" + ".", "pkg" + ".dev", "ubuntu" + ".com"]
WORDS = [
    "CE" + "O",
    "ag" + "ents?",
    "assist" + "ants?",
    "Cla" + "ude",
    "Anth" + "ropic",
    "language" + " model",
    "chat" + "bot",
]
FORBIDDEN_ANYWHERE = re.compile("|".join(map(re.escape, PLACES)).encode())
FORBIDDEN_IN_TEXT = re.compile(
    "|".join(map(re.escape, HOSTS)) + r"|\b(?:" + "|".join(WORDS) + r")\b", re.IGNORECASE
)
LICENCE_TEXTS = ("app/notices/", "app/fonts/")


def kept_files() -> list[str]:
    """Return the files under version control; without git, all but hidden and made ones."""
    if git := shutil.which("git"):
        command = [git, "-C", os.fspath(ROOT), "ls-files", "-z"]
        listed = subprocess.run(command, capture_output=True, check=False)
        if listed.returncode == 0 and listed.stdout:
            names = listed.stdout.decode().split("\0")[:-1]
            return [name for name in names if (ROOT / name).is_file()]
    made = {"__pycache__", "build", "dist", "brackwater", "lowcrown.egg-info"}
    return [
        path.relative_to(ROOT).as_posix()
        for path in ROOT.rglob("*")
        if path.is_file()
        and not any(p in made or p.startswith(".") for p in path.relative_to(ROOT).parts)
    ]


def test_the_top_level_is_exactly_as_fixed() -> None:
    visible = {name.split("/")[0] for name in kept_files() if not name.startswith(".")}
    assert visible == TOP_LEVEL


def test_no_place_on_a_machine_is_named() -> None:
    found = []
    for name in kept_files():
        if match := FORBIDDEN_ANYWHERE.search((ROOT / name).read_bytes()):
            found.append((name, match[0]))
    assert found == []


def forbidden_words(name: str, text: str) -> list[str]:
    """Return the words in a file that have no place in the project."""
    if name.startswith(LICENCE_TEXTS):
        return []
    found = [match[0] for match in FORBIDDEN_IN_TEXT.finditer(text)]
    if not name.startswith("tests/") and "shared" + "/" in text:
        found.append("shared" + "/")
    return found


def test_no_word_that_has_no_place_here() -> None:
    found = []
    for name in kept_files():
        content = (ROOT / name).read_bytes()
        if b"\0" not in content:
            words = forbidden_words(name, content.decode("utf-8", errors="replace"))
            found += [(name, word) for word in words]
    assert found == []


@pytest.mark.parametrize(
    "word", ["the " + "CE" + "O", "pypi" + ".org", "an Ag" + "ent", "shared" + "/x"]
)
def test_the_search_for_words_bites(word: str) -> None:
    assert forbidden_words("docs/page.md", f"before {word} after")
    assert FORBIDDEN_ANYWHERE.search(f"see {PLACES[0]}x".encode())
    assert not forbidden_words("docs/page.md", "an urgent, shared seam")


def test_every_page_linked_in_the_documents_is_there() -> None:
    missing = []
    for name in kept_files():
        if name.endswith(".md"):
            text = (ROOT / name).read_text(encoding="utf-8")
            for target in re.findall(r"\]\(([^)#\s]+)", text):
                if "://" not in target and not (ROOT / name).parent.joinpath(target).exists():
                    missing.append((name, target))
    assert missing == []


def test_the_schemas_are_schemas() -> None:
    jsonschema = pytest.importorskip("jsonschema")
    schemas = sorted((ROOT / "app" / "schemas").glob("*.json"))
    assert schemas
    for path in schemas:
        jsonschema.Draft202012Validator.check_schema(json.loads(path.read_text(encoding="utf-8")))


def test_every_source_named_in_a_docstring_is_on_the_sources_page() -> None:
    listed = set(re.findall(r"^\| \[(\w+)\]", (ROOT / "docs" / "sources.md").read_text(), re.M))
    named: dict[str, str] = {}
    for folder in ("app", "geometry"):
        for path in (ROOT / folder).rglob("*.py"):
            for line in re.findall(r"Source: (.*)", path.read_text(encoding="utf-8")):
                named |= dict.fromkeys(re.findall(r"\[(\w+)\]", line), path.name)
    assert named
    assert {key: place for key, place in named.items() if key not in listed} == {}


LIST_LOADED = """
import importlib, pathlib, sys
for folder in ("geometry", "app"):
    for path in sorted(pathlib.Path(folder).rglob("*.py")):
        parts = list(path.with_suffix("").parts)
        if parts[:2] == ["app", "window"] or parts[-1] == "__main__":
            continue
        importlib.import_module(".".join(parts[:-1] if parts[-1] == "__init__" else parts))
print(*sorted({name.partition(".")[0] for name in sys.modules}))
"""


def test_nothing_but_the_window_loads_a_screen_library() -> None:
    """Every module outside `app/window`, loaded in one fresh interpreter."""
    ran = subprocess.run(
        [sys.executable, "-c", LIST_LOADED], cwd=ROOT, capture_output=True, text=True, check=True
    )
    loaded = set(ran.stdout.split())
    assert {"app", "geometry", "numpy"} <= loaded
    screen = {"PySide6", "shiboken6", "pyvista", "pyvistaqt", "vtk", "vtkmodules", "matplotlib"}
    assert loaded & screen == set()


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel as pip does, from the kept files alone."""
    source, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("wheel")
    for name in kept_files():
        if not name.startswith(("tests/", "docs/", ".")):
            copy = source / name
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes((ROOT / name).read_bytes())
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", os.fspath(out)]
    subprocess.run([*command, os.fspath(source)], check=True, capture_output=True, text=True)
    (built,) = out.glob("*.whl")
    return built


def test_the_wheel_carries_modules_sample_schemas_fonts_and_notices(wheel: Path) -> None:
    assert wheel.name == f"lowcrown-{__version__}-py3-none-any.whl"
    with zipfile.ZipFile(wheel) as archive:
        carried = set(archive.namelist())
    wanted = {
        name
        for name in kept_files()
        if name.startswith(("app/", "geometry/", "sample_data/"))
        and not name.endswith((".md", ".gitignore"))
    }
    assert wanted - carried == set()
    for start, end in (
        ("app/schemas/", ".json"),
        ("app/fonts/", ".ttf"),
        ("app/notices/", "LGPL-3.txt"),
        ("sample_data/", ".ply"),
        ("sample_data/", ".json"),
        ("sample_data/", ".lowcrown"),
    ):
        assert any(name.startswith(start) and name.endswith(end) for name in carried), (start, end)
    assert not any(name.startswith(("tests/", "docs/")) for name in carried)


def test_the_wheel_is_well_under_its_size(wheel: Path) -> None:
    """The sample is to stay well under 15 MB; with the code and fonts, the wheel under 18."""
    assert wheel.stat().st_size < 18e6


READ_SAMPLE = """
import importlib.metadata, pathlib, sys
import app.command_line, sample_data
import geometry.scan
assert "site" in app.__file__, app.__file__
folder = pathlib.Path(next(iter(sample_data.__path__)))
(scan,) = sorted(folder.glob("*.ply"))[:1]
raw = geometry.scan.read_scan(scan)
print(importlib.metadata.version("lowcrown"), folder, len(raw.faces))
"""


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Install the wheel, far from the checkout, over the libraries that are here."""
    site = tmp_path_factory.mktemp("installed") / "site"
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target"]
    subprocess.run([*command, os.fspath(site), os.fspath(wheel)], check=True, capture_output=True)
    return site


def run_installed(site: Path, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python on what is installed, in an empty folder."""
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": os.fspath(site)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_an_installed_wheel_reads_the_sample_far_from_the_checkout(
    installed: Path, tmp_path: Path
) -> None:
    ran = run_installed(installed, tmp_path, "-c", READ_SAMPLE)
    assert ran.returncode == 0, ran.stderr
    version, folder, triangles = ran.stdout.split()
    assert version == __version__
    assert Path(folder).is_relative_to(installed)
    assert 100_000 <= int(triangles) <= 200_000


@pytest.mark.slow
def test_an_installed_wheel_does_the_whole_demo_far_from_the_checkout(
    installed: Path, tmp_path: Path
) -> None:
    ran = run_installed(installed, tmp_path, "-m", "app", "demo", "--out", "brackwater", "--json")
    assert ran.returncode == 0, ran.stderr
    told = json.loads(ran.stdout)
    assert told["schema"] == "lowcrown/1"
    assert told["size"]["proved"]
    assert len(told["panels"]) >= 3
    for panel in told["panels"]:
        assert panel["converged"], panel["panel"]
        assert panel["inverted"] == 0
    missing = [name for name in told["files"] if not (tmp_path / "brackwater" / name).is_file()]
    assert missing == []
    assert any(name.endswith(".dxf") for name in told["files"])
