"""The job file: the same job is the same bytes, nothing hostile is trusted, no work is lost."""

import io
import json
import os
import pickle
import random
import zipfile
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.job import (
    BlankChoice,
    BrokenJobFileError,
    JobFileError,
    JobState,
    MetalChoice,
    NewerJobFileError,
    NotAJobFileError,
    PanelName,
    SideFile,
    SizeChoice,
    carried_through,
    discard,
    made,
    open_job,
    read_scan_file,
    recoverable,
    recovered,
    save_job,
    with_blank_choice,
    with_metal,
    with_name,
    with_panel_names,
    with_scan,
    with_seam,
    with_size,
    with_trim,
    with_work,
    written_whole,
)
from app.job.files import job_file as job_file_module
from app.job.files.decisions_json import MIGRATIONS, SCHEMA, decisions
from app.job.files.job_file import ALWAYS
from geometry.blank import Work
from geometry.datum import tape_through
from geometry.scan import RawScan
from tests.app.job.small_tank import (
    carried,
    decided,
    dome_scan,
    on_dome,
    proving_tapes,
    straight_seam,
    write_dome,
)


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """Return a sound job file."""
    path = tmp_path / "dome.lowcrown"
    save_job(decided(), path)
    return path


# ---- the round trip


def test_a_job_comes_back_with_every_decision_and_its_scan_untouched(tmp_path: Path) -> None:
    state = with_blank_choice(decided(), "top", Work("hencky", "formed", 1.0, 1 / 3))
    state = with_size(state, SizeChoice(None, (replace(proving_tapes()[0], over=True),), True))
    state = with_metal(with_trim(state, 0.1 + 0.2), MetalChoice(1.2, "3003-O", "outside", 0.3))
    path = tmp_path / "dome.lowcrown"
    save_job(state, path)
    back = open_job(path)
    for name in ("name", "size", "metal", "directions", "seams", "panel_names", "work"):
        assert getattr(back, name) == getattr(state, name)
    assert (back.blank_choices, back.marked_face) == (state.blank_choices, state.marked_face)
    assert (back.trim_mm, back.revision) == (0.1 + 0.2, 1)
    assert back.scan is not None
    assert (back.scan.file_name, back.scan.sha256) == ("dome.stl", dome_scan().sha256)
    for one, other in (
        (back.scan.raw.vertices, dome_scan().raw.vertices),
        (back.scan.raw.faces, dome_scan().raw.faces),
    ):
        assert one.dtype == other.dtype
        assert one.tobytes() == other.tobytes()
        assert not one.flags.writeable
    assert (back.scan.raw.kind, back.scan.raw.remarks) == ("binary STL", ())


def test_tapes_of_every_kind_come_back_and_plain_ones_are_written_as_ever(saved: Path) -> None:
    places = [(0.0, 0.0, 1.0), (2.0, 0.0, 0.5), (4.0, 1.0, 0.0)]
    tapes = (
        tape_through(places[:2], 5.0, "over"),
        tape_through(places, 912.0, "girth"),
        tape_through(places[:2], 912.0, "girth", (0.0, 0.0, 1.0)),
        tape_through(places, 60.0, "along"),
    )
    state = with_size(decided(), SizeChoice("mm", tapes))
    save_job(state, saved)
    assert open_job(saved).size == state.size
    written = decisions(state)["tapes"]
    assert list(written[0]) == ["start", "end", "length_mm", "over"]
    assert written[2]["towards"] == [0.0, 0.0, 1.0]


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"kind": "round"}, "kind"),
        ({"kind": "girth", "points": [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]}, "hold together"),
        ({"kind": "girth", "points": []}, "hold together"),
        ({"towards": [0.0, 0.0, 0.0]}, "points nowhere"),
    ],
)
def test_a_tape_that_cannot_be_laid_is_refused(
    saved: Path, facts: dict[str, Any], said: str
) -> None:
    with_field(saved, lambda found: found["tapes"][0].update(facts))
    with pytest.raises(BrokenJobFileError, match=said):
        open_job(saved)


