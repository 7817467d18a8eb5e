"""The layout of the project, held as tables: who may import whom, and what stands where.

Each rule is a function from parsed modules to breaches in words. It is run on the project, which
must give none, and on a few invented lines that break it, which must give one.
"""

import ast
import graphlib
import io
import re
import sys
import tokenize
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# Each line may import only from lines below it, and may skip downward; not from its own line.
APP_FROM_TOP = (
    ("app.__main__",),
    ("app.command_line",),  # above the window, which it opens where no command is given
    ("app.window",),
    ("app.messages",),
    ("app.delivery",),
    ("app.exports", "app.log"),
    ("app.job",),  # the door, which hands on what these offer
    ("app.job.answers",),
    ("app.job.breakups",),
    ("app.job.edits",),
    ("app.job.steps",),
    ("app.job.rest",),
    ("app.job.making",),
    ("app.job.files",),
    ("app.job.choices",),
    ("app.settings", "app.units"),
    ("app.version",),
    ("geometry",),
)

# Each may import only from those before it: the order of the pipeline is the order of reading.
GEOMETRY_IN_ORDER = (
    "geometry.arrays",
    "geometry.errors",
    "geometry.progress",
    "geometry.polyline",
    "geometry.mesh",
    "geometry.fitting",
    "geometry.scan",
    "geometry.surface",
    "geometry.datum",
    "geometry.seams",
    "geometry.metal",
    "geometry.panels",
    "geometry.blank",
    "geometry.pattern",
    "geometry.tank",
    "geometry.gauges",
    "geometry.form_block",
    "geometry.stock",
    "geometry.comparison",
    "geometry.breakups",
)

# Libraries with one home: imported only there.
HOMES = {
    **dict.fromkeys(("PySide6", "shiboken6"), ("app.window",)),
    **dict.fromkeys(("pyvista", "pyvistaqt", "vtk", "vtkmodules"), ("app.window.scene",)),
    **dict.fromkeys(("ezdxf", "reportlab", "pypdfium2"), ("app.exports", "app.window")),
    "trimesh": ("geometry.scan",),
    "manifold3d": ("geometry.tank",),
    "platformdirs": ("app.settings",),
    "tqdm": ("app.command_line",),
}

# Geometry has no clock, no chance, no files but scans, no screen and no network.
NOT_IN_GEOMETRY = frozenset(
    [
        "PIL",
        "datetime",
        "logging",
        "multiprocessing",
        "random",
        "socket",
        "subprocess",
        "threading",
        "time",
        "urllib",
    ]
)
FILES = frozenset(
    ["io", "json", "mmap", "os", "pathlib", "shutil", "struct", "tempfile", "zipfile"]
)
FILES_IN_GEOMETRY_ONLY_IN = "geometry.scan"

# The two edges of the program where any error may be caught: it is logged, and the job is kept.
CATCHES_ANYTHING = frozenset({"app.command_line", "app.window.tasks"})

NOT_A_NOUN = frozenset(["utils", "util", "helpers", "helper", "common", "manager", "core", "misc"])

LONGEST_FUNCTION = 50
# Functions allowed to be longer, with the reason; empty is the aim.
LONGER_FUNCTIONS: dict[str, str] = {}

# Each folder in these lists in `__all__` what it offers.
LISTING = frozenset({"geometry", "app.job"})

MOST_METHODS = {"app.window.main_window": 25}


@dataclass(frozen=True)
class Module:
    """One parsed source file."""

    name: str
    source: str
    is_package: bool = False

    @property
    def tree(self) -> ast.Module:
        """Return the parsed source."""
        return ast.parse(self.source)

    @property
    def package(self) -> str:
        """Return the folder it stands in; a package stands in itself."""
        return self.name if self.is_package else self.name.rpartition(".")[0]


@dataclass(frozen=True)
class Import:
    """One module naming another, which may be a library's."""

    module: Module
    target: str
    line: int

    def breach(self, why: str) -> str:
        """Return what is wrong, with the place."""
        return f"{self.module.name}:{self.line} imports {self.target}: {why}"


def within(name: str, folder: str) -> bool:
    """Say whether a module is a folder or stands in it."""
    return name == folder or name.startswith(folder + ".")


def modules_under(*folders: str) -> list[Module]:
    """Return the project's modules in these top folders."""
    found = []
    for folder in folders:
        for path in sorted((ROOT / folder).rglob("*.py")):
            parts = list(path.relative_to(ROOT).with_suffix("").parts)
            is_package = parts[-1] == "__init__"
            name = ".".join(parts[:-1] if is_package else parts)
            found.append(Module(name, path.read_text(encoding="utf-8"), is_package))
    return found


