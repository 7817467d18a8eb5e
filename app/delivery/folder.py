"""A result folder: everything is written beside it first, and moved in whole or not at all."""

import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

SUMMARY = "summary.json"


class ResultExistsError(Exception):
    """A folder already holds files of these names, and replacing was not asked for.

    Attributes
    ----------
    folder : Path
    names : tuple of str
    """

    def __init__(self, folder: Path, names: tuple[str, ...]) -> None:
        self.folder, self.names = folder, names
        super().__init__(f"{folder} holds {', '.join(names)}")


class NoFolderError(Exception):
    """The folder's name is taken by a file, or it may not be written.

    Attributes
    ----------
    folder : Path
    reason : str
    """

    def __init__(self, folder: Path, reason: str) -> None:
        self.folder, self.reason = folder, reason
        super().__init__(f"{folder}: {reason}")


def check_folder(folder: Path, *, replace: bool, result: str = SUMMARY) -> None:
    """Refuse a folder that cannot take a result, before any work is done for it.

    `result` is the file that tells an earlier one.

    Raises
    ------
    NoFolderError, ResultExistsError
    """
    if folder.exists() and not folder.is_dir():
        raise NoFolderError(folder, "there is a file of that name")
    if (folder / result).exists() and not replace:
        raise ResultExistsError(folder, (result,))
    parent = _first_that_exists(folder)
    if not os.access(parent, os.W_OK | os.X_OK):
        raise NoFolderError(folder, "it may not be written to")


def _first_that_exists(folder: Path) -> Path:
    for place in (folder, *folder.absolute().parents):
        if place.exists():
            return place
    return folder


def write_result(
    folder: Path, files: Mapping[str, bytes], *, replace: bool, result: str = SUMMARY
) -> None:
    """Write files into a folder: all of them complete, or none.

    With `replace`, files that an earlier result's list there names and this result lacks are
    removed, so that no pattern of an earlier result lies among those of this one and is cut. The
    list is the one in the file named `result`: what else the folder holds may lie beside it.

    Raises
    ------
    ResultExistsError, NoFolderError
    """
    taken = tuple(name for name in files if (folder / name).exists())
    if taken and not replace:
        raise ResultExistsError(folder, taken)
    try:
        with _beside(folder) as beside:
            for name, content in files.items():
                _write_flushed(beside / name, content)
            old = _listed(folder, result) - set(files) if replace else set()
            with _put_back_if_stopped(folder, beside, {*files, *old}):
                _move_in(beside, folder, tuple(files), result)
                for name in old:
                    (folder / name).unlink(missing_ok=True)
    except OSError as error:
        raise NoFolderError(folder, error.strerror or str(error)) from error


@contextmanager
def _beside(folder: Path) -> Iterator[Path]:
    """Give an empty folder on the same disk, gone afterwards."""
    folder.absolute().parent.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.part-", dir=folder.absolute().parent))
    try:
        yield beside
    finally:
        shutil.rmtree(beside, ignore_errors=True)


@contextmanager
def _put_back_if_stopped(folder: Path, beside: Path, names: set[str]) -> Iterator[None]:
    """Copy what stands in a folder under some names; should the work within fail, put it back."""
    was_there = folder.exists()
    folder.mkdir(exist_ok=True)
    aside = beside / ".earlier"
    aside.mkdir()
    earlier = {name for name in names if (folder / name).is_file()}
    for name in earlier:
        shutil.copy2(folder / name, aside / name)
    try:
        yield
    except BaseException:
        for name in names:
            with suppress(OSError):  # as much as can be
                if name in earlier:
                    os.replace(aside / name, folder / name)
                else:
                    (folder / name).unlink(missing_ok=True)
        if not was_there:
            with suppress(OSError):
                folder.rmdir()
        raise


def _write_flushed(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _move_in(beside: Path, folder: Path, names: tuple[str, ...], result: str) -> None:
    for name in sorted(names, key=lambda name: name == result):  # what lists them last
        os.replace(beside / name, folder / name)


def _listed(folder: Path, result: str) -> set[str]:
    """Return the plain names an earlier result lists, that are files there."""
    try:
        listed = json.loads((folder / result).read_text(encoding="utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return set()
    if not isinstance(listed, list):
        return set()
    return {
        name
        for name in listed
        if isinstance(name, str) and Path(name).name == name and (folder / name).is_file()
    }
