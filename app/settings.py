"""What stays between jobs: units chosen, recent files, shop defaults; and where things are kept.

A settings file that cannot be read, or a value in it that makes no sense, counts as not set: the
program always starts.
"""

import json
import os
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any

import platformdirs

MOST_RECENT_FILES = 10


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
    """

    show: str = "mm"
    thickness_mm: float = 1.6
    alloy: str = "3003-H14"
    paint_mm: float = 0.0
    marked_face: str = "inside"
    least_thickness_mm: float = 1.2
    recent_files: tuple[str, ...] = ()

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
    if name == "recent_files":
        return isinstance(value, list) and all(isinstance(item, str) for item in value)
    return isinstance(value, str) and bool(value.strip()) and value.isprintable()


def _value(name: str, value: Any) -> Any:
    return tuple(value) if name == "recent_files" else value


def save_settings(settings: Settings) -> None:
    """Keep the settings: written beside, then moved into place."""
    path = settings_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    beside.write_text(json.dumps(asdict(settings), indent=1), encoding="utf-8")
    beside.replace(path)