def taken_names(module: Module) -> frozenset[str]:
    """Return the names a module's own `from ... import` lines bind at its top."""
    lines = [node for node in module.tree.body if isinstance(node, ast.ImportFrom)]
    return frozenset(alias.asname or alias.name for node in lines for alias in node.names)


def imports(module: Module, known: frozenset[str]) -> Iterator[Import]:
    """Yield what a module imports, inside functions too.

    `known` holds the names that mean a module: `from a import b` is a.b if that is one of them.
    """
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(module, alias.name, node.lineno)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = module.package.split(".")
                kept = parents[: len(parents) - node.level + 1]
                base = ".".join([*kept, base] if base else kept)
            named = [f"{base}.{alias.name}" for alias in node.names]
            for target in sorted({name if name in known else base for name in named}):
                yield Import(module, target, node.lineno)


def all_imports(modules: list[Module]) -> list[Import]:
    """Return every import in these modules."""
    offered = {
        f"{module.name}.{name}"
        for module in modules
        if module.is_package
        for name in taken_names(module)
    }
    known = frozenset(module.name for module in modules) - offered
    return [found for module in modules for found in imports(module, known)]


def tier(name: str, tiers: tuple[tuple[str, ...], ...]) -> tuple[int, str] | None:
    """Return the place of a module in a table, and the entry it falls under: the nearest to it."""
    places = {entry: place for place, entries in enumerate(tiers) for entry in entries}
    entry = max((each for each in places if within(name, each)), key=len, default=None)
    return None if entry is None else (places[entry], entry)


def order_breaches(modules: list[Module]) -> Iterator[str]:
    """Yield imports that point up a list or sideways, and modules in no list."""
    geometry_from_top = tuple((name,) for name in reversed(GEOMETRY_IN_ORDER))
    for top, tiers in (("app", APP_FROM_TOP), ("geometry", geometry_from_top)):
        for module in modules:
            if within(module.name, top) and module.name != top and not tier(module.name, tiers):
                yield f"{module.name} is in no list: give it a place in the table of {top}"
        for found in all_imports(modules):
            importer, imported = tier(found.module.name, tiers), tier(found.target, tiers)
            if top == "app" and within(found.module.name, "geometry"):
                if within(found.target, "app"):
                    yield found.breach("geometry knows nothing of the app")
            elif (
                importer and imported and importer[1] != imported[1] and importer[0] >= imported[0]
            ):
                yield found.breach(f"{imported[1]} does not stand below {importer[1]}")


def home_breaches(modules: list[Module]) -> Iterator[str]:
    """Yield libraries imported away from home, and what geometry must not have at all."""
    for found in all_imports(modules):
        name, library = found.module.name, found.target.partition(".")[0]
        homes = HOMES.get(library)
        if homes and not any(within(name, home) for home in homes):
            yield found.breach(f"{library} is imported only in {' and '.join(homes)}")
        if within(name, "geometry"):
            if library in NOT_IN_GEOMETRY:
                yield found.breach("geometry is pure computation")
            if library in FILES and not within(name, FILES_IN_GEOMETRY_ONLY_IN):
                yield found.breach(f"only {FILES_IN_GEOMETRY_ONLY_IN} reads files")


def inside_breaches(modules: list[Module]) -> Iterator[str]:
    """Yield imports of another folder's insides."""
    known = {module.name for module in modules}
    for found in all_imports(modules):
        folders = found.target.split(".")[:-1]
        for depth in range(2, len(folders) + 1):
            folder = ".".join(folders[:depth])
            if folder in known and not within(found.module.package, folder):
                yield found.breach(f"from outside, import {folder}")


def cycles(modules: list[Module]) -> Iterator[str]:
    """Yield a ring of modules that import each other, if there is one."""
    graph: dict[str, set[str]] = {module.name: set() for module in modules}
    for found in all_imports(modules):
        if found.target in graph:
            graph[found.module.name].add(found.target)
    try:
        graphlib.TopologicalSorter(graph).prepare()
    except graphlib.CycleError as error:
        yield " <- ".join(error.args[1])


def lines_of_code(module: Module) -> frozenset[int]:
    """Return the numbers of the lines that hold code: no blanks, comments or docstrings."""
    lines: set[int] = set()
    idle = (tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT)
    for token in tokenize.generate_tokens(io.StringIO(module.source).readline):
        if token.type not in idle:
            lines.update(range(token.start[0], token.end[0] + 1))
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            lines.difference_update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    return frozenset(lines)


