"""A job delivered: all its files, their sums against the job, nothing out of date, same bytes."""

import errno
import json
import os
import pickle
import re
import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from shapely import Polygon

from app.delivery import (
    SUMMARY,
    Composed,
    FilesToMake,
    MadeFiles,
    NoFolderError,
    NotReadyError,
    ResultExistsError,
    composed,
    deliver,
    earlier_prints,
    job_facts,
    job_sheets,
    json_text,
    panel_sheet,
    panel_stems,
    scan_result,
    summary_result,
    tank_model,
    unit_words,
)
from app.delivery.lots import JobFiles, PanelFiles, TapeFiles
from app.delivery.results import weighted_share
from app.delivery.sheets import how_sure
from app.exports import sheaf_bytes, sheaves_of_job
from app.job import (
    JobState,
    MetalChoice,
    Price,
    SizeChoice,
    carried_through,
    made,
    panel_names,
    tape_table_of,
    with_metal,
    with_name,
    with_price,
    with_print,
    with_size,
    with_trim,
)
from geometry.datum import TrueSize
from geometry.progress import Cancelled, Report
from tests.app.job.small_tank import carried, decided

TOP = Path(__file__).resolve().parents[3]

DATED, LATER = date(2030, 4, 1), date(2030, 5, 9)


@cache
def unproved() -> JobState:
    return carried_through(with_size(carried(), SizeChoice("mm")), "Paper")


@cache
def pages() -> Composed:
    """Return every page of the small job, composed once for all tests here."""
    return composed(carried(), dated=DATED)


