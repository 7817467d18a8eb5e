"""Settings: what cannot be read or makes no sense counts as not set, and the rest still counts."""

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import pytest

from app.settings import (
    MOST_RECENT_FILES,
    Printer,
    Settings,
    config_folder,
    load_settings,
    log_folder,
    recovery_folder,
    save_settings,
    settings_file,
)


@pytest.fixture(autouse=True)
def _own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))
    monkeypatch.setattr("app.settings.config_folder", lambda: tmp_path / "config")


def put(content: bytes) -> None:
    settings_file().parent.mkdir(parents=True, exist_ok=True)
    settings_file().write_bytes(content)


def test_without_a_file_the_defaults_hold() -> None:
    assert not settings_file().exists()
    assert load_settings() == Settings()


def test_settings_saved_are_loaded_the_same_and_nothing_else_is_left_beside() -> None:
    mine = Settings("in", 1.2, "3003-O", 0.3, "outside", 0.9, ("/a b/\u5de6.stl", "/c"))
    mine = replace(mine, papers=("A3", "500x700mm"), roll_mm=914.0, fit_fraction=64)
    mine = replace(mine, stages=("base first", "sides"))
    mine = mine.with_printer(Printer("shop", 1.01, 0.995)).with_printer(Printer("den"))
    save_settings(Settings())
    save_settings(mine)
    assert load_settings() == mine
    assert [path.name for path in settings_file().parent.iterdir()] == ["settings.json"]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b"3",
        b"\xff\xfe\x00",
        b"[" * 100_000,
        b'{"thickness_mm": ' + b"1" * 5000 + b"}",
    ],
)
def test_a_file_that_cannot_be_read_counts_as_not_set(content: bytes) -> None:
    put(content)
    assert load_settings() == Settings()


def test_a_folder_in_the_files_place_counts_as_not_set() -> None:
    settings_file().mkdir(parents=True)
    assert load_settings() == Settings()


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("show", "feet"),
        ("show", None),
        ("show", ["mm"]),
        ("show", {}),
        ("thickness_mm", 0.0),
        ("thickness_mm", -1.6),
        ("thickness_mm", 10.01),
        ("thickness_mm", "1.6"),
        ("thickness_mm", True),
        ("thickness_mm", float("nan")),
        ("thickness_mm", float("inf")),
        ("thickness_mm", 10**400),
        ("paint_mm", -0.1),
        ("paint_mm", 21),
        ("least_thickness_mm", None),
        ("alloy", ""),
        ("alloy", "a\nb"),
        ("alloy", 3003),
        ("marked_face", "middle"),
        ("recent_files", "/a"),
        ("recent_files", ["/a", 3]),
        ("recent_files", None),
    ],
)
def test_a_value_that_makes_no_sense_counts_as_not_set_and_the_others_hold(
    name: str, value: object
) -> None:
    mine: dict[str, Any] = asdict(Settings("in", 1.2, "3003-O", 0.3, "outside", 0.9, ("/a",)))
    put(json.dumps(mine | {name: value, "of a later version": 1}).encode())
    got = asdict(load_settings())
    assert got.pop(name) == getattr(Settings(), name)
    mine["recent_files"] = tuple(mine["recent_files"])
    del mine[name]
    assert got == mine


def test_a_recent_file_moves_to_the_head_and_the_oldest_drop_off(tmp_path: Path) -> None:
    settings = Settings()
    paths = [tmp_path / f"{k}.stl" for k in range(MOST_RECENT_FILES + 3)]
    for path in [*paths, paths[5]]:
        settings = settings.with_recent_file(path)
    names = [Path(name).name for name in settings.recent_files]
    assert names == [f"{k}.stl" for k in (5, 12, 11, 10, 9, 8, 7, 6, 4, 3)]
    again = settings.with_recent_file(tmp_path / "x" / ".." / "5.stl")
    assert again.recent_files == settings.recent_files


def test_folders_bear_the_programs_name_and_lie_apart() -> None:
    folders = {config_folder(), log_folder(), recovery_folder()}
    assert len(folders) == 3
    assert all("lowcrown" in folder.parts or "lowcrown" in str(folder) for folder in folders)


def test_a_printer_measured_again_takes_its_own_place_and_is_the_one_used() -> None:
    mine = Settings().with_printer(Printer("shop", 1.01)).with_printer(Printer("den", 0.99))
    again = mine.with_printer(Printer("shop", 1.002))
    assert again.printers == (Printer("den", 0.99), Printer("shop", 1.002))
    assert again.printer == "shop"
    assert again.printer_named("den") == Printer("den", 0.99)
    assert Settings().printer_named("den") is None


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("papers", ["A4", ""]),
        ("stages", ["tack", "tack"]),
        ("stages", ["tack", ""]),
        ("stages", "tack"),
        ("papers", "A4"),
        ("papers", ["A4"] * 9),
        ("roll_mm", -1.0),
        ("roll_mm", True),
        ("roll_mm", "24in"),
        ("printers", [{"name": "shop", "x": 1.2, "y": 1.0}]),
        ("printers", [{"name": "shop", "x": 1.0}]),
        ("printers", [{"name": "\x07", "x": 1.0, "y": 1.0}]),
        ("printers", {"name": "shop"}),
        ("printer", 3),
        ("fit_fraction", 12),
        ("fit_fraction", 32.0),
        ("small_fraction", True),
    ],
)
def test_paper_and_printers_that_make_no_sense_count_as_not_set(name: str, value: object) -> None:
    put(json.dumps({name: value, "alloy": "3003-O"}).encode())
    assert getattr(load_settings(), name) == getattr(Settings(), name)
    assert load_settings().alloy == "3003-O"
