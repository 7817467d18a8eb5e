"""Files in a folder: names, replacing, and nothing half done."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from app.exports import (
    A3,
    A4,
    LETTER,
    FileInTheWayError,
    NothingToPrintError,
    Output,
    OverviewSheet,
    TooLargeForPaperError,
    check_fits_paper,
    file_stem,
    panel_file_names,
    panel_files,
    paper_named,
    reason_not_to_cut,
    sheaf_bytes,
    sheaves_of_panel,
    write_overview,
    write_panel,
)
from app.exports.drawing import Meaning, Page, Text
from app.exports.pages import tiled
from app.exports.sheaves import sheaf_of_panel
from geometry.arrays import FloatArray
from geometry.pattern import dress
from geometry.progress import Cancelled
from tests.app.exports.sample_sheets import cut_panel, panel_sheet, tank_model
from tests.pace import quiet_seconds

NAMES = [
    "left side.csv",
    "left side.dxf",
    "left side.pdf",
    "left side.svg",
    "left side_a4.pdf",
    "left side_bench.pdf",
    "left side_letter.pdf",
    "left side_shape.pdf",
    "left side_shape.png",
]


def _contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_panel_leaves_its_nine_files_and_twice_the_same_bytes(tmp_path: Path) -> None:
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
        "left side_bench.pdf",
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
    assert [path.suffix for path in paths] == [*[".pdf"] * 5, ".csv", ".png"]
    text = PdfReader(paths[0]).pages[0].extract_text()
    assert "THE BLANK LIES OVER ITSELF" in " ".join(text.split())


ON_THREE = Output(papers=(A3, paper_named("500x700mm"), LETTER), roll_mm=610.0)


def test_tiles_are_written_for_the_papers_chosen_and_no_others(tmp_path: Path) -> None:
    sheet = panel_sheet()
    paths = write_panel(sheet, tmp_path, ON_THREE)
    names = [path.name for path in paths]
    assert names == list(panel_file_names(sheet, ON_THREE))
    others = ("_shape.pdf", "_bench.pdf")
    assert [name for name in names if name.endswith(".pdf") and not name.endswith(others)] == [
        "left side.pdf",
        "left side_a3.pdf",
        "left side_500x700mm.pdf",
        "left side_letter.pdf",
    ]
    page = PdfReader(paths[0]).pages[0]
    assert float(page.mediabox.width) * 25.4 / 72.0 == pytest.approx(610.0, abs=1e-3)


def test_tiles_for_papers_no_longer_chosen_go_when_files_are_replaced(tmp_path: Path) -> None:
    """Only this panel's: a file of another panel, or of another kind, stays."""
    write_panel(panel_sheet(), tmp_path, ON_THREE)
    for name in ("left side_notes.pdf", "left side 2_a3.pdf", "left side_a3.txt"):
        (tmp_path / name).write_text("mine")
    paths = write_panel(panel_sheet(), tmp_path, Output(papers=(LETTER,)), replace=True)
    there = sorted(path.name for path in tmp_path.iterdir())
    mine = ["left side 2_a3.pdf", "left side_a3.txt", "left side_notes.pdf"]
    assert there == sorted([*(path.name for path in paths), *mine])


def test_the_pages_shown_are_the_pages_written() -> None:
    """A sheaf of each page file, in order, gives the very bytes of the file."""
    sheet = panel_sheet()
    made = panel_files(sheet, ON_THREE)
    seen: list[float] = []
    sheaves = sheaves_of_panel(sheet, ON_THREE, report=lambda done, _: seen.append(done))
    assert [sheaf.name for sheaf in sheaves] == list(made)[: len(sheaves)]
    for sheaf in sheaves:
        assert sheaf_bytes(sheaf) == made[sheaf.name]
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)


def shafts_and_words(page: Page) -> tuple[list[FloatArray], list[Text]]:
    """Return the pattern's straight marks and the words of its label."""
    pattern = max((placed.drawing for placed in page.contents), key=lambda each: len(each.lines))
    marks = [line.points for line in pattern.lines if line.meaning is Meaning.MARK]
    return [points for points in marks if len(points) == 2], list(pattern.texts)


def test_the_left_side_stands_top_up_in_one_piece() -> None:
    """The arrow before the word TOP runs up the page, and the top strip's edge lies above."""
    (page,) = sheaf_of_panel(panel_sheet("left side"), ".pdf", Output()).pages
    shafts, texts = shafts_and_words(page)
    (top,) = [text for text in texts if text.text == "TOP"]
    place = np.array(top.place)
    (shaft,) = [
        points
        for points in shafts
        if np.linalg.norm(points.mean(axis=0) - place) < 12.0
        and abs(np.diff(points[:, 0])[0]) < 0.1 * abs(np.diff(points[:, 1])[0])
    ]
    assert shaft[1, 1] > shaft[0, 1]
    height = {text.text: text.place[1] for text in texts}
    assert height["A: top strip"] > height["LEFT SIDE"] > height["F2: free edge"]


