"""What stays between jobs: units chosen, recent files, shop defaults; and where things are kept.

A settings file that cannot be read, or a value in it that makes no sense, counts as not set: the
program always starts.
"""

import json
import os
from collections.abc import Callable
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any

import platformdirs

MOST_RECENT_FILES = 10
MOST_PRINTERS = 20
MOST_PAPERS = 8
MOST_STAGES = 200
FARTHEST_OUT = 0.03
"""A printer corrected by more than this is scaling on purpose."""

_DENOMINATORS = (16, 32, 64)


@dataclass(frozen=True)
class Printer:
    """One of the shaper's printers, and what drawn lengths are multiplied by for it.

    Attributes
    ----------
    name : str
    x, y : float
        Across and up the paper as it runs.
    """

    name: str
    x: float = 1.0
    y: float = 1.0


class NoSuchPrinterError(Exception):
    """A printer was named that was never measured.

    Attributes
    ----------
    name : str
    names : tuple of str
        Those there are.
    """

    def __init__(self, name: str, names: tuple[str, ...]) -> None:
        self.name, self.names = name, names
        super().__init__(f"no printer {name!r} among {names}")


@dataclass(frozen=True)
class Settings:
    """The shaper's own settings.

    Attributes
    ----------
    show : "mm" or "in"
        Which unit is read first.
    thickness_mm : float
        The sheet a new job starts with.
    alloy : str
    paint_mm : float
        Paint or filler taken off a scanned outside.
    marked_face : "inside" or "outside"
    least_thickness_mm : float
        Below this finished thickness a panel is warned about.
    recent_files : tuple of str
        Newest first.
    papers : tuple of str
        What tiles are printed on, by their names: see `app.exports.paper_named`.
    roll_mm : float or None
        How wide the roll for one-piece pages is; None for a page as large as the pattern.
    printers : tuple of Printer
        Those measured with a check page.
    printer : str
        Which of them is used; "" for one that needs no correction.
    stages : tuple of str
        The maker's own list of a job's stages; empty for the usual one.
    cutting_fraction, fit_fraction, small_fraction : {16, 32, 64}
        Which part of an inch lengths are told to: to cut by, to fit by, and of small parts.
    """

    show: str = "mm"
    thickness_mm: float = 1.6
    alloy: str = "3003-H14"
    paint_mm: float = 0.0
    marked_face: str = "inside"
    least_thickness_mm: float = 1.2
    recent_files: tuple[str, ...] = ()
    papers: tuple[str, ...] = ("A4", "US Letter")
    roll_mm: float | None = None
    printers: tuple[Printer, ...] = ()
    printer: str = ""
    stages: tuple[str, ...] = ()
    cutting_fraction: int = 16
    fit_fraction: int = 32
    small_fraction: int = 64

    def printer_named(self, name: str) -> Printer | None:
        """Return one of the shaper's printers, or None."""
        return next((each for each in self.printers if each.name == name), None)

    def with_printer(self, printer: Printer) -> "Settings":
        """Return the settings with a printer measured, in place of what it was, and used."""
        others = [each for each in self.printers if each.name != printer.name]
        kept = (*others, printer)[-MOST_PRINTERS:]
        return replace(self, printers=kept, printer=printer.name)

    def with_recent_file(self, path: Path) -> "Settings":
        """Return the settings with a file at the head of the recent ones."""
        newest = str(path.resolve())
        others = [name for name in self.recent_files if name != newest]
        return replace(self, recent_files=(newest, *others)[:MOST_RECENT_FILES])


_CHOICES = {"show": ("mm", "in"), "marked_face": ("inside", "outside")}
_SMALLEST = {"thickness_mm": 0.2, "paint_mm": 0.0, "least_thickness_mm": 0.0}
_LARGEST = {"thickness_mm": 10.0, "paint_mm": 20.0, "least_thickness_mm": 10.0}


def config_folder() -> Path:
    """Return the platform's folder for our settings."""
    return Path(platformdirs.user_config_path("lowcrown", appauthor=False))


def log_folder() -> Path:
    """Return the platform's folder for our log and crash reports."""
    return Path(platformdirs.user_log_path("lowcrown", appauthor=False))


def recovery_folder() -> Path:
    """Return the platform's folder for unsaved work."""
    return Path(platformdirs.user_state_path("lowcrown", appauthor=False)) / "unsaved"


def settings_file() -> Path:
    """Return the file the settings are kept in."""
    return config_folder() / "settings.json"


def load_settings() -> Settings:
    """Return the settings kept, each one that makes sense."""
    try:
        found = json.loads(settings_file().read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return Settings()
    if not isinstance(found, dict):
        return Settings()
    sound = {
        field.name: _value(field.name, found[field.name])
        for field in fields(Settings)
        if field.name in found and _makes_sense(field.name, found[field.name])
    }
    return Settings(**sound)


def _makes_sense(name: str, value: Any) -> bool:
    if name in _CHOICES:
        return value in _CHOICES[name]
    if name in _SMALLEST:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        return number and _SMALLEST[name] <= value <= _LARGEST[name]
    if name in _KINDS:
        return _KINDS[name](value)
    return _is_name(value)


def _are_names(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def _are_papers(value: Any) -> bool:
    return _are_names(value) and len(value) <= MOST_PAPERS and all(map(_is_name, value))


def _are_stages(value: Any) -> bool:
    return (
        _are_names(value)
        and len(value) <= MOST_STAGES
        and all(map(_is_name, value))
        and len(set(value)) == len(value)
    )


def _is_name(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip()) and value.isprintable()


def _is_roll(value: Any) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return value is None or (number and 0.0 < value < 1e5)


def _is_fraction(value: Any) -> bool:
    return type(value) is int and value in _DENOMINATORS


def _are_printers(value: Any) -> bool:
    return isinstance(value, list) and len(value) <= MOST_PRINTERS and all(map(_is_printer, value))


def _is_printer(value: Any) -> bool:
    return (
        isinstance(value, dict)
        and value.keys() == {"name", "x", "y"}
        and _is_name(value["name"])
        and all(
            type(value[way]) in (int, float) and abs(value[way] - 1.0) <= 2 * FARTHEST_OUT
            for way in ("x", "y")
        )
    )


_KINDS: dict[str, Callable[[Any], bool]] = {
    "recent_files": _are_names,
    "papers": _are_papers,
    "stages": _are_stages,
    "roll_mm": _is_roll,
    "printers": _are_printers,
    "printer": lambda value: value == "" or _is_name(value),
    "cutting_fraction": _is_fraction,
    "fit_fraction": _is_fraction,
    "small_fraction": _is_fraction,
}


def _value(name: str, value: Any) -> Any:
    if name == "printers":
        return tuple(Printer(**each) for each in value)
    return tuple(value) if isinstance(value, list) else value


def save_settings(settings: Settings) -> None:
    """Keep the settings: written beside, then moved into place."""
    path = settings_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    beside.write_text(json.dumps(asdict(settings), indent=1), encoding="utf-8")
    beside.replace(path)