def test_the_hash_is_that_of_the_scans_file_which_is_only_read(tmp_path: Path) -> None:
    path = write_dome(tmp_path / "scan.stl")
    content, when = path.read_bytes(), path.stat().st_mtime_ns
    assert read_scan_file(path).sha256 == sha256(content).hexdigest()
    assert (path.read_bytes(), path.stat().st_mtime_ns) == (content, when)


def test_the_same_job_is_the_same_bytes_also_after_opening(tmp_path: Path) -> None:
    one, two, three = (tmp_path / f"{k}.lowcrown" for k in (1, 2, 3))
    save_job(decided(), one)
    save_job(carried(), two)  # results are not kept
    save_job(open_job(one), three)
    assert one.read_bytes() == two.read_bytes() == three.read_bytes()


def test_results_made_again_from_the_file_are_the_same(saved: Path) -> None:
    again = carried_through(open_job(saved), "Blanks")
    for name in ("left", "top", "right"):
        one, other = (made(state, "Blanks", name).flat for state in (again, carried()))
        np.testing.assert_array_equal(one.flat_vertices, other.flat_vertices)


def test_a_job_without_a_scan_is_kept_too(tmp_path: Path) -> None:
    path = tmp_path / "empty.lowcrown"
    save_job(JobState(), path)
    assert decisions(open_job(path)) == decisions(JobState())
    assert open_job(path).scan is None


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("tank\u00a0left", "tank\u00a0left"),  # a no-break space, as some systems type it
        ("\u5de6 \u3000 \U0001f6e2", "\u5de6 \u3000 \U0001f6e2"),
        ("a\nb\x00c", "a_b_c"),
        ("bad \udcff byte", "bad _ byte"),  # a file's name that is not UTF-8
        ("", "unnamed"),
        (" ", "unnamed"),
    ],
)
def test_whatever_a_job_is_called_it_can_be_opened_again(
    tmp_path: Path, written: str, read: str
) -> None:
    state = with_scan(with_name(decided(), written), replace(dome_scan(), file_name=written))
    state = with_panel_names(state, (PanelName(written, on_dome(0.0, 0.0)),))
    path = tmp_path / "named.lowcrown"
    save_job(with_metal(state, MetalChoice(alloy=written)), path)
    back = open_job(path)
    assert back.scan is not None
    names = (back.name, back.scan.file_name, back.panel_names[0].name, back.metal.alloy)
    assert names == (read,) * 4


def test_lengths_of_nothing_can_be_opened_again(tmp_path: Path) -> None:
    state = with_metal(with_trim(JobState(), 0.0), MetalChoice(0.0))
    path = tmp_path / "thin.lowcrown"
    save_job(state, path)
    assert (open_job(path).trim_mm, open_job(path).metal) == (0.0, MetalChoice(0.0))


@pytest.mark.parametrize("precise", [np.float32, np.float64])
@pytest.mark.parametrize("wide", [np.int32, np.int64, np.uint16])
def test_a_scan_keeps_its_numbers_in_its_own_precision(
    tmp_path: Path, precise: type, wide: type
) -> None:
    vertices: np.ndarray[Any, Any] = np.array(
        [[0.1, 1 / 3, 1e-30], [1, 0, 0], [0, 1, 7e7]], precise
    )
    raw = RawScan(vertices, np.array([[0, 1, 2]], wide), "OFF", ("a remark",), Path("t.off"))
    path = tmp_path / "t.lowcrown"
    save_job(JobState(scan=replace(dome_scan(), raw=raw)), path)
    back = open_job(path).scan
    assert back is not None
    assert back.raw.vertices.dtype == np.dtype(precise)
    np.testing.assert_array_equal(back.raw.vertices, vertices)
    np.testing.assert_array_equal(back.raw.faces, raw.faces)
    assert back.raw.remarks == ("a remark",)


