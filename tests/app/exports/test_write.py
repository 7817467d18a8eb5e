"""Files in a folder: names, replacing, and nothing half done."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from app.exports import (
    FileInTheWayError,
    OverviewSheet,
    file_stem,
    panel_file_names,
    reason_not_to_cut,
    write_overview,
    write_panel,
)
from geometry.pattern import dress
from geometry.progress import Cancelled
from tests.app.exports.sample_sheets import cut_panel, panel_sheet, tank_model

NAMES = [
    "left side.csv",
    "left side.dxf",
    "left side.pdf",
    "left side.svg",
    "left side_a4.pdf",
    "left side_letter.pdf",
    "left side_shape.pdf",
    "left side_shape.png",
]


def _contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_panel_leaves_its_eight_files_and_twice_the_same_bytes(tmp_path: Path) -> None:
    paths = write_panel(panel_sheet(), tmp_path / "one")
    write_panel(panel_sheet(), tmp_path / "two")
    assert sorted(path.name for path in paths) == NAMES
    assert _contents(tmp_path / "one") == _contents(tmp_path / "two")


def test_without_proof_no_cutting_file_leaves_and_a_stale_one_goes(tmp_path: Path) -> None:
    write_panel(panel_sheet(), tmp_path)
    unproved = panel_sheet(size_proved=False, tapes=())
    paths = write_panel(unproved, tmp_path, replace=True)
    assert [path.name for path in paths] == list(panel_file_names(unproved))
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "left side.pdf",
        "left side_a4.pdf",
        "left side_letter.pdf",
        "left side_shape.pdf",
    ]


def test_a_trim_narrower_than_half_an_inch_is_never_cut() -> None:
    sheet = panel_sheet()
    narrow = replace(sheet, pattern=replace(sheet.pattern, trim_mm=12.0))
    assert reason_not_to_cut(sheet) is None
    assert "TRIM" in str(reason_not_to_cut(narrow))
    assert not any(name.endswith(".dxf") for name in panel_file_names(narrow))


def test_what_is_there_is_not_overwritten_unless_asked(tmp_path: Path) -> None:
    (tmp_path / "left side.csv").write_text("mine")
    with pytest.raises(FileInTheWayError) as caught:
        write_panel(panel_sheet(), tmp_path)
    assert caught.value.paths == (tmp_path / "left side.csv",)
    assert _contents(tmp_path) == {"left side.csv": b"mine"}
    write_panel(panel_sheet(), tmp_path, replace=True)
    assert (tmp_path / "left side.csv").read_text().startswith("x,y,z")


def test_stopping_midway_leaves_nothing_behind(tmp_path: Path) -> None:
    def stop(done: float, stage: str) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        write_panel(panel_sheet(), tmp_path, report=stop)
    assert list(tmp_path.iterdir()) == []


def test_progress_rises_from_nought_to_one(tmp_path: Path) -> None:
    seen: list[float] = []
    write_panel(panel_sheet(), tmp_path, report=lambda done, _: seen.append(done))
    assert seen[0] == 0.0
    assert seen[-1] == 1.0
    assert seen == sorted(seen)


def test_the_overview_is_written_under_the_same_rule(tmp_path: Path) -> None:
    overview = OverviewSheet(panel_sheet().job, tank_model(), [panel_sheet()])
    path = write_overview(overview, tmp_path)
    first = path.read_bytes()
    with pytest.raises(FileInTheWayError):
        write_overview(overview, tmp_path)
    assert write_overview(overview, tmp_path, replace=True).read_bytes() == first


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("left side", "left side"),
        ("a/b\\c:d", "a_b_c_d"),
        ("..", "panel"),
        ("CON", "CON panel"),
        ("Overview", "Overview panel"),
        ("x" * 200, "x" * 60),
    ],
)
def test_file_names_are_safe_on_every_system(name: str, stem: str) -> None:
    assert file_stem(name) == stem


def test_a_blank_that_lies_over_itself_still_makes_its_pages_but_no_cut(tmp_path: Path) -> None:
    """A strip bent round by 400 degrees overlaps its own start."""
    sheet = panel_sheet("left side")
    u, v = sheet.flat.flat_vertices.T
    turn = np.deg2rad(400.0) * (u - u.min()) / np.ptp(u)
    far = 150.0 + 0.4 * v
    places = np.stack([far * np.sin(turn), -far * np.cos(turn)], axis=1)
    bent = replace(sheet.flat, flat_vertices=places, overlap_area=900.0)  # type: ignore[type-var]
    over = replace(sheet, flat=bent, pattern=dress(bent, cut_panel("left side")))
    assert over.pattern.trim is None
    paths = write_panel(over, tmp_path)
    assert [path.suffix for path in paths] == [".pdf", ".pdf", ".pdf", ".pdf", ".csv", ".png"]
    text = PdfReader(paths[0]).pages[0].extract_text()
    assert "THE BLANK LIES OVER ITSELF" in " ".join(text.split())