@pytest.mark.parametrize("name", ["left side", "right side", "top strip"])
@pytest.mark.parametrize("turn", [True, False])
def test_standing_top_up_costs_no_page(name: str, turn: bool) -> None:
    sheet = panel_sheet(name)
    for paper in (A4, A3, LETTER):
        output = Output(papers=(paper,), turn=turn)
        standing = sheaf_of_panel(sheet, f"_{paper.key}.pdf", output).pages
        assert len(standing) == len(tiled(sheet, paper, output))


def test_the_grid_s_rows_are_told_from_where_they_start_on_the_page() -> None:
    """Squares keep their names however the blank stands: readings are typed in by them."""
    for name, first in (("left side", "foot"), ("right side", "top"), ("top strip", "top")):
        page = sheaf_of_panel(panel_sheet(name), "_bench.pdf", Output()).pages[-1]
        texts = [text for placed in page.contents for text in placed.drawing.texts]
        said = " ".join(text.text for text in texts)
        assert f"numbers from the {first} of the blank" in said
        blank = next(
            placed.drawing
            for placed in page.contents
            if {"A", "E", "1", "4"} <= {text.text for text in placed.drawing.texts}
        )
        rows = {int(t.text): t.place[1] for t in blank.texts if t.text.isdigit()}
        assert len(rows) > 4
        assert (rows[min(rows)] > rows[max(rows)]) == (first == "top")


def test_the_printers_check_page_is_written_beside_the_overview(tmp_path: Path) -> None:
    overview = OverviewSheet(panel_sheet().job, tank_model(), [panel_sheet()])
    write_overview(overview, tmp_path, ON_THREE)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["overview.pdf", "printer check.pdf"]
    assert len(PdfReader(tmp_path / "printer check.pdf").pages) == 4


def test_no_panel_takes_the_name_of_a_file_of_the_job() -> None:
    for name in ("printer check", "Tape Table", "job card", "overview", "summary"):
        assert file_stem(name) == f"{name} panel"


def test_a_panel_longer_than_two_of_the_longest_pages_is_refused_and_none_shorter() -> None:
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.7], [0.0, 0.7]])
    check_fits_paper("left", 10160.0 * square)
    with pytest.raises(TooLargeForPaperError) as caught:
        check_fits_paper("left", 10160.1 * square)
    assert (caught.value.panel, caught.value.limit_mm) == ("left", 10160.0)
    assert caught.value.height_mm == pytest.approx(7112.07)


@pytest.mark.parametrize("net", [np.zeros((5, 2)), np.full((5, 2), np.nan), np.empty((0, 2))])
def test_a_panel_without_size_is_refused_before_any_page_is_made(
    net: FloatArray, tmp_path: Path
) -> None:
    sheet = panel_sheet()
    empty = replace(sheet, pattern=replace(sheet.pattern, net=net, trim=None))
    with pytest.raises(NothingToPrintError) as caught:
        write_panel(empty, tmp_path)
    assert caught.value.panel == "left side"
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(NothingToPrintError):
        sheaves_of_panel(empty)


def test_a_folder_that_cannot_be_written_keeps_its_old_files_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full at the third file: what was there before is there still, nothing else."""
    write_panel(panel_sheet(), tmp_path)
    before = _contents(tmp_path)
    written: list[str] = []
    write_bytes = Path.write_bytes

    def full(path: Path, content: bytes) -> int:
        written.append(path.name)
        if len(written) == 3:
            raise OSError(28, "No space left on device", str(path))
        return write_bytes(path, content)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match="No space left"):
        write_panel(panel_sheet(size_proved=True, revision="B"), tmp_path, replace=True)
    assert _contents(tmp_path) == before


@pytest.mark.slow
def test_five_hundred_panels_take_a_second_each_at_most_and_keep_their_own_files() -> None:
    """Small ones: composing, tiling and writing A4; all 500 names differ, as do their files."""
    sheet = panel_sheet()
    small = replace(
        sheet.flat,  # type: ignore[type-var]
        flat_vertices=sheet.flat.flat_vertices * 0.3,
        vertices=sheet.flat.vertices * 0.3,
    )
    pattern = dress(small, cut_panel("left side"))
    little = replace(sheet, flat=small, pattern=pattern)
    only_a4 = Output(papers=(A4,))
    stems = [f"panel {number}" for number in range(500)]
    names = {name for stem in stems for name in panel_file_names(little, only_a4, stem=stem)}
    assert len(names) == 500 * len(panel_file_names(little, only_a4))

    def ten() -> None:
        for stem in stems[:10]:
            sheaf_of_panel(replace(little), "_a4.pdf", only_a4, stem=stem)

    assert quiet_seconds(ten, rounds=1) / 10.0 < 1.0