def long_functions(modules: list[Module]) -> Iterator[str]:
    """Yield functions with too many lines of code."""
    for module in modules:
        code = lines_of_code(module)
        for node in ast.walk(module.tree):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                length = len(code.intersection(range(node.lineno, (node.end_lineno or 0) + 1)))
                name = f"{module.name}.{node.name}"
                if length > LONGEST_FUNCTION and name not in LONGER_FUNCTIONS:
                    yield f"{name} has {length} lines of code, more than {LONGEST_FUNCTION}"


def crowded_classes(modules: list[Module]) -> Iterator[str]:
    """Yield classes with more methods than their module may have."""
    for module in modules:
        for node in ast.walk(module.tree):
            if isinstance(node, ast.ClassDef) and module.name in MOST_METHODS:
                methods = sum(isinstance(part, ast.FunctionDef) for part in node.body)
                if methods > MOST_METHODS[module.name]:
                    yield f"{module.name}.{node.name} has {methods} methods"


def catches_anything(modules: list[Module]) -> Iterator[str]:
    """Yield handlers of every error, but those that end by raising it again."""
    for module in modules:
        if any(within(module.name, edge) for edge in CATCHES_ANYTHING):
            continue
        for node in ast.walk(module.tree):
            if isinstance(node, ast.ExceptHandler):
                caught = {getattr(part, "id", "") for part in ast.walk(node.type or node)}
                last = node.body[-1]
                raised = isinstance(last, ast.Raise) and last.exc is None
                broad = node.type is None or caught & {"Exception", "BaseException"}
                if broad and not raised:
                    yield f"{module.name}:{node.lineno} catches every error"


def unexplained_modules(modules: list[Module]) -> Iterator[str]:
    """Yield modules with no docstring; an empty package file says nothing and needs none."""
    for module in modules:
        if module.source.strip() and not ast.get_docstring(module.tree):
            yield f"{module.name} has no docstring"


def nameless_modules(modules: list[Module]) -> Iterator[str]:
    """Yield modules and folders whose name is no concept."""
    for module in modules:
        if NOT_A_NOUN.intersection(module.name.split(".")):
            yield f"{module.name} is named by no concept"


def unlisted_names(modules: list[Module]) -> Iterator[str]:
    """Yield folders whose `__all__` is not exactly what they take from their insides."""
    for module in modules:
        if not module.is_package or module.name.rpartition(".")[0] not in LISTING:
            continue
        listed: frozenset[str] = frozenset()
        for node in module.tree.body:
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
                listed = frozenset(ast.literal_eval(node.value))
        if listed != taken_names(module):
            yield f"{module.name}.__all__ differs: {sorted(taken_names(module) ^ listed)}"


PRODUCT = ("app", "geometry")
EVERYTHING = ("app", "geometry", "sample_data", "tests")

RULES = [
    (order_breaches, PRODUCT),
    (home_breaches, (*PRODUCT, "sample_data")),
    (inside_breaches, PRODUCT),
    (cycles, PRODUCT),
    (long_functions, EVERYTHING),
    (crowded_classes, PRODUCT),
    (catches_anything, EVERYTHING),
    (unexplained_modules, (*PRODUCT, "sample_data")),
    (nameless_modules, EVERYTHING),
    (unlisted_names, PRODUCT),
]


@pytest.mark.parametrize(
    ("rule", "folders"), RULES, ids=lambda value: getattr(value, "__name__", None)
)
def test_the_project_keeps_the_rule(rule, folders) -> None:  # type: ignore[no-untyped-def]
    assert list(rule(modules_under(*folders))) == []


LONG = "def f():\n    x = 0\n" + "    x += 1\n" * LONGEST_FUNCTION
PADDED = 'def f():\n    """Say.\n\n    More.\n    """\n' + "    # why\n\n" * 60 + "    return 1\n"


