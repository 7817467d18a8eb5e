"""Notes on seams, kept break-ups, and how both travel: job file, seams file, renaming, deleting."""

import json
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.job import (
    BreakUp,
    JobState,
    PanelName,
    SeamLine,
    SeamNote,
    breakup_shown,
    note_of,
    on_seam,
    open_job,
    read_seams,
    save_job,
    save_seams,
    with_advice_hushed,
    with_advice_told,
    with_breakup_kept,
    with_breakup_renamed,
    with_breakup_taken,
    with_breakups_added,
    with_seam_note,
    with_seam_renamed,
    with_seams_file,
    without_breakup,
    without_seam,
)
from app.job.files.strict_json import BadFileError

TOP = SeamLine("top", ((0.0, 0.0, 0.0), (9.0, 0.0, 1.0)), on=("rim", "line 2"))
LEFT = SeamLine("left", ((0.0, 3.0, 0.0), (9.0, 3.0, 0.0)), on=(on_seam("top"), ""))
RIGHT = SeamLine("right", ((0.0, -3.0, 0.0), (9.0, -3.0, 0.0)), mirror_of="left")
NOTE = SeamNote(
    "top", "seen", "soft", "one side", closing=True, edge="lap", allowance_mm=(6.0, 0.0),
    hushed=("low crown",), note="TIG, 1.6 rod",
)  # fmt: skip
PLAIN = JobState(seams=(TOP, LEFT, RIGHT), panel_names=(PanelName("lid", (1.0, 2.0, 3.0)),))
SPLIT = with_breakup_kept(with_seam_note(PLAIN, NOTE), "three pieces")


def _said(state: JobState) -> tuple[Any, ...]:
    """Return all that is said of seams."""
    return state.seams, state.panel_names, state.seam_notes, state.breakups


def test_notes_and_break_ups_come_back_from_the_job_file(tmp_path: Path) -> None:
    save_job(SPLIT, tmp_path / "a.lowcrown")
    back = open_job(tmp_path / "a.lowcrown")
    assert (back.seams, back.seam_notes, back.breakups) == (
        SPLIT.seams, SPLIT.seam_notes, SPLIT.breakups,
    )  # fmt: skip


def test_notes_and_break_ups_come_back_from_the_seams_file(tmp_path: Path) -> None:
    save_seams(SPLIT, "mm", tmp_path / "seams.json")
    file = read_seams(tmp_path / "seams.json")
    back = with_seams_file(JobState(), file, 1.0)
    assert (back.seams, back.seam_notes, back.breakups, back.panel_names) == (
        SPLIT.seams, SPLIT.seam_notes, SPLIT.breakups, SPLIT.panel_names,
    )  # fmt: skip


def test_a_seams_file_in_inches_moves_break_ups_as_it_moves_seams(tmp_path: Path) -> None:
    save_seams(SPLIT, "in", tmp_path / "seams.json")
    back = with_seams_file(JobState(), read_seams(tmp_path / "seams.json"), 1.0)
    assert back.seams[0].points[1] == pytest.approx((9 * 25.4, 0.0, 25.4), rel=1e-15)
    assert back.breakups[0].seams == back.seams
    assert back.breakups[0].panel_names == back.panel_names


def test_a_seams_file_without_notes_is_written_as_before(tmp_path: Path) -> None:
    state = JobState(seams=(SeamLine("a", TOP.points),))
    save_seams(state, "mm", tmp_path / "seams.json")
    found = json.loads((tmp_path / "seams.json").read_text())
    assert list(found) == ["unit", "seams", "panels"]
    assert list(found["seams"][0]) == ["name", "points", "closed"]


def test_a_job_of_the_fifth_schema_opens_with_nothing_said_of_seams(tmp_path: Path) -> None:
    path = tmp_path / "a.lowcrown"
    save_job(PLAIN, path)
    with zipfile.ZipFile(path) as archive:
        found = json.loads(archive.read("job.json"))
    found["schema"] = 5
    del found["seam_notes"], found["breakups"]
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("job.json", json.dumps(found))
    back = open_job(path)
    assert (back.seams, back.seam_notes, back.breakups) == (PLAIN.seams, (), ())


def test_a_note_that_says_nothing_is_none_at_all() -> None:
    noted = with_seam_note(PLAIN, NOTE)
    assert note_of(noted, "top") == NOTE
    assert _said(with_seam_note(noted, SeamNote("top"))) == _said(PLAIN)
    assert note_of(PLAIN, "top") == SeamNote("top")


