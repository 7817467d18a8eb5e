"""A result folder: whole or not at all, nothing old among the new, never over what is there."""

import json
import os
from pathlib import Path

import pytest

from app.delivery import (
    SUMMARY,
    NoFolderError,
    ResultExistsError,
    check_folder,
    write_result,
)


def summary(*names: object) -> bytes:
    return json.dumps({"files": list(names)}).encode()


def held(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


FIRST = {"left.pdf": b"1", "top.pdf": b"2", SUMMARY: summary("left.pdf", "top.pdf", SUMMARY)}
SECOND = {"left.pdf": b"3", SUMMARY: summary("left.pdf", SUMMARY)}


def test_every_file_is_written_and_nothing_is_left_beside(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "result"
    write_result(folder, FIRST, replace=False)
    assert held(folder) == FIRST
    assert [path.name for path in folder.parent.iterdir()] == ["result"]


def test_a_folder_already_there_keeps_what_else_it_holds(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_bytes(b"mine")
    write_result(tmp_path, FIRST, replace=False)
    assert held(tmp_path) == FIRST | {"notes.txt": b"mine"}


def test_without_leave_nothing_there_is_touched(tmp_path: Path) -> None:
    write_result(tmp_path / "r", FIRST, replace=False)
    with pytest.raises(ResultExistsError) as caught:
        write_result(tmp_path / "r", SECOND | {"new.pdf": b"4"}, replace=False)
    assert caught.value.folder == tmp_path / "r"
    assert caught.value.names == ("left.pdf", SUMMARY)
    assert held(tmp_path / "r") == FIRST
    with pytest.raises(ResultExistsError) as caught:
        check_folder(tmp_path / "r", replace=False)
    assert caught.value.names == (SUMMARY,)


def test_replacing_takes_out_what_only_the_earlier_result_listed(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_bytes(b"mine")
    write_result(tmp_path, FIRST, replace=False)
    check_folder(tmp_path, replace=True)
    write_result(tmp_path, SECOND, replace=True)
    assert held(tmp_path) == SECOND | {"notes.txt": b"mine"}


def test_replacing_one_steps_files_leaves_those_of_others(tmp_path: Path) -> None:
    boards = {"station 01.dxf": b"1", "station 02.dxf": b"2"}
    listed = summary(*boards, "gauges.json")
    write_result(tmp_path, FIRST, replace=False)
    write_result(tmp_path, boards | {"gauges.json": listed}, replace=True, result="gauges.json")
    fewer = {"station 01.dxf": b"3", "gauges.json": summary("station 01.dxf", "gauges.json")}
    write_result(tmp_path, fewer, replace=True, result="gauges.json")
    assert held(tmp_path) == FIRST | fewer


@pytest.mark.parametrize(
    "listed",
    [
        summary("../outside.txt", "sub/inside.txt", "/etc/passwd", "..", ".", "", 7, None),
        b'{"files": "left.pdf"}',
        b'{"files": {"kept.txt": 1}}',
        b"[1]",
        b"{",
        b"\xff",
        b"[" * 100_000,
    ],
)
def test_a_summary_that_lies_removes_nothing_outside(tmp_path: Path, listed: bytes) -> None:
    folder = tmp_path / "r"
    (folder / "sub").mkdir(parents=True)
    for path in (tmp_path / "outside.txt", folder / "sub" / "inside.txt", folder / "kept.txt"):
        path.write_bytes(b"x")
    (folder / SUMMARY).write_bytes(listed)
    write_result(folder, SECOND, replace=True)
    assert (tmp_path / "outside.txt").exists()
    assert (folder / "sub" / "inside.txt").exists()
    assert (folder / "kept.txt").exists()
    assert (folder / "left.pdf").read_bytes() == b"3"


def test_a_disk_that_fills_up_leaves_the_earlier_result_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "r"
    write_result(folder, FIRST, replace=False)
    written: list[int] = []

    def full(handle: int) -> None:
        written.append(handle)
        if len(written) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NoFolderError, match="No space left") as caught:
        write_result(folder, SECOND, replace=True)
    assert (caught.value.folder, caught.value.reason) == (folder, "No space left on device")
    assert held(folder) == FIRST
    assert [path.name for path in tmp_path.iterdir()] == ["r"]


def test_a_disk_that_fills_up_makes_no_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NoFolderError):
        write_result(tmp_path / "r", FIRST, replace=False)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("stopped_at", [0, 1, 2])
def test_a_move_that_fails_puts_the_earlier_result_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stopped_at: int
) -> None:
    """All or none also at the last stage, whichever file cannot be moved in."""
    folder = tmp_path / "r"
    write_result(folder, FIRST, replace=False)
    real, moved = os.replace, []

    def stuck(source: Path, target: Path) -> None:
        if Path(target).parent == folder and Path(source).parent.name.startswith(".r.part-"):
            moved.append(target)
            if len(moved) == stopped_at + 1:
                raise PermissionError(13, "The file is open elsewhere")
        real(source, target)

    monkeypatch.setattr(os, "replace", stuck)
    more = SECOND | {"new.pdf": b"4"}
    with pytest.raises(NoFolderError, match="open elsewhere"):
        write_result(folder, more, replace=True)
    assert held(folder) == FIRST
    assert [path.name for path in tmp_path.iterdir()] == ["r"]


def test_the_summary_comes_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []
    real = os.replace

    def seen(source: Path, target: Path) -> None:
        order.append(Path(target).name)
        real(source, target)

    monkeypatch.setattr(os, "replace", seen)
    write_result(tmp_path / "r", {SUMMARY: b"{}", "b": b"", "a": b""}, replace=False)
    assert order == ["b", "a", SUMMARY]


def test_a_file_of_that_name_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "r").write_bytes(b"mine")
    for replace in (False, True):
        with pytest.raises(NoFolderError, match="a file of that name"):
            check_folder(tmp_path / "r", replace=replace)
        with pytest.raises(NoFolderError):
            check_folder(tmp_path / "r" / "below", replace=replace)
        with pytest.raises(NoFolderError):
            write_result(tmp_path / "r", FIRST, replace=replace)
    assert (tmp_path / "r").read_bytes() == b"mine"


def test_a_folder_that_is_not_there_yet_is_fine_and_is_not_made_by_the_check(
    tmp_path: Path,
) -> None:
    check_folder(tmp_path / "a" / "b", replace=False)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="the root may write anywhere")
def test_a_folder_that_may_not_be_written_is_refused(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(NoFolderError, match="may not be written"):
        check_folder(tmp_path / "r", replace=False)


def test_a_move_that_fails_leaves_no_new_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.replace

    def stuck(source: Path, target: Path) -> None:
        if Path(target).name == SUMMARY:
            raise PermissionError(13, "Permission denied")
        real(source, target)

    monkeypatch.setattr(os, "replace", stuck)
    with pytest.raises(NoFolderError, match="Permission denied"):
        write_result(tmp_path / "r", FIRST, replace=False)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_a_files_place_is_never_taken_away(tmp_path: Path) -> None:
    folder = tmp_path / "r"
    (folder / "left.pdf").mkdir(parents=True)
    (folder / "left.pdf" / "mine").write_bytes(b"x")
    with pytest.raises(NoFolderError):
        write_result(folder, FIRST, replace=True)
    assert (folder / "left.pdf" / "mine").read_bytes() == b"x"
    assert os.listdir(folder) == ["left.pdf"]
