"""The side file: the unsaved work of an open job, kept until all is safe."""

import io
import json
import sys
import uuid
from dataclasses import replace
from pathlib import Path
from typing import IO, Any

from app.job.choices import JobState, ScanFile
from app.job.files import strict_json as strict
from app.job.files.choices_json import optional
from app.job.files.decisions_json import decisions, job_decided, migrated
from app.job.files.job_file import SUFFIX, open_job, save_job
from app.job.files.job_file_faults import BrokenJobFileError
from app.job.files.strict_json import BadFieldError
from app.job.files.whole_file import written_whole


class SideFile:
    """The unsaved work of one open job, rewritten after every change until `forget`.

    Scans are written once per scan, the decisions every time, so that a change costs little.
    While the owner lives it holds a lock; a side file without a living owner is `recoverable`.

    Parameters
    ----------
    folder : Path
        Where side files are kept.
    """

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._base = folder / uuid.uuid4().hex
        self._scans: tuple[ScanFile | None, ScanFile | None] = (None, None)
        self._lock = _locked_file(self._base.with_suffix(".lock"))

    def keep(self, state: JobState, path: Path | None = None) -> None:
        """Write what stands now; `path` is where the job was last saved, if it was."""
        scans = (state.scan, state.frame_scan)
        if not self._job_file.exists() or scans != self._scans:
            save_job(state, self._job_file)
            self._scans = scans
        text = json.dumps({"path": path and str(path), "job": decisions(state)}).encode()
        written_whole(self._base.with_suffix(".json"), lambda file: _put(file, text))

    def forget(self) -> None:
        """Remove the side file: the job is safe, or its maker let it go."""
        if self._lock is not None:
            self._lock.close()
        self._lock = None
        _remove(self._base)

    @property
    def _job_file(self) -> Path:
        return self._base.with_suffix(SUFFIX)


def recoverable(folder: Path) -> tuple[Path, ...]:
    """Return the side files whose owner is gone, newest first, to be read with `recovered`."""
    found = []
    for path in folder.glob("*.lock"):
        lock = _locked_file(path)
        if lock is None:
            continue
        lock.close()
        if path.with_suffix(SUFFIX).exists():
            found.append(path.with_suffix(SUFFIX))
        else:
            _remove(path.with_suffix(""))
    return tuple(sorted(found, key=lambda path: (-path.stat().st_mtime, path.name)))


def recovered(side_file: Path) -> tuple[JobState, Path | None]:
    """Return the job in a side file, as it last stood, and where it had been saved.

    Raises
    ------
    NotAJobFileError, BrokenJobFileError, NewerJobFileError
    """
    kept = open_job(side_file)
    newest = side_file.with_suffix(".json")
    if not newest.exists():
        return kept, None
    try:
        found = strict.fields(strict.parsed(newest.read_bytes()), "", ["path", "job"])
        decided = migrated(found["job"], newest)
        state = job_decided(decided)
        path = optional(found["path"], "path", _path)
    except BadFieldError as error:
        raise BrokenJobFileError(newest, str(error)) from error
    before = decisions(kept)
    if any(decided[name] != before[name] for name in ("scan", "frame_scan")):
        return kept, None  # it ended between the two writes of `keep`
    return replace(state, scan=kept.scan, frame_scan=kept.frame_scan), path


def _path(value: Any, where: str) -> Path:
    if not isinstance(value, str) or not value or "\0" in value:
        raise BadFieldError(where, "is not the name of a file")
    return Path(value)


def discard(side_file: Path) -> None:
    """Remove a side file that was recovered, or is not wanted."""
    _remove(side_file.with_suffix(""))


def _put(file: IO[bytes], data: bytes) -> None:
    file.write(data)


def _remove(base: Path) -> None:
    for suffix in (SUFFIX, ".json", ".lock"):
        base.with_suffix(suffix).unlink(missing_ok=True)


def _locked_file(path: Path) -> io.BufferedRandom | None:
    """Return a file held for as long as it is open, or None when somebody else holds it."""
    file = path.open("a+b")
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        file.close()
        return None
    return file