@pytest.mark.parametrize(
    ("rule", "name", "source", "broken"),
    [
        (order_breaches, "geometry.mesh.x", "from geometry.scan import read", True),
        (order_breaches, "geometry.scan.x", "from geometry.mesh import TriMesh", False),
        (order_breaches, "geometry.mesh.x", "def f():\n    import app.units", True),
        (order_breaches, "app.job.x", "from app import exports", True),
        (order_breaches, "app.exports.x", "from app.job import JobState", False),
        (order_breaches, "app.job.choices.x", "from app.job.steps import made", True),
        (order_breaches, "app.job.steps.x", "from app.job.choices import JobState", False),
        (order_breaches, "app.job.steps.x", "from app.job import JobState", True),
        (order_breaches, "app.job", "from app.job.steps import *", False),
        (order_breaches, "app.window.x", "from app.command_line import run", True),
        (order_breaches, "app.settings", "import app.units", True),
        (order_breaches, "geometry.novelty", "", True),
        (home_breaches, "app.job.x", "from PySide6.QtCore import QObject", True),
        (home_breaches, "app.window.x", "from PySide6.QtCore import QObject", False),
        (home_breaches, "app.window.x", "import pyvista as pv", True),
        (home_breaches, "app.window.scene.x", "import vtkmodules.all", False),
        (home_breaches, "geometry.mesh.x", "import time", True),
        (home_breaches, "geometry.mesh.x", "from pathlib import Path", True),
        (home_breaches, "geometry.scan.x", "from pathlib import Path", False),
        (inside_breaches, "app.job.x", "from geometry.mesh.part import f", True),
        (inside_breaches, "app.job.x", "from geometry.mesh import part", True),
        (inside_breaches, "app.job.x", "from geometry.mesh import f", False),
        (inside_breaches, "geometry.mesh.x", "from geometry.mesh.part import f", False),
        (inside_breaches, "geometry.mesh.x", "from .part import f", False),
        (inside_breaches, "app.job.edits.x", "from app.job.steps.table import made", True),
        (inside_breaches, "app.job.edits.x", "from app.job.steps import made", False),
        (cycles, "geometry.mesh.part", "import geometry.mesh", True),
        (long_functions, "app.x", LONG, True),
        (long_functions, "app.x", PADDED, False),
        (
            crowded_classes,
            "app.window.main_window",
            "class A:\n" + "".join(f"    def f{i}(self): ...\n" for i in range(26)),
            True,
        ),
        (catches_anything, "app.x", "try:\n    f()\nexcept Exception:\n    g()", True),
        (catches_anything, "app.x", "try:\n    f()\nexcept (OSError, Exception):\n    g()", True),
        (catches_anything, "app.x", "try:\n    f()\nexcept:\n    g()", True),
        (catches_anything, "app.x", "try:\n    f()\nexcept OSError:\n    g()", False),
        (
            catches_anything,
            "app.x",
            "try:\n    f()\nexcept BaseException:\n    g()\n    raise",
            False,
        ),
        (catches_anything, "app.window.tasks", "try:\n    f()\nexcept Exception:\n    g()", False),
        (unexplained_modules, "app.x", "x = 1", True),
        (unexplained_modules, "app.x", '"""What x is."""\nx = 1', False),
        (nameless_modules, "app.job.helpers", "", True),
    ],
)
def test_the_rule_bites(rule, name: str, source: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    invented = [
        Module("geometry.mesh", "'Say.'\nfrom geometry.mesh.part import f", is_package=True),
        Module("geometry.scan", "", is_package=True),
        Module("app.exports", "", is_package=True),
        Module("app.job", "", is_package=True),
        Module("app.job.steps", "", is_package=True),
        Module("app.window", "", is_package=True),
        Module("app.units", ""),
        Module(name, source),
    ]
    if name != "geometry.mesh.part":
        invented.insert(0, Module("geometry.mesh.part", ""))
    assert bool(list(rule(invented))) == broken


def test_a_folder_lists_exactly_what_it_offers() -> None:
    for listed, broken in (("['f']", False), ("[]", True), ("['f', 'g']", True)):
        source = f"from geometry.mesh.part import f\n__all__ = {listed}"
        module = Module("geometry.mesh", source, is_package=True)
        assert bool(list(unlisted_names([module]))) == broken


def test_a_function_named_like_its_module_is_taken_from_the_folder() -> None:
    modules = [
        Module("geometry.mesh.part", ""),
        Module("geometry.mesh", "from geometry.mesh.part import part", is_package=True),
        Module("app.job", "from geometry.mesh import part"),
    ]
    assert list(inside_breaches(modules)) == []


def test_the_libraries_are_those_declared() -> None:
    """Whatever the product imports from outside the standard library stands in pyproject.toml."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[><=;\[ ]", line)[0].lower() for line in project["dependencies"]}
    # VTK comes with pyvista, and shiboken6 with PySide6.
    renamed = {
        "PIL": "pillow",
        "PySide6": "pyside6-essentials",
        "shiboken6": "pyside6-essentials",
        "vtk": "pyvista",
        "vtkmodules": "pyvista",
    }
    targets = {found.target.split(".")[0] for found in all_imports(modules_under(*PRODUCT))}
    outside = targets - {"app", "geometry", "sample_data"} - set(sys.stdlib_module_names)
    assert {renamed.get(name, name).lower() for name in outside} - declared == set()


def test_longer_functions_still_need_to_be() -> None:
    allowed = dict(LONGER_FUNCTIONS)
    LONGER_FUNCTIONS.clear()
    try:
        found = {breach.split()[0] for breach in long_functions(modules_under(*EVERYTHING))}
    finally:
        LONGER_FUNCTIONS.update(allowed)
    assert set(allowed) <= found