def test_a_note_keeps_its_place_when_it_changes() -> None:
    both = with_seam_note(with_seam_note(PLAIN, NOTE), SeamNote("left", "hidden"))
    changed = with_seam_note(both, replace(NOTE, sight="hidden"))
    assert [note.seam for note in changed.seam_notes] == ["top", "left"]


def test_advice_is_hushed_and_told_again() -> None:
    hushed = with_advice_hushed(PLAIN, "left", "near line")
    assert note_of(hushed, "left").hushed == ("near line",)
    assert with_advice_hushed(hushed, "left", "near line") is hushed
    assert _said(with_advice_told(hushed, "left", "near line")) == _said(PLAIN)


def test_the_break_up_shown_is_the_kept_one_the_seams_now_are() -> None:
    assert breakup_shown(SPLIT) == "three pieces"
    other = without_seam(SPLIT, 2)
    assert breakup_shown(other) == ""
    assert _said(with_breakup_taken(other, "three pieces")) == _said(SPLIT)
    assert with_breakup_taken(other, "no such") is other


def test_break_ups_are_replaced_renamed_and_thrown_away_by_name() -> None:
    two = with_breakup_kept(without_seam(SPLIT, 2), "two pieces")
    assert [each.name for each in two.breakups] == ["three pieces", "two pieces"]
    again = with_breakup_kept(two, "three pieces")
    assert [len(each.seams) for each in again.breakups] == [2, 2]
    assert with_breakup_renamed(two, "two pieces", "three pieces") is two
    renamed = with_breakup_renamed(two, "two pieces", "plain")
    assert [each.name for each in renamed.breakups] == ["three pieces", "plain"]
    assert [each.name for each in without_breakup(renamed, "plain").breakups] == ["three pieces"]


def test_added_break_ups_replace_those_of_their_name_and_follow_the_others() -> None:
    fresh = BreakUp("three pieces", (TOP,))
    more = with_breakups_added(SPLIT, (BreakUp("choice 1", (LEFT,)), fresh))
    assert [each.name for each in more.breakups] == ["three pieces", "choice 1"]
    assert more.breakups[0] == fresh


def test_a_renamed_seam_takes_its_note_its_snaps_and_its_mirror_image_along() -> None:
    renamed = with_seam_renamed(with_seam_renamed(SPLIT, 0, "ridge"), 1, "near side")
    assert [note.seam for note in renamed.seam_notes] == ["ridge"]
    assert renamed.seams[1].on == (on_seam("ridge"), "")
    assert renamed.seams[2].mirror_of == "near side"


def test_a_deleted_seam_takes_its_note_along_and_lets_the_others_go() -> None:
    left = without_seam(without_seam(SPLIT, 0), 0)
    assert (left.seam_notes, left.seams) == ((), (replace(RIGHT, mirror_of=""),))
    assert without_seam(SPLIT, 0).seams[0].on == ()


def _broken(change: Callable[[dict[str, Any]], None], tmp_path: Path) -> str:
    path = tmp_path / "seams.json"
    save_seams(SPLIT, "mm", path)
    found = json.loads(path.read_text())
    change(found)
    path.write_text(json.dumps(found))
    with pytest.raises(BadFileError) as caught:
        read_seams(path)
    return f"{caught.value.where} {caught.value.reason}"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda f: f["seams"][0].update(on=["rim"]), "seams[0].on holds 1 name for 2 points"),
        (lambda f: f["seams"][2].update(mirror_of="right"), "seams[2].mirror_of names the seam"),
        (lambda f: f["notes"][0].update(seam="no such"), "notes[0].seam names a seam that is not"),
        (lambda f: f["notes"].append({"seam": "top"}), 'notes[1] has the name "top"'),
        (lambda f: f["notes"][0].update(sight="loud"), "notes[0].sight"),
        (lambda f: f["notes"][0].update(allowance_mm=[1.0]), "notes[0].allowance_mm does not hold"),
        (lambda f: f["notes"][0].update(allowance_mm=[1.0, -1.0]), "allowance_mm[1] is below 0"),
        (lambda f: f["notes"][0].update(closing="yes"), "notes[0].closing"),
        (lambda f: f["breakups"].append(f["breakups"][0]), 'breakups[1] has the name "three'),
        (lambda f: f["breakups"][0].pop("seams"), 'breakups[0] lacks the field "seams"'),
        (lambda f: f["breakups"][0]["notes"][0].update(seam="x"), "breakups[0].notes[0].seam"),
    ],
)
def test_what_a_seams_file_holds_is_checked_with_its_place(
    change: Callable[[dict[str, Any]], None], words: str, tmp_path: Path
) -> None:
    assert words in _broken(change, tmp_path)