def test_any_zip_and_array_program_can_read_what_was_kept(saved: Path) -> None:
    with zipfile.ZipFile(saved) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["job.json", "scan/vertices.npy", "scan/faces.npy"]
        assert {entry.date_time for entry in archive.infolist()} == {ALWAYS}
        assert json.loads(archive.read("job.json"))["schema"] == SCHEMA
    with np.load(saved) as arrays:
        np.testing.assert_array_equal(arrays["scan/vertices"], dome_scan().raw.vertices)


# ---- written whole or not at all


def test_a_save_that_breaks_off_leaves_the_earlier_job_and_no_scraps(
    saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = saved.read_bytes()

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(np.lib.format, "write_array", full)
    with pytest.raises(OSError, match="No space"):
        save_job(with_name(decided(), "other"), saved)
    assert saved.read_bytes() == before
    assert os.listdir(saved.parent) == [saved.name]


@pytest.mark.skipif(os.name == "nt", reason="no permission bits there")
def test_a_file_written_over_keeps_its_permissions(saved: Path) -> None:
    saved.chmod(0o640)
    save_job(decided(), saved)
    assert saved.stat().st_mode & 0o777 == 0o640
    written_whole(saved.parent / "new", lambda file: None)
    plain = saved.parent / "plain"
    plain.touch()
    assert (saved.parent / "new").stat().st_mode == plain.stat().st_mode


# ---- hostile files

Entries = dict[str, bytes]


def entries_of(path: Path) -> Entries:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def written_zip(path: Path, entries: Entries, packing: int = zipfile.ZIP_STORED) -> Path:
    with zipfile.ZipFile(path, "w", packing) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return path


def with_field(path: Path, change: Callable[[dict[str, Any]], object]) -> Path:
    """Return the job file with its JSON changed."""
    entries = entries_of(path)
    found = json.loads(entries["job.json"])
    change(found)
    entries["job.json"] = json.dumps(found).encode()
    return written_zip(path, entries)


def with_array(path: Path, name: str, content: bytes) -> Path:
    return written_zip(path, entries_of(path) | {f"scan/{name}.npy": content})


def npy_bytes(array: np.ndarray[Any, Any], **options: Any) -> bytes:
    file = io.BytesIO()
    np.lib.format.write_array(file, array, **options)
    return file.getvalue()


def npy_header(text: str) -> bytes:
    body = text.encode().ljust(117) + b"\n"
    return b"\x93NUMPY\x01\x00" + len(body).to_bytes(2, "little") + body


@pytest.mark.parametrize(
    "name", ["../evil.txt", "/etc/evil", "a/../../evil", "..\\evil", "C:\\evil", "scan/.."]
)
def test_an_entry_that_leads_outside_is_refused(saved: Path, name: str) -> None:
    bad = written_zip(saved, entries_of(saved) | {name: b"x"})
    with pytest.raises(BrokenJobFileError, match="leads outside") as caught:
        open_job(bad)
    assert caught.value.path == saved
    assert os.listdir(saved.parent) == [saved.name]


@pytest.mark.parametrize("packing", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_packed_entries_are_refused_for_a_small_one_could_fill_the_memory(
    saved: Path, packing: int
) -> None:
    with pytest.raises(BrokenJobFileError, match="packed"):
        open_job(written_zip(saved, entries_of(saved), packing))


@pytest.mark.parametrize("content", [b"", b"x", b"solid scan\n", b"PK\x03\x04", b"\0" * 4096])
def test_a_file_that_is_something_else_is_not_a_job(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "not.lowcrown"
    path.write_bytes(content)
    with pytest.raises(NotAJobFileError) as caught:
        open_job(path)
    assert caught.value.path == path


def test_a_zip_of_something_else_is_not_a_job(tmp_path: Path) -> None:
    with pytest.raises(NotAJobFileError):
        open_job(written_zip(tmp_path / "z.lowcrown", {"readme.txt": b"hello"}))


def test_a_missing_job_file_is_the_systems_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        open_job(tmp_path / "none.lowcrown")


def test_a_file_cut_short_anywhere_is_refused(saved: Path) -> None:
    whole = saved.read_bytes()
    for part in np.linspace(0, len(whole) - 1, 60).astype(int):
        saved.write_bytes(whole[:part])
        with pytest.raises(JobFileError):
            open_job(saved)


def test_no_damaged_byte_brings_anything_but_a_typed_error_or_the_same_job(saved: Path) -> None:
    """Fixed seed; every byte of the zip's own records, and some of the contents."""
    whole = saved.read_bytes()
    sound = decisions(open_job(saved))
    records = whole.rindex(b"PK\x01\x02") - 200
    chance = random.Random(5)
    places = [*range(120), *range(records, len(whole)), *chance.sample(range(len(whole)), 150)]
    refused = 0
    for place in places:
        damaged = bytearray(whole)
        damaged[place] ^= chance.choice((0x01, 0x80, 0xFF))
        saved.write_bytes(damaged)
        try:
            back = decisions(open_job(saved))
        except JobFileError:
            refused += 1
        else:
            assert back == sound
    assert refused > len(places) / 2


def test_a_newer_schema_is_refused_with_its_number(saved: Path) -> None:
    with_field(saved, lambda found: found.update(schema=SCHEMA + 6))
    with pytest.raises(NewerJobFileError) as caught:
        open_job(saved)
    assert (caught.value.schema, caught.value.path) == (SCHEMA + 6, saved)


@pytest.mark.parametrize("schema", [0, -1, True, "1", 1.0, None])
def test_a_schema_never_written_is_refused(saved: Path, schema: object) -> None:
    with_field(saved, lambda found: found.update(schema=schema))
    with pytest.raises(BrokenJobFileError, match="schema"):
        open_job(saved)


def test_an_older_schema_goes_through_its_migrations(
    saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def from_nothing(found: dict[str, Any]) -> dict[str, Any]:
        return {**found, "trim_mm": found["trim_mm"] * 2.0}

    monkeypatch.setitem(MIGRATIONS, SCHEMA - 1, from_nothing)
    with_field(saved, lambda found: found.update(schema=SCHEMA - 1, trim_mm=5.0))
    assert open_job(saved).trim_mm == 10.0


def test_a_job_of_the_first_schema_opens_with_nothing_set_by_hand(saved: Path) -> None:
    def older(found: dict[str, Any]) -> None:
        found["schema"] = 1
        del found["exact"]
        for blank in found["blanks"]:
            del blank["exact"]

    kept = open_job(saved)
    with_field(saved, older)
    again = open_job(saved)
    assert again.work == kept.work
    assert [c.work for c in again.blank_choices] == [c.work for c in kept.blank_choices]
    assert not again.exact
    assert not any(choice.exact for choice in again.blank_choices)


def test_a_bend_radius_is_kept_and_a_job_of_the_fourth_schema_has_none(tmp_path: Path) -> None:
    path = tmp_path / "job.lowcrown"
    save_job(with_metal(JobState(), MetalChoice(1.6, "5754", bend_radius_mm=2.4)), path)
    assert open_job(path).metal == MetalChoice(1.6, "5754", bend_radius_mm=2.4)

    def older(found: dict[str, Any]) -> None:
        found["schema"] = 4
        del found["metal"]["bend_radius_mm"]

    with_field(path, older)
    assert open_job(path).metal == MetalChoice(1.6, "5754")


def test_numbers_set_by_hand_are_kept_as_such(tmp_path: Path) -> None:
    state = with_work(with_blank_choice(JobState(), "top", Work(bias=-0.5), exact=True), Work())
    save_job(state, tmp_path / "job.lowcrown")
    again = open_job(tmp_path / "job.lowcrown")
    assert again.choice_for("top") == BlankChoice("top", Work(bias=-0.5), exact=True)
    assert not again.choice_for("left").exact


CHANGES: dict[str, tuple[Callable[[dict[str, Any]], object], str]] = {
    "unknown field": (lambda f: f.update(colour="red"), "unknown field"),
    "lacking field": (lambda f: f.pop("tapes"), "lacks the field"),
    "unit": (lambda f: f.update(unit="furlong"), "unit is 'furlong'"),
    "empty name": (lambda f: f.update(name=""), "name is not a text"),
    "name with a bell": (lambda f: f.update(name="a\x07"), "name is not a text"),
    "flag": (lambda f: f.update(rescale=0), "neither true nor false"),
    "tape of no length": (lambda f: f["tapes"][0].update(length_mm=0), "not above 0"),
    "tape end": (lambda f: f["tapes"][1].update(end=[1, 2]), r"tapes\[1\].end has 2 numbers"),
    "bend": (lambda f: f["metal"].update(bend_radius_mm=-1), "below 0"),
    "paint": (lambda f: f["metal"].update(paint_mm=-0.1), "below 0"),
    "face": (lambda f: f["metal"].update(face="inside"), "metal.face"),
    "front": (lambda f: f.update(front=[0, 0, 0]), "points nowhere"),
    "seam of one point": (lambda f: f["seams"][0].update(points=[[0, 0, 0]]), "fewer than 2"),
    "closed seam of two": (
        lambda f: f["seams"][0].update(points=[[0, 0, 0], [1, 0, 0]], closed=True),
        "fewer than 3",
    ),
    "work bias": (lambda f: f["work"].update(bias=0.9), "bias"),
    "work measure": (lambda f: f["work"].update(measure="other"), "work.measure"),
    "number as text": (lambda f: f.update(trim_mm="12.7"), "trim_mm is not a number"),
    "huge number": (lambda f: f.update(trim_mm=10**400), "too large"),
    "revision": (lambda f: f.update(revision=1.5), "whole number"),
    "scan": (lambda f: f["scan"].update(path="/x"), "unknown field"),
}


@pytest.mark.parametrize("name", CHANGES)
def test_decisions_that_make_no_sense_are_refused_by_place(saved: Path, name: str) -> None:
    change, told = CHANGES[name]
    with_field(saved, change)
    with pytest.raises(BrokenJobFileError, match=told) as caught:
        open_job(saved)
    assert caught.value.path == saved
    assert caught.value.reason


@pytest.mark.parametrize("text", [b"[]", b"null", b"{", b"\xff\xfe", b"[" * 100_000, b"1e999"])
def test_decisions_that_are_no_object_are_refused(saved: Path, text: bytes) -> None:
    with pytest.raises(BrokenJobFileError):
        open_job(written_zip(saved, entries_of(saved) | {"job.json": text}))


def test_a_pickled_array_is_refused_and_never_unpickled(saved: Path) -> None:
    struck = saved.parent / "struck"

    class Trap:
        def __reduce__(self) -> tuple[Any, ...]:
            return (Path.touch, (struck,))

    array = np.array([[Trap(), Trap(), Trap()]], dtype=object)
    content = npy_bytes(array, allow_pickle=True)
    for bad in (content, pickle.dumps(Trap())):
        with pytest.raises(BrokenJobFileError, match="vertices"):
            open_job(with_array(saved, "vertices", bad))
    assert not struck.exists()


@pytest.mark.parametrize(
    "header",
    [
        "{'descr': '<f8', 'fortran_order': False, 'shape': (10000000000, 3), }",
        "{'descr': '<f8', 'fortran_order': False, 'shape': (9223372036854775807, 3), }",
        "{'descr': '<f8', 'fortran_order': False, 'shape': (-1, 3), }",
        "{'descr': '<f8', 'fortran_order': False, 'shape': (2, 3), }",
        "{'descr': '<f8', 'fortran_order': True, 'shape': (0, 3), }",
        "{'descr': '>f8', 'fortran_order': False, 'shape': (0, 3), }",
        "{'descr': '<f2', 'fortran_order': False, 'shape': (0, 3), }",
        "{'descr': '|O', 'fortran_order': False, 'shape': (0, 3), }",
        "{'descr': [('a', '<f8')], 'fortran_order': False, 'shape': (0, 3), }",
        "{'descr': '<f8', 'fortran_order': False, 'shape': (0, 2), }",
        "{'descr': '<f8', 'fortran_order': False, 'shape': (), }",
        "{'descr': '<f8', 'fortran_order': False, 'shape': '3', }",
        "{'descr': 7, 'fortran_order': False, 'shape': (0, 3), }",
        "{'descr': '<f8', 1: False, 'shape': (0, 3), }",
        "__import__('os').getcwd()",
        "(" * 100,
        "",
    ],
)
def test_an_array_header_that_lies_or_is_no_plain_array_is_refused(
    saved: Path, header: str
) -> None:
    with pytest.raises(BrokenJobFileError, match="vertices"):
        open_job(with_array(saved, "vertices", npy_header(header)))


def test_a_huge_size_declared_by_header_and_zip_alike_is_refused_without_the_memory(
    saved: Path,
) -> None:
    """The zip says 3.8 GB, the header says so too, and the file holds 200 kB."""
    rows = 160_000_000
    header = npy_header(f"{{'descr': '<f8', 'fortran_order': False, 'shape': ({rows}, 3), }}")
    path = with_array(saved, "vertices", header + bytes(200_000))
    real = (len(header) + 200_000).to_bytes(4, "little")
    lie = (len(header) + rows * 24).to_bytes(4, "little")
    whole = path.read_bytes()
    assert whole.count(real * 2) == 2
    for lies in (real + lie, lie + lie):
        path.write_bytes(whole.replace(real * 2, lies))
        with pytest.raises(BrokenJobFileError):
            open_job(path)


def test_an_array_that_says_it_is_larger_than_any_scan_is_refused(
    saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(job_file_module, "LARGEST_ARRAY", 1000)
    with pytest.raises(BrokenJobFileError, match=r"scan/vertices\.npy is too large"):
        open_job(saved)
    monkeypatch.setattr(job_file_module, "LARGEST_JSON", 1000)
    with pytest.raises(BrokenJobFileError, match="too large"):
        open_job(saved)


@pytest.mark.parametrize("bad", [-1, 10**6])
def test_faces_that_name_no_vertex_are_refused(saved: Path, bad: int) -> None:
    with pytest.raises(BrokenJobFileError, match="names a vertex"):
        open_job(with_array(saved, "faces", npy_bytes(np.array([[0, 1, bad]], "<i4"))))


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_vertices_that_are_not_finite_are_refused(saved: Path, bad: float) -> None:
    vertices = np.array(dome_scan().raw.vertices)
    vertices[3, 1] = bad
    with pytest.raises(BrokenJobFileError, match="not finite"):
        open_job(with_array(saved, "vertices", npy_bytes(vertices)))


def test_a_missing_array_is_refused(saved: Path) -> None:
    entries = entries_of(saved)
    del entries["scan/faces.npy"]
    with pytest.raises(BrokenJobFileError, match=r"scan/faces\.npy is missing"):
        open_job(written_zip(saved, entries))


# ---- the side file


def let_go(side: SideFile) -> None:
    """Let the lock of a side file go, as the end of a process does."""
    assert side._lock is not None
    side._lock.close()


def test_work_never_saved_is_recovered_as_it_last_stood(tmp_path: Path) -> None:
    side = SideFile(tmp_path)
    side.keep(decided())
    last = with_seam(with_name(decided(), "later"), straight_seam("middle rail", 0.0))
    side.keep(last, tmp_path / "saved.lowcrown")
    assert recoverable(tmp_path) == ()  # its owner lives
    let_go(side)
    (found,) = recoverable(tmp_path)
    state, path = recovered(found)
    assert decisions(state) == decisions(last)
    assert path == tmp_path / "saved.lowcrown"
    assert state.scan is not None
    assert state.scan.raw.vertices.tobytes() == dome_scan().raw.vertices.tobytes()
    discard(found)
    assert os.listdir(tmp_path) == []


def test_the_scan_is_written_once_however_often_the_decisions_are(tmp_path: Path) -> None:
    side = SideFile(tmp_path)
    side.keep(decided())
    (kept,) = tmp_path.glob("*.lowcrown")
    before = kept.stat().st_ino, kept.stat().st_mtime_ns
    side.keep(with_trim(decided(), 3.0))
    assert (kept.stat().st_ino, kept.stat().st_mtime_ns) == before
    side.keep(with_scan(decided(), replace(dome_scan(), file_name="second.stl")))
    assert open_job(kept).scan is not None
    assert open_job(kept).scan.file_name == "second.stl"  # type: ignore[union-attr]
    side.forget()
    assert os.listdir(tmp_path) == []


def test_a_stop_between_scan_and_decisions_recovers_the_new_scan_as_it_was_kept(
    tmp_path: Path,
) -> None:
    """Never the old tapes and seams on the new scan."""
    side = SideFile(tmp_path)
    side.keep(decided(), tmp_path / "old.lowcrown")
    fresh = with_scan(decided(), replace(dome_scan(), file_name="next.stl", sha256="0" * 64))
    (kept,) = tmp_path.glob("*.lowcrown")
    save_job(fresh, kept)  # the first of the two writes of `keep`; the second never came
    let_go(side)
    state, path = recovered(kept)
    assert decisions(state) == decisions(fresh)
    assert path is None


def test_of_several_side_files_the_newest_comes_first_and_the_living_are_left(
    tmp_path: Path,
) -> None:
    sides = [SideFile(tmp_path) for _ in range(3)]
    for number, side in enumerate(sides):
        side.keep(with_name(decided(), f"job {number}"))
        os.utime(side._job_file, (1000.0 + number, 1000.0 + number))
    let_go(sides[0])
    let_go(sides[2])
    assert [recovered(path)[0].name for path in recoverable(tmp_path)] == ["job 2", "job 0"]
    assert sides[1]._job_file.exists()
    for side in sides:
        side.forget()


def test_a_lock_with_nothing_kept_is_cleared_away(tmp_path: Path) -> None:
    let_go(SideFile(tmp_path / "unsaved"))
    assert len(os.listdir(tmp_path / "unsaved")) == 1
    assert recoverable(tmp_path / "unsaved") == ()
    assert os.listdir(tmp_path / "unsaved") == []
    assert recoverable(tmp_path / "none there") == ()


@pytest.mark.parametrize("text", [b"", b"{}", b'{"path": 7, "job": {}}', b"\xff", b"null"])
def test_damaged_side_decisions_are_a_typed_error(tmp_path: Path, text: bytes) -> None:
    side = SideFile(tmp_path)
    side.keep(decided())
    let_go(side)
    (found,) = recoverable(tmp_path)
    found.with_suffix(".json").write_bytes(text)
    with pytest.raises(BrokenJobFileError) as caught:
        recovered(found)
    assert caught.value.path == found.with_suffix(".json")
    found.with_suffix(".json").unlink()
    assert decisions(recovered(found)[0]) == decisions(decided())


def test_a_path_that_is_not_utf8_is_recovered_as_it_was(tmp_path: Path) -> None:
    side = SideFile(tmp_path)
    path = Path("/somewhere/tank\udcff\u00a0.lowcrown")
    side.keep(decided(), path)
    let_go(side)
    assert recovered(recoverable(tmp_path)[0])[1] == path