@pytest.fixture(scope="module")
def delivered(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the small job, delivered once for all tests here."""
    folder = tmp_path_factory.mktemp("delivered") / "result"
    deliver(carried(), folder, dated=DATED)
    return folder


def test_the_summary_lists_every_file_there_and_itself(delivered: Path) -> None:
    summary = json.loads((delivered / SUMMARY).read_text(encoding="utf-8"))
    assert sorted(summary["files"]) == sorted(path.name for path in delivered.iterdir())
    assert {panel["panel"] for panel in summary["panels"]} == {"left", "top", "right"}
    of_panels = [name for panel in summary["panels"] for name in panel["files"]]
    of_job = ["overview.pdf", "printer check.pdf", "tape table.pdf", "job card.pdf"]
    assert sorted([*of_panels, *of_job, SUMMARY]) == sorted(summary["files"])
    assert "left.dxf" in of_panels


def test_the_numbers_are_the_jobs_own(delivered: Path) -> None:
    summary = json.loads((delivered / SUMMARY).read_text(encoding="utf-8"))
    for told in summary["panels"]:
        flat = made(carried(), "Blanks", told["panel"]).flat
        assert told["blank_area"] == flat.blank_area
        assert told["rim_formed"] == flat.rim_formed
        assert told["stretch"]["largest"] == flat.stretches.max()
        assert told["no_data_area"] == 0.0
        sure = made(carried(), "Sure", told["panel"]).bands
        assert told["bands"]["measuring"]["plus_minus"] == sure.measuring_mm
        assert told["bands"]["model"]["outward"] == sure.model.outward.max()
        arc = [row[0] for row in told["bands"]["model"]["rim"]]
        assert arc == sorted(arc)
        assert arc[0] == 0.0
        assert arc[-1] < told["rim_blank"]
        shares = [told["stretch"][k] for k in ("smallest", "p01", "median", "p99", "largest")]
        assert shares == sorted(shares)
    tapes = summary["size"]["tapes"]
    assert [tape["taped"] for tape in tapes] == [80.0, 80.0]
    assert summary["size"]["proved"] is True


def test_edges_that_mate_are_told_in_pairs_as_long_formed_as_each_other(delivered: Path) -> None:
    found = json.loads((delivered / SUMMARY).read_text())["matings"]
    assert [(pair["letter"], pair["panels"]) for pair in found] == [
        ("A", ["left", "top"]),
        ("B", ["top", "right"]),
    ]
    for pair in found:
        assert pair["formed"][0] == pytest.approx(pair["formed"][1], abs=1e-9)
        assert pair["marks"][0] == pair["marks"][1] > 0
        assert pair["marks_apart"] < 1e-6
        assert pair["fits"]


def test_the_same_job_is_the_same_files_to_the_last_byte(delivered: Path, tmp_path: Path) -> None:
    deliver(carried(), tmp_path / "again", dated=DATED)
    one, other = (
        {path.name: path.read_bytes() for path in folder.iterdir()}
        for folder in (delivered, tmp_path / "again")
    )
    assert one.keys() == other.keys()
    assert [name for name in one if one[name] != other[name]] == []


def test_what_is_shown_beforehand_is_what_is_written(delivered: Path) -> None:
    """Every page file is the PDF of a composed sheaf, to the last byte."""
    sheaves = pages().sheaves
    names = [sheaf.name for sheaf in sheaves]
    assert sorted(names) == sorted(path.name for path in delivered.glob("*.pdf"))
    assert [s.name for s in sheaves if sheaf_bytes(s) != (delivered / s.name).read_bytes()] == []
    summary = json.loads((delivered / SUMMARY).read_text(encoding="utf-8"))
    assert summary["pages"] == {sheaf.name: len(sheaf.pages) for sheaf in sheaves}


def test_printed_again_later_unchanged_it_is_the_same_paper(delivered: Path) -> None:
    """Same revision and date, so the same bytes; one check page and overview stand for all."""
    job = with_print(carried(), DATED)
    overview = job_sheets(job, dated=LATER)
    for sheaf in sheaves_of_job(overview):
        assert sheaf_bytes(sheaf) == (delivered / sheaf.name).read_bytes()
    summary = json.loads((delivered / SUMMARY).read_text(encoding="utf-8"))
    assert summary["revision"] == {"number": 1, "dated": "2030-04-01", "replaces": None}
    assert earlier_prints(delivered) == job.prints


def test_a_changed_job_says_which_print_it_replaces() -> None:
    job = with_name(with_print(carried(), DATED), "wider dome")
    facts = job_facts(job, made(job, "Size"), dated=LATER)
    assert (facts.revision, facts.dated, facts.replaces) == ("2", LATER, "1")
    facts = job_facts(carried(), made(carried(), "Size"), dated=LATER)
    assert (facts.revision, facts.replaces) == ("1", "")


def test_the_summary_tells_weight_cost_and_tapes(delivered: Path) -> None:
    """Mass is cut area times sheet times density, 2.73 g/cm3 of 3003 by the metal's own table."""
    summary = json.loads((delivered / SUMMARY).read_text(encoding="utf-8"))
    for panel in summary["panels"]:
        trim = made(carried(), "Paper", panel["panel"]).trim
        assert panel["weight_kg"] == pytest.approx(Polygon(trim).area * 1.6 * 2.73e-6, rel=1e-9)
        assert panel["rectangle"] == np.ptp(trim, axis=0).tolist()
        assert panel["cost"] is None
        assert panel["outline"]["largest_off"] <= 0.02
    weights = [panel["weight_kg"] for panel in summary["panels"]]
    assert summary["sheet"]["weight_kg"] == pytest.approx(sum(weights))
    table = tape_table_of(carried())
    assert table is not None
    assert [row["length"] for row in summary["tape_table"]] == [v.length_mm for v in table.values]
    schema = json.loads((TOP / "app/schemas/summary.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(summary, schema)


def few(lots: Sequence[FilesToMake], report: Report) -> list[MadeFiles]:
    """Return one small file for every lot asked for, and what is told of panels."""
    return [
        MadeFiles(
            {f"{at}.csv": b"new"}, lot.told([f"{at}.csv"]) if isinstance(lot, PanelFiles) else {}
        )
        for at, lot in enumerate(lots)
    ]


def test_what_is_still_to_be_made_travels_to_another_process(
    delivered: Path, tmp_path: Path
) -> None:
    """A second core makes files of a large job: the same, to the last byte."""

    def there(lots: Sequence[FilesToMake], report: Report) -> list[MadeFiles]:
        travelled = [pickle.loads(pickle.dumps(lot)).run(report) for lot in lots]
        return [pickle.loads(pickle.dumps(made)) for made in travelled]

    deliver(carried(), tmp_path / "r", dated=DATED, making=there)
    for path in delivered.iterdir():
        assert (tmp_path / "r" / path.name).read_bytes() == path.read_bytes()


def test_pages_that_stand_composed_are_written_and_not_composed_again(
    delivered: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same bytes, with everything that composes pages or a tape table taken away."""
    kept = pages()
    assert kept.table is not None
    for module, name in (
        ("app.exports.write", "sheaf_of_panel"),
        ("app.delivery.lots", "sheaves_of_job"),
        ("app.delivery.lots", "sheaf_of_card"),
        ("app.delivery.lots", "sheaf_of_tapes"),
        ("app.delivery.lots", "tape_table_of"),
    ):
        monkeypatch.setattr(sys.modules[module], name, None)
    deliver(carried(), tmp_path / "r", dated=DATED, kept=kept)
    for path in delivered.iterdir():
        assert (tmp_path / "r" / path.name).read_bytes() == path.read_bytes()


def test_a_tape_table_that_is_known_is_not_worked_out_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    table = tape_table_of(carried())
    module = sys.modules["app.delivery.composed"]
    monkeypatch.setattr(module, "tape_table_of", None)
    monkeypatch.setattr(module, "sheaves_of_panel", lambda *given, **named: ())
    assert composed(carried(), dated=DATED, table=table).table is table


def test_the_longest_work_is_begun_first(tmp_path: Path) -> None:
    """The tape table of the whole tank, then panels by their triangles, the overview last."""
    begun: list[int] = []

    def watched(lots: Sequence[FilesToMake], report: Report) -> list[MadeFiles]:
        begun.extend(len(lot.sheet.flat.faces) for lot in lots if isinstance(lot, PanelFiles))
        assert isinstance(lots[0], TapeFiles)
        assert isinstance(lots[-1], JobFiles)
        return few(lots, report)

    deliver(carried(), tmp_path / "r", dated=DATED, making=watched)
    assert begun == sorted(begun, reverse=True)
    assert len(begun) == len(panel_names(carried()))


def test_a_price_is_told_for_each_blank_and_for_all(tmp_path: Path) -> None:
    """By the kilogram of the rectangle each blank is cut from."""
    job = with_price(carried(), Price(8.0, "kg", "EUR"))
    summary = deliver(job, tmp_path / "r", dated=DATED, making=few)
    costs = [panel["cost"] for panel in summary["panels"]]
    assert summary["sheet"]["cost"] == pytest.approx(sum(costs))
    assert summary["sheet"]["cost"] == pytest.approx(8.0 * summary["sheet"]["rectangle_kg"])
    assert summary["sheet"]["currency"] == "EUR"


@pytest.mark.parametrize("stops", ["write", "move"])
def test_a_disk_full_half_way_leaves_the_old_files_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stops: str
) -> None:
    folder = tmp_path / "r"
    deliver(carried(), folder, dated=DATED, making=few, job_file="job.lowcrown")
    (folder / "0.csv").write_bytes(b"old")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    calls: list[object] = []
    module = sys.modules["app.delivery.folder"]
    does = module._write_flushed if stops == "write" else os.replace

    def full(*args: Any) -> None:
        calls.append(args)
        if len(calls) == 3:
            raise OSError(errno.ENOSPC, "No space left on device")
        does(*args)

    if stops == "write":
        monkeypatch.setattr(module, "_write_flushed", full)
    else:
        monkeypatch.setattr(module.os, "replace", full)
    with pytest.raises(NoFolderError, match="No space left"):
        deliver(with_name(carried(), "x"), folder, dated=LATER, making=few, replace=True)
    monkeypatch.undo()
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert [path.name for path in tmp_path.iterdir()] == ["r"]


@pytest.mark.parametrize("content", [b"", b"{", b'{"prints": 3}', b'{"prints": [{"revision": 1}]}'])
def test_a_summary_that_tells_no_prints_counts_as_none(tmp_path: Path, content: bytes) -> None:
    (tmp_path / SUMMARY).write_bytes(content)
    assert earlier_prints(tmp_path) == ()
    assert earlier_prints(tmp_path / "gone") == ()


def test_without_proof_nothing_to_cut_leaves_and_the_earlier_cutting_files_go(
    delivered: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "r"
    folder.mkdir()
    for path in delivered.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    with pytest.raises(ResultExistsError):
        deliver(unproved(), folder, dated=DATED)
    assert (folder / "left.dxf").exists()
    summary = deliver(unproved(), folder, dated=DATED, replace=True)
    names = sorted(path.name for path in folder.iterdir())
    assert names == sorted(summary["files"])
    assert not [name for name in names if name.endswith(".dxf")]
    assert summary["size"]["proved"] is False


def test_a_job_out_of_date_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(NotReadyError) as caught:
        deliver(with_trim(carried(), 6.0), tmp_path / "r", dated=DATED)
    assert caught.value.panel == panel_names(carried())[0]
    for state in (decided(), carried_through(decided(), "Size"), JobState()):
        with pytest.raises(NotReadyError) as caught:
            deliver(state, tmp_path / "r", dated=DATED)
        assert caught.value.panel == ""
    assert list(tmp_path.iterdir()) == []


def test_a_sheet_out_of_date_is_refused_by_its_panel() -> None:
    state = with_trim(carried(), 6.0)
    facts = job_facts(state, made(state, "Size"), dated=DATED)
    with pytest.raises(NotReadyError, match="top"):
        panel_sheet(state, facts, tank_model(state), "top")


def test_a_page_to_cut_from_says_how_sure_its_size_is_and_others_do_not() -> None:
    state = carried()
    facts = job_facts(state, made(state, "Size"), dated=DATED)
    (remark,) = panel_sheet(state, facts, tank_model(state), "top").remarks
    assert remark.startswith("Size sure to \u00b1")
    assert remark.endswith("further out to cover both.")
    pattern, sure = made(state, "Paper", "top"), made(state, "Sure", "top")
    assert how_sure(pattern, sure, "mm", may_cut=False) == ()


def test_a_stop_half_way_leaves_nothing(tmp_path: Path) -> None:
    seen: list[float] = []

    def report(done: float, stage: str) -> None:
        seen.append(done)
        if done > 0.2:
            raise Cancelled

    with pytest.raises(Cancelled):
        deliver(carried(), tmp_path / "r", dated=DATED, report=report)
    assert seen == sorted(seen)
    assert list(tmp_path.iterdir()) == []


def test_an_earlier_result_is_refused_before_any_page_is_made(
    delivered: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.modules["app.delivery.lots"], "panel_files", None)
    with pytest.raises(ResultExistsError):
        deliver(carried(), delivered, dated=DATED)


# ---- the parts


def test_the_tank_for_pictures_has_every_face_on_its_panel() -> None:
    tank = tank_model(carried())
    cut = made(carried(), "Seams")
    assert tank.names == panel_names(carried())
    counts = [len(panel.mesh.faces) for panel in cut.panels]
    assert np.bincount(tank.panel_of_face).tolist() == counts
    np.testing.assert_array_equal(tank.front, [1.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("metal", "words"),
    [
        (MetalChoice(1.6, face="middle"), "the file taken as that surface"),
        (MetalChoice(1.6), "scanned outside less half of 1.6 mm (.063 in) sheet"),
        (
            MetalChoice(1.2, paint_mm=0.3),
            "outside less 0.3 mm (.012 in) paint less half of 1.2 mm (.047 in) sheet",
        ),
    ],
)
def test_every_page_says_which_face_of_the_metal_is_laid_out(
    metal: MetalChoice, words: str
) -> None:
    facts = job_facts(with_metal(carried(), metal), made(carried(), "Size"), dated=DATED)
    assert words in facts.surface
    assert (facts.size_proved, facts.revision, facts.dated) == (True, "1", DATED)
    assert [tape.taped_mm for tape in facts.tapes] == [80.0, 80.0]


def test_the_files_unit_is_said_in_words() -> None:
    size: TrueSize = made(carried(), "Size")
    assert unit_words(size) == "millimetres"
    assert unit_words(replace(size, unit="in")) == "inches"
    assert unit_words(replace(size, unit=None, mm_per_unit=2.5)) == (
        "scaled to the tapes, 2.5 mm a unit"
    )


def test_a_scan_without_a_size_has_no_lengths_and_with_one_has_them_in_mm() -> None:
    report = made(carried(), "Scan").report
    bare, sized = scan_result(report, None), scan_result(report, made(carried(), "Size"))
    assert bare["noise"] is None
    assert [hole["rim_length"] for hole in bare["holes"]] == [None]
    assert bare["triangles"] == sized["triangles"] == report.triangles
    inches = scan_result(report, replace(made(carried(), "Size"), mm_per_unit=25.4))
    assert inches["holes"][0]["rim_length"] == 25.4 * sized["holes"][0]["rim_length"]
    assert inches["pieces"][0]["area"] == pytest.approx(
        25.4**2 * sized["pieces"][0]["area"], rel=1e-14
    )


def test_the_rim_of_the_dome_is_its_circle() -> None:
    """2 pi r sin a, the chords of 96 edges short by (pi / 96)^2 / 6 = 2e-4 of it."""
    hole = scan_result(made(carried(), "Scan").report, made(carried(), "Size"))["holes"][0]
    circle = 2.0 * np.pi * 50.0 * np.sin(1.2)
    assert 0.0 < circle - hole["rim_length"] < 2e-4 * circle


def test_json_refuses_what_is_no_number_and_is_the_same_text_every_time() -> None:
    summary = summary_result([], made(carried(), "Size"), [SUMMARY])
    assert json_text(summary) == json_text(json.loads(json_text(summary)))
    with pytest.raises(ValueError, match="JSON"):
        json_text({"x": float("nan")})


@pytest.mark.parametrize(
    ("share", "value"), [(0.0, 1.0), (0.25, 1.0), (0.26, 2.0), (0.75, 2.0), (0.76, 3.0), (1.0, 3.0)]
)
def test_a_weighted_share_counts_weight_not_numbers(share: float, value: float) -> None:
    found = weighted_share(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 2.0]), share)
    assert found == value


def test_no_two_panels_share_a_file_name_whatever_they_are_called() -> None:
    names = ["top", "Top", "TOP!", "top 2", "\u6f22", "\u5b57", "con", "../x", "x"]
    stems = panel_stems(names)
    assert len(set(stems)) == len(names)
    assert len({stem.casefold() for stem in stems}) == len(names)
    assert all(re.fullmatch(r"\w[\w .-]*", stem) and stem[-1] not in " ." for stem in stems)
