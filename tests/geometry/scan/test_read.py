"""Opening files: what is not a scan is refused by name; nothing is changed; stopping works."""

import errno
import hashlib
import os
from pathlib import Path

import pytest

from geometry.progress import Cancelled
from geometry.scan import (
    DiskError,
    EmptyFileError,
    MissingFileError,
    NoPermissionError,
    NotAFileError,
    UnknownKindError,
    UnreadableScanError,
    read_scan,
)
from geometry.scan.read import unreadable
from tests.geometry.scan.scans import ball, sheet, write_stl, write_text_stl


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(MissingFileError) as caught:
        read_scan(tmp_path / "gone.stl")
    assert caught.value.path == tmp_path / "gone.stl"


def test_a_folder_is_refused_even_when_named_like_a_scan(tmp_path: Path) -> None:
    (tmp_path / "folder.stl").mkdir()
    with pytest.raises(NotAFileError):
        read_scan(tmp_path / "folder.stl")


@pytest.mark.parametrize("suffix", [".stl", ".ply", ".obj", ".off", ".3mf"])
def test_an_empty_file_is_refused(tmp_path: Path, suffix: str) -> None:
    (tmp_path / f"empty{suffix}").touch()
    with pytest.raises(EmptyFileError):
        read_scan(tmp_path / f"empty{suffix}")


@pytest.mark.parametrize("name", ["tank.step", "tank", "tank.stl.gz"])
def test_an_unknown_ending_is_refused_with_those_that_are_known(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"anything")
    with pytest.raises(UnknownKindError) as caught:
        read_scan(tmp_path / name)
    assert caught.value.suffix == Path(name).suffix
    assert caught.value.known == (".stl", ".ply", ".obj", ".off", ".3mf")


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may open everything"
)
def test_a_file_one_may_not_open_is_refused(tmp_path: Path) -> None:
    path = write_stl(tmp_path / "locked.stl", sheet())
    path.chmod(0)
    with pytest.raises(NoPermissionError):
        read_scan(path)


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        (PermissionError(errno.EACCES, "denied"), NoPermissionError),
        (FileNotFoundError(errno.ENOENT, "gone"), MissingFileError),
        (IsADirectoryError(errno.EISDIR, "folder"), NotAFileError),
        (OSError(errno.EIO, "input/output error"), DiskError),
    ],
)
def test_what_the_system_says_becomes_our_error(
    said: OSError, kind: type[UnreadableScanError]
) -> None:
    error = unreadable(Path("tank.stl"), said)
    assert type(error) is kind
    assert error.path == Path("tank.stl")
    if isinstance(error, DiskError):
        assert error.reason == "input/output error"


def test_the_customers_file_is_left_as_it_was(tmp_path: Path) -> None:
    path = write_stl(tmp_path / "tank.stl", ball(10, 100))
    path.chmod(0o444)
    before = hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns
    read_scan(path)
    assert (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns) == before
    assert [child.name for child in tmp_path.iterdir()] == ["tank.stl"]


def test_the_ending_may_be_in_capitals(tmp_path: Path) -> None:
    assert len(read_scan(write_stl(tmp_path / "TANK.STL", sheet())).faces) == 60


@pytest.mark.parametrize("binary", [True, False])
def test_reading_tells_how_far_it_is_and_can_be_stopped_halfway(
    tmp_path: Path, binary: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("geometry.scan.stl._FACETS_AT_ONCE", 100)
    monkeypatch.setattr("geometry.scan.text_lines._BYTES_AT_ONCE", 10_000)
    write = write_stl if binary else write_text_stl
    path = write(tmp_path / "tank.stl", sheet(20, 20))
    seen: list[float] = []
    read_scan(path, report=lambda done, stage: seen.append(done))
    assert len(seen) > 5
    assert seen == sorted(seen)
    assert seen[0] == 0.0
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        read_scan(path, report=stop)
